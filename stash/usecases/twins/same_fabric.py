"""Is this fabric here already? Look-alikes are proposed, never joined by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stash.colour.appearance import Appearance
from stash.colour.likeness import most_alike
from stash.errors import NotFoundError
from stash.quilt.twin_groups import ASKED
from stash.scrap import Scrap
from stash.usecases.ports import Store
from stash.usecases.twins.one_cloth_questions import undecided

__all__ = ["Alike", "OwnAnswer", "alike_to", "no_fabric", "own_photo"]

# Judgement: above this two scraps are worth comparing by eye; see docs/measurements.md.
WORTH_A_LOOK = 0.35
_PROPOSALS = 3


@dataclass(frozen=True, slots=True)
class Alike:
    """A fabric of the stash that looks like the one asked about; likeness from 0 to 1."""

    fabric: int
    likeness: float


@dataclass(frozen=True, slots=True)
class OwnAnswer:
    """One piece of cloth on a photo: what it reads as, and the fabrics it may be."""

    appearance: Appearance
    alike: tuple[Alike, ...]

    @property
    def owned(self) -> bool:
        """Whether a fabric of the stash is worth a look."""
        return bool(self.worth_a_look)

    @property
    def worth_a_look(self) -> tuple[Alike, ...]:
        """The fabrics to compare it with by eye, the most alike first."""
        return tuple(one for one in self.alike if one.likeness >= WORTH_A_LOOK)


def own_photo(store: Store, appearances: Sequence[Appearance]) -> tuple[OwnAnswer, ...]:
    """Say of each piece of cloth which fabrics of the stash it may be, the most alike first."""
    scraps = store.scraps()
    return tuple(OwnAnswer(look, _proposals(look, scraps)) for look in appearances)


def alike_to(store: Store, scraps: Sequence[Scrap]) -> dict[int, tuple[Alike, ...]]:
    """Give for each scrap the other fabrics it may be of and that are not decided, by number."""
    waiting = undecided(store)
    mine = {scrap.number: scrap.fabric for scrap in scraps}
    nearest: dict[tuple[int, int], float] = {}
    for pair in store.alike():
        if pair.apart > ASKED or not waiting.may_be_one(pair.fabric, pair.other_fabric):
            continue
        for scrap, other in ((pair.one, pair.other_fabric), (pair.other, pair.fabric)):
            if scrap in mine:
                nearest[scrap, other] = min(pair.apart, nearest.get((scrap, other), pair.apart))
    found: dict[int, list[Alike]] = {}
    for (scrap, other), apart in sorted(nearest.items(), key=lambda item: item[1]):
        found.setdefault(scrap, []).append(Alike(other, 1 - apart / 2))
    return {scrap: tuple(alike) for scrap, alike in sorted(found.items())}


def _proposals(look: Appearance, scraps: Sequence[Scrap]) -> tuple[Alike, ...]:
    ranked = most_alike(look, [scrap.appearance for scrap in scraps], n=4 * _PROPOSALS)
    best: dict[int, float] = {}
    for place, likeness in ranked:
        best.setdefault(scraps[place].fabric, likeness)
    return tuple(Alike(fabric, likeness) for fabric, likeness in list(best.items())[:_PROPOSALS])


def no_fabric(store: Store, number: int) -> NotFoundError:
    """Make the error for a fabric without scraps; says to which one they were joined."""
    now = store.fabrics_joined_from(number)
    if not now:
        return NotFoundError("fabric", number, at_terminal="`stash fabrics` lists them.")
    named = " and ".join(map(str, now))
    others = f"fabric {named}" if len(now) == 1 else f"fabrics {named}"
    return NotFoundError(
        "fabric", number, hint=f"What was counted to it is counted to {others} now."
    )
