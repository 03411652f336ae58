"""Answer what may be one cloth: same, different, not sure; many answers are one change."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from stash.errors import ChangedElsewhereError, NotFoundError, TwinsError
from stash.scrap import Fabric, ScrapState, TwinWord
from stash.usecases.ports import Settlement, Store
from stash.usecases.twins.one_cloth_questions import review

__all__ = ["Answers", "answer_twins"]

Pair = tuple[int, int]
Sets = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Answers:
    """What was answered, by scrap numbers; their order never matters.

    Attributes
    ----------
    same : tuple of tuple of int
        Scraps of one cloth: the whole fabrics they belong to become one. One number alone means
        the whole waiting group it is in; so it does for the next two.
    different, not_sure : tuple of tuple of int
        Scraps no two of which are of one cloth, or of which it cannot be told.
    parted : tuple of int
        Scraps that are each of a cloth of their own, not of the fabric they are counted to.
    rest : TwinWord or None
        The answer for every other group that waits.
    as_seen : tuple of tuple of int
        Groups that must still wait just so: those that were looked at some time ago.
    into : int or None
        The fabric whose number is kept where it is joined with others; another one only where that
        one alone has a name.
    """

    same: Sets = ()
    different: Sets = ()
    not_sure: Sets = ()
    parted: tuple[int, ...] = ()
    rest: TwinWord | None = None
    as_seen: Sets = ()
    into: int | None = None


@dataclass(frozen=True, slots=True)
class _Set:
    """The scraps of one answer; ``named`` unless they stand for a whole waiting group."""

    scraps: tuple[int, ...]
    named: bool


def answer_twins(store: Store, answers: Answers, *, why: str = "") -> tuple[str, ...]:
    """Keep answers as one change that can be undone, and say what they did.

    The history tells it as ``why``, or as what is said here.

    Raises
    ------
    NotFoundError
        If there is no such scrap.
    TwinsError
        If the answers contradict each other or earlier ones, or a scrap is cut up; nothing is
        kept then.
    ChangedElsewhereError
        If somebody else has joined, parted or answered otherwise meanwhile.
    """
    case = _Case(store, answers)
    settled = case.settled()
    if not settled.answers and not settled.parted:
        return ()
    lines = case.told
    store.settle_twins(settled, why=why or "; ".join(lines))
    return tuple(lines)


@dataclass
class _Case:
    """The answers together with all that is known, while it is worked out what follows."""

    store: Store
    answers: Answers
    told: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.scraps = {scrap.number: scrap for scrap in self.store.scraps()}
        self.members: dict[int, list[int]] = {}
        for scrap in self.scraps.values():
            self.members.setdefault(scrap.fabric, []).append(scrap.number)
        self.before = {(one.one, one.other): one.answer for one in self.store.twin_answers()}
        self.review = review(self.store)
        self.one_cloth = _OneCloth(self.members)

    def settled(self) -> Settlement:
        """Work out what follows, or raise what does not hold."""
        self._need_still_waiting()
        sets = self._sets()
        for same in sets[TwinWord.SAME]:
            self.one_cloth.join(self._fabric(number) for number in same.scraps)
        rows = self._parted_rows()
        rows |= self._same_rows(sets[TwinWord.SAME])
        for word in (TwinWord.DIFFERENT, TwinWord.NOT_SURE):
            for one_set in sets[word]:
                rows |= self._apart_rows(one_set, word)
        moved = self._moves()
        changed = {
            pair: (self.before.get(pair, ""), str(word))
            for pair, word in rows.items()
            if self.before.get(pair) != str(word)
        }
        concerned = {number for pair in rows for number in pair} | moved.keys()
        return Settlement(
            tuple(self.scraps[number] for number in sorted(concerned)),
            changed,
            moved,
            tuple((number,) for number in self._parting()),
        )

    def _need_still_waiting(self) -> None:
        waiting = {group.scraps for group in self.review.waiting}
        for scraps in self.answers.as_seen:
            if tuple(sorted(scraps)) not in waiting:
                raise ChangedElsewhereError(f"the group of {_listed(scraps)}")

    def _sets(self) -> dict[TwinWord, list[_Set]]:
        """Give the scraps of every answer; a number alone stands for the group it waits in."""
        given = {
            TwinWord.SAME: self.answers.same,
            TwinWord.DIFFERENT: self.answers.different,
            TwinWord.NOT_SURE: self.answers.not_sure,
        }
        found = {word: [self._whole(numbers) for numbers in sets] for word, sets in given.items()}
        if self.answers.rest is not None:
            answered = {n for sets in found.values() for one in sets for n in one.scraps}
            found[self.answers.rest] += [
                _Set(group.scraps, named=False)
                for group in self.review.waiting
                if answered.isdisjoint(group.scraps)
            ]
        for word, sets in found.items():
            self.told += [f"{_listed(one.scraps)} {_TOLD[word]}" for one in sets]
        return found

    def _whole(self, given: Sequence[int]) -> _Set:
        numbers = tuple(dict.fromkeys(given))
        for number in numbers:
            self._need_there(number)
        if len(numbers) > 1:
            return _Set(numbers, named=True)
        group = self.review.group_of(numbers[0])
        if group is None:
            raise TwinsError(
                f"Nothing waits about scrap {numbers[0]}; name the scraps it is to be compared "
                f"with too, such as {numbers[0]},12.",
                scraps=numbers,
            )
        return _Set(group.scraps, named=False)

    def _need_there(self, number: int) -> None:
        scrap = self.scraps.get(number)
        if scrap is None:
            raise NotFoundError("scrap", number, at_terminal="`stash twins` shows those that wait.")
        if scrap.state is ScrapState.CUT_UP:
            left = [n for n in self.members[scrap.fabric] if not self._cut_up(n)]
            other = f"; name what is left of it: scrap {left[0]}" if left else ""
            raise TwinsError(f"Scrap {number} is cut up{other}.", scraps=(number,))

    def _cut_up(self, number: int) -> bool:
        return self.scraps[number].state is ScrapState.CUT_UP

    def _fabric(self, number: int) -> int:
        return self.scraps[number].fabric

    def _same_rows(self, sets: Iterable[_Set]) -> dict[Pair, TwinWord]:
        """Note who was said to be the same, and that nothing said before speaks against it."""
        rows: dict[Pair, TwinWord] = {}
        named: set[Pair] = set()
        for one in sets:
            first, *others = one.scraps
            rows.update({_pair(first, n): TwinWord.SAME for n in others})
            named |= set(combinations(sorted(one.scraps), 2))
        before = {pair: word for pair, word in self.before.items() if self._become_one(pair)}
        different = {pair for pair, word in before.items() if word == str(TwinWord.DIFFERENT)}
        answered_anew = different & named
        anew = {self._fabrics(pair) for pair in answered_anew}
        for pair in sorted(different):
            if self._fabrics(pair) not in anew:
                raise _contradiction(pair, "the answers given now make them one cloth")
        self.told += [f"{_listed(pair)} had been said to differ" for pair in sorted(answered_anew)]
        rows.update(dict.fromkeys(before, TwinWord.SAME))
        return rows

    def _become_one(self, pair: Pair) -> bool:
        """Whether two scraps that are there come to be of one fabric and are not yet."""
        if not self.scraps.keys() >= set(pair):
            return False
        one, other = self._fabrics(pair)
        return one != other and self.one_cloth.are_one(one, other)

    def _fabrics(self, pair: Pair) -> Pair:
        one, other = pair
        return _pair(self._fabric(one), self._fabric(other))

    def _apart_rows(self, of: _Set, word: TwinWord) -> dict[Pair, TwinWord]:
        """Note of every two fabrics that each scrap of one is not known to be of the other's."""
        rows: dict[Pair, TwinWord] = {}
        alone = set(self._parting())
        for one, other in combinations(of.scraps, 2):
            if not alone.isdisjoint((one, other)):
                continue
            fabric, second = self._fabric(one), self._fabric(other)
            if self.one_cloth.are_one(fabric, second):
                if word is TwinWord.NOT_SURE or not of.named:
                    continue
                raise _contradiction(_pair(one, other), "they are counted as one cloth")
            for pair in _across(self.members[fabric], self.members[second]):
                rows[pair] = word
        return rows

    def _parting(self) -> list[int]:
        """Give the scraps that get a fabric of their own."""
        parted = list(dict.fromkeys(self.answers.parted))
        for one_set in self.answers.different:
            if len(one_set) == 2 and all(n in self.scraps for n in one_set):
                sisters = self.members[self._fabric(one_set[0])]
                if sorted(sisters) == sorted(set(one_set)) and one_set[1] not in parted:
                    parted.append(one_set[1])
        return parted

    def _parted_rows(self) -> dict[Pair, TwinWord]:
        rows: dict[Pair, TwinWord] = {}
        joining = {number for numbers in self.answers.same for number in numbers}
        for number in self._parting():
            self._need_there(number)
            sisters = [n for n in self.members[self._fabric(number)] if n != number]
            if not sisters:
                raise TwinsError(
                    f"Scrap {number} is of a fabric of its own already.", scraps=(number,)
                )
            if number in joining:
                text = (
                    f"Scrap {number} cannot be parted and joined in one go; do one, then the other."
                )
                raise TwinsError(text, scraps=(number,))
            rows.update({_pair(number, n): TwinWord.DIFFERENT for n in sisters})
        if self.answers.parted:
            self.told.append(f"{_listed(self.answers.parted)} parted")
        return rows

    def _moves(self) -> dict[int, int]:
        """Move the whole of every joined fabric to the one that is kept."""
        fabrics = {fabric.number: fabric for fabric in self.store.fabrics()}
        alone = set(self._parting())
        moved: dict[int, int] = {}
        for joined in self.one_cloth.joined():
            kept = _kept(joined, fabrics, self.answers.into)
            moved.update(
                {
                    number: kept
                    for fabric in joined
                    for number in self.members[fabric]
                    if fabric != kept and number not in alone
                }
            )
        return moved


