"""What may be one cloth: fabrics that look alike, and what was answered about them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import combinations

from stash.quilt.one_cloth import ALL_DECIDED, FabricCount, Undecided
from stash.quilt.twin_groups import ASKED, beside_rivals, groups_of
from stash.scrap import TwinWord
from stash.usecases.ports import AskedStore

__all__ = ["Review", "TwinGroup", "count_fabrics", "review", "undecided"]

Pair = tuple[int, int]

_NEVER_TOGETHER = 1e6  # as far apart as two that were said to be different; no mean outweighs it


@dataclass(frozen=True, slots=True)
class TwinGroup:
    """Fabrics that are one cloth, are not, or may be.

    Attributes
    ----------
    fabrics : tuple of int
        Ascending.
    scraps : tuple of int
        All of theirs that are not cut up, ascending.
    state : str
        ``open`` while nobody answered, else the answer.
    """

    fabrics: tuple[int, ...]
    scraps: tuple[int, ...]
    state: str


@dataclass(frozen=True, slots=True)
class Review:
    """What is to be looked at, and what was.

    Attributes
    ----------
    waiting : tuple of TwinGroup
        Not answered yet.
    answered : tuple of TwinGroup
        Pairs said to be different or not sure, and fabrics said to be one cloth.
    undecided : Undecided
        Pairs that may be one cloth, asked or not sure.
    count : FabricCount
        How many different fabrics there are.
    """

    waiting: tuple[TwinGroup, ...]
    answered: tuple[TwinGroup, ...]
    undecided: Undecided
    count: FabricCount

    def group_of(self, scrap: int) -> TwinGroup | None:
        """Give the waiting group a scrap is in."""
        return next((group for group in self.waiting if scrap in group.scraps), None)


def review(store: AskedStore) -> Review:
    """Say which fabrics may be one cloth, and what was answered."""
    made: Review = store.derived("review of twins", lambda: _reviewed(store))
    return made


def undecided(store: AskedStore) -> Undecided:
    """Give the pairs of fabrics that may be one cloth: the rule all counting goes by."""

    def looked_up() -> Undecided:
        """Look them up, or say at once that there are none."""
        # Most questions meet a stash in which nothing looks alike: no scrap is read then.
        if not store.alike() and not store.twin_answers():
            return ALL_DECIDED
        return review(store).undecided

    made: Undecided = store.derived("undecided twins", looked_up)
    return made


def count_fabrics(store: AskedStore, fabrics: Collection[int]) -> FabricCount:
    """Count some fabrics, those that may be one cloth once."""
    return undecided(store).count(fabrics)


def _reviewed(store: AskedStore) -> Review:
    columns = store.columns()
    scraps_of: dict[int, list[int]] = defaultdict(list)
    for number, fabric in zip(columns.number.tolist(), columns.fabric.tolist(), strict=True):
        scraps_of[fabric].append(number)
    said = _answers(store, scraps_of)
    different, unsure = said[TwinWord.DIFFERENT], said[TwinWord.NOT_SURE]
    apart: dict[Pair, float] = {}
    alike = store.alike()
    beside = beside_rivals({(one.one, one.other): one.apart for one in alike})
    for one in alike:
        pair = _ordered(one.fabric, one.other_fabric)
        if pair[0] != pair[1] and pair not in different and scraps_of.keys() >= set(pair):
            far = beside[one.one, one.other]
            apart[pair] = min(far, apart.get(pair, far))
    asked = {pair: far for pair, far in apart.items() if pair not in unsure}
    groups = _groups(asked, different, unsure)
    pairs = {pair for pair, far in apart.items() if far <= ASKED} | unsure
    pairs |= {pair for group in groups for pair in combinations(group, 2)}
    open_pairs = Undecided.of(pairs - different)
    return Review(
        tuple(_group(group, scraps_of, "open") for group in groups),
        tuple(
            _group(fabrics, scraps_of, str(word))
            for word, found in said.items()
            for fabrics in sorted({tuple(sorted(set(pair))) for pair in found})
        ),
        open_pairs,
        open_pairs.count(scraps_of.keys()),
    )


def _answers(store: AskedStore, known: Collection[int]) -> dict[TwinWord, set[Pair]]:
    """Give what holds of pairs of fabrics today; one “different” outweighs a “not sure”."""
    said: dict[TwinWord, set[Pair]] = {word: set() for word in TwinWord}
    for one in store.twin_answers():
        pair, word = _ordered(one.fabric, one.other_fabric), TwinWord(one.answer)
        joined = pair[0] == pair[1]
        if joined == (word is TwinWord.SAME) and pair[0] in known and pair[1] in known:
            said[word].add(pair)
    said[TwinWord.NOT_SURE] -= said[TwinWord.DIFFERENT]
    return said


def _groups(
    asked: dict[Pair, float], different: set[Pair], unsure: set[Pair]
) -> list[tuple[int, ...]]:
    """Group what is asked; a pair that no group holds is asked by itself.

    No group holds two that were said to be different: one tap would take that answer back.
    """
    groups = []
    for group in groups_of({**asked, **dict.fromkeys(different, _NEVER_TOGETHER)}):
        if all(pair in unsure for pair in combinations(group, 2)):
            continue
        groups.append(group)
    shown = {pair for group in groups for pair in combinations(group, 2)}
    alone = sorted(pair for pair, far in asked.items() if far <= ASKED and pair not in shown)
    return sorted([*groups, *alone])


def _group(fabrics: Iterable[int], scraps_of: dict[int, list[int]], state: str) -> TwinGroup:
    fabrics = tuple(fabrics)
    scraps = sorted(number for fabric in fabrics for number in scraps_of[fabric])
    return TwinGroup(fabrics, tuple(scraps), state)


def _ordered(one: int, other: int) -> Pair:
    return (min(one, other), max(one, other))
