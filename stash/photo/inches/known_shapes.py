"""Shapes of known size that lie anywhere on the table: loose corner markers, further cards.

Where a shape lies and how it is turned says nothing. What is left when it is laid on its image in
inches says how wrong the plane is there. Shapes of one print share its scale, and how much longer
the printer draws along than across.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray

__all__ = ["KnownShape", "KnownShapes"]


@dataclass(frozen=True, eq=False)
class KnownShape:
    """One shape.

    Attributes
    ----------
    px : float64, shape (n, 2)
        Its points in the photo.
    points_in : float64, shape (n, 2)
        The same points in a frame of its own, inches.
    noise_in : float
        How truly a point is found, inches on the table.
    print_name : str
        Shapes of one name came out of one print.
    scale_spread, stretch_spread : float
        Standard error of that print's size, and of its length against its width, as shares.
    name : str
        What to call it, for telling.
    """

    px: FloatArray
    points_in: FloatArray
    noise_in: float
    print_name: str
    scale_spread: float
    stretch_spread: float
    name: str = ""


@dataclass(frozen=True, eq=False)
class KnownShapes:
    """Several, ready to be laid down on a plane again and again.

    Attributes
    ----------
    shapes : tuple of KnownShape
    doubt : float
        All noise is this many times what the shapes state.
    """

    shapes: tuple[KnownShape, ...]
    doubt: float = 1.0

    def __len__(self) -> int:
        """How many there are."""
        return len(self.shapes)

    @property
    def px(self) -> FloatArray:
        """All their points (n, 2) in the photo."""
        return np.concatenate([np.zeros((0, 2)), *(shape.px for shape in self.shapes)])

    @property
    def free(self) -> int:
        """How many numbers they tell beyond where each lies and how it is turned."""
        return sum(2 * len(shape.px) - 3 for shape in self.shapes)

    def without(self, index: int) -> KnownShapes:
        """Leave one out."""
        return replace(self, shapes=self.shapes[:index] + self.shapes[index + 1 :])

    def of_any_size(self, spread: float, *, of_print: str | None = None) -> KnownShapes:
        """Trust the size of one print, or of none, no further than this share."""
        return replace(
            self,
            shapes=tuple(
                replace(shape, scale_spread=spread)
                if of_print in (None, shape.print_name)
                else shape
                for shape in self.shapes
            ),
        )

    def errors(self, points_in: FloatArray) -> FloatArray:
        """Give what is left, in its own spreads: all points, then scale and stretch of each print.

        Parameters
        ----------
        points_in : float64, shape (n, 2)
            Where a plane puts ``px``.
        """
        if not self.shapes:
            return np.zeros(0)
        ends = np.cumsum([len(shape.px) for shape in self.shapes])[:-1]
        by_print: dict[str, list[_Laid]] = {}
        for shape, seen in zip(self.shapes, np.split(points_in, ends), strict=True):
            by_print.setdefault(shape.print_name, []).append(_laid(shape, seen, self.doubt))
        return np.concatenate([_print_errors(laid) for laid in by_print.values()])

    def scale(self, points_in: FloatArray, print_name: str) -> float:
        """Give the size of a print against what it should be, as the shapes alone show it."""
        ends = np.cumsum([len(shape.px) for shape in self.shapes])[:-1]
        laid = [
            _laid(shape, seen, self.doubt)
            for shape, seen in zip(self.shapes, np.split(points_in, ends), strict=True)
            if shape.print_name == print_name
        ]
        return float(_scale_and_stretch(laid, 0.0, 0.0)[0])


@dataclass(frozen=True, eq=False)
class _Laid:
    """A shape as complex numbers about its middle, and its image turned as it is."""

    shape: KnownShape
    ideal: NDArray[np.complex128]
    seen: NDArray[np.complex128]
    weight: float


def _laid(shape: KnownShape, seen_in: FloatArray, doubt: float) -> _Laid:
    ideal, seen = shape.points_in @ [1, 1j], seen_in @ [1, 1j]
    ideal, seen = ideal - ideal.mean(), seen - seen.mean()
    turn = np.vdot(ideal, seen)
    return _Laid(shape, ideal, seen * np.conj(turn) / abs(turn), 1 / (shape.noise_in * doubt))


def _scale_and_stretch(laid: list[_Laid], sure: float, even: float) -> FloatArray:
    """Least squares for both; ``sure`` and ``even`` are 1 / spread of 1 and of 0."""
    normal, told = np.diag([sure**2, even**2 + 1e-12]), np.array([sure**2, 0.0])
    for one in laid:
        basis = np.column_stack([one.ideal, np.conj(one.ideal)]) * one.weight
        normal = normal + (basis.conj().T @ basis).real
        told = told + (basis.conj().T @ (one.seen * one.weight)).real
    return np.asarray(np.linalg.solve(normal, told))


def _print_errors(laid: list[_Laid]) -> FloatArray:
    sure, even = 1 / laid[0].shape.scale_spread, 1 / laid[0].shape.stretch_spread
    scale, stretch = _scale_and_stretch(laid, sure, even)
    left = [
        (one.seen - scale * one.ideal - stretch * np.conj(one.ideal)) * one.weight for one in laid
    ]
    off = np.concatenate(left)
    return np.concatenate([off.real, off.imag, [(scale - 1) * sure, stretch * even]])
