"""How evenly the colours, values and accents of a quilt are spread over its cells.

Every class of pieces (a family, a value, an accent, one fabric that comes several times) is
compared with the quilt as a whole: the squared kernel discrepancy, Gaussian kernel, between
the cells the class has and all cells. The width of the kernel follows the class's own spacing,
so that five corals are watched over the whole quilt and two hundred blues from cell to cell.

The energy of a Gaussian filter over the wrong clumps and voids is Ulichney's (1993,
void-and-cluster); one width per class, from its density, is Wei's (2010, multi-class blue
noise sampling); in statistics the same number is the squared maximum mean discrepancy
(Gretton et al. 2012). All three from memory, not opened.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.quilt.kernels import Kernels, make_kernels

__all__ = ["Evenness", "Floors", "Spread", "least_eigenvalues", "make_spread"]

Floors = Callable[[Kernels], FloatArray]

# Ulichney's filter of 1.5 pixels at about a tenth of the pixels: half the spacing of the class.
_WIDTH_IN_SPACINGS = 0.5
_MOST_FOR_EIGENVALUES = 1000  # beyond, they take longer than the layout
_AT_ONCE = 256  # cells compared with all others at a time
_NO_CLASS = 0  # the first row stands for pieces that belong to no class of an attribute


@dataclass(frozen=True)
class Evenness:
    """How even a layout is; what asks for the lower bound is worked out when it is read.

    Attributes
    ----------
    spread : Spread
        The measure.
    energies : float64, shape (classes,)
        Squared discrepancy of each class.
    """

    spread: Spread
    energies: FloatArray

    @property
    def discrepancy(self) -> float:
        """The weighted discrepancy; chance gives 1."""
        return float((self.spread.scale * self.energies).sum())

    @property
    def bound(self) -> float:
        """No layout of these pieces can have less."""
        return float((self.spread.scale * self.spread.least).sum())

    @property
    def score(self) -> float:
        """0 is what chance gives on average, 1 the lower bound, which no layout may reach."""
        chance = float((self.spread.scale * self.spread.chance).sum())
        bound = self.bound
        return (chance - self.discrepancy) / (chance - bound) if chance > bound else 1.0

    @property
    def by_class(self) -> Mapping[tuple[str, str], float]:
        """Score of each class by attribute and name, e.g. ``("family", "teal")``."""
        room = self.spread.chance - self.spread.least
        scores = (self.spread.chance - self.energies) / np.where(room > 0, room, 1.0)
        return {name: float(scores[row]) for row, name in enumerate(self.spread.names) if row}


@dataclass(frozen=True)
class Spread:
    """The classes of a quilt's pieces and their kernels on its cells.

    Attributes
    ----------
    of_piece : intp, shape (attributes, n)
        Row of each piece's class, 0 for none.
    names : sequence of (attribute, name)
        One per class row; row 0 is empty.
    counts, scale, chance : float64, shape (classes,)
        Pieces of the class; weight divided by chance; discrepancy expected by chance.
    kernel_of : intp, shape (classes,)
        Which kernel.
    kernels : Kernels
        Gaussians of the distance between cells, 1 for a cell and itself.
    floors : callable
        Gives the smallest eigenvalues of kernels; or what was kept of them.
    """

    of_piece: NDArray[np.intp]
    names: Sequence[tuple[str, str]]
    counts: FloatArray
    scale: FloatArray
    chance: FloatArray
    kernel_of: NDArray[np.intp]
    kernels: Kernels
    floors: Floors

    @cached_property
    def least(self) -> FloatArray:
        """The least discrepancy each class can have; takes a second at 600 cells."""
        return _least(self.counts, self.kernel_of, self.kernels, self.floors(self.kernels))

    def fields(self, piece_at: NDArray[np.intp]) -> FloatArray:
        """Give each class's surplus seen from each cell, shape (classes, n).

        ``piece_at`` tells the piece in every cell.
        """
        n = piece_at.size
        surplus = np.repeat(-self.counts[:, None] / n, n, axis=1)
        for row in self.of_piece[:, piece_at]:
            surplus[row, np.arange(n)] += 1.0
        surplus[_NO_CLASS] = 0.0
        return np.stack(
            [
                self.kernels.spread_out(int(kernel), one)
                for kernel, one in zip(self.kernel_of, surplus, strict=True)
            ]
        )

    def energies(self, piece_at: NDArray[np.intp]) -> FloatArray:
        """Give each class's squared discrepancy, shape (classes,); one class at a time."""
        n, energies = piece_at.size, np.zeros(len(self.counts))
        for line in self.of_piece[:, piece_at]:
            order = np.argsort(line, kind="stable")
            rows = np.flatnonzero(np.bincount(line, minlength=len(energies)))
            held_by = np.split(order, np.searchsorted(line[order], rows)[1:])
            for row, held in zip(rows, held_by, strict=True):
                if row != _NO_CLASS:
                    surplus = np.full(n, -self.counts[row] / n)
                    surplus[held] += 1.0
                    field = self.kernels.spread_out(int(self.kernel_of[row]), surplus)
                    energies[row] = surplus @ field
        return energies

    def judge(self, piece_at: NDArray[np.intp]) -> Evenness:
        """Say how even a layout is."""
        return Evenness(self, self.energies(piece_at))


