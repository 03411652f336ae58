"""Cutting a quilt's pieces: what each scrap gives, and strips for a shape."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from types import MappingProxyType

from stash.shape.nesting.rows import bases_of
from stash.shape.nesting.straight_cuts import StripCuts, up_to_mark
from stash.shape.plane.outline import Outline, Ring
from stash.shape.templates.curve import Arc
from stash.shape.templates.template import Template
from stash.units import format_inches

__all__ = [
    "MOST_LAYERS",
    "NARROW_STRIP_IN",
    "RULER_STEP",
    "RULER_STEPS",
    "STRIP_IN",
    "ScrapToCut",
    "StripOrder",
    "StripPlan",
    "StripWidths",
    "cross_cut_width",
    "fewest_strips",
    "strip_orders",
    "strip_plan",
    "strip_widths",
    "strip_words",
]

RULER_STEP = 16  # marks to the inch a strip is cut to
# Parts of an inch a ruler in that unit is marked in: sixteenths, and millimetres.
RULER_STEPS = MappingProxyType({"in": float(RULER_STEP), "cm": 25.4})
STRIP_IN = 40.0  # usable width of cloth a strip is as long as: common practice, no source
# Narrower strips are cut with a caution: less than the fingers' room beside a ruler (judgement).
NARROW_STRIP_IN = 1.0
MOST_LAYERS = 6  # what a sharp 45 mm blade goes through cleanly: common practice, no source


@dataclass(frozen=True, slots=True)
class ScrapToCut:
    """A scrap and where its pieces lie.

    Attributes
    ----------
    number, fabric : int
        In the stash.
    name, place : str
        The fabric's name and the bin; may be empty.
    outline : Outline
        As measured, inches.
    pieces : tuple of Ring
        Cut outlines on the scrap, in its own inches.
    places : tuple of str
        Where each piece goes, row and piece such as ``3.12``; empty before the layout.
    washed : bool
        Unwashed cloth is washed before it is cut.
    grain : str
        Which way the grain runs and what says so, in words; may be empty.
    strips : StripCuts or None
        Another way, with straight cuts only.
    picture : bytes
        A picture of the scrap (JPEG), or nothing.
    px_per_in, left_in, top_in : float
        Its scale and the inches of its upper left corner.
    left : tuple of Outline
        What stays in the stash once the pieces are cut, largest first.
    may_bleed : bool
        Whether it is not washed and of a colour that often runs.
    """

    number: int
    fabric: int
    name: str
    place: str
    outline: Outline
    pieces: tuple[Ring, ...]
    washed: bool = True
    grain: str = ""
    strips: StripCuts | None = None
    picture: bytes = b""
    px_per_in: float = 0.0
    left_in: float = 0.0
    top_in: float = 0.0
    places: tuple[str, ...] = ()
    left: tuple[Outline, ...] = ()
    may_bleed: bool = False


@dataclass(frozen=True, slots=True)
class StripWidths:
    """Strips that just take a shape, inches.

    Attributes
    ----------
    across_in : float
        The shape stands with its longer side across the strip.
    along_in : float
        It lies with its longer side along the strip.
    """

    across_in: float
    along_in: float


@dataclass(frozen=True, slots=True)
class StripPlan:
    """How a straight-edged shape comes off strips cut along the grain.

    Attributes
    ----------
    width_in : float
        Width of the strip: the shape between its edges along the grain.
    per_strip : int
        Pieces a strip of the usable width of cloth gives.
    cross_cut_in : float or None
        Distance of parallel cross-cuts, square to them; None when pieces are cut by template.
    angle_deg : float
        Angle of the cross-cuts to the strip, at most 90.
    by_halves : bool
        Whether every second piece is turned by half a turn.
    """

    width_in: float
    per_strip: int
    cross_cut_in: float | None
    angle_deg: float
    by_halves: bool

    def pieces_at_marks(self, ruler_step: float, *, usable_in: float = STRIP_IN) -> int:
        """Give the pieces of a strip whose cuts lie at a ruler's marks, never too narrow.

        Parameters
        ----------
        ruler_step : float
            Marks an inch.
        usable_in : float
            Length of the strip, inches.
        """
        if self.cross_cut_in is None:
            return self.per_strip
        angle = math.radians(self.angle_deg)
        slant_in = up_to_mark(self.width_in, ruler_step) / math.tan(angle)
        each_in = up_to_mark(self.cross_cut_in, ruler_step) / math.sin(angle)
        return max(0, math.floor((usable_in - slant_in) / each_in + 1e-9))


@dataclass(frozen=True, slots=True)
class StripOrder:
    """Equal strips to cut, at the widths that are told.

    Attributes
    ----------
    strips : int
        How many of this kind.
    width_in : float
        Width to cut them, a ruler's mark.
    pieces : int
        Pieces of each.
    apart_in : float or None
        Distance of parallel cross-cuts, square to them, a ruler's mark; None where pieces are
        turned by halves.
    angle_deg : float
        Angle of the cross-cuts to the strip, at most 90.
    """

    strips: int
    width_in: float
    pieces: int
    apart_in: float | None
    angle_deg: float


def strip_plan(template: Template, *, usable_in: float = STRIP_IN) -> StripPlan | None:
    """Say how a shape comes off strips; None for a shape with arcs.

    A shape of three or four corners with an edge on both sides of the strip (or a tip on one)
    lies edge to edge with its neighbours; others lie side by side.
    """
    if any(isinstance(segment, Arc) for segment in template.cut_path):
        return None
    left, bottom, right, top = template.cut_polygon().bounds
    width_in = top - bottom
    low, high = (_level(template.cut, level) for level in (bottom, top))
    if len(template.cut) > 4 or low is None or high is None:
        count = math.floor(usable_in / (right - left) + 1e-9)
        return StripPlan(width_in, count, None, 90.0, False)
    below, above = low[1] - low[0], high[1] - high[0]
    count = _edge_to_edge(low, high, usable_in)
    if not math.isclose(below, above, abs_tol=1e-6):
        return StripPlan(width_in, count, None, 90.0, True)
    angle_deg = math.degrees(math.atan2(width_in, abs(high[0] - low[0])))
    cross_in = below * math.sin(math.radians(angle_deg))
    return StripPlan(width_in, count, cross_in, angle_deg, False)


def _level(ring: Ring, level: float) -> tuple[float, float] | None:
    on = [x for x, y in ring if math.isclose(y, level, abs_tol=1e-6)]
    return (min(on), max(on)) if on else None


def _edge_to_edge(low: tuple[float, float], high: tuple[float, float], usable_in: float) -> int:
    """Count pieces in a strip, every second one turned, so that each cut serves two pieces."""
    below, above = low[1] - low[0], high[1] - high[0]
    left = min(low[0], high[0])
    bottom_x, top_x, count = low[0], high[0], 0
    while True:
        wide, narrow = (below, above) if count % 2 == 0 else (above, below)
        bottom_x, top_x = bottom_x + wide, top_x + narrow
        if max(bottom_x, top_x) - left > usable_in + 1e-9:
            return count
        count += 1


def strip_widths(template: Template) -> StripWidths:
    """Give the widths of strips that just take a shape standing across or lying along them."""
    points = [segment.start for segment in template.cut_path]
    for segment in template.cut_path:
        if isinstance(segment, Arc):  # the box of an arc ends where it runs level or upright
            points += [segment.point_at(share) for share in _turning_shares(segment)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    sides = (max(xs) - min(xs), max(ys) - min(ys))
    return StripWidths(max(sides), min(sides))


def cross_cut_width(template: Template, strip_in: float, angle_deg: float) -> float | None:
    """Give how far cross-cuts lie apart, measured square to them; None where they alternate.

    Only a shape of two pairs of equal sides fills a strip with cuts that are all parallel. The
    strip may be up to a ruler's mark wider than the shape.
    """
    for base in bases_of(template.cut):
        if base.height_in - 1e-6 <= strip_in < base.height_in + 2 / RULER_STEP:
            own_deg = math.degrees(math.atan2(base.height_in, base.lean_in))
            if math.isclose(own_deg, angle_deg, abs_tol=0.01):
                return base.width_in * math.sin(math.radians(own_deg))
    return None


def strip_orders(
    template: Template, cuts: StripCuts, *, step: float = RULER_STEP
) -> tuple[StripOrder, ...]:
    """Give a straight-cut layout as orders at the widths they are told, equal strips together.

    ``step`` is the ruler the layout was made for, as in ``RULER_STEPS``.
    """
    counted: dict[tuple[float, int], int] = {}
    for strip in cuts.strips:
        key = (up_to_mark(strip.width_in, step), strip.pieces)
        counted[key] = counted.get(key, 0) + 1
    orders = []
    for (width_in, pieces), times in counted.items():
        apart = cross_cut_width(template, width_in, cuts.cross_cut_deg)
        orders.append(
            StripOrder(
                times,
                width_in,
                pieces,
                None if apart is None else up_to_mark(apart, step),
                min(cuts.cross_cut_deg, 180 - cuts.cross_cut_deg),
            )
        )
    return tuple(orders)


def fewest_strips(cuts: StripCuts, wanted: int) -> StripCuts:
    """Keep only the strips needed for so many pieces, in the order they are cut."""
    by_pieces = sorted(range(len(cuts.strips)), key=lambda k: -cuts.strips[k].pieces)
    kept: list[int] = []
    got = 0
    for k in by_pieces:
        if got >= wanted:
            break
        kept.append(k)
        got += cuts.strips[k].pieces
    first = [0, *itertools.accumulate(strip.pieces for strip in cuts.strips)]
    placements = tuple(
        one for k in sorted(kept) for one in cuts.placements[first[k] : first[k + 1]]
    )
    return replace(cuts, strips=tuple(cuts.strips[k] for k in sorted(kept)), placements=placements)


def strip_words(template: Template, cuts: StripCuts, *, unit: str = "in") -> tuple[str, ...]:
    """Say a straight-cut layout in words, equal strips together; made for a ruler in that unit."""
    lines = []
    for order in strip_orders(template, cuts, step=RULER_STEPS[unit]):
        many = f"{order.strips} strips" if order.strips > 1 else "one strip"
        each = " each" if order.strips > 1 else ""
        if order.apart_in is None:
            how = f"then {order.pieces}{each}, turned by halves"
        else:
            how = f"then {order.pieces}{each}, cut {_told(order.apart_in, unit)} apart"
            if abs(order.angle_deg - 90) > 0.5:
                how += f" at {order.angle_deg:.0f}°"
        wide = _told(order.width_in, unit) + (" in" if unit == "in" else "")
        lines.append(f"{many} {wide} wide, {how}")
    return tuple(lines)


def _told(inches: float, unit: str) -> str:
    return format_inches(inches, step=RULER_STEP, unit=unit)


def _turning_shares(arc: Arc) -> list[float]:
    shares = []
    for quarter in range(-8, 9):
        share = (90 * quarter - arc.start_deg) / arc.sweep_deg
        if 0 <= share <= 1:
            shares.append(share)
    return [*shares, 1.0]
