"""Pieces laid on a scrap, and the exact check that they lie apart and in the cloth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from stash.shape.containment.piece_fit import Placement
from stash.shape.templates.template import Template

__all__ = ["Layout", "is_sound"]

_SNAP_IN = 1e-6  # flush pieces and edges may meet with this much rounding


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


def is_sound(
    sure: Polygon | MultiPolygon, template: Template, placements: Sequence[Placement]
) -> bool:
    """Say whether every piece lies in the cloth and no two overlap, up to rounding."""
    if not placements:
        return True
    pieces = np.array([Polygon(placement.ring(template)) for placement in placements])
    cloth = sure.buffer(_SNAP_IN, join_style="mitre")
    shapely.prepare(cloth)
    if not bool(shapely.covers(cloth, pieces).all()):
        return False
    tree = shapely.STRtree(pieces)
    slim = shapely.buffer(pieces, -_SNAP_IN, join_style="mitre")
    one, other = tree.query(pieces, predicate="intersects")
    apart = one < other
    return not bool(shapely.intersects(slim[one[apart]], slim[other[apart]]).any())
