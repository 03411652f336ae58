"""The stash laid out for questions: usable scraps by fabric, fabrics as columns."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from pkgutil import get_data

import numpy as np
from numpy.typing import NDArray

from stash.colour.fabric_table import FabricColours, FabricTable, table_of_columns
from stash.colour.naming import FamilyColumns, families_of
from stash.colour.spaces import FloatArray
from stash.scrap import Scrap
from stash.usecases.ports import AskedStore

__all__ = ["UsableFabrics", "fabric_colours", "usable_fabrics"]

# From so many colours on their families are kept between runs; naming fewer is quick.
_MANY_COLOURS = 2000
# What the name of a colour follows from, besides the colour; a change of any names anew.
_NAMING_RULES = ("naming.py", "munsell.py", "munsell.npy", "spaces.py")


@dataclass(frozen=True, eq=False)
class UsableFabrics:
    """What every match begins with.

    Attributes
    ----------
    numbers : int64, shape (n,)
        The scraps that are not cut up, by fabric.
    places : sequence of str
        Their bins.
    areas : float64, shape (n,)
        Square inches.
    starts : int64, shape (m,)
        Where each fabric's scraps begin.
    table : FabricTable
        The m fabrics, each with the colours of its largest scrap.
    """

    numbers: NDArray[np.int64]
    places: Sequence[str]
    areas: FloatArray
    starts: NDArray[np.int64]
    table: FabricTable

    def column(self, values: Mapping[int, float]) -> FloatArray:
        """Line values by scrap number up with the scraps; nan where there is none."""
        return np.array([values.get(number, np.nan) for number in self.numbers.tolist()])


def usable_fabrics(store: AskedStore) -> UsableFabrics:
    """Give the stash as it is now; remembered until something is written."""
    return store.derived("ground", lambda: _laid_out(store))


def _laid_out(store: AskedStore) -> UsableFabrics:
    scraps = store.columns()
    order = np.argsort(scraps.fabric, kind="stable")
    fabrics = scraps.fabric[order]
    starts = np.flatnonzero(np.diff(fabrics, prepend=-1))
    largest = _first_largest(fabrics, scraps.area[order])

    def naming(lab: FloatArray, error: FloatArray) -> FamilyColumns:
        return _families(store, lab, error)

    return UsableFabrics(
        scraps.number[order],
        [scraps.places[place] for place in order.tolist()],
        scraps.area[order],
        starts.astype(np.int64),
        table_of_columns(fabrics[starts], scraps.looks.taken(order[largest]), naming),
    )


def _first_largest(groups: NDArray[np.int64], areas: FloatArray) -> NDArray[np.intp]:
    """Give the place of the largest of each group, the first of equals; groups are in order."""
    by_size = np.lexsort((-areas, groups))
    return by_size[np.flatnonzero(np.diff(groups, prepend=-1))]


def _families(store: AskedStore, lab: FloatArray, error: FloatArray) -> FamilyColumns:
    """Name many colours, or look up what these very colours were named by these very rules."""
    rules = _naming_rules() if len(lab) >= _MANY_COLOURS else b""
    if not rules:
        return families_of(lab, error)
    asked = hashlib.sha256(rules + lab.astype("<f8").tobytes() + error.astype("<f8").tobytes())

    def made() -> bytes:
        named = families_of(lab, error)
        packed = (named.first.astype("<i2"), named.near.astype("<u2"), named.possible.astype("<u2"))
        return b"".join(column.tobytes() for column in packed)

    kept = store.kept_answer("families", asked.hexdigest(), made)
    first, near, possible = np.frombuffer(kept, dtype="<u2").reshape(3, -1)
    return FamilyColumns(first.astype(np.int8), near, possible)


def _naming_rules() -> bytes:
    """Give the rules as they are written; nothing where only compiled code is installed."""
    try:
        return b"".join(get_data("stash.colour", name) or b"" for name in _NAMING_RULES)
    except OSError:
        return b""


def fabric_colours(scraps: Sequence[Scrap]) -> tuple[FabricColours, ...]:
    """Give the colours of each fabric: those of its largest scrap."""
    ordered = sorted(scraps, key=lambda scrap: scrap.fabric)
    return tuple(
        FabricColours(number, max(group, key=lambda scrap: scrap.outline.area_sq_in).appearance)
        for number, group in groupby(ordered, key=lambda scrap: scrap.fabric)
    )
