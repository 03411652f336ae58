"""Trails along lines that go straight on wherever they can, as a row is quilted.

At every point the line ends that lie most nearly straight on are paired; followed from pair to
pair they make trails, each down a row and back. A trail that never comes to the border is joined
to one it meets, where a turn costs least.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

import networkx as nx

__all__ = ["Trail", "straight_trails", "turn_rad"]

_Away = Sequence[tuple[float, float]]
_STRAIGHT = math.radians(60)  # pairs that all turn less need no second look
_BACK = math.radians(120)
_BACK_COST = 100.0  # a turn back inside the top is dearer than any others at the point


@dataclass(frozen=True, slots=True)
class Trail:
    """Lines to follow without a stop.

    Attributes
    ----------
    ends : tuple of int
        The end each line is entered by, in order; ends 2k and 2k + 1 are those of line k.
    closed : bool
        Whether it ends where it began.
    """

    ends: tuple[int, ...]
    closed: bool

    def backwards(self) -> Trail:
        """Give the same the other way round."""
        return Trail(tuple(end ^ 1 for end in reversed(self.ends)), self.closed)


def turn_rad(arriving: tuple[float, float], leaving: tuple[float, float]) -> float:
    """Give the turn between two ends as they lead away from a point: 0 is straight on."""
    dot = arriving[0] * leaving[0] + arriving[1] * leaving[1]
    size = math.hypot(*arriving) * math.hypot(*leaving)
    return math.pi - math.acos(max(-1.0, min(1.0, dot / size)))


def straight_trails(nodes: Sequence[int], away: _Away, rim: Set[int]) -> list[Trail]:
    """Follow every line once, in as few trails as the points allow, turning as little as can be.

    Parameters
    ----------
    nodes : sequence of int
        The point each end lies at; ends 2k and 2k + 1 are those of line k.
    away : sequence of (x, y)
        Which way the line leads from its end.
    rim : set of int
        Points at the border, where a trail may turn back and begin.
    """
    at: dict[int, list[int]] = defaultdict(list)
    for end, node in enumerate(nodes):
        at[node].append(end)
    mate: dict[int, int] = {}
    for node, ends in at.items():
        for one, other in _pairs(ends, away, back_costs=node not in rim):
            mate[one], mate[other] = other, one
    _join_inner(at, away, mate, nodes, rim)
    return _followed(range(len(nodes)), mate)


def _pairs(ends: Sequence[int], away: _Away, *, back_costs: bool) -> list[tuple[int, int]]:
    turns = {
        (one, other): turn_rad(away[one], away[other])
        for k, one in enumerate(ends)
        for other in ends[k + 1 :]
    }
    left, greedy = set(ends), []
    for (one, other), _ in sorted(turns.items(), key=lambda item: (item[1], item[0])):
        if one in left and other in left:
            greedy.append((one, other))
            left -= {one, other}
    if not back_costs or all(turns[pair] < _STRAIGHT for pair in greedy):
        return greedy
    graph = nx.Graph()
    for (one, other), turn in turns.items():
        graph.add_edge(one, other, weight=turn**2 + (_BACK_COST if turn > _BACK else 0))
    return sorted(tuple(sorted(pair)) for pair in nx.min_weight_matching(graph))


def _followed(ends: range, mate: Mapping[int, int]) -> list[Trail]:
    """Follow open trails from their ends, then the closed ones."""
    done: set[int] = set()
    trails = []
    for start in sorted(ends, key=lambda end: (end in mate, end)):
        if start in done:
            continue
        order, end = [], start
        while True:
            order.append(end)
            done |= {end, end ^ 1}
            if end ^ 1 not in mate or mate[end ^ 1] == start:
                break
            end = mate[end ^ 1]
        trails.append(Trail(tuple(order), start in mate))
    return trails


def _join_inner(
    at: Mapping[int, Sequence[int]],
    away: _Away,
    mate: dict[int, int],
    nodes: Sequence[int],
    rim: Set[int],
) -> None:
    """Join closed trails that never come to the border to others they meet, or to each other."""
    while True:
        trails = _followed(range(len(nodes)), mate)
        number = {end: k for k, one in enumerate(trails) for e in one.ends for end in (e, e ^ 1)}
        inner = {k for k, one in enumerate(trails) if _is_inner(one, nodes, rim)}
        best: tuple[float, int, int] | None = None
        for ends in at.values():
            if not inner or len({number[end] for end in ends}) < 2:
                continue
            paired = [end for end in ends if end in mate]
            for k, one in enumerate(paired):
                for other in paired[k + 1 :]:
                    if number[one] == number[other] or not {number[one], number[other]} & inner:
                        continue
                    cost = _cost(one, other, away, mate)
                    if best is None or cost < best[0]:
                        best = (cost, one, other)
        if best is None:
            return
        _, one, other = best
        third, fourth = mate[one], mate[other]
        mate[one], mate[other], mate[third], mate[fourth] = other, one, fourth, third


def _is_inner(trail: Trail, nodes: Sequence[int], rim: Set[int]) -> bool:
    return trail.closed and not any(nodes[end] in rim for end in trail.ends)


def _cost(one: int, other: int, away: _Away, mate: Mapping[int, int]) -> float:
    third, fourth = mate[one], mate[other]
    after = turn_rad(away[one], away[other]) + turn_rad(away[third], away[fourth])
    before = turn_rad(away[one], away[third]) + turn_rad(away[other], away[fourth])
    return after - before
