"""Inches on the table from pixels of the photo, with an honest error that grows away from the card.

Model: a flat table, seen through a lens with square pixels whose axis passes the middle of the
photo. Pose (6 numbers), focal length and one radial term are fitted to all patch centres at once;
what the card cannot tell (focal length, lens) is held by priors that fit ordinary phones.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.card import FoundCard
from stash.photo.known_shapes import KnownShapes
from stash.photo.parallel_sides import ParallelSides, angles_off, own_spread
from stash.photo.patch_edges import PatchCentres, project

__all__ = ["RADIAL_SPREAD", "Lens", "Plane", "fit_again", "fit_plane", "fit_to_shapes"]

# Phone main cameras are 24 to 28 mm in 35 mm terms and 48 to 56 mm zoomed in twice (makers' data
# sheets, from memory). In units of the long side of a 4:3 photo that is 0.75 and 1.5: the middle
# of their logarithms, and their distance from it.
_FOCAL_SIDES, _FOCAL_SPREAD = 1.06, 0.35  # the spread is of the logarithm
_FOCAL_KNOWN_SPREAD = 0.05  # when the photo's details tell it, rounded to whole millimetres
_MM_PER_LONG_SIDE = 34.6  # 43.27 mm diagonal (35 mm film), shared 4 : 3
RADIAL_SPREAD = 0.006  # undistorted by the phone; what is left at the middle of the short edges
_LEAST_NOISE_IN = 0.0007  # of a card's patches, 18 micrometres; neighbours may err alike
_PATCH_NOISE_IN = 0.0008  # a first guess of how truly a centre is found; the fit corrects it
_EDGE_FLOOR_IN = 0.002
_PRINT_FLOOR_IN = 0.006  # feed of a home printer over a page, common practice, no source
# A card's centres may all be off together, which turns or scales the far end of a big table; one
# by one they then count as sure to so much. Found on rendered scenes of 45 to 95 pixels an inch.
_CARD_ASTRAY_PX = 0.4
_SHARE_OF_SIGMA = 0.1  # the step by which slopes are taken
_STEPS = 30
_CLOSE_ENOUGH = 1e-13  # in half long sides: far less than a millionth of a pixel
_ROUNDS = 4
_FIRST_SIDE_SPREAD = 0.01  # radians; how far sides may seem off before the plane is fitted to them


@dataclass(frozen=True, slots=True)
class Lens:
    """What is known about the lens beside the card.

    Attributes
    ----------
    radial, radial_spread : float
        Estimate and standard error of the radial term, from straight edges in the photo.
    focal_35mm : float or None
        35 mm equivalent focal length from the photo's details.
    """

    radial: float = 0.0
    radial_spread: float = RADIAL_SPREAD
    focal_35mm: float | None = None


@dataclass(frozen=True, eq=False)
class Plane:
    """The map between pixels and inches in the card's frame.

    Attributes
    ----------
    image_from_inches : float64, shape (3, 3)
        Homography from inches to pixels of a photo without lens distortion.
    middle_px : float64, shape (2,)
        Axis of the lens.
    radius_px : float
        Half the long side; the radial term is counted in it.
    radial : float
        An undistorted pixel lies at 1 + radial * r^2 times its distance from the middle.
    """

    image_from_inches: FloatArray
    middle_px: FloatArray
    radius_px: float
    radial: float
    _numbers: FloatArray
    _covariance: FloatArray
    _floor_in: float
    _facts: _Facts

    def to_inches(self, px: FloatArray) -> FloatArray:
        """Map pixels (n, 2) to inches."""
        straight = _straightened(np.asarray(px, dtype=np.float64), self.radial, self._frame)
        return project(self._inches_from_image, straight)

    @cached_property
    def _inches_from_image(self) -> FloatArray:
        return np.asarray(np.linalg.inv(self.image_from_inches), dtype=np.float64)

    def to_pixels(self, inches: FloatArray) -> FloatArray:
        """Map inches (n, 2) to pixels."""
        straight = project(self.image_from_inches, np.asarray(inches, dtype=np.float64))
        return self._bent(straight)

    def px_per_in(self, at_in: FloatArray) -> float:
        """Give the scale at a place, pixels per inch (mean of both directions)."""
        x, y = (float(value) for value in np.asarray(at_in).ravel())
        h = 1e-3
        around = self.to_pixels(np.array([[x - h, y], [x + h, y], [x, y - h], [x, y + h]]))
        across, along = around[1] - around[0], around[3] - around[2]
        area = abs(across[0] * along[1] - across[1] * along[0])
        return float(np.sqrt(area) / (2 * h))

    def error_in(self, points_in: FloatArray) -> FloatArray:
        """Give the distance (n,) within which a point truly lies, 95 times in 100, inches.

        Only the place is meant, not the finding of an edge; the card's own pitch is taken
        as exact.
        """
        shifts = self.shifts_in(points_in)
        spread_in = np.einsum("kni,knj->nij", shifts, shifts)
        # 2.45 sigma holds 95 % of a round Gaussian; a long one needs less, so this is safe.
        largest = np.linalg.eigvalsh(spread_in)[:, 1]
        return np.asarray(2.45 * np.sqrt(np.maximum(largest, 0)) + self._floor_in)

    def shifts_in(self, points_in: FloatArray) -> FloatArray:
        """Give how points (n, 2) move, (8, n, 2), in the independent ways the plane may err.

        Each is one standard error large, so that a sum of them, weighed by independent normal
        numbers, is a shift as likely as the true one. Inches.
        """
        inverses, radials = self._moved_a_little
        away = self.to_pixels(points_in) - self.middle_px
        far = np.sum(away**2, axis=1, keepdims=True) / self.radius_px**2
        straight = self.middle_px + away * (1 + radials[:, None, None] * far)
        mapped = straight @ inverses[:, :, :2].swapaxes(1, 2) + inverses[:, None, :, 2]
        placed = mapped[..., :2] / mapped[..., 2:]  # (9, n, 2)
        return np.asarray((placed[1:] - placed[0]) / _SHARE_OF_SIGMA)

    @cached_property
    def _moved_a_little(self) -> tuple[FloatArray, FloatArray]:
        """Maps back to inches (9, 3, 3) and radial terms (9,): as fitted, then moved each way.

        Kept, as every outline of a photo asks for them.
        """
        squared, ways = np.linalg.eigh(self._covariance)
        steps = (ways * np.sqrt(np.maximum(squared, 0))).T
        numbers = self._numbers + np.vstack([np.zeros(8), _SHARE_OF_SIGMA * steps])
        maps = np.stack([_homography(row, self._frame) for row in numbers])
        return np.asarray(np.linalg.inv(maps)), numbers[:, 7]

    @property
    def floor_in(self) -> float:
        """What a card's own making leaves open everywhere, inches."""
        return self._floor_in

    @property
    def misfit(self) -> float:
        """All that disagrees with this plane: squared errors in their own spreads, summed."""
        errors = self._facts.errors(self._numbers)
        return float(errors @ errors)

    @property
    def _frame(self) -> tuple[FloatArray, float]:
        return self.middle_px, self.radius_px

    def _bent(self, straight: FloatArray) -> FloatArray:
        away = straight - self.middle_px
        far = np.hypot(away[:, 0], away[:, 1]) / self.radius_px
        near = far.copy()
        for _ in range(8):
            squared = self.radial * near * near
            step = (near + squared * near - far) / (1 + 3 * squared)
            near -= step
            if np.abs(step).max(initial=0.0) < _CLOSE_ENOUGH:
                break
        share = np.divide(near, far, out=np.ones_like(far), where=far > 1e-12)
        return np.asarray(self.middle_px + away * share[:, None])


