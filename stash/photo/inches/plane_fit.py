"""Fitting the eight numbers of a table's view to all that is known of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.inches.known_shapes import KnownShapes
from stash.photo.inches.parallel_sides import ParallelSides, angles_off, own_spread
from stash.photo.inches.table_view import Frame, inches_of

__all__ = ["PATCH_NOISE_IN", "PlaneFacts", "fitted_to_sides"]

_LEAST_NOISE_IN = 0.0007  # of a card's patches, 18 micrometres; neighbours may err alike
PATCH_NOISE_IN = 0.0008  # a first guess of how truly a centre is found; the fit corrects it
_STEPS = 30
_ROUNDS = 4
_FIRST_SIDE_SPREAD = 0.01  # radians; how far sides may seem off before the plane is fitted to them


@dataclass(frozen=True, eq=False)
class PlaneFacts:
    """All that the eight numbers of ``table_view`` must agree with.

    Attributes
    ----------
    px, card_in : float64, shape (n, 2)
        Points of the card in the photo, and in its own frame, inches.
    weights : float64, shape (n, 2)
        1 / noise of each coordinate, inches; 0 where it was not seen.
    frame : Frame
    expected, sureness : float64, shape (2,)
        Log focal length and radial term as expected, and 1 / how closely.
    shapes : KnownShapes, optional
    parallels : ParallelSides, optional
        Sides that lie parallel in families, with 1 / their spread in ``side_weight``.
    """

    px: FloatArray
    card_in: FloatArray
    weights: FloatArray
    frame: Frame
    expected: FloatArray
    sureness: FloatArray
    shapes: KnownShapes | None = None
    parallels: ParallelSides | None = None
    side_weight: FloatArray | None = None

    def errors(self, numbers: FloatArray) -> FloatArray:
        """Errors in their own spreads: patches, two priors, known shapes, then parallel sides."""
        off = (inches_of(numbers, self.px, self.frame) - self.card_in) * self.weights
        told = [off.ravel(), self.sureness * (numbers[6:] - self.expected)]
        if self.shapes is not None:
            told.append(self.shapes.errors(inches_of(numbers, self.shapes.px, self.frame)))
        if self.parallels is not None and self.side_weight is not None:
            told.append(self.sides_off(numbers) * self.side_weight)
        return np.concatenate(told)

    def sides_off(self, numbers: FloatArray) -> FloatArray:
        """Angle of every side from the direction of its family, radians."""
        assert self.parallels is not None and self.side_weight is not None
        ends = inches_of(numbers, self.parallels.ends_px.reshape(-1, 2), self.frame)
        return angles_off(ends.reshape(-1, 2, 2), self.parallels.family, self.side_weight**2)

    def fitted(self, start: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give the numbers and their covariance; the patches' noise is judged by themselves."""
        numbers, errors, slopes = _solved(start, self.errors)
        patches = errors[: self.weights.size]
        freedom = max(int((self.weights > 0).sum()) - 7, 1)
        noise = max(float(patches @ patches) / freedom, (_LEAST_NOISE_IN / PATCH_NOISE_IN) ** 2)
        share = np.ones(len(errors))
        share[: self.weights.size] = 1 / noise
        information = slopes.T @ (slopes * share[:, None])
        return numbers, np.asarray(np.linalg.inv(information), dtype=np.float64)

    def fitted_as_stated(self, start: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give the same where so few points are known that their noise is taken as stated."""
        numbers, _, slopes = _solved(start, self.errors)
        return numbers, np.asarray(np.linalg.inv(slopes.T @ slopes), dtype=np.float64)

    def calmed(self, numbers: FloatArray) -> PlaneFacts:
        """Weigh the patches by the noise they show."""
        patches = self.errors(numbers)[: self.weights.size]
        freedom = max(int((self.weights > 0).sum()) - 7, 1)
        noise = max(float(patches @ patches) / freedom, (_LEAST_NOISE_IN / PATCH_NOISE_IN) ** 2)
        return replace(self, weights=self.weights / np.sqrt(noise))


def fitted_to_sides(
    facts: PlaneFacts, parallels: ParallelSides, numbers: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Fit with parallel sides; those that lie off count little (Geman and McClure)."""
    facts = facts.calmed(numbers)
    spread = np.hypot(parallels.noise, _FIRST_SIDE_SPREAD)
    count = np.ones(len(parallels))
    for _ in range(_ROUNDS):
        weight = np.sqrt(count) / spread
        facts = replace(facts, parallels=parallels, side_weight=weight)
        numbers, covariance = facts.fitted(numbers)
        off = facts.sides_off(numbers)
        spread = np.hypot(parallels.noise, own_spread(off, count, parallels))
        count = 1 / (1 + (off / (2 * spread)) ** 2) ** 2
    return numbers, covariance


def _solved(
    start: FloatArray, left: Callable[[FloatArray], FloatArray]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Levenberg-Marquardt; gives the numbers, the errors left and their slopes."""
    numbers, damping = start, 1e-9
    errors = left(numbers)
    slopes = _slopes(left, numbers, errors)
    for _ in range(_STEPS):
        normal = slopes.T @ slopes
        move = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -slopes.T @ errors)
        tried = left(numbers + move)
        if tried @ tried < errors @ errors:
            gain = 1 - (tried @ tried) / (errors @ errors)
            numbers, errors, damping = numbers + move, tried, damping / 10
            slopes = _slopes(left, numbers, errors)
            if gain < 1e-7:
                break
        else:
            damping = max(damping, 1e-9) * 20
    return numbers, errors, slopes


def _slopes(
    left: Callable[[FloatArray], FloatArray], numbers: FloatArray, errors: FloatArray
) -> FloatArray:
    step = 1e-6
    columns = [(left(numbers + step * unit) - errors) / step for unit in np.eye(8)]
    return np.column_stack(columns)
