"""The colour family a cloth is sorted under: one that can be seen on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import Appearance
from stash.colour.difference import large_difference
from stash.colour.fabric_table import FabricColours, FabricTable, table_of
from stash.colour.mixtures import mid_tones
from stash.colour.naming import FAMILIES, NEUTRALS, bits_of, families_of
from stash.colour.spaces import FloatArray

__all__ = ["cloth_families", "cloth_family"]

# Judgement: less than this of a family is not what one sorts a cloth by, and with so much of a
# colour one does; of so much white, cream, grey, black or tan the rest is a figure on it.
_SEEN_FROM, _SORTED_BY_FROM, _GROUND_FROM = 0.12, 0.25, 0.6
_NEAR_MEAN = 15.0  # HyAB; judgement
_NEUTRALS_COUNT = 0.7  # neutral threads beside coloured ones; judgement
_CREAM_FROM_B = 4.5  # b* of a ground; whites lie below (judgement)
_COLOURED = np.array([family not in NEUTRALS for family in FAMILIES])
_WHITE, _CREAM = FAMILIES.index("white"), FAMILIES.index("cream")


def cloth_family(look: Appearance) -> str:
    """Give the family of one cloth, as ``cloth_families`` does.

    Examples
    --------
    >>> from stash.colour.appearance import ColourShare, PrintKind
    >>> stripe = (ColourShare((95.0, 0.0, 2.0), 0.55), ColourShare((28.0, 6.0, -36.0), 0.45))
    >>> cloth_family(Appearance((71.8, 2.7, -13.7), stripe, PrintKind.STRIPE))
    'blue'
    """
    return cloth_families([look])[0]


def cloth_families(looks: Sequence[Appearance]) -> list[str]:
    """Give the family of each cloth.

    A cloth of which a neutral covers three fifths goes under that ground, a stripe or plaid under
    the family that most of its threads are of, whatever they mix to. Any other goes under the
    family it reads as, if that can be seen on it. The mean of very unlike colours may be of a
    family that nothing on the cloth is of: white and blue mix to a purple, teal and tan to a grey.
    Such a cloth goes under the largest family on it that is not a neutral one; a cloth whose
    colours are all small goes by its mean, and so does one of neutrals alone, unless that mean is
    a colour.
    """
    if not looks:
        return []
    table = table_of([FabricColours(row, look) for row, look in enumerate(looks)])
    return families_of_table(table, np.array([look.reads_as for look in looks]))


def families_of_table(table: FabricTable, means: FloatArray) -> list[str]:
    """Do the same for cloths laid out as columns; ``means`` (n, 3) is what each reads as."""
    first, near = _on_cloth(table, means)
    families = _seen_means(means, first, near)
    rows = np.flatnonzero(table.woven)
    families[rows] = _of_threads(table.taken(rows), families[rows])
    ground = first.argmax(axis=1)
    on_ground = ~_COLOURED[ground] & (first[np.arange(len(table)), ground] >= _GROUND_FROM)
    families[on_ground] = ground[on_ground]
    creamy = (families == _WHITE) & (_ground_b(table) >= _CREAM_FROM_B)
    families[creamy] = _CREAM
    return [FAMILIES[number] for number in families.tolist()]


def _seen_means(means: FloatArray, first: FloatArray, near: FloatArray) -> NDArray[np.intp]:
    """Give the family of what each cloth reads as, or the largest on it where that is not seen."""
    families = families_of(means).first.astype(np.intp)
    seen = near[np.arange(len(means)), families] >= _SEEN_FROM
    coloured = np.where(_COLOURED, first, 0.0)
    for shares, unseen in ((first, ~seen & _COLOURED[families]), (coloured, ~seen)):
        moved = unseen & (shares.max(axis=1) >= _SORTED_BY_FROM)
        families[moved] = shares[moved].argmax(axis=1)
    return families


def _of_threads(table: FabricTable, otherwise: NDArray[np.intp]) -> NDArray[np.intp]:
    """Give the family most threads of each cloth are of; ``otherwise`` where all are mid tones."""
    share = np.where(mid_tones(table.mixed, table.lab, table.share), 0.0, table.share)
    shares = _by_family(table.first, share)
    counted = np.where(_COLOURED, shares, shares * _NEUTRALS_COUNT)
    return np.where(shares.max(axis=1) > 0, counted.argmax(axis=1), otherwise)


def _ground_b(table: FabricTable) -> FloatArray:
    """Give b* of the colour that covers most of each cloth."""
    return np.asarray(table.lab[np.arange(len(table)), table.share.argmax(axis=1), 2])


def _on_cloth(table: FabricTable, means: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Sum the share of each family on each cloth; also with colours near a border under both.

    A colour far from the mean is not seen under its neighbour's name: red and white mix to a
    pink, and no pink is on the cloth.
    """
    first = _by_family(table.first, table.share)
    at_hand = large_difference(table.lab, means[:, None]) <= _NEAR_MEAN
    near = first.copy()
    for number, family in enumerate(FAMILIES):
        named = (table.near & np.uint16(bits_of([family]))) != 0
        counts = (at_hand & named) | (table.first == number)
        near[:, number] = (table.share * counts).sum(axis=1)
    return first, near


def _by_family(first: NDArray[np.int8], share: FloatArray) -> FloatArray:
    """Sum shares (n, k) by family, (n, families)."""
    cells = np.arange(len(first))[:, None] * len(FAMILIES) + first
    sums = np.bincount(cells.ravel(), share.ravel(), minlength=len(first) * len(FAMILIES))
    return sums.astype(np.float64).reshape(len(first), len(FAMILIES))
