"""Can a quilt be made of these fabrics: whole kinds of fabrics at a time instead of scraps.

Fabrics that count towards the same shares are alike as far as this question goes, whatever their
colour or number. So ten thousand of them are a handful of sums, and the answer is exact and quick
enough to be asked of every size a quilt could have.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from stash.quilt.program import Program
from stash.quilt.supply import Share, Supply, Wish

__all__ = [
    "Choices",
    "Kind",
    "hold_shares",
    "largest_count",
    "largest_count_of",
    "least_limit",
    "least_limit_of",
    "most_fabrics",
    "one_cloth",
]

# What a reluctant piece costs against a fabric more.
_RELUCTANT = 1_000.0
# Less than one piece, by more than the solver's own tolerance, at which it stumbles.
_STRICTLY = 1e-4


@dataclass(frozen=True, slots=True)
class Kind:
    """What makes fabrics alike: the share names they have, and whether they are only put up with.

    Attributes
    ----------
    names : tuple of (str, str)
        Field and name, for every field that shares speak of.
    reluctant : bool
        To be taken only when those that belong run out.
    """

    names: tuple[tuple[str, str], ...]
    reluctant: bool = False

    def has(self, share: Share) -> bool:
        """Whether fabrics of this kind count towards a share."""
        return (share.by, share.name) in self.names


@dataclass(frozen=True, slots=True)
class _Fabric:
    """One fabric of one kind: pieces it can give, and pieces cut of it already."""

    fabric: int
    gives: int
    done: int

    def most(self, limit: int | None) -> int:
        """Give how many pieces it may give under a limit a fabric, those already done counted."""
        return self.gives if limit is None else min(self.gives, max(0, limit - self.done))


class Choices:
    """What a wish can be met from, fabrics of a kind together.

    Parameters
    ----------
    supplies : sequence of Supply
        Free ones; what other quilts hold should not be among them.
    wish : Wish
        Its pieces and limit may be changed with every question; shares and cut pieces stay.
    """

    def __init__(self, supplies: Sequence[Supply], wish: Wish) -> None:
        self.wish = wish
        self._fields = sorted({share.by for share in wish.shares})
        self._done = Counter[int]()
        for one in wish.done:
            self._done[one.fabric] += one.pieces
        self.kinds: dict[Kind, list[_Fabric]] = defaultdict(list)
        self._apart: list[tuple[Kind, _Fabric]] = []
        self._together: list[list[int]] = []
        self._sort_in(supplies)

    def _sort_in(self, supplies: Sequence[Supply]) -> None:
        gives: dict[int, Counter[Kind]] = defaultdict(Counter)
        for supply in supplies:
            if supply.pieces:
                gives[supply.fabric][self.kind_of(supply)] += supply.pieces
        known = {*gives, *self._done}
        open_pairs = self.wish.undecided.among(known)
        unsure = {fabric for pair in open_pairs.pairs for fabric in pair}
        self._missing = self.wish.surely_yet - gives.keys()
        of_fabric: dict[int, list[int]] = defaultdict(list)
        for fabric, kinds in gives.items():
            for kind, pieces in kinds.items():
                one = _Fabric(fabric, pieces, self._done[fabric])
                if fabric in unsure or len(kinds) > 1 or fabric in self.wish.surely_yet:
                    of_fabric[fabric].append(len(self._apart))
                    self._apart.append((kind, one))
                else:
                    self.kinds[kind].append(one)
        sets = [*open_pairs.sets(), *((fabric,) for fabric in of_fabric if fabric not in unsure)]
        self._together = [[at for fabric in one for at in of_fabric[fabric]] for one in sets]
        self._cut_of = [sum(self._done[fabric] for fabric in one) for one in sets]

    def kind_of(self, supply: Supply) -> Kind:
        """Say what kind of fabric a scrap is."""
        names = tuple((by, str(getattr(supply, by))) for by in self._fields)
        return Kind(names, supply.reluctance > 0)

    @cached_property
    def all_pieces(self) -> int:
        """Pieces there are in all, without any limit."""
        of_kinds = sum(one.gives for fabrics in self.kinds.values() for one in fabrics)
        return of_kinds + sum(one.gives for _, one in self._apart)

    @property
    def largest_of_one(self) -> int:
        """The most pieces of one cloth the stash gives: a limit above it changes nothing."""
        of_kinds = (one.gives + one.done for fabrics in self.kinds.values() for one in fabrics)
        apart = (
            sum(self._apart[at][1].gives for at in one) + cut
            for one, cut in zip(self._together, self._cut_of, strict=True)
        )
        return max([1, *of_kinds, *apart])

    def possible(self, pieces: int | None = None, *, limit: int | None = -1) -> bool:
        """Whether the wish can be met, or the same with other pieces or another limit."""
        wish = self._asked(pieces, limit)
        if not wish.to_choose:
            return True
        if self.most_pieces(wish.limit) < wish.to_choose or self._missing:
            return False
        if self.is_plain(wish):
            return True
        program, chosen = self.program(wish)
        program.add_row(dict.fromkeys(chosen.values(), 1.0), wish.to_choose, wish.to_choose)
        hold_shares(program, chosen, wish)
        return program.solve()[0] is not None

    def _asked(self, pieces: int | None, limit: int | None) -> Wish:
        wish = self.wish if pieces is None else replace(self.wish, pieces=pieces)
        return wish if limit == -1 else replace(wish, limit=limit)

    def is_plain(self, wish: Wish) -> bool:
        """Whether counting is all there is to it: no shares, and no limit on several together."""
        free = wish.limit is None or not self._together
        return free and not wish.shares and not wish.surely_yet

    def most_pieces(self, limit: int | None) -> int:
        """Give the pieces there are under a limit per fabric, shares and doubts left out."""
        of_kinds = sum(one.most(limit) for fabrics in self.kinds.values() for one in fabrics)
        return of_kinds + sum(one.most(limit) for _, one in self._apart)

    def program(self, wish: Wish) -> tuple[Program, dict[tuple[Kind, int], int]]:
        """Begin a programme: a variable for the pieces of every kind, the limit held.

        Fabrics that may be one cloth, or of which scraps count differently, have their own, under
        their number; for whole kinds it is 0.
        """
        program = Program()
        chosen = {
            (kind, 0): program.add_variable(sum(one.most(wish.limit) for one in fabrics))
            for kind, fabrics in self.kinds.items()
        }
        places = []
        for kind, one in self._apart:
            places.append(program.add_variable(one.most(wish.limit)))
            chosen[kind, one.fabric] = places[-1]
        if wish.limit is not None:
            for together, cut in zip(self._together, self._cut_of, strict=True):
                row = {places[at]: 1.0 for at in together}
                program.add_row(row, 0, max(0, wish.limit - cut))
        for fabric in wish.surely_yet:
            row = {at: 1.0 for (_, number), at in chosen.items() if number == fabric}
            program.add_row(row, 1, np.inf)
        return program, chosen

    def new_fabrics(self, limit: int | None) -> list[tuple[int, list[tuple[Kind, int]]]]:
        """Count the fabrics of which nothing is cut yet, with the variables they are chosen by."""
        counts: list[tuple[int, list[tuple[Kind, int]]]] = [
            (sum(1 for one in fabrics if not one.done and one.most(limit)), [(kind, 0)])
            for kind, fabrics in self.kinds.items()
        ]
        alone: dict[int, list[tuple[Kind, int]]] = defaultdict(list)
        for kind, one in self._apart:
            if not one.done and one.most(limit):
                alone[one.fabric].append((kind, one.fabric))
        return [*counts, *((1, keys) for keys in alone.values())]


def hold_shares(program: Program, chosen: Mapping[tuple[Kind, int], int], wish: Wish) -> None:
    """Hold every share of a wish."""
    for share in wish.shares:
        row = {at: 1.0 for (kind, _), at in chosen.items() if kind.has(share)}
        program.add_row(row, *wish.limits_of(share))


def most_fabrics(choices: Choices, wish: Wish) -> int:
    """Give how many new fabrics the wish can be met with at most; 0 when it cannot be met.

    Those that belong come first: a fabric more is never bought with one to look at twice.
    """
    program, chosen = choices.program(wish)
    program.add_row(dict.fromkeys(chosen.values(), 1.0), wish.to_choose, wish.to_choose)
    hold_shares(program, chosen, wish)
    used = []
    for count, keys in choices.new_fabrics(wish.limit):
        used.append(program.add_variable(count, cost=-1.0))
        program.add_row({**{chosen[key]: 1.0 for key in keys}, used[-1]: -1.0}, 0, np.inf)
    for kind, fabric in chosen:
        if kind.reluctant:
            extra = program.add_variable(wish.pieces, cost=_RELUCTANT)
            program.add_row({extra: 1.0, chosen[kind, fabric]: -1.0}, 0, 0)
    answer, _ = program.solve()
    return 0 if answer is None else round(sum(float(answer[at]) for at in used))


def least_limit(supplies: Sequence[Supply], wish: Wish) -> int | None:
    """Give the smallest limit per fabric with which the wish can be met; None when none helps."""
    choices = Choices([one for one in supplies if not one.held_by], wish)
    return least_limit_of(choices)


def least_limit_of(choices: Choices) -> int | None:
    """Give the smallest limit per fabric that meets the wish of these choices; None without one."""
    low, high = 1, choices.largest_of_one
    if not choices.possible(limit=high):
        return None
    while low < high:
        middle = (low + high) // 2
        if choices.possible(limit=middle):
            high = middle
        else:
            low = middle + 1
    return low


def largest_count(supplies: Sequence[Supply], wish: Wish) -> int:
    """Give the most pieces a quilt by the same rules can have from these scraps."""
    return largest_count_of(Choices([one for one in supplies if not one.held_by], wish))


def largest_count_of(choices: Choices) -> int:
    """Give the most pieces, those cut already among them, that a quilt by the same rules can have.

    Notes
    -----
    Shares are of all pieces, which are not known yet: each is held with the one piece of rounding
    that `Share.least_of` and `Share.most_of` allow.
    """
    wish, done = choices.wish, choices.wish.done_pieces
    most = choices.all_pieces
    if choices.is_plain(wish):
        return choices.most_pieces(wish.limit) + done
    program, chosen = choices.program(wish)
    total = program.add_variable(float(most), cost=-1.0)
    program.add_row({**dict.fromkeys(chosen.values(), 1.0), total: -1.0}, 0, 0)
    for share in wish.shares:
        row = {at: 1.0 for (kind, _), at in chosen.items() if kind.has(share)}
        cut = wish.done_of(share)
        least = share.least * done - cut
        program.add_row({**row, total: -share.least}, least - 1 + _STRICTLY, np.inf)
        if cut <= share.most_of(done):
            most_of = share.most * done - cut
            program.add_row({**row, total: -share.most}, -np.inf, most_of + 1 - _STRICTLY)
        if share.least > 0 and not cut:
            program.add_row(row, 1, np.inf)
    answer, _ = program.solve()
    return done if answer is None else done + round(float(answer[total]))


def one_cloth(supplies: Sequence[Supply], wish: Wish) -> list[list[int]]:
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
