"""What is left of a scrap when pieces have been cut out of it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from stash.shape.plane.outline import Outline, Ring, outline_of

__all__ = ["KNIFE_ERROR_IN", "LEAST_IN", "lies_on", "remainders"]

# A cut edge lies where the knife went, not where it was planned: a sixteenth (judgement).
KNIFE_ERROR_IN = 1 / 16
LEAST_IN = 1.0  # a leftover narrower than this gives no piece of anything (judgement)
_SIMPLER_IN = 0.005
_GRID_IN = 1e-6
_TOUCH_IN = 0.02  # a piece may reach so far over the border by rounding and flattening


def remainders(outline: Outline, pieces: Sequence[Ring], *, least_in: float) -> tuple[Outline, ...]:
    """Give the parts that are left, largest first.

    Parameters
    ----------
    outline : Outline
        The scrap before cutting.
    pieces : sequence of Ring
        The cut shapes, in the scrap's own inches.
    least_in : float
        Parts narrower than this are thrown away, and tongues as narrow half of it from where
        they begin, inches.

    Returns
    -------
    tuple of Outline
        Their error is the scrap's. Where that is less than the knife's, the new border is drawn
        so much inside of it that it holds for the knife too; the old border is as it was.
    """
    beyond_in = max(0.0, KNIFE_ERROR_IN - outline.error_in)
    cut = shapely.union_all([Polygon(ring) for ring in pieces])
    left = outline.polygon.difference(cut.buffer(beyond_in, join_style="mitre"))
    half = least_in / 2
    # Erode and grow again: what is too narrow anywhere is gone, tips of what is wide stay.
    opened = left.buffer(-half, join_style="mitre").buffer(2 * half)
    # On a fine grid, so that a border met twice within rounding does not tear the shape.
    with np.errstate(all="ignore"):  # the library snaps numbers near zero by dividing
        kept = shapely.intersection(opened, left, grid_size=_GRID_IN)
    simple = [_simplified(part) for part in _polygons(kept)]
    parts = sorted((part for part in simple if part.is_valid), key=lambda part: -part.area)
    return tuple(
        outline_of(
            part.exterior.coords,
            [ring.coords for ring in part.interiors],
            error_in=outline.error_in,
        )
        for part in parts
        if part.area >= least_in**2
    )


def lies_on(outline: Outline, pieces: Sequence[Ring]) -> bool:
    """Say whether pieces still lie on a scrap, as when it was allotted."""
    cloth = outline.polygon.buffer(_TOUCH_IN)
    return all(bool(cloth.covers(Polygon(ring))) for ring in pieces)


def _simplified(part: Polygon) -> Polygon:
    """Drop needless points, unless that would tear the shape."""
    simple = part.simplify(_SIMPLER_IN)
    return simple if isinstance(simple, Polygon) and simple.is_valid else part


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [
        part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 0
    ]