class _OneCloth:
    """Fabrics that are one, however the joins came."""

    def __init__(self, fabrics: Iterable[int]) -> None:
        self._with = {fabric: {fabric} for fabric in fabrics}

    def join(self, fabrics: Iterable[int]) -> None:
        """Make fabrics one, with all that are one with any of them."""
        together = set().union(*(self._with[fabric] for fabric in fabrics))
        for fabric in together:
            self._with[fabric] = together

    def are_one(self, one: int, other: int) -> bool:
        """Say whether two fabrics are one."""
        return other in self._with[one]

    def joined(self) -> Iterator[list[int]]:
        """Give the fabrics that became one, each set once, ascending."""
        for fabric, together in self._with.items():
            if len(together) > 1 and fabric == min(together):
                yield sorted(together)


_TOLD = {
    TwinWord.SAME: "are one cloth",
    TwinWord.DIFFERENT: "are different cloth",
    TwinWord.NOT_SURE: "not sure",
}


def _kept(joined: Sequence[int], fabrics: Mapping[int, Fabric], into: int | None) -> int:
    """Keep one that has a name, so that no name is lost; of equals the wanted one, or the first."""
    named = [number for number in joined if number in fabrics and fabrics[number].name]
    choice = named or joined
    return into if into is not None and into in choice else choice[0]


def _contradiction(pair: Pair, why: str) -> TwinsError:
    one, other = pair
    return TwinsError(
        f"Scraps {one} and {other} were said to be different, and {why}; nothing was kept. Look "
        "at both, then answer for these two: the same, or which one does not belong.",
        scraps=pair,
        at_terminal=f"With stash twins: --show {one},{other} --picture FILE; --same {one},{other}, "
        "or --part the one that does not belong.",
    )


def _across(mine: Iterable[int], others: Iterable[int]) -> Iterator[Pair]:
    others = list(others)
    return (_pair(one, other) for one in mine for other in others)


def _pair(one: int, other: int) -> Pair:
    return (min(one, other), max(one, other))


def _listed(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"scrap {numbers[0]}"
    return f"scraps {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"
