"""Scraps in a shadow: what the bare backing beside them says of the light they get.

The light field is smooth over the whole table; an arm, a lamp's foot or a window frame throws a
shadow with an edge. A plain backing shows it: where its own hue is seen, only darker or lighter
than the field says, the scraps beside get as much less or more light.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.photo.cards.card import FoundCard
from stash.photo.cards.patch_edges import project
from stash.photo.light.calibration import DE00_OF_LIGHT, Calibration
from stash.photo.table.segmentation import Segmentation

__all__ = ["Relit", "Shade", "doubt_under", "in_full_light", "shade_over"]

Pixels = NDArray[np.uint8]

_NEAR_IN = 1.0  # the backing so close to a scrap tells its light
_LEAST_SPOTS = 6
_SEEN = 0.05  # natural logarithm of light; less is not worth a second look
_LATTICE = 24  # points across a scrap at which its light is worked out
_RIM_IN = 0.15  # the picture of a scrap shows so much around it
_KNOTS = 4096
_SHARES = (-0.3, 1.3)  # of the card's shadow, natural logarithm: the light falls off as well
_SAME_TABLE = 0.2  # natural logarithm of light, a channel: what is further off is something else
_DARKEST = 1e-4  # of linear light, so that its logarithm is finite
_DOUBT, _DOUBT_HALF = (
    0.5,
    8.0,
)  # CIEDE2000: of a whole shadow, and a unit of its change over a scrap


@dataclass(frozen=True, eq=False)
class Shade:
    """Light on the backing against the smooth field, 0 at the card.

    Attributes
    ----------
    at_px : float64, shape (n, 2)
        Where bare backing was seen.
    left : float64, shape (n, 3)
        Natural logarithm of the light there over the field's.
    px_per_in : float
        Scale of the photo.
    """

    at_px: FloatArray
    left: FloatArray
    px_per_in: float

    def beside(self, ring_px: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give the spots near a scrap's border: where, and what light is left."""
        ring = ring_px[:: max(1, len(ring_px) // 90)]
        low, high = ring.min(axis=0), ring.max(axis=0)
        reach = _NEAR_IN * self.px_per_in
        close = ((self.at_px > low - reach) & (self.at_px < high + reach)).all(axis=1)
        at, left = self.at_px[close], self.left[close]
        away = np.linalg.norm(at[:, None] - ring[None], axis=2).min(axis=1, initial=np.inf)
        return at[away < reach], left[away < reach]

    def around(self, ring_px: FloatArray) -> tuple[float, float]:
        """Give the least and most light left around a scrap (logarithms), outliers aside."""
        _, left = self.beside(ring_px)
        if len(left) < _LEAST_SPOTS:
            return 0.0, 0.0
        low, high = np.percentile(left.mean(axis=1), [15, 85])
        return float(low), float(high)


@dataclass(frozen=True, eq=False)
class Relit:
    """A photo whose shaded scraps were brought into the light of the rest.

    Attributes
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        The photo; the same array if no scrap lay in a shadow.
    doubt_de00 : tuple of float
        What each scrap's colour may be off by for it, CIEDE2000; 0 where no shadow lay.
    """

    pixels_srgb: Pixels
    doubt_de00: tuple[float, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a quilter should know."""
        count = sum(doubt > 0 for doubt in self.doubt_de00)
        if not count:
            return ()
        what = "A shadow lies on a scrap" if count == 1 else f"A shadow lies on {count} scraps"
        return (
            f"{what}. It was taken off as far as the cloth beneath shows it; for surer colours "
            "keep your own shadow out of the photo.",
        )


def shade_over(
    found: Segmentation, calibration: Calibration, card_px: FloatArray, *, px_per_in: float
) -> Shade | None:
    """Read the shadows from the bare backing; None where it is patterned or little is seen."""
    if calibration.found.shade_light is not None:
        return _shade_from_card(found, calibration, px_per_in)
    spots, shaded, field = found.backing_spots, found.shaded_spots(), calibration.field
    if spots is None or shaded is None or field is None:
        return None

    def over_field(at_px: FloatArray, srgb: FloatArray) -> FloatArray:
        """Give by how much places are lighter than the field says, natural logarithm."""
        light = np.maximum(calibration.model.light_of(srgb), _DARKEST)
        return np.asarray(np.log(light / field.at(at_px)))

    at_px = shaded[0]
    shade = Shade(at_px, over_field(*shaded) - np.median(over_field(*spots), axis=0), px_per_in)
    _, by_card = shade.beside(card_px)
    at_card = np.median(by_card, axis=0) if len(by_card) >= _LEAST_SPOTS else 0.0
    return Shade(at_px, shade.left - at_card, px_per_in)


def doubt_under(found: FoundCard) -> float:
    """Give what a colour may be off by where nobody knows whether the card's shadow lies on it."""
    if found.shade_light is None:
        return 0.0
    return float(DE00_OF_LIGHT * np.abs(np.log(found.shade_light)).max())


def _shade_from_card(
    found: Segmentation, calibration: Calibration, px_per_in: float
) -> Shade | None:
    """Follow the shadow that lies over the card over whatever the scraps lie on.

    What is seen beside the card's bright squares tells the table's full light; elsewhere the same
    table shows either that or the share of it that the card tells.
    """
    spots, light = found.open_spots(), calibration.found.shade_light
    if spots is None or light is None:
        return None
    shaded = light.mean(axis=1) < 1
    centres = project(calibration.found.image_from_card, calibration.found.card.patch_centres_in)
    at_px, srgb = spots
    seen = np.log(np.maximum(calibration.model.light_of(srgb), _DARKEST))
    if calibration.field is not None:
        seen -= np.log(calibration.field.at(at_px))
    away = np.linalg.norm(at_px[:, None] - centres[None], axis=2)
    beside = (away.min(axis=1) < 2 * _NEAR_IN * px_per_in) & ~shaded[away.argmin(axis=1)]
    if beside.sum() < _LEAST_SPOTS:
        return None
    left = seen - np.median(seen[beside], axis=0)
    whole = np.log(light[shaded].mean(axis=0))
    share = np.clip(left @ whole / (whole @ whole), *_SHARES)
    same = np.abs(left - share[:, None] * whole).max(axis=1) < _SAME_TABLE
    return Shade(at_px[same], left[same], px_per_in)


def in_full_light(
    pixels_srgb: Pixels, rings_px: Sequence[FloatArray], shade: Shade, calibration: Calibration
) -> Relit:
    """Bring shaded scraps, given by their borders in the photo, into the field's light."""
    doubts, shaded = [0.0] * len(rings_px), list[FloatArray]()
    unknown = doubt_under(calibration.found)
    for index, ring in enumerate(rings_px):
        if unknown and len(shade.beside(ring)[0]) < _LEAST_SPOTS:
            doubts[index] = unknown
            continue
        low, high = shade.around(ring)
        if max(abs(low), abs(high)) > _SEEN:
            doubts[index] = _DOUBT + _DOUBT_HALF * (high - low)
            shaded.append(ring)
    if not shaded:
        return Relit(pixels_srgb, tuple(doubts))
    lit = pixels_srgb.copy()
    for ring in shaded:
        _relight(lit, ring, shade, calibration)
    return Relit(lit, tuple(doubts))


def _relight(lit: Pixels, ring: FloatArray, shade: Shade, calibration: Calibration) -> None:
    rim = round(_RIM_IN * shade.px_per_in)
    size = np.array(lit.shape[1::-1])
    low = np.clip(np.floor(ring.min(axis=0)).astype(int) - rim, 0, size - 1)
    high = np.clip(np.ceil(ring.max(axis=0)).astype(int) + rim, low + 1, size)
    box = np.s_[low[1] : high[1], low[0] : high[0]]
    wide, tall = (int(side) for side in high - low)
    mask = np.zeros((tall, wide), np.uint8)
    cv2.fillPoly(mask, [np.round(ring - low).astype(np.int32)], 1)
    shown = cv2.dilate(mask, np.ones((2 * rim + 1,) * 2, np.uint8)) > 0
    left = cv2.resize(_left_across(ring, low, high, shade), (wide, tall))
    brighter = _relit(lit[box], np.asarray(left, dtype=np.float32), calibration)
    lit[box] = np.where(shown[..., None], brighter, lit[box])


def _left_across(
    ring: FloatArray, low: NDArray[np.intp], high: NDArray[np.intp], shade: Shade
) -> NDArray[np.float32]:
    """Light left over a box, (lattice, lattice, 3): each spot counts by its distance squared."""
    at, left = shade.beside(ring)
    x, y = (np.linspace(start, end, _LATTICE) for start, end in zip(low, high, strict=True))
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 1, 2)
    squared = ((points - at[None]) ** 2).sum(axis=2) + (0.2 * shade.px_per_in) ** 2
    weights = squared**-2.0
    weights /= weights.sum(axis=1, keepdims=True)
    return np.asarray((weights @ left).reshape(_LATTICE, _LATTICE, 3), dtype=np.float32)


def _relit(crop: Pixels, left: NDArray[np.float32], calibration: Calibration) -> Pixels:
    """Divide the light out of encoded pixels, through the camera's own tone curve."""
    levels = calibration.model.light_of(np.repeat(np.arange(256)[:, None] / 255, 3, axis=1))
    channels = []
    for channel in range(3):
        curve = np.maximum.accumulate(levels[:, channel])
        back = np.interp(np.linspace(0, curve[-1], _KNOTS), curve, np.arange(256))
        light = curve.astype(np.float32)[crop[..., channel]] * np.exp(-left[..., channel])
        place = np.clip(light * ((_KNOTS - 1) / curve[-1]), 0, _KNOTS - 1).astype(np.int16)
        channels.append(np.round(back).astype(np.uint8)[place])
    return np.asarray(cv2.merge(channels), dtype=np.uint8)
