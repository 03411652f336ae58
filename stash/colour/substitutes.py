"""What can stand in for a fabric that ran out, and what there is of each family and value."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stash.colour.appearance import Appearance
from stash.colour.difference import colour_difference
from stash.colour.fabric_table import FabricColours
from stash.colour.likeness import likeness
from stash.colour.naming import family_of, value_word

__all__ = ["HaveNeed", "Substitute", "have_and_need", "substitutes", "tally"]

_LOOKED_AT = 40  # nearest by what they read as; the exact likeness is worked out for these


@dataclass(frozen=True, slots=True)
class Substitute:
    """A fabric that can stand in for another.

    Attributes
    ----------
    fabric : int
        Its number.
    likeness : float
        1 for the same look, towards 0.
    same_family, same_value : bool
        Whether family and value (light, medium, dark) agree.
    text : str
        Why, for a quilter.
    """

    fabric: int
    likeness: float
    same_family: bool
    same_value: bool
    text: str


def substitutes(
    wanted: Appearance, fabrics: Sequence[FabricColours], *, n: int = 5
) -> tuple[Substitute, ...]:
    """Rank fabrics that can stand in for one that ran out.

    Same family and value come first, then the same family, then the same value; within each the
    most alike. Families near a border count under both names.
    """
    if not fabrics:
        return ()
    reads = colour_difference(wanted.reads_as, [f.appearance.reads_as for f in fabrics])
    nearest = sorted(range(len(fabrics)), key=lambda i: (float(reads[i]), fabrics[i].fabric))
    found = [_compared(wanted, fabrics[i]) for i in nearest[: max(_LOOKED_AT, 4 * n)]]
    found.sort(key=lambda s: (-2 * s.same_family - s.same_value, -s.likeness, s.fabric))
    return tuple(found[:n])


def _compared(wanted: Appearance, entry: FabricColours) -> Substitute:
    look = entry.appearance
    ours, theirs = family_of(wanted.reads_as), family_of(look.reads_as)
    same_family = bool(
        {ours.family, ours.alternative} & {theirs.family, theirs.alternative} - {None}
    )
    word = value_word(look.reads_as[0])
    same_value = word == value_word(wanted.reads_as[0])
    text = (
        f"{'also' if same_family else 'but'} {theirs.family}, {'as ' if same_value else ''}{word}"
    )
    return Substitute(entry.fabric, likeness(wanted, look), same_family, same_value, text)


def tally(appearances: Sequence[Appearance]) -> dict[tuple[str, str], int]:
    """Count fabrics by family and value word, value as L* limits and not relative to the set."""
    return dict(
        Counter((family_of(a.reads_as).family, value_word(a.reads_as[0])) for a in appearances)
    )


@dataclass(frozen=True, slots=True)
class HaveNeed:
    """One line of the tally: how many there are and how many are asked for."""

    family: str
    value: str
    have: int
    need: int

    @property
    def short(self) -> int:
        """How many are missing."""
        return max(self.need - self.have, 0)


def have_and_need(
    have: Mapping[tuple[str, str], int], need: Mapping[tuple[str, str], int]
) -> tuple[HaveNeed, ...]:
    """Lay have and need side by side, what is shortest first.

    ``need`` may ask for a family in any value with an empty value word.
    """
    lines = []
    for family, value in sorted({*have, *need}):
        there = have.get((family, value), 0)
        if not value:
            there = sum(count for (other, _), count in have.items() if other == family)
        lines.append(HaveNeed(family, value, there, need.get((family, value), 0)))
    return tuple(sorted(lines, key=lambda line: (-line.short, line.family, line.value)))