def fit_plane(
    found: FoundCard,
    size_px: tuple[int, int],
    *,
    lens: Lens | None = None,
) -> Plane:
    """Fit the plane of the table to the patch centres of a card.

    Parameters
    ----------
    found : FoundCard
        With its measured centres in ``edges``.
    size_px : tuple of int
        Height and width of the photo.
    lens : Lens
        What else is known; default: an ordinary phone.
    """
    lens = lens or Lens()
    centres: PatchCentres = found.edges
    card_in = np.vstack([found.card.patch_centres_in, found.points_in])
    px = np.vstack([centres.centres_px, found.points_px])
    height, width = size_px
    frame = (np.array([(width - 1) / 2, (height - 1) / 2]), max(height, width) / 2)
    sure = np.full(found.points_in.shape, 1 / _PATCH_NOISE_IN)
    weights = np.vstack([_weights(centres, found.card.pitch_in), sure])
    start = _start(found.image_from_card, frame, _focal_prior(lens)[0])
    facts = _Facts(px, card_in, weights, frame, *_priors(lens))
    numbers, covariance = facts.fitted(start)
    floor = _PRINT_FLOOR_IN if found.card.kind == "printed" else _EDGE_FLOOR_IN
    return _plane(facts, numbers, covariance, floor)


def fit_again(plane: Plane, sides: ParallelSides) -> Plane:
    """Fit a plane again so that sides which were cut parallel lie parallel on it."""
    if not len(sides):
        return plane
    return _plane(
        plane._facts, *_fitted_to_sides(plane._facts, sides, plane._numbers), plane._floor_in
    )


