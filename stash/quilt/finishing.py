"""Finishing a top: its size, its edge, binding, backing, batting, and what trimming loses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from stash.errors import PlanError
from stash.quilt.backing import Backing, Batting, backing_for, batting_for
from stash.quilt.bed_sizes import nearest_quilt_size
from stash.quilt.binding import (
    BiasPiece,
    BindingFold,
    bias_length_sewn,
    bias_rectangle_depth,
    bias_square_sewn,
    cut_width,
    single_bias_strips,
    straight_strips,
    yards_for,
)

__all__ = [
    "Binding",
    "Edge",
    "Finishing",
    "FinishingWish",
    "StripGrain",
    "Trimmed",
    "finish",
    "trim",
]

# What is added to the edge for corners and for joining the ends:
_EXTRA_IN = 10.0  # Christa Watson, Quilty Math; World Wide Quilting Page, 2003
_EXTRA_LARGE_IN = 12.0  # the latter, for a very large quilt
_EXTRA_CURVED_IN = 18.0  # Bessie Pearl, scalloped quilts
_HAIR_IN = 0.005  # pieces are joined over gaps this wide before an edge is looked at
_VERY_LARGE_IN = 380.0  # edge of a king quilt; the source gives no figure (judgement)
_CUT_IN = 2.5  # most often used: common practice; American Patchwork & Quilting, 2020
_CUT_CURVED_IN = 2.0  # single bias strips on scallops: common practice, no source


class StripGrain(StrEnum):
    """How binding strips lie to the grain."""

    STRAIGHT = "straight"
    BIAS = "bias"


@dataclass(frozen=True, slots=True)
class Edge:
    """The edge of a top.

    Attributes
    ----------
    width_in, length_in : float
        Finished size at the widest and longest.
    edge_in : float
        Length along the edge, curves followed.
    curved : bool
        Whether any of it is an arc.
    inner_corners : int
        Corners that point into the quilt.
    """

    width_in: float
    length_in: float
    edge_in: float
    curved: bool = False
    inner_corners: int = 0

    @staticmethod
    def straight(width_in: float, length_in: float) -> Edge:
        """Give the edge of a rectangle."""
        return Edge(width_in, length_in, 2 * (width_in + length_in))


@dataclass(frozen=True, slots=True)
class FinishingWish:
    """What a quilter can choose; None takes the usual value for the edge at hand.

    Attributes
    ----------
    cut_in : float or None
        Width to cut the binding.
    finished_in : float or None
        Or: what is to show of it; the width to cut follows from the fold.
    fold : BindingFold
        Double or single.
    grain : StripGrain or None
        Bias or straight; a curved edge needs bias.
    extra_in : float or None
        Added to the length of the edge.
    bias_extra_in : float
        Added to the side of the bias square for its seams: 0, 2 or 3 in print.
    usable_in : float
        Usable width of the binding cloth.
    diagonal_joins : bool
        Whether each join is counted with one strip width.
    backing_over_in, backing_usable_in, backing_seam_in : float
        Over the top on each side; usable width; seam allowance.
    batting_over_in : float
        Over the top, whole width and length.
    shrink_share : float
        What cloth bought for backing and binding loses in the wash before it is cut, each way.
    """

    cut_in: float | None = None
    finished_in: float | None = None
    fold: BindingFold = BindingFold.DOUBLE
    grain: StripGrain | None = None
    extra_in: float | None = None
    bias_extra_in: float = 0.0
    usable_in: float = 40.0
    diagonal_joins: bool = False
    backing_over_in: float = 4.0
    backing_usable_in: float = 40.0
    backing_seam_in: float = 0.5
    batting_over_in: float = 8.0
    shrink_share: float = 0.0


@dataclass(frozen=True, slots=True)
class Binding:
    """Binding to cut.

    Attributes
    ----------
    length_in, extra_in, cut_in : float
        Length with what was added; what was added; width of a strip.
    strips : int or None
        Strips from selvage to selvage, on the straight grain.
    square_in : int or None
        Side of the square for continuous bias.
    rectangle_depth_in : int or None
        Or the depth of a full-width piece of the same area.
    single : BiasPiece or None
        Or bias strips cut one by one; None when no single piece is long enough.
    inches, yards : float
        Cloth to buy for the usual way; yards up to the next eighth.
    notes : tuple of str
        What to mind while sewing it on.
    square_gives_in : float or None
        What the square gives as continuous bias once all its seams are sewn.
    """

    fold: BindingFold
    grain: StripGrain
    length_in: float
    extra_in: float
    cut_in: float
    strips: int | None
    square_in: int | None
    rectangle_depth_in: int | None
    single: BiasPiece | None
    inches: float
    yards: float
    notes: tuple[str, ...]
    square_gives_in: float | None = None


@dataclass(frozen=True, slots=True)
class Trimmed:
    """The largest straight-edged top inside an uneven one.

    Attributes
    ----------
    width_in, length_in : float
        Finished size after trimming.
    lost_width_in, lost_length_in : float
        What the finished size loses.
    lost_sq_in, lost_share : float
        Cloth of the finished top outside the straight edge.
    binding : Binding
        The binding it then needs.
    """

    width_in: float
    length_in: float
    lost_width_in: float
    lost_length_in: float
    lost_sq_in: float
    lost_share: float
    binding: Binding


@dataclass(frozen=True, slots=True)
class Finishing:
    """All that a finished top needs."""

    edge: Edge
    nearest_size: str
    binding: Binding
    backing: Backing
    batting: Batting
    trimmed: Trimmed | None = None


def finish(
    edge: Edge, wish: FinishingWish = FinishingWish(), *, pieces: Sequence[Polygon] = ()
) -> Finishing:
    """Work out binding, backing and batting.

    Parameters
    ----------
    edge : Edge
        The edge of the top.
    wish : FinishingWish
        Choices; the defaults are the published ones.
    pieces : sequence of Polygon
        The finished pieces; with them, an uneven edge is also answered trimmed straight.

    Raises
    ------
    PlanError
        If a size or a choice makes no sense.
    """
    if not (edge.width_in > 0 and edge.length_in > 0 and edge.edge_in > 0):
        raise PlanError("A quilt without width or length has no edge; give its size.")
    if not 0 <= wish.shrink_share < 0.5:
        raise PlanError("Cloth loses some percent in the wash; give shrinkage from 0 to 50.")
    left = 1 - wish.shrink_share
    wish = replace(wish, usable_in=wish.usable_in * left)
    uneven = edge.curved or edge.inner_corners > 0
    return Finishing(
        edge,
        nearest_quilt_size(edge.width_in, edge.length_in).name,
        _binding(edge, wish),
        backing_for(
            edge.width_in,
            edge.length_in,
            over_in=wish.backing_over_in,
            usable_in=wish.backing_usable_in * left,
            seam_in=wish.backing_seam_in,
            shrink_share=wish.shrink_share,
        ),
        batting_for(edge.width_in, edge.length_in, over_in=wish.batting_over_in),
        _trimmed(edge, wish, pieces) if uneven and pieces else None,
    )


def trim(pieces: Sequence[Polygon]) -> tuple[float, float, float, float]:
    """Find a straight-edged rectangle inside a top, as large as the hollows of its edge allow.

    Returns
    -------
    tuple of float
        Left, bottom, right, top, inches.
    """
    top = shapely.union_all([piece.buffer(1e-3, join_style="mitre") for piece in pieces])
    left, bottom, right, upper = map(float, shapely.total_bounds(pieces))
    gaps = box(left, bottom, right, upper).difference(top)
    middle_x, middle_y = (left + right) / 2, (bottom + upper) / 2
    low, high = (bottom + middle_y) / 2, (upper + middle_y) / 2
    from_left, from_right = left, right
    for _ in range(3):  # each side in turn from what the others leave; settles at once
        sides = gaps.intersection(box(left, low + _HAIR_IN, right, high - _HAIR_IN))
        from_left = _reach(sides, box(left, bottom, middle_x, upper), 2, left)
        from_right = _reach(sides, box(middle_x, bottom, right, upper), 0, right)
        ends = gaps.intersection(box(from_left + _HAIR_IN, bottom, from_right - _HAIR_IN, upper))
        low = _reach(ends, box(left, bottom, right, middle_y), 3, bottom)
        high = _reach(ends, box(left, middle_y, right, upper), 1, upper)
    return from_left, low, from_right, high


def _reach(gaps: BaseGeometry, half: Polygon, bound: int, otherwise: float) -> float:
    near = gaps.intersection(half)
    return otherwise if near.is_empty else float(near.bounds[bound])


def _trimmed(edge: Edge, wish: FinishingWish, pieces: Sequence[Polygon]) -> Trimmed | None:
    left, bottom, right, upper = trim(pieces)
    if right - left < 1 or upper - bottom < 1:
        return None
    total = sum(piece.area for piece in pieces)
    kept = sum(piece.intersection(box(left, bottom, right, upper)).area for piece in pieces)
    width_in, length_in = right - left, upper - bottom
    return Trimmed(
        width_in,
        length_in,
        edge.width_in - width_in,
        edge.length_in - length_in,
        total - kept,
        (total - kept) / total,
        _binding(Edge.straight(width_in, length_in), wish),
    )


def _binding(edge: Edge, wish: FinishingWish) -> Binding:
    grain = wish.grain or (StripGrain.BIAS if edge.curved else StripGrain.STRAIGHT)
    cut_in = _cut(edge, wish)
    extra_in = wish.extra_in if wish.extra_in is not None else _extra(edge)
    length_in = edge.edge_in + extra_in
    notes = _notes(edge, grain, cut_in)
    if grain is StripGrain.STRAIGHT:
        strips = straight_strips(
            length_in, cut_in, usable_in=wish.usable_in, diagonal_joins=wish.diagonal_joins
        )
        bought_in = strips * cut_in / (1 - wish.shrink_share)
        return Binding(
            wish.fold,
            grain,
            length_in,
            extra_in,
            cut_in,
            strips,
            None,
            None,
            None,
            bought_in,
            yards_for(bought_in),
            notes,
        )
    square_in = bias_square_sewn(length_in, cut_in, extra_in=wish.bias_extra_in)
    single = _single(length_in, cut_in, wish.usable_in)
    depth_in = single.depth_in if edge.curved and single else float(square_in)
    bought_in = depth_in / (1 - wish.shrink_share)
    return Binding(
        wish.fold,
        grain,
        length_in,
        extra_in,
        cut_in,
        None,
        square_in,
        bias_rectangle_depth(length_in, cut_in, usable_in=wish.usable_in, side_in=square_in),
        single,
        bought_in,
        yards_for(bought_in),
        notes,
        bias_length_sewn(square_in, cut_in),
    )


def _single(length_in: float, cut_in: float, usable_in: float) -> BiasPiece | None:
    try:
        return single_bias_strips(length_in, cut_in, usable_in=usable_in)
    except PlanError:
        return None


def _cut(edge: Edge, wish: FinishingWish) -> float:
    if wish.cut_in is not None:
        return wish.cut_in
    if wish.finished_in is not None:
        return cut_width(wish.finished_in, wish.fold)
    return _CUT_CURVED_IN if edge.curved else _CUT_IN


def _extra(edge: Edge) -> float:
    if edge.curved:
        return _EXTRA_CURVED_IN
    return _EXTRA_LARGE_IN if edge.edge_in > _VERY_LARGE_IN else _EXTRA_IN


def _notes(edge: Edge, grain: StripGrain, cut_in: float) -> tuple[str, ...]:
    notes = []
    if edge.curved and grain is StripGrain.STRAIGHT:
        notes.append("Straight strips do not lie flat round a curve; cut them on the bias.")
    if edge.curved:
        notes.append(
            "Begin with a 45-degree end on the side of a scallop. Lay the strip on; do not "
            "stretch it, least of all in the hollows."
        )
        if cut_in > _CUT_CURVED_IN:
            notes.append("Narrow strips turn curves better: 2 in is usual on scallops.")
    if edge.inner_corners:
        notes.append(
            "At each inner corner stop with the needle down, turn, and open the corner flat "
            "before you go on; snip the quilt's allowance to the seam line, not beyond."
        )
    return tuple(notes)
