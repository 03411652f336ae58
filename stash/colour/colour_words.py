"""Colours as people say them: one table of words for names of cloth and for palettes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pkgutil import get_data

import numpy as np
from numpy.typing import NDArray

from stash.colour.difference import large_difference
from stash.colour.naming import bits_of, families_of
from stash.colour.spaces import FloatArray, Lab, lab_of_hex

__all__ = ["ColourWord", "colour_words", "said_colours"]

_LIGHTNESS_COUNTS = 0.7  # a navy is navy somewhat darker or lighter; judgement


@dataclass(frozen=True, slots=True)
class ColourWord:
    """A word and the colours, CIELAB, white D65, that are it.

    Attributes
    ----------
    families : tuple of str
        The families it is said of.
    colours : tuple of Lab
        What cloth of it looks like.
    survey : tuple of Lab
        What people who were asked called by it, on a screen.
    called : bool
        False for words that are understood but that cloth is not called by.
    """

    word: str
    families: tuple[str, ...]
    colours: tuple[Lab, ...]
    survey: tuple[Lab, ...]
    called: bool


@cache
def colour_words() -> dict[str, ColourWord]:
    """Give the words of the table.

    References
    ----------
    "Colour words" in docs/sources.md.
    """
    table = (get_data("stash.colour", "colour_words.csv") or b"").decode()
    found = {}
    for line in table.splitlines()[1:]:
        word, families, cloth, survey, called = line.split(",")
        labs, asked = (tuple(lab_of_hex(code) for code in one.split()) for one in (cloth, survey))
        found[word] = ColourWord(word, tuple(families.split()), labs, asked, called == "1")
    return found


def said_colours(
    labs: Sequence[Lab] | FloatArray, first: NDArray[np.int8] | None = None
) -> list[str]:
    """Say what people would call colours: the nearest word of those said of their family.

    ``first`` gives their families as in ``naming.FamilyColumns`` where they are known already.

    Examples
    --------
    >>> said_colours([(20.0, 8.0, -28.0), (82.0, -21.0, 14.0)])
    ['navy', 'mint']
    """
    colours = np.asarray(labs, dtype=np.float64).reshape(-1, 3)
    if not len(colours):
        return []
    families = families_of(colours).first if first is None else first
    words, gates, centres = _called()
    nearest = np.zeros(len(colours), dtype=np.intp)
    for family in np.unique(families).tolist():
        rows = np.flatnonzero(families == family)
        said = np.flatnonzero(gates & (1 << family))
        apart = large_difference(
            colours[rows, None], centres[None, said], lightness_weight=_LIGHTNESS_COUNTS
        )
        nearest[rows] = said[apart.argmin(axis=1)]
    return [words[place] for place in nearest.tolist()]


@cache
def _called() -> tuple[tuple[str, ...], NDArray[np.int64], FloatArray]:
    """Give a row for every colour of every word that cloth is called by."""
    rows = [
        (one.word, bits_of(one.families), lab)
        for one in colour_words().values()
        if one.called
        for lab in (*one.colours, *one.survey)
    ]
    words, gates, labs = zip(*rows, strict=True)
    return tuple(words), np.array(gates, dtype=np.int64), np.array(labs)
