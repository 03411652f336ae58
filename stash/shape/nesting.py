"""How many pieces one scrap gives, with a layout that proves it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from stash.shape.border import FloatArray, IndexArray, signed_distance
from stash.shape.field import Field, field_of_cloth
from stash.shape.lattice import dense_repeats, spread
from stash.shape.outline import Outline
from stash.shape.piece_fit import FitAnswer, Placement, find_placement
from stash.shape.pose_room import clearance_of, push_clear
from stash.shape.probe import probe_of
from stash.shape.pushing import Crowd, push_apart
from stash.shape.rows import bases_of, rings_of
from stash.shape.straight_cuts import edge_directions, strip_placements
from stash.shape.template import Template
from stash.shape.turning import Turning

__all__ = ["Effort", "Layout", "fill", "is_sound"]

_SNAP_IN = 1e-6  # flush pieces and edges may meet with this much rounding
_AT_ONCE = 12  # starts pushed together
_OFFSETS = 6  # shifts of a lattice along each of its vectors
_POOL = 240
_STEPS_FOR_ONE = 24
_ROUNDING_IN = 5e-5
_FEW = 9  # up to so many pieces a layout may be opened from its middle


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to look for one more piece, counted in steps so that answers repeat.

    Attributes
    ----------
    steps : int
        Starts tried for one more piece; 0 takes rows and lattices as they come.
    """

    steps: int = 24


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
    outline: Outline,
    template: Template,
    *,
    turning: Turning,
    effort: Effort | None = None,
    known: FitAnswer | None = None,
) -> Layout:
    """Lay as many pieces on the scrap as can be found; none overlap, all lie in sure cloth.

    Parameters
    ----------
    outline : Outline
        The scrap; pieces keep its error away from the measured border.
    template : Template
        What to cut; always face up.
    turning : Turning
        The turns allowed.
    effort : Effort
        How long to look; the same effort gives the same layout.
    known : FitAnswer
        What `find_placement` said, if it was asked already.
    """
    answer = known or find_placement(outline, template, turning=turning)
    if answer.fits == "no":
        return Layout((), 0)
    sure = outline.sure()
    single = (answer.placement,) if answer.placement else ()
    bound = max(_area_bound(sure, template), len(single))
    steps = (effort or Effort()).steps
    bench = _Bench(sure, template, turning)
    best = max((bench.rows(), single), key=len)
    if len(best) < bound and (steps > 0 or not bases_of(template.cut)):
        best = max((bench.lattice(), best), key=len)
    if len(best) == 1 and not is_sound(sure, template, best):
        best = bench.one_more((), 1, _STEPS_FOR_ONE) or best  # clear of sharp inner corners too
    if len(best) < bound and not sure.is_empty:
        best = bench.one_more(best, bound, steps)
    return Layout(tuple(best), bound)


def _area_bound(sure: Polygon | MultiPolygon, template: Template) -> int:
    parts = sure.geoms if isinstance(sure, MultiPolygon) else [sure]
    piece = Polygon(template.cut).area
    return sum(math.floor(part.area / piece + 1e-6) for part in parts)


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


