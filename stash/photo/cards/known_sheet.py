"""A sheet of paper or a bank card of known size among the scraps, for whoever has no chart.

Anything with four straight sides may be one; its shape on the table decides. Found on a small
copy, its sides are then followed in the full photo and its corners are where they meet, so that
rounded corners do no harm.

Sizes: ISO 216 (A4), ANSI/ASME Y14.1 (letter: A), ISO/IEC 7810 (bank cards: ID-1).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.errors import CardNotFoundError, CardsDisagreeError
from stash.photo.cards.patch_candidates import smaller_copy
from stash.photo.files.reading import PixelsU8
from stash.units import CM_PER_INCH

__all__ = ["SHEETS", "FoundSheet", "KnownSheet", "find_sheets", "no_such_sheet", "several_sheets"]


@dataclass(frozen=True, slots=True)
class KnownSheet:
    """A thing of known size.

    Attributes
    ----------
    kind, name : str
        The word for it in commands; what to call it in a sentence.
    long_in, short_in : float
        Its sides, inches.
    spread : float
        Standard error of its size, a share of it.
    white : bool
        Whether it is white paper, which tells the colour of the light.
    """

    kind: str
    name: str
    long_in: float
    short_in: float
    spread: float
    white: bool


# Spreads: paper is cut truer than the 2 mm on 297 that ISO 216 allows (from memory); ISO/IEC 7810
# allows 0.13 mm on 85.60.
SHEETS = {
    sheet.kind: sheet
    for sheet in (
        KnownSheet("a4", "sheet of A4", 29.7 / CM_PER_INCH, 21.0 / CM_PER_INCH, 0.0015, white=True),
        KnownSheet("letter", "sheet of letter paper", 11.0, 8.5, 0.0015, white=True),
        KnownSheet(
            "bank-card", "bank card", 8.560 / CM_PER_INCH, 5.398 / CM_PER_INCH, 0.001, white=False
        ),
    )
}
_COPY_PX = 1000
_LEAST_SHARE, _MOST_SHARE = 0.004, 0.9  # of the photo
_FILLS = 0.93  # of its four corners' quadrilateral; rounded corners of a bank card leave 0.99
_BEND = 0.02  # of the outline's length: how far corners may round off
_PROFILES, _ENDS = 80, 0.08  # looks across each side, and the share of it left out at each end
_REACH = 0.012  # of the photo's long side: how far off a side may be in the copy
_SMOOTH_PX = 1.5
_STRAIGHT = 0.004  # of the side: what a side's own points may leave, median
_LEAST_SEEN = 0.6  # share of the looks that lie on the line
_ASPECT = 0.06  # how far the shape may seem off before its slant is worked out
_LEAST_WHITE, _MOST_CHROMA = 60.0, 22.0  # CIELAB as photographed, of paper in any usual light


@dataclass(frozen=True, eq=False)
class FoundSheet:
    """Such a thing in a photo.

    Attributes
    ----------
    sheet : KnownSheet
    corners_px : float64, shape (4, 2)
        Upper left, upper right, lower right, lower left, its long side across.
    noise_px : float
        How truly its corners are found.
    white_srgb : float64, shape (3,)
        Its median colour, encoded, 0..1.
    """

    sheet: KnownSheet
    corners_px: FloatArray
    noise_px: float
    white_srgb: FloatArray

    @property
    def corners_in(self) -> FloatArray:
        """Where its corners lie in its own frame, inches from its middle, y up."""
        half = np.array([self.sheet.long_in, self.sheet.short_in]) / 2
        return np.array([(-1, 1), (1, 1), (1, -1), (-1, -1)]) * half


def find_sheets(pixels_srgb: PixelsU8, sheet: KnownSheet) -> tuple[FoundSheet, ...]:
    """Find what may be that sheet or card, the likeliest shape first.

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        An upright photo.
    """
    small, factor = smaller_copy(pixels_srgb, _COPY_PX)
    found: list[tuple[float, FoundSheet]] = []
    tried: list[FloatArray] = []
    for rough in _quadrilaterals(small):
        corners = rough * factor + (factor - 1) / 2
        if any(np.abs(corners - one).max() < 3 * factor for one in tried):
            continue
        tried.append(corners)
        if any(_overlap(corners, other.corners_px) for _, other in found):
            continue
        sides = _followed(pixels_srgb, corners)
        if sides is None:
            continue
        corners, noise = sides
        corners, off = _as_it_lies(corners, sheet)
        white = _colour_of(pixels_srgb, corners)
        if off < _ASPECT + _slant(corners) and (not sheet.white or _is_paper(white)):
            found.append((off, FoundSheet(sheet, corners, noise, white)))
    return tuple(one for _, one in sorted(found, key=lambda pair: pair[0]))


def no_such_sheet(sheet: KnownSheet) -> CardNotFoundError:
    """Word the error for a photo in which none is seen whole."""
    return CardNotFoundError(
        f"No card found: I see no whole {sheet.name} in this photo. Lay one flat beside the "
        "scraps, all four edges free, on a table of another colour, and take the photo again."
    )


def several_sheets(sheet: KnownSheet, count: int) -> CardsDisagreeError:
    """Word the error for a photo with several things of one shape."""
    return CardsDisagreeError(
        f"I see {count} things of the shape of a {sheet.name} and cannot know which is one. Leave "
        "only one on the table and take the photo again.",
        times=1.0,
    )


def _quadrilaterals(small: PixelsU8) -> Iterator[FloatArray]:
    """Give four corners (4, 2), in order round, of whatever has straight sides, largest first."""
    least, most = (share * small.shape[0] * small.shape[1] for share in (_LEAST_SHARE, _MOST_SHARE))
    seen: list[tuple[float, FloatArray]] = []
    for mask in _masks(small):
        contours, _ = cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
        for contour in contours:
            hull = cv2.convexHull(contour)
            area = cv2.contourArea(hull)
            if not least < area < most:
                continue
            corners = cv2.approxPolyDP(hull, _BEND * cv2.arcLength(hull, True), True)[:, 0]
            if len(corners) == 4 and cv2.contourArea(contour) > _FILLS * area:
                first = int((corners @ [1.0, 1.0]).argmin())  # so that one shape is one list
                seen.append((area, np.roll(corners, -first, axis=0).astype(np.float64)))
    yield from (corners for _, corners in sorted(seen, key=lambda pair: -pair[0]))


def _masks(small: PixelsU8) -> Iterator[NDArray[np.uint8]]:
    """Part the copy in several ways: by its edges, and by lightness and colour at some levels."""
    lab = cv2.cvtColor(cv2.GaussianBlur(small, (0, 0), 1.0), cv2.COLOR_RGB2LAB)
    for low in (12, 30, 60):
        edges = np.zeros(lab.shape[:2], np.uint8)
        for channel in range(3):
            edges |= cv2.Canny(np.ascontiguousarray(lab[..., channel]), low, 2 * low)
        yield np.asarray(255 - cv2.dilate(edges, np.ones((3, 3), np.uint8)), dtype=np.uint8)
    for channel in range(3):
        plane = lab[..., channel]
        for level in np.unique(np.percentile(plane, (8, 20, 35, 50, 65, 80, 92)).astype(int)):
            over = np.where(plane > level, 255, 0).astype(np.uint8)
            yield over
            yield 255 - over


def _overlap(corners: FloatArray, other: FloatArray) -> bool:
    first, second = (np.float32(ring).reshape(-1, 1, 2) for ring in (corners, other))
    shared, _ = cv2.intersectConvexConvex(first, second)
    return shared > 0.8 * max(cv2.contourArea(first), cv2.contourArea(second))


def _followed(pixels: PixelsU8, corners: FloatArray) -> tuple[FloatArray, float] | None:
    """Follow the four sides in the full photo; corners and their noise, None if one is unclear."""
    reach = max(4.0, _REACH * max(pixels.shape))
    lines, noise = [], []
    for index in range(4):
        ends = corners[index], corners[(index + 1) % 4]
        fitted = _side(pixels, *ends, reach)
        if fitted is None:
            return None
        lines.append(fitted[:2])
        noise.append(fitted[2])
    met = [_meeting(lines[index - 1], lines[index]) for index in range(4)]
    return np.array(met), float(max(noise))


def _side(
    pixels: PixelsU8, start: FloatArray, end: FloatArray, reach: float
) -> tuple[FloatArray, FloatArray, float] | None:
    """Fit a line to the step of colour along a side: a point, its direction, its noise (px)."""
    long = float(np.hypot(*(end - start)))
    along = (end - start) / long
    normal = np.array([-along[1], along[0]])
    at = start + np.linspace(_ENDS, 1 - _ENDS, _PROFILES)[:, None] * (end - start)
    steps = np.arange(-np.ceil(reach), np.ceil(reach) + 1)
    where = (at[:, None] + steps[None, :, None] * normal).astype(np.float32)
    seen = cv2.remap(
        pixels, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    ).astype(np.float64)
    smooth = cv2.GaussianBlur(seen, (0, 0), sigmaX=_SMOOTH_PX, sigmaY=2.0)
    step = np.abs(np.gradient(smooth, axis=1)).sum(axis=2)
    # A side runs straight: the column of most steps first, then each look's own peak near it.
    peak = np.clip(step.argmax(axis=1), 1, len(steps) - 2)
    rows = np.arange(len(peak))
    before, here, after = (step[rows, peak + shift] for shift in (-1, 0, 1))
    bend = before - 2 * here + after
    offset = steps[peak] + np.where(bend < 0, 0.5 * (before - after) / np.minimum(bend, -1e-9), 0)
    t = np.linspace(-1, 1, len(peak))
    kept = np.ones(len(peak), dtype=bool)
    slope, level = 0.0, float(np.median(offset))
    for _ in range(6):
        left = offset - (slope * t + level)
        limit = max(0.7, 3 * float(np.median(np.abs(left[kept]))))
        kept = np.abs(left) < limit
        if kept.sum() < _LEAST_SEEN * len(t):
            return None
        slope, level = np.polyfit(t[kept], offset[kept], 1)
    spread = float(np.median(np.abs(offset[kept] - slope * t[kept] - level)))
    if spread > max(1.0, _STRAIGHT * long):
        return None
    first, last = (at[index] + (slope * t[index] + level) * normal for index in (0, len(t) - 1))
    return first, last - first, max(0.15, 1.5 * spread)


def _meeting(
    first: tuple[FloatArray, FloatArray], second: tuple[FloatArray, FloatArray]
) -> FloatArray:
    (at, along), (there, across) = first, second
    share = np.linalg.solve(np.column_stack([along, -across]), there - at)
    return np.asarray(at + share[0] * along)


def _as_it_lies(corners: FloatArray, sheet: KnownSheet) -> tuple[FloatArray, float]:
    """Order the corners, long side across, and say how far the shape seems off (a logarithm)."""
    if _turning(corners) < 0:
        corners = corners[::-1]
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    if sides[0] + sides[2] < sides[1] + sides[3]:
        corners, sides = np.roll(corners, -1, axis=0), np.roll(sides, -1)
    if (corners[1] - corners[0]) @ [1.0, 0.2] < 0:
        corners = np.roll(corners, 2, axis=0)
    aspect = (sides[0] + sides[2]) / (sides[1] + sides[3])
    return corners, float(abs(np.log(aspect * sheet.short_in / sheet.long_in)))


def _turning(corners: FloatArray) -> float:
    """Give twice the area, positive where they run clockwise in a photo, whose y runs down."""
    x, y = corners.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _slant(corners: FloatArray) -> float:
    """How unlike opposite sides are: a table that is seen slanting is foreshortened as well."""
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    return float(2 * max(abs(np.log(sides[0] / sides[2])), abs(np.log(sides[1] / sides[3]))))


def _colour_of(pixels: PixelsU8, corners: FloatArray) -> FloatArray:
    """Give the median of the lighter half within the sheet: print and cloth on it do not count."""
    small, factor = smaller_copy(pixels, _COPY_PX)
    ring = (corners - (factor - 1) / 2) / factor
    ring = ring.mean(axis=0) + 0.95 * (ring - ring.mean(axis=0))
    mask = np.zeros(small.shape[:2], np.uint8)
    cv2.fillConvexPoly(mask, np.round(ring).astype(np.int32), 1)
    inside = small[mask > 0].astype(np.float64)
    light = inside.sum(axis=1)
    return np.asarray(np.median(inside[light >= np.median(light)], axis=0) / 255)


def _is_paper(srgb: FloatArray) -> bool:
    lab = cv2.cvtColor(srgb.astype(np.float32).reshape(1, 1, 3), cv2.COLOR_RGB2LAB)[0, 0]
    return bool(lab[0] > _LEAST_WHITE and np.hypot(lab[1], lab[2]) < _MOST_CHROMA)
