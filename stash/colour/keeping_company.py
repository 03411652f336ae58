"""The wild one: which of some chosen fabrics does not keep company with the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stash.colour.appearance import Appearance
from stash.colour.difference import difference_table
from stash.colour.fabric_table import FabricColours, table_of
from stash.colour.naming import FAMILIES
from stash.colour.spaces import FloatArray

__all__ = ["OddOneOut", "keep_company"]

_FEWEST = 3
_SPREAD_OF_MAD = 1.4826
# Least spreads that count as a difference: colours (CIEDE2000), chroma, L*; the first is the
# noise between two crops of one fabric, the others as in palette.Thresholds.
_COLOUR_FLOOR, _CHROMA_FLOOR, _LIGHTNESS_FLOOR = 5.0, 6.0, 8.0
_WILD_FROM = 3.0  # times the usual spread; judgement


@dataclass(frozen=True, slots=True)
class OddOneOut:
    """A fabric that does not keep company with the rest.

    Attributes
    ----------
    fabric : int
        Its number.
    wildness : float
        Times the usual spread that it lies away from the rest.
    text : str
        In what it differs.
    without_it : str
        What leaving it out changes.
    """

    fabric: int
    wildness: float
    text: str
    without_it: str


@dataclass(frozen=True, slots=True)
class _Traits:
    apart: FloatArray
    chroma: FloatArray
    lightness: FloatArray
    family: list[str]


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
    Each fabric is compared with the others on three things: how far its colours lie from
    theirs, how strong its colours are, and its value. The spread is the median absolute
    deviation among the others, with a floor. Judgement.
    """
    if len(fabrics) < _FEWEST:
        return ()
    entries = sorted(fabrics, key=lambda entry: entry.fabric)
    traits = _traits(entries)
    found = []
    for row, entry in enumerate(entries):
        scores = (
            (_stands_out(traits.apart, row, _COLOUR_FLOOR), _colour_text(traits, row)),
            (_stands_out(traits.chroma, row, _CHROMA_FLOOR), "its colours are much stronger"),
            (_stands_out(traits.lightness, row, _LIGHTNESS_FLOOR), "it is much lighter"),
            (_stands_out(-traits.lightness, row, _LIGHTNESS_FLOOR), "it is much darker"),
        )
        wildness, text = max(scores)
        if wildness > _WILD_FROM:
            found.append(OddOneOut(entry.fabric, wildness, text, _without(traits, row)))
    return tuple(sorted(found, key=lambda odd: (-odd.wildness, odd.fabric)))


def _traits(entries: Sequence[FabricColours]) -> _Traits:
    looks = [entry.appearance for entry in entries]
    table = table_of(entries)
    weights = np.zeros((len(entries), len(FAMILIES)))
    for row, (first, share) in enumerate(zip(table.first, table.share, strict=True)):
        weights[row] = np.bincount(first, share, minlength=len(FAMILIES))
    distances = np.array([[_apart(one, other) for other in looks] for one in looks])
    distances[np.diag_indices(len(looks))] = np.nan
    return _Traits(
        apart=np.nanmedian(distances, axis=1),
        chroma=table.chroma,
        lightness=table.lightness,
        family=[FAMILIES[int(row.argmax())] for row in weights],
    )


def _apart(one: Appearance, other: Appearance) -> float:
    """Mean distance of each colour of one cloth to the nearest of the other, CIEDE2000."""
    if one is other:
        return 0.0
    distance = difference_table([c.lab for c in one.colours], [c.lab for c in other.colours])
    there = np.dot([c.share for c in one.colours], distance.min(axis=1))
    back = np.dot([c.share for c in other.colours], distance.min(axis=0))
    return float(max(there, back))


def _stands_out(x: FloatArray, row: int, floor: float) -> float:
    rest = np.delete(x, row)
    middle = float(np.median(rest))
    spread = max(_SPREAD_OF_MAD * float(np.median(np.abs(rest - middle))), floor)
    return float(x[row] - middle) / spread


def _colour_text(traits: _Traits, row: int) -> str:
    return f"its {traits.family[row]} lies far from the colours of the rest"


def _without(traits: _Traits, row: int) -> str:
    rest = np.delete(np.arange(len(traits.family)), row)
    families = [traits.family[i] for i in rest]
    common = sorted(set(families), key=lambda family: (-families.count(family), family))
    low, high = traits.lightness[rest].min(), traits.lightness[rest].max()
    before, after = traits.chroma.max(), traits.chroma[rest].max()
    text = f"without it the rest are {_listed(common[:4])}, L* {low:.0f} to {high:.0f}"
    if before - after > _CHROMA_FLOOR:
        text += f", and the strongest chroma falls from {before:.0f} to {after:.0f}"
    return text


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
