"""Gaussians of the distances between cells; no table of all pairs where cells lie in rows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray

__all__ = ["Kernels", "make_kernels"]

_DENSE = 1000  # up to so many cells a table of all pairs is quicker and small
_ALIKE_IN = 1e-6


@dataclass(frozen=True)
class Kernels:
    """Kernels of several widths between n cells.

    A Gaussian of a distance is the product of one along x and one along y, so that cells in rows
    and columns need only the tables of those.

    Attributes
    ----------
    along_x, along_y : float64, shape (kernels, columns, columns) and (kernels, rows, rows)
    column, row : intp, shape (n,)
        Where each cell lies.
    whole : float64, shape (kernels, n, n), or None
        All pairs, for few cells that are asked often.
    """

    along_x: FloatArray
    along_y: FloatArray
    column: NDArray[np.intp]
    row: NDArray[np.intp]
    whole: FloatArray | None

    def __len__(self) -> int:
        """Count the kernels."""
        return len(self.along_x)

    def seen_from(
        self, cell: int, kernel: int, cells: NDArray[np.intp] | slice = slice(None)
    ) -> FloatArray:
        """Give one kernel about a cell, for every cell or some."""
        if self.whole is not None:
            return np.asarray(self.whole[kernel, cell, cells])
        x = self.along_x[kernel, self.column[cell]][self.column[cells]]
        return np.asarray(x * self.along_y[kernel, self.row[cell]][self.row[cells]])

    def each_seen_from(
        self, cell: int, kernels: NDArray[np.intp], cells: NDArray[np.intp]
    ) -> FloatArray:
        """Give for each of some cells its own kernel, about one cell."""
        if self.whole is not None:
            return np.asarray(self.whole[kernels, cell, cells])
        x = self.along_x[kernels, self.column[cell], self.column[cells]]
        return np.asarray(x * self.along_y[kernels, self.row[cell], self.row[cells]])

    def table(self, kernel: int) -> FloatArray:
        """Give one kernel between all pairs of cells, shape (n, n)."""
        if self.whole is not None:
            return np.asarray(self.whole[kernel])
        x = self.along_x[kernel][self.column[:, None], self.column]
        return np.asarray(x * self.along_y[kernel][self.row[:, None], self.row])

    def spread_out(self, kernel: int, amounts: FloatArray) -> FloatArray:
        """Give what amounts in the cells come to in every cell, summed by a kernel."""
        if self.whole is not None:
            return np.asarray(self.whole[kernel] @ amounts)
        grid = np.zeros((self.along_x.shape[1], self.along_y.shape[1]))
        np.add.at(grid, (self.column, self.row), amounts)
        return np.asarray(
            (self.along_x[kernel] @ grid @ self.along_y[kernel])[self.column, self.row]
        )


def make_kernels(
    centres_in: FloatArray, widths_squared: FloatArray, *, asked_often: bool = True
) -> Kernels:
    """Prepare kernels of these squared widths, square inches, between cells.

    A table of all pairs is worth its making where kernels are asked often.
    """
    tables, places = [], []
    for axis in (0, 1):
        steps = np.round(centres_in[:, axis] / _ALIKE_IN).astype(np.int64)
        kinds, place = np.unique(steps, return_inverse=True)
        apart = ((kinds[:, None] - kinds[None, :]) * _ALIKE_IN) ** 2
        tables.append(np.exp(-apart[None] / (2 * widths_squared[:, None, None])))
        places.append(place.astype(np.intp))
    few = asked_often and len(centres_in) <= _DENSE
    whole = (
        tables[0][:, places[0][:, None], places[0]] * tables[1][:, places[1][:, None], places[1]]
        if few
        else None
    )
    return Kernels(tables[0], tables[1], places[0], places[1], whole)
