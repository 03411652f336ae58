"""The stash laid out for questions: usable scraps by fabric, fabrics as columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from stash.colour.fabric_table import FabricColours, FabricTable, table_of
from stash.colour.spaces import FloatArray
from stash.scrap import Scrap, ScrapState
from stash.usecases.ports import Store

__all__ = ["Ground", "fabric_colours", "ground_of"]


@dataclass(frozen=True, eq=False)
class Ground:
    """What every match begins with.

    Attributes
    ----------
    scraps : tuple of Scrap
        All that are not cut up, by fabric.
    numbers : int64, shape (n,)
        Their numbers.
    starts : int64, shape (m,)
        Where each fabric's scraps begin.
    table : FabricTable
        The m fabrics, each with the colours of its largest scrap.
    """

    scraps: tuple[Scrap, ...]
    numbers: NDArray[np.int64]
    starts: NDArray[np.int64]
    table: FabricTable

    def scraps_of(self, row: int) -> range:
        """Give the places in ``scraps`` of one fabric's scraps."""
        last = row + 1 == len(self.starts)
        return range(int(self.starts[row]), len(self.scraps) if last else int(self.starts[row + 1]))

    def column(self, values: Mapping[int, float]) -> FloatArray:
        """Line values by scrap number up with ``scraps``; 0 where there is none."""
        return np.array([values.get(number, 0.0) for number in self.numbers.tolist()], dtype=float)


def ground_of(store: Store) -> Ground:
    """Give the stash as it is now; remembered until something is written."""
    return store.derived("ground", lambda: _laid_out(store))


def _laid_out(store: Store) -> Ground:
    usable = [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]
    ordered = sorted(usable, key=lambda scrap: scrap.fabric)
    fabrics = np.array([scrap.fabric for scrap in ordered], dtype=np.int64)
    starts = np.flatnonzero(np.diff(fabrics, prepend=-1))
    return Ground(
        tuple(ordered),
        np.array([scrap.number for scrap in ordered], dtype=np.int64),
        starts.astype(np.int64),
        table_of(fabric_colours(ordered)),
    )


def fabric_colours(scraps: Sequence[Scrap]) -> tuple[FabricColours, ...]:
    """Give the colours of each fabric: those of its largest scrap."""
    ordered = sorted(scraps, key=lambda scrap: scrap.fabric)
    return tuple(
        FabricColours(number, max(group, key=lambda scrap: scrap.outline.area_sq_in).appearance)
        for number, group in groupby(ordered, key=lambda scrap: scrap.fabric)
    )
