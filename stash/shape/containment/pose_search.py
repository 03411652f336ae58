"""Branch and bound over position and turn, on many scraps at once.

The clearance of a pose is the largest distance by which the whole piece stays inside the scrap's
border. Moving a pose by at most some distance changes it by at most that distance, so the value
at the middle of a range of poses bounds the range; ranges that cannot reach the clearance needed
are dropped, the others are split. Small ranges are bounded more closely, by the lines of the
nearest edges together (`line_bound`). In between, good poses are pushed clear of the
border by damped least squares. A yes rests on a pose found (checked exactly elsewhere), a no on
the bound.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stash.shape.containment.crossing import Crossings
from stash.shape.containment.edge_depth import Behind
from stash.shape.containment.field import Field
from stash.shape.containment.line_bound import Spans, lines_of_piece, lines_of_scrap, most_room
from stash.shape.containment.pose_ranges import (
    Blocks,
    PoseRanges,
    blocks_over,
    quartered,
    split,
    with_turns,
)
from stash.shape.containment.pose_room import corner_room, nearest_corners, push_clear
from stash.shape.containment.probe import Probe
from stash.shape.containment.turn_windows import Narrowed, narrowed
from stash.shape.plane.border import FloatArray, IndexArray, signed_distance, with_edge

__all__ = ["Found", "search"]

_ROUNDING_IN = 5e-5  # single precision at table size, with room
_NEAR_IN = 0.003  # ranges that could gain less than this over the need are given up
_AIM_IN = 4e-4  # how much more than the need a pushed pose aims at
_PUSHED_FIRST, _PUSHED_THEN = 3, 4  # rounds with pushing: the first ones, then every so many
_PUSHED = 2  # poses pushed per scrap and round
_PUSHES = 7
_NEARLY_FREE_IN = 0.05  # poses with less room than this under the need are bounded by points
_NARROW, _WIDE = 2, 256  # rounds that split at_once ranges a scrap; later ones split so many
_FINE = 1.0  # ranges this small beside the inscribed circle are bounded by every point together
_FINE_TURN = 0.2  # and turn this little, radians
_TURNS_FIRST = 1.5  # lines bound moves exactly but turns only nearly, so turns are halved earlier
_WEIGHED, _WEIGHED_CORNERS = 12, 4  # points and corners that are bounded together


@dataclass(frozen=True)
class _Behind:
    scrap: Behind
    piece: Behind
    crossings: Crossings | None


@dataclass
class Found:
    """What is known of each scrap: best pose, its clearance, and the bound on all others.

    Ranges given up although they may hold a pose with just the need are kept in near.
    """

    pose: FloatArray
    value: FloatArray
    bound: FloatArray
    settled: NDArray[np.bool_]
    near: list[PoseRanges] = field(default_factory=list)

    def note(
        self, scrap: IndexArray, pose: FloatArray, value: FloatArray, need: FloatArray
    ) -> None:
        """Keep the poses that are better than what was known."""
        order = np.argsort(value, kind="stable")
        better = order[value[order] > self.value[scrap[order]]]
        self.value[scrap[better]] = value[better]  # the greatest comes last and stays
        self.pose[scrap[better]] = pose[better]
        self.settled |= self.value >= need + _ROUNDING_IN


def search(
    area: Field, probe: Probe, *, evaluations: int, at_once: int, careful: bool = False
) -> Found:
    """Look for a pose with the clearance needed on every scrap.

    Parameters
    ----------
    area, probe : Field, Probe
        The scraps and the template.
    evaluations : int
        Ranges looked at per scrap before it is left undecided.
    at_once : int
        Ranges split per scrap in the first rounds; later ones, when no place was found easily and
        all ranges must be ruled out, split more.
    careful : bool
        Look also at what crosses a piece between all points; slow, for scraps where a place
        that looked free was not.
    """
    scraps = len(area.need)
    few = narrowed(area, probe)
    found = Found(
        np.zeros((scraps, 3)),
        np.full(scraps, -np.inf),
        few.bound,
        np.zeros(scraps, dtype=bool),
    )
    area = few.area
    crossings = Crossings(area.border, probe.edge) if careful else None
    behind = _Behind(Behind(area.border), Behind(probe.edge, outside=True), crossings)
    spent = np.zeros(scraps)
    ranges = _root(few, probe, behind, found)
    number = 0
    while len(ranges.bound):
        wide = at_once if number < _NARROW else max(at_once, _WIDE)
        ranges, rest = _most_promising(area, ranges, wide)
        children = split(ranges, _TURNS_FIRST * probe.reach(area.owner(ranges.window)))
        np.add.at(spent, area.owner(children.window), 1)
        children = _bounded(area, probe, behind, children, found)
        if number < _PUSHED_FIRST or number % _PUSHED_THEN == 0:
            _improve(area, probe, behind, children, found)
        number += 1
        ranges = _open(area, rest.joined(children), found)
        owner = area.owner(ranges.window)
        over = spent[owner] > evaluations
        np.maximum.at(found.bound, owner[over], ranges.bound[over])
        ranges = ranges.take(~over)
    _push_given_up(area, probe, behind, found)
    np.maximum(found.bound, found.value, out=found.bound)
    return found


def _most_promising(area: Field, ranges: PoseRanges, at_once: int) -> tuple[PoseRanges, PoseRanges]:
    """Take the ranges of highest bound, so many of each scrap; give them and the rest."""
    owner = area.owner(ranges.window)
    order = np.lexsort((-ranges.bound, owner))
    owner = owner[order]
    chosen = np.arange(len(owner)) - np.searchsorted(owner, owner) < at_once
    return ranges.take(order[chosen]), ranges.take(order[~chosen])


def _open(area: Field, ranges: PoseRanges, found: Found) -> PoseRanges:
    """Drop the ranges that cannot reach the need, and those of scraps that are settled."""
    owner = area.owner(ranges.window)
    low = ranges.bound < area.need[owner] + _NEAR_IN
    dropped = low | found.settled[owner]
    np.maximum.at(found.bound, owner[dropped], ranges.bound[dropped])
    near = low & (ranges.bound >= area.need[owner]) & ~found.settled[owner]
    if near.any():
        found.near.append(ranges.take(near))
    return ranges.take(~dropped)


def _root(few: Narrowed, probe: Probe, behind: _Behind, found: Found) -> PoseRanges:
    """Cover scraps with blocks; keep those whose middle could hold the inscribed circle."""
    area = few.area
    blocks = blocks_over(area, probe)
    possible = np.bincount(area.owner(np.arange(len(area.windows))), minlength=len(area.need)) > 0
    blocks = blocks.take(possible[blocks.owner])
    blocks, bound, room = _deep_blocks(area, probe, blocks, found)
    _guess(few, probe, behind, blocks, room, found)
    blocks = blocks.take(~found.settled[blocks.owner])
    blocks, bound, _ = _deep_blocks(area, probe, quartered(blocks), found)
    return with_turns(area, probe, blocks, bound)


def _deep_blocks(
    area: Field, probe: Probe, blocks: Blocks, found: Found
) -> tuple[Blocks, FloatArray, FloatArray]:
    room = signed_distance(area.border, blocks.owner, blocks.spots[:, None, :])[:, 0]
    bound = room - probe.radius(blocks.owner) + 1.4143 * blocks.half + _ROUNDING_IN
    kept = bound >= area.need[blocks.owner]
    np.maximum.at(found.bound, blocks.owner[~kept], bound[~kept])
    return blocks.take(kept), bound[kept], room[kept]


def _guess(
    few: Narrowed,
    probe: Probe,
    behind: _Behind,
    blocks: Blocks,
    room: FloatArray,
    found: Found,
) -> None:
    """Push the piece clear from the deepest block, turned as the scrap's widths suggest."""
    order = np.lexsort((-room, blocks.owner))
    owner = blocks.owner[order]
    first = order[np.flatnonzero(np.diff(owner, prepend=-1))]
    scrap = blocks.owner[first]
    pose = np.column_stack([blocks.spots[first], few.turn[scrap]])
    need = few.area.need
    pose, value = push_clear(
        few.area, probe, few.window[scrap], pose, aim=need[scrap] + _AIM_IN, steps=_PUSHES
    )
    value = _uncrossed(few.area, probe, behind, scrap, pose, value)
    found.note(scrap, pose, value, need)


