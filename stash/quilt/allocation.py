"""Which scrap gives which pieces: an integer programme solved by HiGHS."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from stash.colour.spaces import FloatArray
from stash.errors import PlanUndecidedError
from stash.quilt.one_cloth import ALL_DECIDED
from stash.quilt.supply import Share, Supply, Wish

__all__ = ["Allotment", "Change", "allot", "largest_count", "least_limit", "smallest_changes"]

_SECONDS = 8.0  # a person waits; the gap is told when the time was not enough
_GAP = 1e-4
_INFEASIBLE = 2  # scipy.optimize.milp status


@dataclass(frozen=True, slots=True)
class Allotment:
    """Pieces to cut from each scrap.

    Attributes
    ----------
    takes : mapping
        Pieces by scrap number; only scraps that are cut.
    opened_sq_in : float
        Area of all scraps that are cut into, square inches.
    gap : float
        How far the opened area can at most lie above the best there is, as a share (0 = proven).
    """

    takes: Mapping[int, int]
    opened_sq_in: float
    gap: float

    @property
    def pieces(self) -> int:
        """Pieces in all."""
        return sum(self.takes.values())


@dataclass(frozen=True, slots=True)
class Change:
    """One kind of change that alone makes the quilt possible, as small as can be.

    Attributes
    ----------
    kind : str
        ``buy``, ``shares``, ``limit``, ``release``, ``fewer`` or ``decide``.
    amounts : mapping
        What changes by how much: fabrics to buy by palette part, pieces over or under a share,
        the new limit, quilts to take scraps from, the new number of pieces.
    scraps : tuple of int
        For ``release``: the scraps to take back. For ``decide``: those that may be one cloth.
    enough : bool
        Whether the change alone makes it possible; answers (``decide``) may help only so far.
    """

    kind: str
    amounts: Mapping[str, int]
    scraps: tuple[int, ...] = ()
    enough: bool = True


def allot(supplies: Sequence[Supply], wish: Wish) -> Allotment | None:
    """Choose the scraps to cut so that the least area of scraps is opened.

    Parameters
    ----------
    supplies : sequence of Supply
        Scraps held by other quilts are left alone.
    wish : Wish
        Pieces, limit per fabric and shares.

    Returns
    -------
    Allotment or None
        None when no choice of scraps satisfies the wish; `smallest_changes` then tells why.
    """
    free = [supply for supply in supplies if not supply.held_by]
    model = _Model(free, wish)
    model.count_pieces(wish.pieces)
    model.keep_shares(wish)
    return model.solve()


def least_limit(supplies: Sequence[Supply], wish: Wish) -> int | None:
    """Give the smallest limit per fabric with which the wish can be met; None when none helps."""
    free = [supply for supply in supplies if not supply.held_by]
    given = [sum(free[at].pieces for at in one) for one in _one_cloth(free, wish)]
    low, high = 1, max(given, default=1)
    if not _possible(free, replace(wish, limit=high)):
        return None
    while low < high:
        middle = (low + high) // 2
        if _possible(free, replace(wish, limit=middle)):
            high = middle
        else:
            low = middle + 1
    return low


def largest_count(supplies: Sequence[Supply], wish: Wish) -> int:
    """Give the most pieces a quilt by the same rules can have from these scraps."""
    free = [supply for supply in supplies if not supply.held_by]
    if not free:
        return 0
    model = _Model(free, wish, opening=False)
    total = model.add_variable(float(sum(supply.pieces for supply in free)), cost=-1.0)
    model.add_row({**dict.fromkeys(range(len(free)), 1.0), total: -1.0}, 0, 0)
    for share in wish.shares:
        row = dict.fromkeys(model.having(share), 1.0)
        # One piece of rounding is allowed at each end, as in Share.least_of and most_of.
        model.add_row({**row, total: -share.least}, -1 + 1e-6, np.inf)
        model.add_row({**row, total: -share.most}, -np.inf, 1 - 1e-6)
        if share.least > 0:
            model.add_row(row, 1, np.inf)
    answer = model.raw()
    return 0 if answer is None else round(float(answer[total]))


def smallest_changes(supplies: Sequence[Supply], wish: Wish) -> tuple[Change, ...]:
    """Say what would make an impossible wish possible, each kind of change by itself.

    Each answer is the least of its kind: fewest fabrics to buy, fewest pieces outside the
    shares, lowest limit per fabric, fewest scraps taken from other quilts, most pieces.
    """
    found = [
        _decide(supplies, wish),
        _buy(supplies, wish),
        _release(supplies, wish),
        _raise_limit(supplies, wish),
        _widen(supplies, wish),
        _fewer(supplies, wish),
    ]
    return tuple(change for change in found if change is not None)


def _decide(supplies: Sequence[Supply], wish: Wish) -> Change | None:
    """Say what it would bring if all that may be one cloth were different."""
    free = [supply for supply in supplies if not supply.held_by]
    open_pairs = wish.undecided.among([supply.fabric for supply in free])
    if wish.limit is None or not open_pairs.pairs:
        return None
    decided = replace(wish, undecided=ALL_DECIDED)
    most = largest_count(free, decided)
    more = most - largest_count(free, wish)
    possible = _possible(free, decided)
    if more <= 0 and not possible:
        return None
    asked = {fabric for pair in open_pairs.pairs for fabric in pair}
    scraps = tuple(sorted(supply.scrap for supply in free if supply.fabric in asked))
    return Change("decide", {"pieces": max(0, more)}, scraps, enough=possible)


def _one_cloth(supplies: Sequence[Supply], wish: Wish) -> list[list[int]]:
    """Give the places of the supplies that are, or may all be, of one cloth."""
    of_fabric: dict[int, list[int]] = {}
    for index, supply in enumerate(supplies):
        of_fabric.setdefault(supply.fabric, []).append(index)
    sets = wish.undecided.among(of_fabric).sets()
    alone = of_fabric.keys() - {fabric for one in sets for fabric in one}
    return [
        *(of_fabric[fabric] for fabric in sorted(alone)),
        *([index for fabric in one for index in of_fabric[fabric]] for one in sets),
    ]


def _buy(supplies: Sequence[Supply], wish: Wish) -> Change | None:
    free = [supply for supply in supplies if not supply.held_by]
    model = _Model(free, wish, opening=False)
    per_fabric = wish.limit or wish.pieces
    bought = {part: model.add_variable(wish.pieces, cost=0.0) for part in _parts(wish)}
    fabrics = {" ".join(part): model.add_variable(wish.pieces, cost=1.0) for part in bought}
    for pieces, count in zip(bought.values(), fabrics.values(), strict=True):
        model.add_row({pieces: 1.0, count: -float(per_fabric)}, -np.inf, 0)
    model.count_pieces(wish.pieces, extra=tuple(bought.values()))
    model.keep_shares(wish, extra=bought)
    answer = model.raw()
    return None if answer is None else Change("buy", _counts(answer, fabrics))


def _release(supplies: Sequence[Supply], wish: Wish) -> Change | None:
    if not any(supply.held_by for supply in supplies):
        return None
    model = _Model(supplies, wish, opening=False)
    held = [index for index, supply in enumerate(supplies) if supply.held_by]
    taken = {index: model.add_variable(1, cost=1.0) for index in held}
    for index, variable in taken.items():
        model.add_row({index: 1.0, variable: -float(supplies[index].pieces)}, -np.inf, 0)
    model.count_pieces(wish.pieces)
    model.keep_shares(wish)
    answer = model.raw()
    if answer is None:
        return None
    scraps = tuple(supplies[index].scrap for index, at in taken.items() if answer[at] > 0.5)
    owners: dict[str, int] = {}
    for index, at in taken.items():
        if answer[at] > 0.5:
            owners[supplies[index].held_by] = owners.get(supplies[index].held_by, 0) + 1
    return Change("release", owners, scraps)


def _raise_limit(supplies: Sequence[Supply], wish: Wish) -> Change | None:
    if wish.limit is None:
        return None
    limit = least_limit(supplies, wish)
    if limit is None or limit <= wish.limit:
        return None
    return Change("limit", {"limit": limit})


def _widen(supplies: Sequence[Supply], wish: Wish) -> Change | None:
    if not wish.shares:
        return None
    free = [supply for supply in supplies if not supply.held_by]
    model = _Model(free, wish, opening=False)
    model.count_pieces(wish.pieces)
    less = {share.name: model.add_variable(wish.pieces, cost=1.0) for share in wish.shares}
    more = {share.name: model.add_variable(wish.pieces, cost=1.0) for share in wish.shares}
    for share in wish.shares:
        row = dict.fromkeys(model.having(share), 1.0)
        model.add_row({**row, less[share.name]: 1.0}, share.least_of(wish.pieces), np.inf)
        model.add_row({**row, more[share.name]: -1.0}, -np.inf, share.most_of(wish.pieces))
    answer = model.raw()
    if answer is None:
        return None
    moved = {name: -count for name, count in _counts(answer, less).items()}
    return Change("shares", {**moved, **_counts(answer, more)})


def _fewer(supplies: Sequence[Supply], wish: Wish) -> Change | None:
    most = largest_count(supplies, wish)
    return Change("fewer", {"pieces": most}) if 0 < most < wish.pieces else None


def _possible(supplies: Sequence[Supply], wish: Wish) -> bool:
    model = _Model(supplies, wish, opening=False)
    model.count_pieces(wish.pieces)
    model.keep_shares(wish)
    return model.raw() is not None


def _parts(wish: Wish) -> list[tuple[str, ...]]:
    """Give every kind of fabric one could buy: one name from each field that has shares."""
    names: dict[str, list[str]] = {}
    for share in wish.shares:
        names.setdefault(share.by, []).append(share.name)
    return list(product(*names.values())) if names else [("any",)]


def _counts(answer: FloatArray, variables: Mapping[str, int]) -> dict[str, int]:
    counts = {name: round(float(answer[at])) for name, at in variables.items()}
    return {name: count for name, count in counts.items() if count}


class _Model:
    """The integer programme: x pieces from each scrap, y whether it is cut into at all."""

    def __init__(self, supplies: Sequence[Supply], wish: Wish, *, opening: bool = True) -> None:
        self.supplies, self._wish = supplies, wish
        cap = [min(supply.pieces, wish.limit or supply.pieces) for supply in supplies]
        self._most = [float(count) for count in cap]
        self._cost = [0.0] * len(supplies)
        self._rows: list[Mapping[int, float]] = []
        self._low: list[float] = []
        self._high: list[float] = []
        if opening:
            self._price_opening(cap)
        if wish.limit is not None:
            for indices in self._fabrics(wish.limit):
                self.add_row(dict.fromkeys(indices, 1.0), 0, wish.limit)

    def _price_opening(self, cap: Sequence[int]) -> None:
        for index, supply in enumerate(self.supplies):
            self._cost[index] = supply.reluctance
            if cap[index] <= 1:  # x itself says whether the scrap is opened
                self._cost[index] += supply.area_sq_in
                continue
            opened = self.add_variable(1, cost=supply.area_sq_in)
            self.add_row({index: 1.0, opened: -float(cap[index])}, -np.inf, 0)

    def _fabrics(self, limit: int) -> list[list[int]]:
        return [
            indices
            for indices in _one_cloth(self.supplies, self._wish)
            if sum(self._most[index] for index in indices) > limit
        ]

    def having(self, share: Share) -> list[int]:
        return [index for index, supply in enumerate(self.supplies) if supply.has(share)]

    def add_variable(self, most: float, *, cost: float) -> int:
        self._most.append(most)
        self._cost.append(cost)
        return len(self._most) - 1

    def add_row(self, row: Mapping[int, float], low: float, high: float) -> None:
        self._rows.append(row)
        self._low.append(low)
        self._high.append(high)

    def count_pieces(self, pieces: int, *, extra: Sequence[int] = ()) -> None:
        self.add_row(dict.fromkeys([*range(len(self.supplies)), *extra], 1.0), pieces, pieces)

    def keep_shares(
        self, wish: Wish, *, extra: Mapping[tuple[str, ...], int] | None = None
    ) -> None:
        """Hold every share; ``extra`` are variables for pieces that are not in the stash."""
        for share in wish.shares:
            more = [at for part, at in (extra or {}).items() if share.name in part]
            row = dict.fromkeys([*self.having(share), *more], 1.0)
            self.add_row(row, share.least_of(wish.pieces), share.most_of(wish.pieces))

    def raw(self) -> FloatArray | None:
        answer, _ = self._run()
        return answer

    def solve(self) -> Allotment | None:
        answer, gap = self._run()
        if answer is None:
            return None
        takes = {
            supply.scrap: round(float(answer[index]))
            for index, supply in enumerate(self.supplies)
            if answer[index] > 0.5
        }
        opened = sum(supply.area_sq_in for supply in self.supplies if supply.scrap in takes)
        return Allotment(takes, opened, gap)

    def _run(self) -> tuple[FloatArray | None, float]:
        count = len(self._most)
        if not count:
            return None, 0.0
        lines = [line for line, row in enumerate(self._rows) for _ in row]
        columns = [column for row in self._rows for column in row]
        values = [value for row in self._rows for value in row.values()]
        matrix = coo_array((values, (lines, columns)), shape=(len(self._rows), count)).tocsr()
        found = milp(
            np.asarray(self._cost),
            integrality=np.ones(count, dtype=np.int64),
            bounds=Bounds(np.zeros(count), np.asarray(self._most)),
            constraints=LinearConstraint(matrix, np.asarray(self._low), np.asarray(self._high)),
            options={"time_limit": _SECONDS, "mip_rel_gap": _GAP},
        )
        if found.x is None and found.status != _INFEASIBLE:
            raise PlanUndecidedError(_SECONDS)
        if found.x is None:
            return None, 0.0
        return np.asarray(found.x, dtype=np.float64), max(0.0, float(found.mip_gap or 0.0))
