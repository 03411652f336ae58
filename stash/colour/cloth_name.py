"""What a quilter would call cloths that have no name yet: colour, accents and figure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import WOVEN_KINDS, Appearance, PrintKind
from stash.colour.colour_words import said_colours
from stash.colour.eye import eye_weights
from stash.colour.fabric_table import FabricColours, table_of
from stash.colour.mixtures import mid_tones
from stash.colour.spaces import FloatArray

__all__ = ["cloth_name", "cloth_names"]

# What counts less to the eye is not what one calls a cloth by; judgement.
_LEAST_SEEN = 0.1
_GROUND_FROM = 0.45  # share from which one colour is the ground the others lie on; judgement
_MOST_ACCENTS = 2
# Even checks of two threads: half of the cloth is where they cross, a quarter each alone.
_CROSSED, _ALONE, _UNEVEN = (0.35, 0.65), 0.1, 2.2  # judgement
_GROUNDS_UNTOLD = ("white", "cream")  # a teal gingham is teal on white


@dataclass(slots=True)
class _Colour:
    """A colour of a cloth by its word: share of the area, what it counts, its family."""

    word: str
    share: float
    seen: float
    family: int


def cloth_name(look: Appearance) -> str:
    """Name a cloth as ``cloth_names`` does.

    Examples
    --------
    >>> from stash.colour.appearance import ColourShare
    >>> dots = (ColourShare((94.0, 0.0, 8.0), 0.8), ColourShare((22.0, 8.0, -28.0), 0.2))
    >>> cloth_name(Appearance((84.0, 1.0, -1.0), dots, PrintKind.PRINT))
    'cream with navy print'
    """
    return cloth_names([look])[0]


def cloth_names(looks: Sequence[Appearance]) -> list[str]:
    """Name many cloths at once, a thousand in about a tenth of a second.

    A plain cloth is called by its colour, a print by its ground and up to two accents, woven
    cloth by its threads, not by the tones they mix to. Of the figure only what was measured.
    """
    if not looks:
        return []
    table = table_of([FabricColours(row, look) for row, look in enumerate(looks)])
    threads = mid_tones(table.mixed, table.lab, table.share) & table.woven[:, None]
    share = np.where(threads, 0.0, table.share)
    rows, places = np.nonzero(share > 0)
    words = said_colours(table.lab[rows, places], table.first[rows, places])
    seen = eye_weights(table.lab, share)[rows, places].tolist()
    colours: list[dict[str, _Colour]] = [{} for _ in looks]
    for row, word, part, weight, family in zip(
        rows.tolist(), words, share[rows, places].tolist(), seen,
        table.first[rows, places].tolist(), strict=True,
    ):  # fmt: skip
        one = colours[row].setdefault(word, _Colour(word, 0.0, 0.0, family))
        one.share, one.seen = one.share + part, one.seen + weight
    means = said_colours(np.array([look.reads_as for look in looks]))
    return [
        _named(look.kind, figure, mean, _foremost(list(found.values())))
        for look, figure, mean, found in zip(
            looks, _figures(looks, table.share, threads), means, colours, strict=True
        )
    ]


def _figures(
    looks: Sequence[Appearance], share: FloatArray, threads: NDArray[np.bool_]
) -> list[str]:
    """Give the word for each cloth's figure: its kind, or gingham where it is known to be one."""
    crossed = np.where(threads, share, 0.0).sum(axis=1)
    alone = np.where(threads, 0.0, share)
    two = (threads.sum(axis=1) == 1) & ((alone > 0).sum(axis=1) == 2)
    most = alone.max(axis=1)
    least = np.where(alone > 0, alone, np.inf).min(axis=1)
    even = (least >= _ALONE) & (most <= _UNEVEN * least)
    gingham = two & even & (crossed >= _CROSSED[0]) & (crossed <= _CROSSED[1])
    return [
        "gingham" if look.kind is PrintKind.PLAID and found else str(look.kind)
        for look, found in zip(looks, gingham.tolist(), strict=True)
    ]


def _foremost(colours: list[_Colour]) -> list[_Colour]:
    """Give the ground first, then what else one sees, other families before shades of the same."""
    if not colours:
        return []
    ground = max(colours, key=lambda one: one.share)
    rest = [one for one in colours if one is not ground and one.seen >= _LEAST_SEEN]
    return [ground, *sorted(rest, key=lambda one: (one.family == ground.family, -one.seen))]


def _named(kind: PrintKind, figure: str, mean: str, colours: list[_Colour]) -> str:
    if kind is PrintKind.PLAIN or not colours:
        return mean
    ground, rest = colours[0], colours[1:]
    if kind is PrintKind.TONE or not rest:
        return f"{ground.word} {kind}"
    if kind in WOVEN_KINDS:
        told = [one.word for one in colours if one.word not in _GROUNDS_UNTOLD]
        return f"{' and '.join(told[:2]) or ground.word} {figure}"
    if ground.share < _GROUND_FROM:
        return f"{ground.word} and {rest[0].word} {kind}"
    others = [one for one in rest if one.family != ground.family]
    accents = " and ".join(one.word for one in (others or rest[:1])[:_MOST_ACCENTS])
    return f"{ground.word} with {accents} {kind}"