def fit_to_shapes(plane: Plane, shapes: KnownShapes) -> Plane:
    """Fit a plane again so that shapes of known size come out in that size, besides the card."""
    facts = plane._facts.calmed(plane._numbers)
    most = plane.px_per_in(np.zeros(2)) / _CARD_ASTRAY_PX
    facts = replace(facts, weights=np.minimum(facts.weights, most), shapes=shapes)
    return _plane(facts, *facts.fitted(plane._numbers), plane._floor_in)


def _plane(facts: _Facts, numbers: FloatArray, covariance: FloatArray, floor: float) -> Plane:
    image_from_inches = _homography(numbers, facts.frame)
    return Plane(
        image_from_inches, *facts.frame, float(numbers[7]), numbers, covariance, floor, facts
    )


def _weights(centres: PatchCentres, pitch_in: float) -> FloatArray:
    """Give 1 / noise (n, 2) in inches: a patch of odd size has a border out of place."""
    odd = centres.half_pitch - np.nanmedian(centres.half_pitch, axis=0)
    noise_in = np.sqrt(_PATCH_NOISE_IN**2 + (odd * pitch_in) ** 2)
    return np.where(centres.seen, 1 / noise_in, 0.0)


def _focal_prior(lens: Lens) -> tuple[float, float]:
    if lens.focal_35mm:
        return lens.focal_35mm / _MM_PER_LONG_SIDE, _FOCAL_KNOWN_SPREAD
    return _FOCAL_SIDES, _FOCAL_SPREAD


def _start(
    image_from_card: FloatArray, frame: tuple[FloatArray, float], focal_sides: float
) -> FloatArray:
    """Give the eight numbers of `_homography` for a homography, as far as it tells them."""
    middle, radius = frame
    centred = np.array([[1, 0, -middle[0]], [0, 1, -middle[1]], [0, 0, 1.0]]) @ image_from_card
    here, right, down = project(centred, np.array([[0, 0], [0.01, 0], [0, 0.01]]))
    right, down = (right - here) / 0.01, (down - here) / 0.01
    area = abs(right[0] * down[1] - right[1] * down[0])
    nearness = np.linalg.inv(centred)[2]  # 1 / depth, linear over the photo
    at_card = nearness @ np.array([*here, 1.0])
    turn = np.arctan2(right[1] - down[0], right[0] + down[1])
    return np.array(
        [
            *(here / radius),
            0.5 * np.log(area) - np.log(radius),
            turn,
            *(nearness[:2] * radius / at_card),
            np.log(focal_sides),
            0.0,
        ]
    )


def _homography(numbers: FloatArray, frame: tuple[FloatArray, float]) -> FloatArray:
    """Build the homography from numbers the patches tell almost independently of each other.

    Two for the place of the card's centre, log scale, turn, two for how nearness (1 / depth)
    changes over the photo, log focal length; the eighth is the radial term. Lengths are counted
    in the radius, depth in that of the card's centre.
    """
    middle, radius = frame
    u, v, log_scale, turn, slope_u, slope_v, log_focal, _ = numbers
    focal = 2 * np.exp(log_focal)
    normal = np.array([slope_u * focal, slope_v * focal, 1 - slope_u * u - slope_v * v])
    x, y, z = normal / math.sqrt(normal @ normal)
    flat = math.hypot(y, z)
    across = np.array([flat, -x * y / flat, -x * z / flat])
    along = np.array([0.0, z / flat, -y / flat])  # at right angles to both
    size = np.exp(log_scale) / focal
    cos, sin = size * np.cos(turn), size * np.sin(turn)
    pose = np.column_stack(
        [cos * across + sin * along, cos * along - sin * across, [u / focal, v / focal, 1.0]]
    )
    lens = np.array([[radius * focal, 0, middle[0]], [0, radius * focal, middle[1]], [0, 0, 1.0]])
    return np.asarray(lens @ pose)


