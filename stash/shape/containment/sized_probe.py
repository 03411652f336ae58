"""One shape at any size: the search's points of it, interpolated between sizes made in full.

The corners of a straight shape with a fixed seam allowance move in straight lines as it grows; the
few corners of arcs nearly do. So a size of its own for every scrap costs no making of templates.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from stash.errors import TemplateError
from stash.shape.containment.probe import Probe, probe_of
from stash.shape.plane.border import FloatArray, borders_of, signed_distance
from stash.shape.plane.outline import Ring
from stash.shape.templates.curve import arc_steps, at_quarters, flattened
from stash.shape.templates.template import ARC_EDGES, OWN_SHAPE, Template

__all__ = ["SizedShape", "sized_shape"]

_SIZES = 48
_LEAST_IN = 0.05
_LEAST_EDGES = 4


@dataclass(frozen=True)
class SizedShape:
    """A shape between a least and a greatest size.

    Attributes
    ----------
    sizes : float64, shape (g,)
        The sizes made in full, growing.
    rings : float64, shape (g, n, 2)
        Their cut corners, each in the template's own frame.
    middle : Probe
        The middle one of them; lends the choice of points to all.
    of_middle : float64, shape (n, 2)
        Its corners.
    """

    sizes: FloatArray
    rings: FloatArray
    middle: Probe
    of_middle: FloatArray

    def corners(self, sizes: FloatArray) -> FloatArray:
        """Give the cut corners at these sizes, shape (s, n, 2)."""
        k = np.clip(np.searchsorted(self.sizes, sizes) - 1, 0, len(self.sizes) - 2)
        share = ((sizes - self.sizes[k]) / (self.sizes[k + 1] - self.sizes[k]))[:, None, None]
        return np.asarray(self.rings[k] * (1 - share) + self.rings[k + 1] * share)

    def probe(self, sizes: FloatArray) -> Probe:
        """Give the points for scraps with these sizes, one each."""
        rings = self.corners(sizes)
        few, count = self.middle, rings.shape[1]
        inner = few.points[0, few.depths[0] > 0]
        spots = self._alike(rings, inner + few.centres[0])
        centres = spots[:, :1]
        rings, spots = rings - centres, spots - centres
        edge = borders_of([(ring,) for ring in rings])
        depths = signed_distance(edge, np.arange(len(sizes)), spots) - 1e-6
        corner, share = few.between
        after = np.roll(rings, -1, axis=1)
        between = rings[:, corner] + (after - rings)[:, corner] * share[:, None]
        points = np.concatenate([spots, rings, between], axis=1)
        zeros = np.zeros((len(sizes), count + len(corner)))
        cross = rings[:, :, 0] * after[:, :, 1] - rings[:, :, 1] * after[:, :, 0]
        return Probe(
            centres=centres[:, 0],
            points=points,
            depths=np.concatenate([depths, zeros], axis=1),
            coarse=few.coarse,
            rest=few.rest,
            between=few.between,
            edge=edge,
            reaches=np.hypot(rings[:, :, 0], rings[:, :, 1]).max(axis=1),
            areas=cross.sum(axis=1) / 2,
        )

    def _alike(self, rings: FloatArray, spots: FloatArray) -> FloatArray:
        """Move spots of the middle shape with the box around it: shape (s, k, 2)."""
        low, wide = self.of_middle.min(axis=0), np.ptp(self.of_middle, axis=0)
        share = (spots - low) / wide
        return np.asarray(rings.min(axis=1)[:, None] + share[None] * np.ptp(rings, axis=1)[:, None])

    def least_width(self, turns: FloatArray) -> FloatArray:
        """Give the least width over some directions of every size made, shape (g,)."""
        along = self.rings @ np.array([np.cos(turns), np.sin(turns)])
        return np.asarray(np.ptp(along, axis=1).min(axis=1))

    def areas(self) -> FloatArray:
        """Give the cut area of every size made, shape (g,)."""
        after = np.roll(self.rings, -1, axis=1)
        cross = self.rings[:, :, 0] * after[:, :, 1] - self.rings[:, :, 1] * after[:, :, 0]
        return np.asarray(cross.sum(axis=1) / 2)


def sized_shape(make: Callable[[float], Template], most_in: float) -> SizedShape | None:
    """Prepare a shape up to a size, or to the largest that can be made; None if none can."""
    wanted = np.geomspace(min(_LEAST_IN, most_in / 2), most_in, _SIZES)
    made: list[tuple[float, Template]] = []
    for size in wanted[::-1].tolist():
        template = _made(make, size)
        if template is None and not made:
            continue  # wider than any template is drawn: the next smaller one
        if template is None or (made and not _alike(template, made[0][1])):
            break
        made.append((size, template))
    if len(made) < 2:
        return None
    steps = _steps_for_all(made[0][1])
    sizes = [size for size, _ in made]
    rings = [_ring(template, steps) for _, template in made]
    middle = rings[len(rings) // 2]
    table = np.array(rings[::-1])
    return SizedShape(np.array(sizes[::-1]), table, probe_of(middle), np.array(middle))


def _made(make: Callable[[float], Template], size_in: float) -> Template | None:
    try:
        return make(size_in)
    except TemplateError:
        return None


def _alike(one: Template, other: Template) -> bool:
    """Whether two sizes of a shape have the same lines and arcs."""
    if _is_straight(one):
        return len(one.cut) == len(other.cut)
    return len(at_quarters(one.cut_path)) == len(at_quarters(other.cut_path))


def _is_straight(template: Template) -> bool:
    return template.family == OWN_SHAPE or template.flattening_error_in == 0


def _steps_for_all(largest: Template) -> tuple[int, ...]:
    """Give the edges of each arc; the short ones by its ends sweep farther on small sizes."""
    steps = arc_steps(at_quarters(largest.cut_path), error_in=np.inf, per_quarter=ARC_EDGES)
    return tuple(max(count, _LEAST_EDGES) if count else 0 for count in steps)


def _ring(template: Template, steps: tuple[int, ...]) -> Ring:
    if _is_straight(template):
        return template.cut
    return flattened(at_quarters(template.cut_path), error_in=1.0, outside=True, steps=steps)
