"""Which scrap gives which pieces: an integer programme solved by HiGHS."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stash.errors import PlanUndecidedError
from stash.quilt.middle import towards_the_middle
from stash.quilt.possible import Choices, Kind, hold_shares, most_fabrics, one_cloth
from stash.quilt.program import Program
from stash.quilt.supply import Supply, Wish

__all__ = ["Allotment", "allot"]


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


def allot(supplies: Sequence[Supply], wish: Wish) -> Allotment | None:
    """Choose the scraps to cut so that the least area of scraps is opened.

    Where the wish is for as many fabrics as there are, they are used first, and the least area
    is that of all choices with so many. Shares with a usual amount come as near to it as can be,
    and the least area is that of all choices with those amounts.

    Parameters
    ----------
    supplies : sequence of Supply
        Scraps held by other quilts are left alone.
    wish : Wish
        Pieces, limit per fabric and shares; what is cut already is part of it.

    Returns
    -------
    Allotment or None
        None when no choice of scraps satisfies the wish; `smallest_changes` then tells why.
    """
    free = [supply for supply in supplies if not supply.held_by and supply.pieces]
    choices = Choices(free, wish)
    if not choices.possible():
        return None
    if not wish.to_choose:
        return Allotment({}, 0.0, 0.0)
    middle = towards_the_middle(choices, wish)
    found = _solved(free, middle, Choices(free, middle)) if middle != wish else None
    return found or _solved(free, wish, choices)


def _solved(free: Sequence[Supply], wish: Wish, choices: Choices) -> Allotment | None:
    kept = _worth_choosing(free, wish, choices)
    model = _Model(kept, wish, choices)
    try:
        return model.solve()
    except PlanUndecidedError:
        return _anyhow(kept, wish, choices)


def _worth_choosing(free: Sequence[Supply], wish: Wish, choices: Choices) -> list[Supply]:
    """Leave out scraps that no best choice needs.

    A scrap is not needed if so many others that are no larger and give no less could take its
    place that one of them is always left: of its own fabric as many as the limit lets be cut, of
    other fabrics of its kind as many as there are pieces to find.
    """
    alike: dict[tuple[int, Kind], list[Supply]] = defaultdict(list)
    for supply in free:
        alike[supply.fabric, choices.kind_of(supply)].append(supply)
    at_most = min(wish.limit or wish.to_choose, wish.to_choose)
    kept = {key: _cheapest(scraps, at_most) for key, scraps in alike.items()}
    all_used = (wish.many_fabrics and wish.limit != 1) or wish.surely_yet
    unsure = wish.undecided.among({fabric for fabric, _ in kept}).pairs
    if all_used or unsure:
        return [one for scraps in kept.values() for one in scraps]
    kinds = Counter(fabric for fabric, _ in kept)
    done = {one.fabric for one in wish.done}
    single: dict[Kind, list[Supply]] = defaultdict(list)
    rest: list[Supply] = []
    for (fabric, kind), scraps in kept.items():
        if len(scraps) == 1 and kinds[fabric] == 1 and fabric not in done:
            single[kind].append(scraps[0])
        else:
            rest += scraps
    for scraps in single.values():
        rest += _cheapest(scraps, wish.to_choose, cap=wish.limit)
    return rest


def _cheapest(scraps: Sequence[Supply], most: int, *, cap: int | None = None) -> list[Supply]:
    """Give the scraps that have fewer than ``most`` others no larger that give no less."""
    kept: list[Supply] = []
    better = Counter[int]()  # kept scraps that give so many pieces
    for one in sorted(scraps, key=lambda one: (one.reluctance, one.area_sq_in, one.scrap)):
        gives = min(one.pieces, cap or most, most)
        if sum(count for pieces, count in better.items() if pieces >= gives) < most:
            kept.append(one)
            better[gives] += 1
    return kept


def _anyhow(kept: Sequence[Supply], wish: Wish, choices: Choices) -> Allotment:
    """Give an allotment that is possible although the best was not found, smallest scraps first."""
    program, chosen = choices.program(wish)
    program.add_row(dict.fromkeys(chosen.values(), 1.0), wish.to_choose, wish.to_choose)
    hold_shares(program, chosen, wish)
    answer, _ = program.solve()
    if answer is None:
        raise PlanUndecidedError
    left = {key: round(float(answer[at])) for key, at in chosen.items()}
    of_fabric = Counter({one.fabric: 0 for one in kept})
    for one in wish.done:
        of_fabric[one.fabric] += one.pieces
    takes: dict[int, int] = {}
    for one in sorted(kept, key=lambda one: one.area_sq_in):
        kind = choices.kind_of(one)
        key = (kind, one.fabric) if (kind, one.fabric) in left else (kind, 0)
        room = one.pieces if wish.limit is None else wish.limit - of_fabric[one.fabric]
        count = max(0, min(one.pieces, room, left.get(key, 0)))
        if count:
            takes[one.scrap] = count
            of_fabric[one.fabric] += count
            left[key] -= count
    opened = sum(one.area_sq_in for one in kept if one.scrap in takes)
    if sum(takes.values()) < wish.to_choose:
        raise PlanUndecidedError
    return Allotment(takes, opened, 1.0)


class _Model:
    """The programme of single scraps: pieces from each, and whether it is cut into at all."""

    def __init__(self, supplies: Sequence[Supply], wish: Wish, choices: Choices) -> None:
        self.supplies, self.wish, self.choices = supplies, wish, choices
        self.program = Program()
        self.most = [min(one.pieces, wish.limit or one.pieces) for one in supplies]
        self.pieces = [self._pieces_of(at) for at in range(len(supplies))]
        self._price_opening()
        self._keep_limit()
        total = dict.fromkeys(self.pieces, 1.0)
        self.program.add_row(total, wish.to_choose, wish.to_choose)
        for share in wish.shares:
            row = {self.pieces[at]: 1.0 for at, supply in enumerate(supplies) if supply.has(share)}
            self.program.add_row(row, *wish.limits_of(share))
        for fabric in wish.surely_yet:
            row = {self.pieces[at]: 1.0 for at, one in enumerate(supplies) if one.fabric == fabric}
            self.program.add_row(row, 1, np.inf)
        if wish.many_fabrics:
            self._use_many()

    def _pieces_of(self, at: int) -> int:
        supply = self.supplies[at]
        cost = supply.reluctance
        if self.most[at] <= 1:  # the piece itself says whether the scrap is opened
            cost += supply.area_sq_in
        return self.program.add_variable(self.most[at], cost=cost)

    def _price_opening(self) -> None:
        for at, supply in enumerate(self.supplies):
            if self.most[at] > 1:
                opened = self.program.add_variable(1, cost=supply.area_sq_in)
                self.program.add_row(
                    {self.pieces[at]: 1.0, opened: -float(self.most[at])}, -np.inf, 0
                )

    def _keep_limit(self) -> None:
        if self.wish.limit is None:
            return
        done = Counter[int]()
        for one in self.wish.done:
            done[one.fabric] += one.pieces
        by_cloth = [*one_cloth([*self.supplies, *self.wish.done], self.wish)]
        for together in by_cloth:
            here = [at for at in together if at < len(self.supplies)]
            fabrics = {(*self.supplies, *self.wish.done)[at].fabric for at in together}
            room = max(0, self.wish.limit - sum(done[fabric] for fabric in fabrics))
            if here and sum(self.most[at] for at in here) > room:
                self.program.add_row({self.pieces[at]: 1.0 for at in here}, 0, room)

    def _use_many(self) -> None:
        """Use as many new fabrics as the wish can be met with."""
        done = {one.fabric for one in self.wish.done}
        of_fabric: dict[int, list[int]] = defaultdict(list)
        for at, supply in enumerate(self.supplies):
            if supply.fabric not in done:
                of_fabric[supply.fabric].append(self.pieces[at])
        wanted = min(most_fabrics(self.choices, self.wish), len(of_fabric))
        if wanted == len(of_fabric):
            for places in of_fabric.values():
                self.program.add_row(dict.fromkeys(places, 1.0), 1, np.inf)
            return
        used = []
        for places in of_fabric.values():
            used.append(self.program.add_variable(1))
            row = {**dict.fromkeys(places, 1.0), used[-1]: -1.0}
            self.program.add_row(row, 0, np.inf)
        self.program.add_row(dict.fromkeys(used, 1.0), wanted, np.inf)

    def solve(self) -> Allotment | None:
        """Choose scraps by the whole-number program; None where no choice fits."""
        answer, gap = self.program.solve()
        if answer is None:
            return None
        counts = [round(float(answer[at])) for at in self.pieces]
        takes = {
            one.scrap: count for one, count in zip(self.supplies, counts, strict=True) if count
        }
        opened = sum(supply.area_sq_in for supply in self.supplies if supply.scrap in takes)
        return Allotment(takes, opened, gap)
