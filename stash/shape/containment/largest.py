"""The largest finished size of a shape that still fits on a scrap, for many scraps at once.

Every scrap has a size of its own under trial: the search for one piece halves the range of sizes,
a piece pushed from the places found grows until it is stuck, and the search has the last word on
whether a little more would fit anywhere else.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stash.shape.containment.field import Field, field_of
from stash.shape.containment.piece_fit import exact_clearance, flush_placement, placement_of_pose
from stash.shape.containment.pose_room import push_clear
from stash.shape.containment.pose_search import search
from stash.shape.containment.sized_probe import SizedShape, sized_shape
from stash.shape.plane.border import FloatArray, IndexArray
from stash.shape.plane.outline import Outline
from stash.shape.templates.template import OWN_SHAPE, Template, make_template
from stash.shape.templates.turning import Turning

__all__ = ["largest_alike", "largest_like", "largest_size", "largest_sizes"]

_BATCH = 96
_HALVINGS = 4  # searches before a piece is grown
_QUICK, _LONG = 200, 5000  # ranges of poses the searches look at
_LANES = 4  # places grown together
_GROWTHS = 40
_FINEST = 1.0006
_LEAST_IN = 0.05
_CHECK_STEP = 1.004  # a larger size asked of the search
_CHECKS = 8
_ROOM_IN = 0.002  # room a grown piece keeps, so that the search for one piece finds it again
_AIM_IN = 4e-4


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
        """Give the shape of the library at a size, inches."""
        return make_template(family, size_in, seam_allowance_in=seam_allowance_in)

    make(1000.0 / 7)  # an unknown family is told even when there are no scraps
    return _largest(outlines, make, turnings)


def largest_like(outline: Outline, template: Template, *, turning: Turning) -> float:
    """Give the largest size of the same shape and proportions; an own shape is scaled whole.

    The size of an own shape is the width of its cut, inches.
    """
    return largest_alike([outline], template, turnings=[turning])[0]


def largest_alike(
    outlines: Sequence[Outline], template: Template, *, turnings: Sequence[Turning]
) -> list[float]:
    """Give the largest size of the same shape and proportions for each scrap."""

    def make(size_in: float) -> Template:
        """Give the same shape at another size, inches, its allowances kept."""
        by = size_in / template.size_in
        if template.family == OWN_SHAPE:
            cut = tuple((x * by, y * by) for x, y in template.cut)
            return replace(template, size_in=size_in, cut=cut)
        tall = template.height_in
        size = size_in if tall is None else f"{size_in:.9f} x {tall * by:.9f}"
        return make_template(template.family, size, seam_allowance_in=template.allowances_in)

    return _largest(outlines, make, turnings)


def _largest(
    outlines: Sequence[Outline], make: Callable[[float], Template], turnings: Sequence[Turning]
) -> list[float]:
    if not outlines:
        return []
    span = max(max(high - low for low, high in _sides(outline)) for outline in outlines)
    shape = sized_shape(make, 4 * span)
    if shape is None:
        return [0.0] * len(outlines)
    order = sorted(range(len(outlines)), key=lambda k: len(outlines[k].points))
    sizes = [0.0] * len(outlines)
    for start in range(0, len(order), _BATCH):
        batch = order[start : start + _BATCH]
        chosen = [outlines[k] for k in batch]
        grower = _Grower(chosen, shape, make, [turnings[k] for k in batch])
        for k, size in zip(batch, grower.largest(), strict=True):
            sizes[k] = size
    return sizes


def _sides(outline: Outline) -> tuple[tuple[float, float], tuple[float, float]]:
    x, y = zip(*outline.points, strict=True)
    return (min(x), max(x)), (min(y), max(y))


class _Grower:
    """Some scraps, a shape of any size, and what is known of each scrap."""

    def __init__(
        self,
        outlines: Sequence[Outline],
        shape: SizedShape,
        make: Callable[[float], Template],
        turnings: Sequence[Turning],
    ) -> None:
        self.outlines, self.shape, self.make, self.turnings = outlines, shape, make, turnings
        period = make(float(shape.sizes[-1])).rotation_period_deg
        self.area = field_of(outlines, [one.within(period) for one in turnings])
        # pushed pieces may turn past the period's end where any turn is allowed
        periods = [360.0 if one.is_free else period for one in turnings]
        windows = [one.within(by) for one, by in zip(turnings, periods, strict=True)]
        self.wide = field_of(outlines, windows)
        count = len(outlines)
        self.size = np.zeros(count)
        self.top = self._tops()
        self.pose = np.zeros((count, 3))
        self.random = np.random.default_rng(8)

    def largest(self) -> list[float]:
        """Halve, grow and check until the search finds nothing larger."""
        every = np.flatnonzero(self.top > self.shape.sizes[0])
        roof = self.top.copy()
        for _ in range(_HALVINGS):
            trial = np.where(self.size > 0, np.sqrt(self.size * roof), 0.5 * roof)
            fits = self._searched(every, trial[every], evaluations=_QUICK)
            roof[every[~fits]] = trial[every[~fits]]
            every = every[roof[every] > self.shape.sizes[0]]
        going = np.flatnonzero(self.size > 0)
        for _ in range(_CHECKS):
            self._grow(going, roof)
            beyond = self.size[going] * _CHECK_STEP
            possible = beyond < self.top[going]
            going, beyond = going[possible], beyond[possible]
            going = going[self._searched(going, beyond, evaluations=_LONG)]
            roof[going] = self.top[going]
            if not len(going):
                break
        return [self._proved(k) for k in range(len(self.outlines))]

    def _tops(self) -> FloatArray:
        """Give sizes too large by width or area alone; none larger can fit."""
        turns = np.arange(60) * np.pi / 60
        border = self.area.border
        along = border.starts @ np.array([np.cos(turns), np.sin(turns)])
        first = border.first[:-1]
        across = np.maximum.reduceat(along, first) - np.minimum.reduceat(along, first)
        own = self.shape.least_width(turns)
        # the least width over sampled turns is at most this much more than the least of all
        own = own - np.ptp(self.shape.rings, axis=1).max(axis=1) * 1.5 * (np.pi / 120)
        by_width = np.searchsorted(own, across.min(axis=1) - 2 * self.area.need)
        areas = np.array([outline.area_sq_in for outline in self.outlines])
        by_area = np.searchsorted(self.shape.areas(), areas)
        last = len(self.shape.sizes) - 1
        return np.asarray(self.shape.sizes[np.minimum(np.minimum(by_width, by_area), last)])

    def _part(self, area: Field, chosen: IndexArray) -> Field:
        """Lay out some of the scraps again, numbered from 0."""
        outlines = [self.outlines[k] for k in chosen.tolist()]
        owner = area.owner(np.arange(len(area.windows)))
        windows = [np.degrees(area.windows[owner == k, 1:]).tolist() for k in chosen.tolist()]
        return field_of(outlines, windows)

    def _searched(
        self, chosen: IndexArray, sizes: FloatArray, *, evaluations: int
    ) -> NDArray[np.bool_]:
        """Ask whether these sizes fit; keep size and place of those that do."""
        if not len(chosen):
            return np.zeros(0, dtype=bool)
        area = self._part(self.area, chosen)
        found = search(area, self.shape.probe(sizes), evaluations=evaluations, at_once=32)
        fits = found.settled
        self.size[chosen[fits]] = sizes[fits]
        self.pose[chosen[fits]] = found.pose[fits]
        return fits

    def _grow(self, chosen: IndexArray, roof: FloatArray) -> None:
        """Push the piece from where it lies, larger and larger, until it is stuck."""
        low, high = self.size[chosen].copy(), roof[chosen].copy()
        lanes = np.repeat(self.pose[chosen][:, None, :], _LANES, axis=1)
        going = np.arange(len(chosen))
        for _ in range(_GROWTHS):
            going = going[high[going] > low[going] * _FINEST]
            if not len(going):
                break
            middle = np.sqrt(low[going] * high[going])
            fits = self._pushed(chosen[going], middle, lanes, going)
            low[going[fits]], high[going[~fits]] = middle[fits], middle[~fits]
        self.size[chosen], self.pose[chosen] = low, lanes[:, 0]

    def _pushed(
        self, chosen: IndexArray, sizes: FloatArray, lanes: FloatArray, row: IndexArray
    ) -> NDArray[np.bool_]:
        """Push all lanes at these sizes; where one fits, the lanes go on from those that do."""
        area = self._part(self.wide, chosen)
        starts = lanes[row].copy()
        jitter = self.random.normal(0, 0.02, (len(row), _LANES - 1, 3))
        jitter[:, :, :2] *= sizes[:, None, None]
        starts[:, 1:] += jitter
        scrap = np.repeat(np.arange(len(row)), _LANES)
        flat = starts.reshape(-1, 3)
        window = _windows_of(area, scrap, flat[:, 2])
        need = area.need[scrap] + _ROOM_IN
        poses, room = push_clear(
            area, self.shape.probe(sizes), window, flat, aim=need + _AIM_IN, steps=10
        )
        good = (room >= need).reshape(-1, _LANES)
        order = np.argsort(~good, axis=1, kind="stable")
        count = good.sum(axis=1)
        fits = count > 0
        # the lanes that fit, over again until all lanes are filled
        pick = np.take_along_axis(
            order, np.arange(_LANES)[None] % np.maximum(count, 1)[:, None], axis=1
        )
        made = np.take_along_axis(poses.reshape(-1, _LANES, 3), pick[:, :, None], axis=1)
        lanes[row[fits]] = made[fits]
        return np.asarray(fits)

    def _proved(self, k: int) -> float:
        """Keep only a size whose placement passes the exact test; try the flush one too."""
        outline = self.outlines[k]
        size = float(self.size[k])
        if size == 0:
            return 0.0
        for shrink in (1.0, 0.9995, 0.999, 0.998, 0.9965, 0.995, 0.99):
            template = self.make(size * shrink)
            centre = self.shape.probe(np.array([size * shrink])).centre
            placement = placement_of_pose(self.pose[k], self.area.middle[k], centre)
            turned = self.turnings[k].is_free or any(
                self.turnings[k].allows(placement.angle_deg + turn)
                for turn in np.arange(0, 360, template.rotation_period_deg).tolist()
            )
            if turned and exact_clearance(outline, placement.ring(template)) >= outline.error_in:
                return self._flush(k, size * shrink)
        return 0.0

    def _flush(self, k: int, size: float) -> float:
        """Round up to a whole 1/8 in when that size lies exactly flush, such as a charm square."""
        for eighth in (math.ceil(size * 8) / 8, math.ceil(size * 4) / 4):
            if size < eighth <= size * 1.002:
                template = self.make(eighth)
                if flush_placement(self.outlines[k], template, self.turnings[k]) is not None:
                    return eighth
        return size


def _windows_of(area: Field, scrap: IndexArray, turn: FloatArray) -> IndexArray:
    """Find the window of each scrap nearest to a turn."""
    first = np.searchsorted(area.windows[:, 0], scrap)
    count = np.searchsorted(area.windows[:, 0], scrap, side="right") - first
    best, off = first.copy(), np.full(len(scrap), np.inf)
    for k in range(int(count.max(initial=0))):
        window = first + np.minimum(k, count - 1)
        low, high = area.windows[window, 1], area.windows[window, 2]
        here = np.maximum(np.maximum(low - turn, turn - high), 0.0)
        best, off = np.where(here < off, window, best), np.minimum(here, off)
    return np.asarray(best)
