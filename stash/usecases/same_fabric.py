"""Is this fabric here already? Look-alikes are proposed, never joined by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stash.colour.appearance import Appearance
from stash.colour.likeness import most_alike
from stash.scrap import Scrap
from stash.usecases.ports import Store

__all__ = ["Alike", "OwnAnswer", "alike_on_log", "own_photo"]

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


def alike_on_log(store: Store, fresh: Sequence[Scrap]) -> dict[int, tuple[Alike, ...]]:
    """Give for each fresh scrap the other fabrics worth a look, by scrap number."""
    everything = store.scraps()
    found = {}
    for scrap in fresh:
        others = [one for one in everything if one.fabric != scrap.fabric]
        alike = _proposals(scrap.appearance, others)
        found[scrap.number] = tuple(one for one in alike if one.likeness >= WORTH_A_LOOK)
    return found


def _proposals(look: Appearance, scraps: Sequence[Scrap]) -> tuple[Alike, ...]:
    ranked = most_alike(look, [scrap.appearance for scrap in scraps], n=4 * _PROPOSALS)
    best: dict[int, float] = {}
    for place, likeness in ranked:
        best.setdefault(scraps[place].fabric, likeness)
    return tuple(Alike(fabric, likeness) for fabric, likeness in list(best.items())[:_PROPOSALS])
