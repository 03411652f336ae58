"""How many pieces one scrap gives, with a layout that proves it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon, Polygon

from stash.shape.outline import Outline
from stash.shape.piece_fit import Placement, find_placement
from stash.shape.straight_cuts import strip_placements
from stash.shape.template import Template
from stash.shape.turning import Turning

__all__ = ["Effort", "Layout", "fill", "is_sound"]

_SNAP_IN = 1e-6  # flush pieces and edges may meet with this much rounding


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to look for one more piece, counted in steps so that answers repeat.

    Attributes
    ----------
    steps : int
        Rounds of pushing pieces apart; 0 takes rows and lattices as they come.
    """

    steps: int = 200


@dataclass(frozen=True, slots=True)
class Layout:
    """Pieces laid on a scrap.

    Attributes
    ----------
    placements : tuple of Placement
        Checked: each inside the sure cloth, no two overlapping, each turned as allowed.
    upper_bound : int
        No layout holds more.
    """

    placements: tuple[Placement, ...]
    upper_bound: int

    @property
    def pieces(self) -> int:
        """How many pieces the layout gives."""
        return len(self.placements)


def fill(
    outline: Outline, template: Template, *, turning: Turning, effort: Effort | None = None
) -> Layout:
    """Lay as many pieces on the scrap as can be found; none overlap, all lie in sure cloth."""
    del effort
    answer = find_placement(outline, template, turning=turning)
    if answer.fits == "no":
        return Layout((), 0)
    sure = outline.sure()
    bound = _area_bound(sure, template)
    found: tuple[Placement, ...] = (answer.placement,) if answer.placement else ()
    strips = strip_placements(sure, template, turning=turning)
    better = strips is not None and len(strips.placements) > len(found)
    if strips is not None and better and is_sound(sure, template, strips.placements):
        found = strips.placements
    return Layout(found, max(bound, len(found)))


def _area_bound(sure: Polygon | MultiPolygon, template: Template) -> int:
    parts = sure.geoms if isinstance(sure, MultiPolygon) else [sure]
    piece = Polygon(template.cut).area
    return sum(math.floor(part.area / piece + 1e-6) for part in parts)


def is_sound(
    sure: Polygon | MultiPolygon, template: Template, placements: Sequence[Placement]
) -> bool:
    """Say whether every piece lies in the cloth and no two overlap, up to rounding."""
    pieces = [Polygon(placement.ring(template)) for placement in placements]
    cloth = sure.buffer(_SNAP_IN, join_style="mitre")
    shapely.prepare(cloth)
    if not bool(shapely.covers(cloth, pieces).all()):
        return False
    tree = shapely.STRtree(pieces)
    slim = shapely.buffer(pieces, -_SNAP_IN, join_style="mitre")
    one, other = tree.query(pieces, predicate="intersects")
    apart = one < other
    return not bool(shapely.intersects(slim[one[apart]], slim[other[apart]]).any())
