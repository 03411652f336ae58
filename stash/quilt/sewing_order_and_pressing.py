"""In which order a top is sewn, which piece lies on top, and where every seam is pressed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from stash.quilt.pattern import Pattern
from stash.quilt.seams import Seam, SeamMap, labels_of
from stash.shape.templates.curve import Line

__all__ = ["Joint", "SewingPlan", "SewnSeam", "Way", "row_width", "sewing_plan"]

_BENT_DEG = 1.0  # a row seam that turns by more is no straight line


class Joint(StrEnum):
    """What a seam joins."""

    UNIT = "unit"
    ROW = "row"
    BETWEEN = "between rows"


class Way(StrEnum):
    """How two rows are joined."""

    STRAIGHT = "one straight seam"
    CURVED = "one waving seam, arc by arc"
    SET_IN = "set-in seams, each edge on its own"
    SHELLS = "each shell on its own, dome under hollow"


@dataclass(frozen=True, slots=True)
class SewnSeam:
    """A seam as it is sewn.

    Attributes
    ----------
    seam : Seam
        Which pieces it joins, and its line or arc.
    joint : Joint
        At which stage.
    on_top : int or None
        The piece that lies on top under the needle: the hollow one of a curved seam.
    press_to : int or None
        The piece its allowance is pressed towards; None: pressed open.
    from_end : int
        Where sewing begins: 0 the segment's start, 1 its end.
    stops : tuple of bool
        Whether stitching ends a seam allowance short of the raw edge at the segment's start
        and at its end, because another seam is set in there.
    opened : tuple of bool
        Whether four or more pieces meet at its start and at its end, so that the allowance is
        opened there.
    """

    seam: Seam
    joint: Joint
    on_top: int | None
    press_to: int | None
    from_end: int
    stops: tuple[bool, bool]
    opened: tuple[bool, bool]

    @property
    def partial(self) -> bool:
        """Whether it is sewn only in part or as a part of a longer line."""
        return any(self.stops)


@dataclass(frozen=True)
class SewingPlan:
    """The sewing of a top.

    Attributes
    ----------
    pattern : Pattern
        The top.
    map : SeamMap
        Its edges and crossings.
    rows : tuple of tuple of int
        Pieces in the rows they are sewn in, from left to right; diagonal rows where the pieces
        of one row touch only at their points.
    diagonal : bool
        Whether those rows run diagonally.
    way : Way
        How rows are joined.
    seams : tuple of SewnSeam
        Every seam.
    """

    pattern: Pattern
    map: SeamMap
    rows: tuple[tuple[int, ...], ...]
    diagonal: bool
    way: Way
    seams: tuple[SewnSeam, ...]

    @property
    def curved(self) -> bool:
        """Whether the shape has curved seams."""
        return any(isinstance(one.seam.segment, Line) is False for one in self.seams)

    @property
    def units(self) -> int:
        """Pieces sewn into one square before rows are joined; 1 if there are none."""
        return self.pattern.setting.group

    @cached_property
    def row_of(self) -> dict[int, int]:
        """The row each piece is sewn in, from 0."""
        return {piece: row for row, pieces in enumerate(self.rows) for piece in pieces}

    def press_of_row(self, row: int) -> str:
        """Say where the seams inside a row are pressed: right, left, or by the curve."""
        inside = [one for one in self.seams if one.joint is Joint.ROW and self._row(one) == row]
        if not inside:
            return "no seam"
        if any(one.seam.bulging is not None for one in inside):
            return "bulging piece"
        order = {piece: at for at, piece in enumerate(self.rows[row])}
        ahead = [
            one.press_to == max((one.seam.first, one.seam.second), key=order.__getitem__)
            for one in inside
        ]
        return "right" if all(ahead) else "left" if not any(ahead) else "mixed"

    def pressing_of_row(self, row: int) -> str:
        """Say as a person does where the seams inside a row go; nothing where there are none."""
        where = self.press_of_row(row)
        if where == "no seam":
            return ""
        if where == "mixed":
            return "pressed as the arrows show"
        return f"pressed {'towards' if where == 'bulging piece' else 'to'} the {where}"

    def _row(self, one: SewnSeam) -> int:
        return self.row_of[one.seam.first]


def sewing_plan(pattern: Pattern, seams: SeamMap) -> SewingPlan:
    """Work out order, top piece and pressing for every seam.

    Rows come first and are then joined. Seams inside straight rows are pressed to the right in
    odd rows and to the left in even ones, so that they nest; a curved seam is pressed towards
    its bulging piece, which nests by itself; the long seams are pressed open where four meet.
    All of this is common practice, no source.
    """
    rows, diagonal = _rows(pattern, seams.seams)
    row_of = {piece: row for row, pieces in enumerate(rows) for piece in pieces}
    order = {piece: at for pieces in rows for at, piece in enumerate(pieces)}
    joints = [_joint(seam, pattern, row_of) for seam in seams.seams]
    way = _way(seams.seams, joints, row_of)
    meeting = _meeting(seams)
    made = []
    for seam, joint, meets in zip(seams.seams, joints, meeting, strict=True):
        ends = (meets[0] >= 3, meets[1] >= 3)
        made.append(
            SewnSeam(
                seam,
                joint,
                seam.hollow,
                _press(seam, joint, (row_of, order, pattern.setting.group), way, max(meets)),
                _from_end(seam, joint, way, pattern),
                _stops(joint, way, ends),
                (meets[0] >= 4, meets[1] >= 4),
            )
        )
    return SewingPlan(pattern, seams, rows, diagonal, way, tuple(made))


def row_width(cut_in: float, pieces: int, seam_in: float = 0.25) -> float:
    """Give what equal pieces measure when sewn side by side: the test of a seam's width.

    References
    ----------
    Melody Crust, Precision Piecing, 2015: three 1 1/2 in strips measure 3 1/2.

    Examples
    --------
    >>> row_width(1.5, 3)
    3.5
    """
    return pieces * cut_in - 2 * seam_in * (pieces - 1)


def _rows(pattern: Pattern, seams: Sequence[Seam]) -> tuple[tuple[tuple[int, ...], ...], bool]:
    places = pattern.places
    inside = any(places[seam.first].row == places[seam.second].row for seam in seams)
    curved = any(seam.bulging is not None for seam in seams)
    if inside or curved or len(pattern.row_numbers) == 1:
        by_row: dict[int, list[int]] = defaultdict(list)
        for piece, place in enumerate(places):
            by_row[place.row].append(piece)
        return tuple(tuple(by_row[row]) for row in sorted(by_row)), False
    return _diagonals(pattern, seams), True


def _diagonals(pattern: Pattern, seams: Sequence[Seam]) -> tuple[tuple[int, ...], ...]:
    """Chain pieces from upper left to lower right."""
    centres = pattern.centres_in
    after: dict[int, int] = {}
    for seam in seams:
        one, other = sorted((seam.first, seam.second), key=lambda piece: centres[piece][0])
        if centres[other][1] < centres[one][1]:
            after[one] = other
    starts = sorted(
        set(range(len(centres))) - set(after.values()),
        key=lambda piece: centres[piece][0] + centres[piece][1] * _slope(pattern),
    )
    rows = []
    for start in starts:
        row = [start]
        while row[-1] in after:
            row.append(after[row[-1]])
        rows.append(tuple(row))
    return tuple(rows)


def _slope(pattern: Pattern) -> float:
    """Give width over height of a diamond, so that x + y * slope is constant along a diagonal."""
    left, bottom, right, top = max(pattern.polygons, key=lambda one: float(one.area)).bounds
    return float((right - left) / (top - bottom))


def _joint(seam: Seam, pattern: Pattern, row_of: dict[int, int]) -> Joint:
    if row_of[seam.first] != row_of[seam.second]:
        return Joint.BETWEEN
    group = pattern.setting.group
    one, other = pattern.places[seam.first], pattern.places[seam.second]
    if group > 1 and (one.number - 1) // group == (other.number - 1) // group:
        return Joint.UNIT
    return Joint.ROW


def _way(seams: Sequence[Seam], joints: Sequence[Joint], row_of: dict[int, int]) -> Way:
    between = [s for s, joint in zip(seams, joints, strict=True) if joint is Joint.BETWEEN]
    if any(seam.bulging is not None for seam in between):
        return Way.CURVED if Joint.ROW in joints else Way.SHELLS
    by_pair: dict[tuple[int, ...], list[float]] = defaultdict(list)
    for seam in between:
        along = seam.segment.direction_at(0.5)
        pair = tuple(sorted((row_of[seam.first], row_of[seam.second])))
        by_pair[pair].append(math.degrees(math.atan2(along[1], along[0])) % 180)
    bent = any(
        min(abs(turn - turns[0]), 180 - abs(turn - turns[0])) > _BENT_DEG
        for turns in by_pair.values()
        for turn in turns
    )
    return Way.SET_IN if bent else Way.STRAIGHT


def _meeting(seams: SeamMap) -> list[tuple[int, int]]:
    """Count the pieces that meet at both ends of every seam."""
    ends = [end for one in seams.seams for end in (one.segment.start, one.segment.end)]
    labels = labels_of(ends)
    met: dict[int, set[int]] = defaultdict(set)
    for at, label in enumerate(labels):
        one = seams.seams[at // 2]
        met[label].update((one.first, one.second))
    counts = [len(met[label]) for label in labels]
    return list(zip(counts[::2], counts[1::2], strict=True))


def _press(
    seam: Seam,
    joint: Joint,
    rows: tuple[dict[int, int], dict[int, int], int],
    way: Way,
    meets: int,
) -> int | None:
    row_of, order, group = rows
    if seam.bulging is not None:
        return seam.bulging
    if joint is Joint.BETWEEN:
        if way is Way.STRAIGHT and meets >= 4:
            return None
        return max((seam.first, seam.second), key=row_of.__getitem__)
    earlier, later = sorted((seam.first, seam.second), key=order.__getitem__)
    if joint is Joint.UNIT:
        # Round a square of four, each towards the next, so that the long seam's halves nest.
        last_to_first = group == 4 and order[later] - order[earlier] == 3
        return earlier if last_to_first else later
    return later if row_of[earlier] % 2 == 0 else earlier


def _stops(joint: Joint, way: Way, ends: tuple[bool, bool]) -> tuple[bool, bool]:
    if joint is Joint.UNIT or way is Way.STRAIGHT:
        return (False, False)
    if way is Way.CURVED and joint is Joint.ROW:
        return (False, False)
    return ends


def _from_end(seam: Seam, joint: Joint, way: Way, pattern: Pattern) -> int:
    """Begin at the left; inside a row at the top; on shells at the middle of the dome."""
    start, end = seam.segment.start, seam.segment.end
    if way is Way.SHELLS and seam.bulging is not None:
        middle = pattern.centres_in[seam.bulging][0]
        return 0 if abs(start[0] - middle) <= abs(end[0] - middle) else 1
    if joint is Joint.BETWEEN:
        return 0 if start[0] <= end[0] else 1
    return 0 if start[1] >= end[1] else 1
