"""The stash laid out for questions: usable scraps by fabric, fabrics as columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from stash.colour.fabric_table import FabricColours, FabricTable, table_of_columns
from stash.colour.spaces import FloatArray
from stash.scrap import Scrap
from stash.usecases.ports import AskedStore

__all__ = ["UsableFabrics", "fabric_colours", "usable_fabrics"]


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

    return UsableFabrics(
        scraps.number[order],
        [scraps.places[place] for place in order.tolist()],
        scraps.area[order],
        starts.astype(np.int64),
        table_of_columns(fabrics[starts], scraps.looks.taken(order[largest])),
    )


def _first_largest(groups: NDArray[np.int64], areas: FloatArray) -> NDArray[np.intp]:
    """Give the place of the largest of each group, the first of equals; groups are in order."""
    by_size = np.lexsort((-areas, groups))
    return by_size[np.flatnonzero(np.diff(groups, prepend=-1))]


def fabric_colours(scraps: Sequence[Scrap]) -> tuple[FabricColours, ...]:
    """Give the colours of each fabric: those of its largest scrap."""
    ordered = sorted(scraps, key=lambda scrap: scrap.fabric)
    return tuple(
        FabricColours(number, max(group, key=lambda scrap: scrap.outline.area_sq_in).appearance)
        for number, group in groupby(ordered, key=lambda scrap: scrap.fabric)
    )
