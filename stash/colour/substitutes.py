"""What can stand in for a fabric that ran out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stash.colour.appearance import Appearance
from stash.colour.cloth_family import cloth_families
from stash.colour.difference import colour_difference
from stash.colour.fabric_table import FabricColours
from stash.colour.likeness import earth_mover
from stash.colour.naming import value_word

__all__ = ["Substitute", "rank_substitutes"]

_LOOKED_AT = 60  # nearest by what they read as; all their colours are compared for these


@dataclass(frozen=True, slots=True)
class Substitute:
    """A fabric that can stand in; ``difference`` is how far its colours lie off, CIEDE2000."""

    fabric: int
    difference: float
    same_value: bool


def rank_substitutes(wanted: Appearance, others: Sequence[FabricColours]) -> tuple[Substitute, ...]:
    """Rank the fabrics of the same colour family, those of the same value first.

    Parameters
    ----------
    wanted : Appearance
        The fabric that ran out.
    others : sequence of FabricColours
        What there is besides.

    Notes
    -----
    Value comes before hue in a quilt. Then those stand first whose colours need the least
    change, share by share (``likeness.earth_mover``).
    """
    if not others:
        return ()
    family, *families = cloth_families([wanted, *(one.appearance for one in others)])
    of_family = [one for one, its in zip(others, families, strict=True) if its == family]
    if not of_family:
        return ()
    reads = colour_difference(wanted.reads_as, [one.appearance.reads_as for one in of_family])
    value = value_word(wanted.reads_as[0])
    found = [
        Substitute(
            one.fabric,
            earth_mover(wanted.colours, one.appearance.colours),
            value_word(one.appearance.reads_as[0]) == value,
        )
        for one in (of_family[row] for row in np.argsort(reads, kind="stable")[:_LOOKED_AT])
    ]
    return tuple(sorted(found, key=lambda one: (not one.same_value, one.difference)))
