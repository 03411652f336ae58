"""The cuts shops sell, smallest first."""

from __future__ import annotations

from dataclasses import dataclass

from stash.units import length_words, size_words

__all__ = ["STANDARD_CUTS", "StandardCut", "cut_words"]


@dataclass(frozen=True, slots=True)
class StandardCut:
    """A cut by its name in the trade; usable inches."""

    name: str
    width_in: float
    height_in: float


# Sizes: S5 of docs/sources.md, fat quarter 18 x 21 and fat eighth 9 x 21 (the cautious ones of
# those printed), precut squares 5 and 10 in; yardage at a usable width of 40 in (common practice).
# Where cloth is sold by the metre the quarter is about 50 x 55 cm (common practice, no source): it
# holds what one of these holds, so what is told to buy is enough there too.
STANDARD_CUTS = (
    StandardCut("5-inch square", 5, 5),
    StandardCut("10-inch square", 10, 10),
    StandardCut("fat eighth", 21, 9),
    StandardCut("fat quarter", 21, 18),
    StandardCut("half yard", 40, 18),
    StandardCut("yard", 40, 36),
)


def cut_words(name: str, *, unit: str = "in") -> str:
    """Say a cut by its name in the trade; in centimetres with what it measures.

    Examples
    --------
    >>> cut_words("fat quarter"), cut_words("5-inch square", unit="cm")
    ('fat quarter', '12.7 cm square')
    >>> cut_words("half yard", unit="cm")
    'half yard (101.6 × 45.7 cm)'
    """
    known = {cut.name: cut for cut in STANDARD_CUTS}.get(name)
    if known is None or unit == "in":
        return name
    if known.width_in == known.height_in:
        return f"{length_words(known.width_in, unit=unit)} square"
    return f"{name} ({size_words(known.width_in, known.height_in, unit=unit)})"