def _to_inches(numbers: FloatArray, px: FloatArray, frame: tuple[FloatArray, float]) -> FloatArray:
    inverse = np.asarray(np.linalg.inv(_homography(numbers, frame)), dtype=np.float64)
    return project(inverse, _straightened(px, numbers[7], frame))


def _straightened(px: FloatArray, radial: float, frame: tuple[FloatArray, float]) -> FloatArray:
    """Give where pixels (n, 2) would lie without lens distortion."""
    middle, radius = frame
    away = px - middle
    far = np.einsum("ni,ni->n", away, away) / radius**2
    return np.asarray(middle + away * (1 + radial * far)[:, None])


def _priors(lens: Lens) -> tuple[FloatArray, FloatArray]:
    """What is expected of log focal length and radial term, and 1 / how closely."""
    focal_sides, focal_spread = _focal_prior(lens)
    aim = np.array([np.log(focal_sides), lens.radial])
    return aim, 1 / np.array([focal_spread, lens.radial_spread])


@dataclass(frozen=True, eq=False)
class _Facts:
    """All that the eight numbers must agree with."""

    px: FloatArray
    card_in: FloatArray
    weights: FloatArray
    frame: tuple[FloatArray, float]
    expected: FloatArray
    sureness: FloatArray
    shapes: KnownShapes | None = None
    parallels: ParallelSides | None = None
    side_weight: FloatArray | None = None

    def errors(self, numbers: FloatArray) -> FloatArray:
        """Errors in their own spreads: patches, two priors, known shapes, then parallel sides."""
        off = (_to_inches(numbers, self.px, self.frame) - self.card_in) * self.weights
        told = [off.ravel(), self.sureness * (numbers[6:] - self.expected)]
        if self.shapes is not None:
            told.append(self.shapes.errors(_to_inches(numbers, self.shapes.px, self.frame)))
        if self.parallels is not None and self.side_weight is not None:
            told.append(self.sides_off(numbers) * self.side_weight)
        return np.concatenate(told)

    def sides_off(self, numbers: FloatArray) -> FloatArray:
        """Angle of every side from the direction of its family, radians."""
        assert self.parallels is not None and self.side_weight is not None
        ends = _to_inches(numbers, self.parallels.ends_px.reshape(-1, 2), self.frame)
        return angles_off(ends.reshape(-1, 2, 2), self.parallels.family, self.side_weight**2)

    def fitted(self, start: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give the numbers and their covariance; the patches' noise is judged by themselves."""
        numbers, errors, slopes = _solved(start, self.errors)
        patches = errors[: self.weights.size]
        freedom = max(int((self.weights > 0).sum()) - 7, 1)
        noise = max(float(patches @ patches) / freedom, (_LEAST_NOISE_IN / _PATCH_NOISE_IN) ** 2)
        share = np.ones(len(errors))
        share[: self.weights.size] = 1 / noise
        information = slopes.T @ (slopes * share[:, None])
        return numbers, np.asarray(np.linalg.inv(information), dtype=np.float64)

    def calmed(self, numbers: FloatArray) -> _Facts:
        """Weigh the patches by the noise they show."""
        patches = self.errors(numbers)[: self.weights.size]
        freedom = max(int((self.weights > 0).sum()) - 7, 1)
        noise = max(float(patches @ patches) / freedom, (_LEAST_NOISE_IN / _PATCH_NOISE_IN) ** 2)
        return replace(self, weights=self.weights / np.sqrt(noise))


def _fitted_to_sides(
    facts: _Facts, parallels: ParallelSides, numbers: FloatArray
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
