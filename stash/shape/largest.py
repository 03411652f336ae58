"""The largest finished size of a shape that still fits on a scrap."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from stash.errors import TemplateError
from stash.shape.border import FloatArray, IndexArray
from stash.shape.field import Field, field_of
from stash.shape.outline import Outline
from stash.shape.piece_fit import exact_clearance, flush_placement, placement_of_pose
from stash.shape.pose_room import push_clear
from stash.shape.pose_search import search
from stash.shape.probe import Probe, probe_of
from stash.shape.template import OWN_SHAPE, Template, make_template
from stash.shape.turning import Turning

__all__ = ["largest_like", "largest_size", "largest_sizes"]

_STARTS = 72
_ROOM_IN = 0.003  # room the search for one piece needs to find the place again
_KEPT = 12  # good poses carried from size to size
_FINEST = 1.0008
_LEAST_IN = 0.05
_CHECK_STEP = 1.004  # a larger size asked of the exhaustive search
_EVALUATIONS = 800


def largest_size(
    outline: Outline, family: str, *, turning: Turning, seam_allowance_in: float = 0.25
) -> float:
    """Give the largest finished size in inches that was proved to fit; 0 when none does.

    Rectangles keep 1 by 2, tumblers and wedges the proportions of a single number.
    """
    return largest_sizes(
        [outline], family, turnings=[turning], seam_allowance_in=seam_allowance_in
    )[0]


def largest_sizes(
    outlines: Sequence[Outline],
    family: str,
    *,
    turnings: Sequence[Turning],
    seam_allowance_in: float = 0.25,
) -> list[float]:
    """Give the largest finished size of a family for each scrap, each with its own turning."""

    def make(size_in: float) -> Template:
        return make_template(family, size_in, seam_allowance_in=seam_allowance_in)

    make(1000.0 / 7)  # an unknown family is told even when there are no scraps
    return [
        _Grower(outline, make, turning).largest()
        for outline, turning in zip(outlines, turnings, strict=True)
    ]


def largest_like(outline: Outline, template: Template, *, turning: Turning) -> float:
    """Give the largest size of the same shape and proportions; an own shape is scaled whole.

    The size of an own shape is the width of its cut, inches.
    """

    def make(size_in: float) -> Template:
        if template.family != OWN_SHAPE:
            share = size_in / template.size_in
            size = (
                f"{size_in:.9f} x {template.height_in * share:.9f}"
                if template.height_in is not None
                else size_in
            )
            return make_template(
                template.family, size, seam_allowance_in=template.seam_allowance_in
            )
        by = size_in / template.size_in
        return replace(
            template, size_in=size_in, cut=tuple((x * by, y * by) for x, y in template.cut)
        )

    return _Grower(outline, make, turning).largest()


@dataclass
class _Grower:
    """One scrap and a shape of any size."""

    outline: Outline
    make: Callable[[float], Template]
    turning: Turning

    def largest(self) -> float:
        """Grow the shape from many starts, then ask the exhaustive search for more."""
        top = self._top()
        if top < _LEAST_IN:
            return 0.0
        size, poses = self._first(top)
        while True:
            if size > 0:
                size, poses = self._grown(size, poses, top)
            beyond = max(size * _CHECK_STEP, top / 8 if size == 0 else 0.0)
            if beyond > top:
                break
            found = self._searched(beyond)
            if found is None:
                break
            size, poses = beyond, found
        return self._proved(size, poses)

    def _probe(self, size_in: float) -> Probe | None:
        try:
            return probe_of(self.make(size_in).cut)
        except TemplateError:
            return None

    def _top(self) -> float:
        """Give the size whose inscribed circle is that of the scrap; none larger can fit."""
        sure = self.outline.sure()
        if sure.is_empty:
            return 0.0
        parts = shapely.get_parts(sure)
        span = float(np.ptp(np.reshape(self.outline.bounds, (2, 2)), axis=0).max())
        radius = max(
            float(shapely.maximum_inscribed_circle(part, tolerance=span * 1e-3).length)
            for part in parts
        )
        radius += span * 1e-3 + self.outline.error_in * 0.01
        low, high = 0.0, 4 * span
        while high - low > 1e-3 * high and high > _LEAST_IN:
            middle = (low + high) / 2
            probe = self._probe(middle)
            small = probe is None or probe.inner_radius_in <= radius
            low, high = (middle, high) if small else (low, middle)
        return high

    def _first(self, top: float) -> tuple[float, FloatArray]:
        area = self._area(360.0)
        random = np.random.default_rng(7)
        half = area.half_size[0]
        for share in (0.6, 0.35, 0.15):
            probe = self._probe(share * top)
            if probe is None:
                continue
            window = random.integers(0, len(area.windows), _STARTS)
            low, high = area.windows[window, 1], area.windows[window, 2]
            turns = low + random.random(_STARTS) * (high - low)
            starts = np.column_stack([random.uniform(-1, 1, (_STARTS, 2)) * half, turns, window])
            poses = self._pushed(area, probe, starts, steps=12)
            if len(poses):
                return share * top, poses
        return 0.0, np.empty((0, 4))

    def _area(self, period_deg: float) -> Field:
        return field_of([self.outline], [self.turning.within(period_deg)])

    def _pushed(self, area: Field, probe: Probe, starts: FloatArray, *, steps: int) -> FloatArray:
        """Push poses (x, y, turn, window) and keep the distinct best that fit."""
        window: IndexArray = starts[:, 3].astype(np.intp)
        need = float(area.need[0])
        aim = np.full(len(starts), need + _ROOM_IN + 3e-4)
        poses, room = push_clear(area, probe, window, starts[:, :3], aim=aim, steps=steps)
        order = np.argsort(-room, kind="stable")
        order = order[room[order] >= need + _ROOM_IN]
        made = np.column_stack([poses, window.astype(float)])[order]
        return np.asarray(made[:_KEPT])

    def _grown(self, size: float, poses: FloatArray, top: float) -> tuple[float, FloatArray]:
        area = self._area(360.0)
        random = np.random.default_rng(8)
        low, high = size, top
        while high > low * _FINEST:
            middle = math.sqrt(low * high)
            probe = self._probe(middle)
            pushed = np.empty((0, 4))
            if probe is not None:
                jitter = random.normal(0, 0.02, (len(poses), 4)) * [low, low, 1, 0]
                starts = np.concatenate([poses, poses + jitter])
                pushed = self._pushed(area, probe, starts, steps=10)
            if len(pushed):
                low, poses = middle, pushed
            else:
                high = middle
        return low, poses

    def _searched(self, size: float) -> FloatArray | None:
        probe = self._probe(size)
        if probe is None:
            return None
        area = self._area(self.make(size).rotation_period_deg)
        found = search(area, probe, evaluations=_EVALUATIONS, at_once=200)
        if not found.settled[0]:
            return None
        turn = math.degrees(found.pose[0, 2])
        window = self._window_of(turn)
        return np.array([[*found.pose[0], window]])

    def _window_of(self, turn_deg: float) -> int:
        windows = self.turning.within(360.0)
        off = [abs(turn_deg - (low + high) / 2) for low, high in windows]
        return int(np.argmin(off))

    def _proved(self, size: float, poses: FloatArray) -> float:
        """Keep only a size whose placement passes the exact test; try the flush one too."""
        middle = self._area(360.0).middle[0]
        for shrink in (1.0, 0.9995, 0.998, 0.99):
            if size <= 0:
                break
            template = self.make(size * shrink)
            centre = probe_of(template.cut).centre
            for pose in poses:
                ring = placement_of_pose(pose, middle, centre).ring(template)
                if exact_clearance(self.outline, ring) >= self.outline.error_in:
                    return self._flush(size * shrink)
        return self._flush(0.0)

    def _flush(self, size: float) -> float:
        """Round up to a whole 1/8 in when that size lies exactly flush, such as a charm square."""
        for eighth in (math.ceil(size * 8) / 8, math.ceil(size * 4) / 4):
            if size < eighth <= size * 1.002:
                template = self.make(eighth)
                if flush_placement(self.outline, template, self.turning) is not None:
                    return eighth
        return size
