"""The wild one: which of some chosen fabrics does not keep company with the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.company import company_of
from stash.colour.eye import loudness
from stash.colour.fabric_table import FabricColours, FabricTable, table_of
from stash.colour.naming import FAMILIES
from stash.colour.palette import Thresholds
from stash.colour.verdict_words import company_words

__all__ = ["OddOneOut", "keep_company"]

_WORTH_TELLING = 6.0  # a change of loudness below this is not told


@dataclass(frozen=True, slots=True)
class OddOneOut:
    """A fabric that does not keep company with the rest.

    Attributes
    ----------
    fabric : int
        Its number.
    wildness : float
        As in ``company.Company``.
    text : str
        In what it differs.
    without_it : str
        What leaving it out changes.
    """

    fabric: int
    wildness: float
    text: str
    without_it: str


def keep_company(fabrics: Sequence[FabricColours]) -> tuple[OddOneOut, ...]:
    """Find the fabrics that change the mood of all the rest, the wildest first.

    Parameters
    ----------
    fabrics : sequence of FabricColours
        The fabrics laid together; below three there is no company and the answer is empty.

    Returns
    -------
    tuple of OddOneOut
        Empty when all keep company.

    Notes
    -----
    By the same measure and limit as a palette's, ``company.company_of``.
    """
    table = table_of(sorted(fabrics, key=lambda entry: entry.fabric))
    company = company_of(table)
    wild = np.flatnonzero(company.wildness > Thresholds().wild_from)
    found = [
        OddOneOut(
            int(table.fabric[row]),
            float(company.wildness[row]),
            company_words(company, table, row),
            _without(table, row),
        )
        for row in wild.tolist()
    ]
    return tuple(sorted(found, key=lambda odd: (-odd.wildness, odd.fabric)))


def _without(table: FabricTable, row: int) -> str:
    rest = np.delete(np.arange(len(table)), row)
    families = [FAMILIES[int(first)] for first in _foremost(table)[rest]]
    common = sorted(set(families), key=lambda family: (-families.count(family), family))
    lightness, loud = table.lightness[rest], loudness(table.lab, table.share)
    text = f"without it the rest are {_listed(common[:4])}, "
    text += f"L* {lightness.min():.0f} to {lightness.max():.0f}"
    before, after = loud.max(), loud[rest].max()
    if before - after > _WORTH_TELLING:
        text += f", and the loudest of them speaks with {after:.0f} instead of {before:.0f}"
    return text


def _foremost(table: FabricTable) -> NDArray[np.int8]:
    """Give the family of the colour that counts most on each cloth."""
    return np.asarray(table.first[np.arange(len(table)), table.weight.argmax(axis=1)])


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