def _bounded(
    area: Field, probe: Probe, behind: _Behind, ranges: PoseRanges, found: Found
) -> PoseRanges:
    """Value and bound of each range from its middle; ranges that cannot reach the need go."""
    for chosen in probe.coarse:
        ranges = _bounded_by(area, probe, ranges, found, chosen)
    ranges = _bounded_by_corners(area, probe, ranges, found)
    scrap = area.owner(ranges.window)
    fine = ranges.half + ranges.turn * probe.reach(scrap) < _FINE * probe.radius(scrap)
    fine &= ranges.turn < _FINE_TURN
    if fine.any():
        closer = _bounded_by_lines(area, probe, behind, ranges.take(fine), found)
        ranges = ranges.take(~fine).joined(closer)
    return _bounded_by_crossings(area, probe, behind, ranges, found)


def _bounded_by_crossings(
    area: Field, probe: Probe, behind: _Behind, ranges: PoseRanges, found: Found
) -> PoseRanges:
    """Bound the ranges whose middles look free by what runs through the piece there."""
    if behind.crossings is None:
        return ranges
    scrap = area.owner(ranges.window)
    free = np.flatnonzero(ranges.value >= area.need[scrap] - _NEARLY_FREE_IN)
    room, arm = behind.crossings.depth(scrap[free], probe.number(scrap[free]), ranges.pose[free])
    moves = ranges.sway()[free] * arm + ranges.shift()[free]
    ranges.value[free] = np.minimum(ranges.value[free], room)
    ranges.bound[free] = np.minimum(ranges.bound[free], room + moves + _ROUNDING_IN)
    return _open(area, ranges, found)