class _Bench:
    """One scrap and one template on the cutting table."""

    def __init__(self, sure: Polygon | MultiPolygon, template: Template, turning: Turning) -> None:
        self.sure, self.template, self.turning = sure, template, turning
        self.probe = probe_of(template.cut)
        self.windows = turning.within(template.rotation_period_deg)
        self.random = np.random.default_rng(20)
        self.lattices: list[FloatArray] = []
        self.area: Field | None = None
        if not sure.is_empty:
            self.area = field_of_cloth(rings_of(sure), self.windows)

    def rows(self) -> tuple[Placement, ...]:
        """Give straight rows where the shape allows them."""
        cuts = strip_placements(self.sure, self.template, turning=self.turning)
        return self._checked(cuts.placements if cuts else ())

    def lattice(self) -> tuple[Placement, ...]:
        """Give the best fall of the densest repeats, and remember good ones as starts."""
        if self.area is None:
            return ()
        best: FloatArray = np.empty((0, 3))
        for poses, room in self._falls(self.area):
            inside = poses[room >= -_ROUNDING_IN / 5]
            self.lattices.append(poses[np.argsort(-room, kind="stable")])
            if len(inside) > len(best):
                best = inside
        return self._checked(self._placements(best))

    def _falls(self, area: Field) -> Iterator[tuple[FloatArray, FloatArray]]:
        half_turns = 180 % self.template.rotation_period_deg > 1e-9 and self._half_turn_allowed()
        repeats = dense_repeats(self.template.cut, half_turns=half_turns)
        grid = np.arange(_OFFSETS) / _OFFSETS
        shares = np.stack(np.meshgrid(grid, grid), axis=-1).reshape(-1, 2)
        reach = area.half_size[0] + self.probe.reach_in
        for repeat in repeats:
            for direction in self._row_directions(repeat.turn):
                falls = spread(repeat, direction, reach, shares)
                sizes = [len(fall) for fall in falls]
                every = self._about_inner_centre(np.concatenate(falls))
                room = self._room(area, every)
                ends = np.cumsum(sizes)
                counts = np.array(
                    [
                        (room[end - size : end] > -_ROUNDING_IN / 5).sum()
                        for end, size in zip(ends, sizes, strict=True)
                    ]
                )
                for k in np.argsort(-counts, kind="stable")[:3]:
                    part = slice(ends[k] - sizes[k], ends[k])
                    near = room[part] > -self.probe.inner_radius_in
                    yield every[part][near], room[part][near]

    def _half_turn_allowed(self) -> bool:
        middles = [(low + high) / 2 for low, high in self.turning.windows_deg]
        return self.turning.is_free or any(self.turning.allows(one + 180) for one in middles)

    def _row_directions(self, repeat_turn: float) -> list[float]:
        """Directions of rows so that pieces lie as allowed: along long edges, or by the grain."""
        along = [math.radians(one) for one in edge_directions(rings_of(self.sure), 5)]
        if self.turning.is_free:
            return along
        offered = [one + flip for one in along for flip in (0.0, math.pi)]
        for low, high in self.turning.windows_deg:
            offered.extend(math.radians(one) - repeat_turn for one in (low, (low + high) / 2, high))
        kept = [one for one in offered if self._allows(math.degrees(one + repeat_turn))]
        return list(dict.fromkeys(round(one % (2 * math.pi), 9) for one in kept))

    def _allows(self, angle_deg: float) -> bool:
        period_deg = self.template.rotation_period_deg
        return any(
            self.turning.allows(angle_deg + k * period_deg) for k in range(round(360 / period_deg))
        )

    def _about_inner_centre(self, poses: FloatArray) -> FloatArray:
        """Move poses of the template's origin to poses of its inscribed circle's centre.

        The lattice's box is centred on the field's middle already.
        """
        x, y = self.probe.centre
        cos, sin = np.cos(poses[:, 2]), np.sin(poses[:, 2])
        return np.column_stack(
            [poses[:, 0] + x * cos - y * sin, poses[:, 1] + x * sin + y * cos, poses[:, 2]]
        )

    def _room(self, area: Field, poses: FloatArray) -> FloatArray:
        room = np.full(len(poses), -np.inf)
        zero = np.zeros(len(poses), dtype=np.intp)
        centre = signed_distance(area.border, zero, poses[:, None, :2])[:, 0]
        close = centre > 0.2 * self.probe.inner_radius_in
        room[close] = clearance_of(area, self.probe, zero[close], poses[close])
        return room

    def _placements(self, poses: FloatArray) -> tuple[Placement, ...]:
        assert self.area is not None
        (cx, cy), (mx, my) = self.probe.centre, self.area.middle[0]
        made = []
        for x, y, turn in poses.tolist():
            cos, sin = math.cos(turn), math.sin(turn)
            made.append(
                Placement(
                    float(x + mx - cx * cos + cy * sin),
                    float(y + my - cx * sin - cy * cos),
                    math.degrees(turn) % 360,
                )
            )
        return tuple(made)

    def _checked(self, placements: Sequence[Placement]) -> tuple[Placement, ...]:
        turned = all(self._allows(one.angle_deg) for one in placements)
        if turned and is_sound(self.sure, self.template, placements):
            return tuple(placements)
        return ()

    def one_more(
        self, best: tuple[Placement, ...], bound: int, steps: int
    ) -> tuple[Placement, ...]:
        """Push one piece more than the best into the cloth, again and again."""
        assert self.area is not None
        pool = self._pool(self.area)
        tried = 0
        while tried < steps and len(best) < bound:
            count = len(best) + 1
            crowd = self._starts(count, pool, best, tried)
            poses, worst = push_apart(self.area, self.probe, crowd)
            tried += len(worst)
            for k in np.argsort(-worst, kind="stable"):
                if worst[k] <= 0:
                    break
                found = self._checked(self._placements(poses[k]))
                if len(found) > len(best):
                    best, tried = found, 0
                    break
        return best

    def _pool(self, area: Field) -> FloatArray:
        """Give many different single poses that lie nearly inside."""
        half = area.half_size[0]
        spots = self.random.uniform(-1, 1, (6 * _POOL, 2)) * half
        zero = np.zeros(len(spots), dtype=np.intp)
        depth = signed_distance(area.border, zero, spots[:, None, :])[:, 0]
        spots = spots[np.argsort(-np.minimum(depth, self.probe.inner_radius_in), kind="stable")]
        spots = spots[:_POOL]
        window = self.random.integers(0, len(self.windows), len(spots))
        low, high = area.windows[window, 1], area.windows[window, 2]
        turns = self._turns(low, high)
        poses = np.column_stack([spots, turns])
        aim = np.full(len(poses), 2e-4)
        pushed, room = push_clear(area, self.probe, window, poses, aim=aim, steps=8)
        kept = room > -0.15 * self.probe.inner_radius_in
        if not kept.any():
            kept = room >= np.sort(room)[-8:].min()
        return np.asarray(pushed[kept])

    def _turns(self, low: FloatArray, high: FloatArray) -> FloatArray:
        return np.asarray(low + self.random.random(len(low)) * (high - low))

    def _starts(
        self, count: int, pool: FloatArray, best: tuple[Placement, ...], tried: int
    ) -> Crowd:
        assert self.area is not None
        made = []
        for k in range(_AT_ONCE):
            kind = (tried // _AT_ONCE + k) % 3
            if kind == 0 and self.lattices:
                made.append(self._from_lattice(count, pool))
            elif kind == 1 and best:
                made.append(self._from_best(count, pool, best))
            else:
                made.append(self._scattered(count, pool, np.empty((0, 3))))
        if tried == 0 and 1 < count <= _FEW and self.turning.is_free:
            made.append(self._about_a_middle(best))
        poses = np.stack(made)
        low, high = self._limits(poses[:, :, 2])
        return Crowd(poses, low, high)

    def _about_a_middle(self, best: tuple[Placement, ...]) -> FloatArray:
        """Open the best layout from its middle for one piece more, turned half a period."""
        poses = self._poses_of(best)
        middle = poses.mean(axis=0)
        half_period = math.radians(self.template.rotation_period_deg) / 2
        opened = poses.copy()
        opened[:, :2] += 0.3 * (poses - middle)[:, :2]
        turned = [middle[0], middle[1], poses[0, 2] + half_period]
        return np.concatenate([opened, [turned]])

    def _from_lattice(self, count: int, pool: FloatArray) -> FloatArray:
        fall = self.lattices[int(self.random.integers(len(self.lattices)))]
        return self._scattered(count, pool, fall[:count])

    def _from_best(self, count: int, pool: FloatArray, best: tuple[Placement, ...]) -> FloatArray:
        poses = self._poses_of(best)
        drop = int(self.random.integers(0, min(3, len(poses)) + 1))
        if drop and len(poses) > drop:
            poses = np.delete(poses, self._neighbours(poses, drop), axis=0)
        jitter = self.random.normal(0, 0.05 * self.probe.inner_radius_in, poses.shape)
        jitter[:, 2] /= self.probe.reach_in
        return self._scattered(count, pool, poses + jitter)

    def _poses_of(self, placements: tuple[Placement, ...]) -> FloatArray:
        assert self.area is not None
        origin = np.array(
            [
                (
                    one.x - self.area.middle[0, 0],
                    one.y - self.area.middle[0, 1],
                    math.radians(one.angle_deg),
                )
                for one in placements
            ]
        )
        return self._about_inner_centre(origin)

    def _neighbours(self, poses: FloatArray, count: int) -> IndexArray:
        middle = poses[int(self.random.integers(len(poses)))]
        return np.argsort(np.hypot(*(poses[:, :2] - middle[:2]).T), kind="stable")[:count]

    def _scattered(self, count: int, pool: FloatArray, start: FloatArray) -> FloatArray:
        """Add poses of the pool that lie far from those there are, until there are enough."""
        chosen = [start]
        need = count - len(start)
        if len(start) == 0 and need > 0:
            chosen.append(pool[int(self.random.integers(len(pool)))][None])
            need -= 1
        placed = np.concatenate(chosen)
        far = np.min(
            np.hypot(pool[:, None, 0] - placed[None, :, 0], pool[:, None, 1] - placed[None, :, 1]),
            axis=1,
        )
        for _ in range(need):
            weight = np.minimum(far, 2 * self.probe.reach_in) ** 4 + 1e-12
            pick = int(self.random.choice(len(pool), p=weight / weight.sum()))
            chosen.append(pool[pick][None])
            far = np.minimum(far, np.hypot(*(pool[:, :2] - pool[pick, :2]).T))
        return np.concatenate(chosen)

    def _limits(self, turns: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give each piece the window of turns it starts in, moved by whole periods."""
        assert self.area is not None
        low = np.empty_like(turns)
        high = np.empty_like(turns)
        period = math.radians(self.template.rotation_period_deg)
        best = np.full(turns.shape, np.inf)
        for _, first, last in self.area.windows:
            middle = (first + last) / 2
            shift = np.round((turns - middle) / period) * period
            off = np.abs(turns - middle - shift)
            closer = off < best
            best = np.where(closer, off, best)
            low = np.where(closer, first + shift, low)
            high = np.where(closer, last + shift, high)
        if self.turning.is_free:
            low, high = np.full_like(turns, -np.inf), np.full_like(turns, np.inf)
        return low, high
