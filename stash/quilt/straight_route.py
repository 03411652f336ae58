"""One way along all lines that goes straight on wherever it can, as a row is quilted.

At every point the line ends that lie most nearly straight on are paired; followed from pair to
pair they make closed trails, each down a row and back. Trails that meet are then joined where a
turn costs least, which is at the border, where a row pivots anyway.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

__all__ = ["straight_circuit", "turn_rad"]

_Ends = dict[int, int]
_NEUTRAL = math.pi / 2  # a jump may leave in any direction


def turn_rad(arriving: tuple[float, float] | None, leaving: tuple[float, float] | None) -> float:
    """Give the turn between two ends as they lead away from a point: 0 is straight on."""
    if arriving is None or leaving is None:
        return _NEUTRAL
    dot = arriving[0] * leaving[0] + arriving[1] * leaving[1]
    size = math.hypot(*arriving) * math.hypot(*leaving)
    return math.pi - math.acos(max(-1.0, min(1.0, dot / size)))


def straight_circuit(
    nodes: Sequence[int], away: Sequence[tuple[float, float] | None], first: int
) -> list[int]:
    """Order the ends of lines along one closed way.

    Parameters
    ----------
    nodes : sequence of int
        The point each end lies at; ends 2k and 2k + 1 are those of line k. All points are
        reached from each other, and an even number of ends meets at each.
    away : sequence of (x, y) or None
        Which way the line leads from its end; None for a jump.
    first : int
        The point to begin at.

    Returns
    -------
    list of int
        The end each line is entered by, in order.
    """
    at: dict[int, list[int]] = defaultdict(list)
    for end, node in enumerate(nodes):
        at[node].append(end)
    mate: _Ends = {}
    for ends in at.values():
        _pair(ends, away, mate)
    trail = _trails(mate)
    while len(set(trail.values())) > 1:
        _join(at, away, mate, trail)
        trail = _trails(mate)
    start = at[first][0]
    order, end = [], start
    while True:
        order.append(end)
        end = mate[end ^ 1]
        if end == start:
            return order


def _pair(ends: Sequence[int], away: Sequence[tuple[float, float] | None], mate: _Ends) -> None:
    options = sorted(
        (turn_rad(away[one], away[other]), one, other)
        for k, one in enumerate(ends)
        for other in ends[k + 1 :]
    )
    for _, one, other in options:
        if one not in mate and other not in mate:
            mate[one], mate[other] = other, one


def _trails(mate: _Ends) -> dict[int, int]:
    """Number the trail every end lies on."""
    trail: dict[int, int] = {}
    for start in mate:
        if start in trail:
            continue
        end = start
        while end not in trail:
            trail[end] = trail[end ^ 1] = start
            end = mate[end ^ 1]
    return trail


def _join(
    at: dict[int, list[int]],
    away: Sequence[tuple[float, float] | None],
    mate: _Ends,
    trail: dict[int, int],
) -> None:
    """Pair two ends of different trails at the point where it costs least."""
    best: tuple[float, int, int] | None = None
    for ends in at.values():
        if len({trail[end] for end in ends}) < 2:
            continue
        for k, one in enumerate(ends):
            for other in ends[k + 1 :]:
                if trail[one] == trail[other]:
                    continue
                cost = _cost(one, other, away, mate)
                if best is None or cost < best[0]:
                    best = (cost, one, other)
    assert best is not None
    _, one, other = best
    third, fourth = mate[one], mate[other]
    mate[one], mate[other], mate[third], mate[fourth] = other, one, fourth, third


def _cost(one: int, other: int, away: Sequence[tuple[float, float] | None], mate: _Ends) -> float:
    third, fourth = mate[one], mate[other]
    after = turn_rad(away[one], away[other]) + turn_rad(away[third], away[fourth])
    before = turn_rad(away[one], away[third]) + turn_rad(away[other], away[fourth])
    return after - before