def _uncrossed(
    area: Field,
    probe: Probe,
    behind: _Behind,
    scrap: IndexArray,
    pose: FloatArray,
    value: FloatArray,
) -> FloatArray:
    """Lower the room of poses that only look free."""
    if behind.crossings is None:
        return value
    value = value.copy()
    free = np.flatnonzero(value >= area.need[scrap] - _NEARLY_FREE_IN)
    room, _ = behind.crossings.depth(scrap[free], probe.number(scrap[free]), pose[free])
    value[free] = np.minimum(value[free], room)
    return value


def _bounded_by(
    area: Field, probe: Probe, ranges: PoseRanges, found: Found, chosen: IndexArray
) -> PoseRanges:
    scrap = area.owner(ranges.window)
    inside = signed_distance(area.border, scrap, probe.placed(ranges.pose, scrap, chosen))
    inside -= probe.depth(scrap)[:, chosen]
    points = probe.local(scrap, chosen)
    arm = np.hypot(points[:, :, 0], points[:, :, 1])
    bound = (inside + ranges.sway()[:, None] * arm).min(axis=1) + ranges.shift()
    ranges.value = np.minimum(ranges.value, inside.min(axis=1))
    ranges.bound = np.minimum(ranges.bound, bound + _ROUNDING_IN)
    return _open(area, ranges, found)


def _bounded_by_lines(
    area: Field, probe: Probe, behind: _Behind, ranges: PoseRanges, found: Found
) -> PoseRanges:
    """Bound small ranges by all points on the piece's border, each alone and then together."""
    scrap = area.owner(ranges.window)
    placed = probe.placed(ranges.pose, scrap, probe.rim)
    inside, edge = with_edge(area.border, scrap, placed)
    arm = placed - ranges.pose[:, None, :2]
    sway = ranges.sway()[:, None] * np.hypot(arm[:, :, 0], arm[:, :, 1])
    bound = (inside + sway).min(axis=1) + ranges.shift()
    ranges.value = np.minimum(ranges.value, inside.min(axis=1))
    most = area.need[scrap] + _NEAR_IN
    spans = Spans(ranges.pose, ranges.half, ranges.turn, most)
    pick = np.argpartition(inside, min(_WEIGHED, inside.shape[1]) - 1, axis=1)[:, :_WEIGHED]
    few = (
        np.take_along_axis(placed, pick[:, :, None], axis=1),
        np.take_along_axis(edge, pick, axis=1),
        np.take_along_axis(inside, pick, axis=1),
    )
    lines = lines_of_scrap(behind.scrap, scrap, spans, few)
    corners = nearest_corners(area, probe, scrap, ranges.pose, _WEIGHED_CORNERS)
    lines = lines.joined(lines_of_piece(behind.piece, probe.number(scrap), spans, corners))
    bound = np.minimum(bound, most_room(lines, most))
    ranges.bound = np.minimum(ranges.bound, bound + _ROUNDING_IN)
    return _open(area, ranges, found)


def _bounded_by_corners(area: Field, probe: Probe, ranges: PoseRanges, found: Found) -> PoseRanges:
    """Bound ranges by the scrap's own corners that point into the cloth."""
    if not len(area.reflex) or not len(ranges.bound):
        return ranges
    scrap = area.owner(ranges.window)
    beyond, bound = corner_room(area, probe, scrap, ranges.pose, ranges.sway())
    ranges.value = np.minimum(ranges.value, beyond)
    ranges.bound = np.minimum(ranges.bound, bound + ranges.shift() + _ROUNDING_IN)
    return _open(area, ranges, found)


def _improve(area: Field, probe: Probe, behind: _Behind, ranges: PoseRanges, found: Found) -> None:
    """Push the most promising middles clear and note what was reached."""
    owner = area.owner(ranges.window)
    order = np.lexsort((-ranges.value, owner))
    owner = owner[order]
    rank = np.arange(len(owner)) - np.searchsorted(owner, owner)
    reach = 1.3 * ranges.half[order] + 0.7 * ranges.turn[order] * probe.reach(owner)
    promising = ranges.value[order] + reach >= area.need[owner]
    starts = ranges.take(order[(rank < _PUSHED) & promising])
    if len(starts.window):
        _push(area, probe, behind, starts, found)


def _push(area: Field, probe: Probe, behind: _Behind, starts: PoseRanges, found: Found) -> None:
    """Push the middles of ranges clear and note what was reached."""
    scrap = area.owner(starts.window)
    aim = area.need[scrap] + _AIM_IN
    pose, value = push_clear(area, probe, starts.window, starts.pose, aim=aim, steps=_PUSHES)
    value = _uncrossed(area, probe, behind, scrap, pose, value)
    found.note(scrap, pose, value, area.need)


def _push_given_up(area: Field, probe: Probe, behind: _Behind, found: Found) -> None:
    """Push from the highest bound given up on each scrap without a place: it may lie flush."""
    if not found.near:
        return
    ranges = PoseRanges.of(found.near)
    ranges = ranges.take(~found.settled[area.owner(ranges.window)])
    starts, _ = _most_promising(area, ranges, 1)
    if len(starts.window):
        _push(area, probe, behind, starts, found)