def make_spread(
    centres_in: FloatArray,
    attributes: Mapping[str, Sequence[str]],
    weights: Mapping[str, float] | None = None,
    *,
    floors: Floors | None = None,
    asked_often: bool = True,
) -> Spread:
    """Prepare the measure for a quilt.

    Parameters
    ----------
    centres_in : float64, shape (n, 2)
        Centres of the cells, inches.
    attributes : mapping
        For each attribute (``family``, ``value`` ...) the class of every piece; an empty name
        means none.
    weights : mapping, optional
        Weight of each attribute, 1 if not named. All classes of an attribute weigh the same, so
        that five corals count as much as two hundred blues.
    floors : callable, optional
        Gives the smallest eigenvalues of the kernels, if they were kept; see `least_eigenvalues`.
    asked_often : bool
        Whether a search is to follow.
    """
    n = len(centres_in)
    names: list[tuple[str, str]] = [("", "")]
    lines: list[NDArray[np.intp]] = []
    share: list[float] = [0.0]
    for attribute, classes in attributes.items():
        wanted = [name for name, held in Counter(classes).items() if name and 1 < held < n]
        rows = {name: len(names) + step for step, name in enumerate(wanted)}
        names += [(attribute, name) for name in wanted]
        weight = (weights or {}).get(attribute, 1.0) / max(1, len(wanted))
        share += [weight] * len(wanted)
        if wanted:
            lines.append(np.array([rows.get(name, _NO_CLASS) for name in classes], dtype=np.intp))
    of_piece = np.array(lines, dtype=np.intp).reshape(len(lines), n)
    counts = np.array([float((of_piece == row).sum()) if row else 0.0 for row in range(len(names))])
    kernel_of, kernels = _kernels(centres_in, counts, asked_often=asked_often)
    chance = _chance(counts, kernel_of, kernels)
    total = sum(share) or 1.0
    scale = np.array(share) / total / np.where(chance > 0, chance, 1.0)
    floors = floors or least_eigenvalues
    return Spread(of_piece, names, counts, scale, chance, kernel_of, kernels, floors)


def _kernels(
    centres: FloatArray, counts: FloatArray, *, asked_often: bool
) -> tuple[NDArray[np.intp], Kernels]:
    n = len(centres)
    minority = np.maximum(1.0, np.minimum(counts, n - counts))
    steps = np.round(2 * np.log2(minority)).astype(int)  # half octaves of density share a kernel
    kinds, kernel_of = np.unique(steps, return_inverse=True)
    widths_squared = _WIDTH_IN_SPACINGS**2 * _cell_area(centres) * n / 2.0 ** (kinds / 2)
    kernels = make_kernels(centres, widths_squared, asked_often=asked_often)
    return kernel_of.astype(np.intp), kernels


def _cell_area(centres: FloatArray) -> float:
    """Guess the area of a cell from the median distance of nearest neighbours."""
    if len(centres) < 2:
        return 1.0
    apart = []
    for start in range(0, len(centres), _AT_ONCE):
        some = centres[start : start + _AT_ONCE]
        squared = ((some[:, None, :] - centres[None, :, :]) ** 2).sum(axis=-1)
        apart.append(np.where(squared > 0, squared, np.inf).min(axis=1))
    return float(np.median(np.concatenate(apart)))


def _chance(counts: FloatArray, kernel_of: NDArray[np.intp], kernels: Kernels) -> FloatArray:
    """Give what chance gives: the mean over all orders of ``(x - p)' K (x - p)``, exact."""
    n = len(kernels.column)
    sums = [kernels.spread_out(kernel, np.ones(n)).sum() / n for kernel in range(len(kernels))]
    spread = counts * (1 - counts / n)
    chance = spread / max(1, n - 1) * (n - np.array(sums)[kernel_of])
    chance[_NO_CLASS] = 0.0
    return np.asarray(chance)


def _least(
    counts: FloatArray, kernel_of: NDArray[np.intp], kernels: Kernels, floors: FloatArray
) -> FloatArray:
    """Give the least there can be: the larger of two bounds.

    The smallest eigenvalue of K off the constant times ``|x - p|^2``, and the diagonal plus the
    most negative linear part there is.
    """
    n = len(kernels.column)
    least = np.zeros(len(counts))
    every = [kernels.spread_out(kernel, np.ones(n)) for kernel in range(len(kernels))]
    order = [np.sort(sums)[::-1] for sums in every]
    for row in range(1, len(counts)):
        sums, count = every[kernel_of[row]], counts[row]
        share = count / n
        strongest = order[kernel_of[row]][: int(count)].sum()
        by_diagonal = count - 2 * share * strongest + share**2 * sums.sum()
        least[row] = max(0.0, floors[kernel_of[row]] * count * (1 - share), by_diagonal)
    return least


def least_eigenvalues(kernels: Kernels) -> FloatArray:
    """Give the smallest eigenvalue off the constant of each kernel; 0 where cells are many."""
    n = len(kernels.column)
    if not 1 < n <= _MOST_FOR_EIGENVALUES:  # nought is a weaker bound
        return np.zeros(len(kernels))
    floors = []
    for number in range(len(kernels)):
        kernel = kernels.table(number)
        sums = kernel.mean(axis=0)
        centred = kernel - sums - sums[:, None] + sums.mean()
        floors.append(max(0.0, float(np.linalg.eigvalsh(centred)[1])))  # the first is 0
    return np.array(floors)
