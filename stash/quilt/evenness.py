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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.quilt.kernels import Kernels, make_kernels

__all__ = ["Evenness", "Spread", "make_spread"]

# Ulichney's filter of 1.5 pixels at about a tenth of the pixels: half the spacing of the class.
_WIDTH_IN_SPACINGS = 0.5
_MOST_FOR_EIGENVALUES = 1000  # beyond, they take longer than the layout
_AT_ONCE = 256  # cells compared with all others at a time
_NO_CLASS = 0  # the first row stands for pieces that belong to no class of an attribute


@dataclass(frozen=True, slots=True)
class Evenness:
    """How even a layout is.

    Attributes
    ----------
    score : float
        0 is what chance gives on average, 1 is the lower bound (which no layout may reach).
    discrepancy : float
        The weighted discrepancy; chance gives 1.
    bound : float
        No layout of these pieces can have less.
    by_class : mapping
        Score of each class by attribute and name, e.g. ``("family", "teal")``.
    """

    score: float
    discrepancy: float
    bound: float
    by_class: Mapping[tuple[str, str], float]


@dataclass(frozen=True)
class Spread:
    """The classes of a quilt's pieces and their kernels on its cells.

    Attributes
    ----------
    of_piece : intp, shape (attributes, n)
        Row of each piece's class, 0 for none.
    names : sequence of (attribute, name)
        One per class row; row 0 is empty.
    counts, scale, chance, least : float64, shape (classes,)
        Pieces of the class; weight divided by chance; discrepancy expected by chance; its bound.
    kernel_of : intp, shape (classes,)
        Which kernel.
    kernels : Kernels
        Gaussians of the distance between cells, 1 for a cell and itself.
    """

    of_piece: NDArray[np.intp]
    names: Sequence[tuple[str, str]]
    counts: FloatArray
    scale: FloatArray
    chance: FloatArray
    least: FloatArray
    kernel_of: NDArray[np.intp]
    kernels: Kernels

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
        """Give each class's squared discrepancy, shape (classes,)."""
        n = piece_at.size
        fields = self.fields(piece_at)
        energies = -fields.sum(axis=1) * self.counts / n
        for row in self.of_piece[:, piece_at]:
            np.add.at(energies, row, fields[row, np.arange(n)])
        energies[_NO_CLASS] = 0.0
        return np.asarray(energies, dtype=np.float64)

    def judge(self, piece_at: NDArray[np.intp]) -> Evenness:
        """Say how even a layout is."""
        energies = self.energies(piece_at)
        whole = float((self.scale * energies).sum())
        bound = float((self.scale * self.least).sum())
        chance = float((self.scale * self.chance).sum())
        room = self.chance - self.least
        scores = (self.chance - energies) / np.where(room > 0, room, 1.0)
        return Evenness(
            score=(chance - whole) / (chance - bound) if chance > bound else 1.0,
            discrepancy=whole,
            bound=bound,
            by_class={name: float(scores[row]) for row, name in enumerate(self.names) if row},
        )


def make_spread(
    centres_in: FloatArray,
    attributes: Mapping[str, Sequence[str]],
    weights: Mapping[str, float] | None = None,
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
    """
    n = len(centres_in)
    names: list[tuple[str, str]] = [("", "")]
    lines: list[NDArray[np.intp]] = []
    share: list[float] = [0.0]
    for attribute, classes in attributes.items():
        wanted = [name for name in dict.fromkeys(classes) if name and 1 < classes.count(name) < n]
        rows = {name: len(names) + step for step, name in enumerate(wanted)}
        names += [(attribute, name) for name in wanted]
        weight = (weights or {}).get(attribute, 1.0) / max(1, len(wanted))
        share += [weight] * len(wanted)
        if wanted:
            lines.append(np.array([rows.get(name, _NO_CLASS) for name in classes], dtype=np.intp))
    of_piece = np.array(lines, dtype=np.intp).reshape(len(lines), n)
    counts = np.array([float((of_piece == row).sum()) if row else 0.0 for row in range(len(names))])
    kernel_of, kernels = _kernels(centres_in, counts)
    chance, least = _limits(counts, kernel_of, kernels)
    total = sum(share) or 1.0
    scale = np.array(share) / total / np.where(chance > 0, chance, 1.0)
    return Spread(of_piece, names, counts, scale, chance, least, kernel_of, kernels)


def _kernels(centres: FloatArray, counts: FloatArray) -> tuple[NDArray[np.intp], Kernels]:
    n = len(centres)
    minority = np.maximum(1.0, np.minimum(counts, n - counts))
    steps = np.round(2 * np.log2(minority)).astype(int)  # half octaves of density share a kernel
    kinds, kernel_of = np.unique(steps, return_inverse=True)
    widths_squared = _WIDTH_IN_SPACINGS**2 * _cell_area(centres) * n / 2.0 ** (kinds / 2)
    return kernel_of.astype(np.intp), make_kernels(centres, widths_squared)


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


def _limits(
    counts: FloatArray, kernel_of: NDArray[np.intp], kernels: Kernels
) -> tuple[FloatArray, FloatArray]:
    """Give what chance gives and the least there can be, per class.

    Chance: the mean over all orders of ``(x - p)' K (x - p)``, exact. Least: the larger of two
    bounds, the smallest eigenvalue of K off the constant times ``|x - p|^2``, and the diagonal
    plus the most negative linear part there is.
    """
    n = len(kernels.column)
    chance, least = np.zeros(len(counts)), np.zeros(len(counts))
    floors = [_least_eigenvalue(kernels, kernel) for kernel in range(len(kernels))]
    every = [kernels.spread_out(kernel, np.ones(n)) for kernel in range(len(kernels))]
    order = [np.sort(sums)[::-1] for sums in every]
    for row in range(1, len(counts)):
        sums, count = every[kernel_of[row]], counts[row]
        share = count / n
        spread = count * (1 - share)
        chance[row] = spread / (n - 1) * (n - sums.sum() / n)
        strongest = order[kernel_of[row]][: int(count)].sum()
        by_diagonal = count - 2 * share * strongest + share**2 * sums.sum()
        least[row] = max(0.0, floors[kernel_of[row]] * spread, by_diagonal)
    return chance, least


def _least_eigenvalue(kernels: Kernels, number: int) -> float:
    n = len(kernels.column)
    if kernels.whole is None or n > _MOST_FOR_EIGENVALUES:  # nought is a weaker bound
        return 0.0
    kernel = kernels.whole[number]
    centring = np.eye(n) - 1.0 / n
    values = np.linalg.eigvalsh(centring @ kernel @ centring)
    return float(max(0.0, values[1] if n > 1 else 0.0))  # the first is the constant's, 0
