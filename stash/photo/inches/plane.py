"""Inches on the table from pixels of the photo, with an honest error that grows away from the card.

Model: a flat table, seen through a lens with square pixels whose axis passes the middle of the
photo. Pose (6 numbers), focal length and one radial term are fitted to all patch centres at once;
what the card cannot tell (focal length, lens) is held by priors that fit ordinary phones.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.card import FoundCard
from stash.photo.cards.known_sheet import FoundSheet
from stash.photo.cards.patch_edges import PatchCentres, project
from stash.photo.inches.known_shapes import KnownShapes
from stash.photo.inches.parallel_sides import ParallelSides
from stash.photo.inches.plane_fit import PATCH_NOISE_IN, PlaneFacts, fitted_to_sides
from stash.photo.inches.table_view import Frame, homography_of, numbers_of, straightened

__all__ = [
    "RADIAL_SPREAD",
    "Lens",
    "Plane",
    "fit_again",
    "fit_plane",
    "fit_to_shapes",
    "scanned_plane",
    "sheet_plane",
]

# Phone main cameras are 24 to 28 mm in 35 mm terms and 48 to 56 mm zoomed in twice (makers' data
# sheets, from memory). In units of the long side of a 4:3 photo that is 0.75 and 1.5: the middle
# of their logarithms, and their distance from it.
_FOCAL_SIDES, _FOCAL_SPREAD = 1.06, 0.35  # the spread is of the logarithm
_FOCAL_KNOWN_SPREAD = 0.05  # when the photo's details tell it, rounded to whole millimetres
_MM_PER_LONG_SIDE = 34.6  # 43.27 mm diagonal (35 mm film), shared 4 : 3
RADIAL_SPREAD = 0.006  # undistorted by the phone; what is left at the middle of the short edges
_EDGE_FLOOR_IN = 0.002
_PRINT_FLOOR_IN = 0.006  # feed of a home printer over a page, common practice, no source
# A card's centres may all be off together, which turns or scales the far end of a big table; one
# by one they then count as sure to so much. Found on rendered scenes of 45 to 95 pixels an inch.
_CARD_ASTRAY_PX = 0.4
# How truly a flatbed holds the resolution it states; from memory, makers state 0.2 % and better.
_SCANNER_SPREAD = 0.002
_SHARE_OF_SIGMA = 0.1  # the step by which slopes are taken
_CLOSE_ENOUGH = 1e-13  # in half long sides: far less than a millionth of a pixel


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
    _facts: PlaneFacts

    def to_inches(self, px: FloatArray) -> FloatArray:
        """Map pixels (n, 2) to inches."""
        straight = straightened(np.asarray(px, dtype=np.float64), self.radial, self._frame)
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
        # A way and its opposite are one: the one whose largest part is positive stands for both.
        ways *= np.sign(ways[np.abs(ways).argmax(axis=0), np.arange(8)])
        steps = (ways * np.sqrt(np.maximum(squared, 0))).T
        numbers = self._numbers + np.vstack([np.zeros(8), _SHARE_OF_SIGMA * steps])
        maps = np.stack([homography_of(row, self._frame) for row in numbers])
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
    def _frame(self) -> Frame:
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
    sure = np.full(found.points_in.shape, 1 / PATCH_NOISE_IN)
    weights = np.vstack([_weights(centres, found.card.pitch_in), sure])
    start = numbers_of(found.image_from_card, frame, _focal_prior(lens)[0])
    facts = PlaneFacts(px, card_in, weights, frame, *_priors(lens))
    numbers, covariance = facts.fitted(start)
    floor = _PRINT_FLOOR_IN if found.card.kind == "printed" else _EDGE_FLOOR_IN
    return _plane(facts, numbers, covariance, floor)


def scanned_plane(size_px: tuple[int, int], px_per_in: float) -> Plane:
    """Give the plane of a flatbed scan: seen straight from above, inches from its middle.

    Parameters
    ----------
    size_px : tuple of int
        Height and width of the scan.
    px_per_in : float
        Its resolution, the same both ways.
    """
    height, width = size_px
    frame = (np.array([(width - 1) / 2, (height - 1) / 2]), max(height, width) / 2)
    log_scale = float(np.log(px_per_in / frame[1]))
    numbers = np.array([0, 0, log_scale, 0, 0, 0, np.log(_FOCAL_SIDES), 0])
    covariance = np.zeros((8, 8))
    covariance[2, 2] = _SCANNER_SPREAD**2
    nothing = np.empty((0, 2))
    facts = PlaneFacts(nothing, nothing, nothing, frame, numbers[6:], np.ones(2))
    return _plane(facts, numbers, covariance, _EDGE_FLOOR_IN)


def sheet_plane(found: FoundSheet, size_px: tuple[int, int], *, lens: Lens) -> Plane:
    """Fit the plane of the table to the corners of a sheet or card of known size.

    Parameters
    ----------
    found : FoundSheet
        With its corners.
    size_px : tuple of int
        Height and width of the photo.
    lens : Lens
        What else is known.
    """
    height, width = size_px
    frame = (np.array([(width - 1) / 2, (height - 1) / 2]), max(height, width) / 2)
    card_in, px = found.corners_in, found.corners_px
    first, _ = cv2.findHomography(card_in, px)
    px_per_in = float(np.mean(np.linalg.norm(px[1::2] - px[::2], axis=1)) / found.sheet.long_in)
    noise_in = found.noise_px / px_per_in
    weights = np.full((4, 2), 1 / noise_in)
    start = numbers_of(np.asarray(first, dtype=np.float64), frame, _focal_prior(lens)[0])
    facts = PlaneFacts(px, card_in, weights, frame, *_priors(lens))
    numbers, covariance = facts.fitted_as_stated(start)
    covariance[2, 2] += found.sheet.spread**2
    return _plane(facts, numbers, covariance, _EDGE_FLOOR_IN)


def fit_again(plane: Plane, sides: ParallelSides) -> Plane:
    """Fit a plane again so that sides which were cut parallel lie parallel on it."""
    if not len(sides):
        return plane
    return _plane(
        plane._facts, *fitted_to_sides(plane._facts, sides, plane._numbers), plane._floor_in
    )


def fit_to_shapes(plane: Plane, shapes: KnownShapes) -> Plane:
    """Fit a plane again so that shapes of known size come out in that size, besides the card."""
    facts = plane._facts.calmed(plane._numbers)
    most = plane.px_per_in(np.zeros(2)) / _CARD_ASTRAY_PX
    facts = replace(facts, weights=np.minimum(facts.weights, most), shapes=shapes)
    return _plane(facts, *facts.fitted(plane._numbers), plane._floor_in)


def _plane(facts: PlaneFacts, numbers: FloatArray, covariance: FloatArray, floor: float) -> Plane:
    image_from_inches = homography_of(numbers, facts.frame)
    return Plane(
        image_from_inches, *facts.frame, float(numbers[7]), numbers, covariance, floor, facts
    )


def _weights(centres: PatchCentres, pitch_in: float) -> FloatArray:
    """Give 1 / noise (n, 2) in inches: a patch of odd size has a border out of place."""
    odd = centres.half_pitch - np.nanmedian(centres.half_pitch, axis=0)
    noise_in = np.sqrt(PATCH_NOISE_IN**2 + (odd * pitch_in) ** 2)
    return np.where(centres.seen, 1 / noise_in, 0.0)


def _focal_prior(lens: Lens) -> tuple[float, float]:
    if lens.focal_35mm:
        return lens.focal_35mm / _MM_PER_LONG_SIDE, _FOCAL_KNOWN_SPREAD
    return _FOCAL_SIDES, _FOCAL_SPREAD


def _priors(lens: Lens) -> tuple[FloatArray, FloatArray]:
    """What is expected of log focal length and radial term, and 1 / how closely."""
    focal_sides, focal_spread = _focal_prior(lens)
    aim = np.array([np.log(focal_sides), lens.radial])
    return aim, 1 / np.array([focal_spread, lens.radial_spread])
