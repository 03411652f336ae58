"""The colour family a cloth is sorted under: one that can be seen on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import Appearance
from stash.colour.naming import FAMILIES, NEUTRALS, bits_of, families_of

__all__ = ["cloth_families", "cloth_family"]

# Judgement: less than this of a family is not what one sorts a cloth by, and with so much of a
# colour one does.
_SEEN_FROM, _SORTED_BY_FROM = 0.12, 0.25
_COLOURED = np.array([family not in NEUTRALS for family in FAMILIES])


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

    It is the family of the colour the cloth reads as, if that family can be seen on it. The mean
    of very unlike colours may be of a family that nothing on the cloth is of: white and blue mix
    to a purple, teal and tan to a grey. Such a cloth goes under the largest family on it that is
    not a neutral one; a cloth whose colours are all small goes by its mean, and so does one of
    neutrals alone, unless that mean is a colour.
    """
    if not looks:
        return []
    read = families_of([look.reads_as for look in looks])
    first, near = _on_cloth(looks)
    families = read.first.astype(np.intp)
    seen = near[np.arange(len(looks)), families] >= _SEEN_FROM
    coloured = np.where(_COLOURED, first, 0.0)
    for shares, unseen in ((first, ~seen & _COLOURED[families]), (coloured, ~seen)):
        moved = unseen & (shares.max(axis=1) >= _SORTED_BY_FROM)
        families[moved] = shares[moved].argmax(axis=1)
    return [FAMILIES[number] for number in families.tolist()]


def _on_cloth(
    looks: Sequence[Appearance],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sum the share of each family on each cloth; also with colours near a border under both."""
    named = families_of([one.lab for look in looks for one in look.colours])
    shares = np.array([one.share for look in looks for one in look.colours])
    rows = np.repeat(np.arange(len(looks)), [len(look.colours) for look in looks])
    first, near = (np.zeros((len(looks), len(FAMILIES))) for _ in range(2))
    np.add.at(first, (rows, named.first), shares)
    for number, family in enumerate(FAMILIES):
        is_near = (named.near & np.uint16(bits_of([family]))) != 0
        near[:, number] = np.bincount(rows[is_near], shares[is_near], minlength=len(looks))
    return first, near
