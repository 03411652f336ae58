"""Finding scraps: everything on the backing that is thick enough to be cloth, the card cut out.

Works on a copy of about sixty pixels an inch; where exactly cloth ends is decided later, along
the edges, in the full photo (``stash.photo.edge_profile``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.errors import BackingError
from stash.photo.backing_model import FINE_LIMIT, BackingModel, Float32Array, Mask, model_backing
from stash.photo.mask_sizes import closed, disc, grown_back, opened
from stash.photo.thin_parts import without_bridges
from stash.photo.touching import looks_joined, split_touching
from stash.photo.true_shape import Look, true_shapes

__all__ = ["CutOff", "Region", "Segmentation", "find_scraps"]

_WORK_PX_PER_IN = 60.0
_WORK_SIDE_PX = (800, 1500)  # least and most length of the work image's long side
_BORDER = 0.025  # share of the long side where the backing is learnt first
_COARSE = 3.2  # spreads of the backing beyond which a neighbourhood is something else
_THREAD_IN = 0.06  # half of what counts as thin: pins, threads, grid lines
_COARSE_MOST = 4.5  # beside something bold the limit rises to half of it, but not above this
_HALO_IN = 0.11  # half the width of what a bold edge does to its neighbourhood
_PENUMBRA_IN = 0.4  # width of such a shadow's soft edge
_ARM_BORDER = 0.08  # share of the border that a shadow from outside covers at least
_SHADOW_IN = 0.11  # half the width of the widest shadow taken for one
_GAP_IN = 0.09  # half of the widest backing-coloured stripe bridged at an edge
_BAY_IN = 0.22  # half of the widest bay that is cloth if it is not quite like the backing ...
_DOUBT = 1.8  # ... which is to say this many spreads off; bare backing stays below 1.6
_LEAST_SQ_IN = 0.3
_MOST_SPREAD = 12.0  # CIELAB; backings that can be used scatter by 2 to 5 about each colour
_MOST_BORDER = 0.5  # share of the photo's border that may look like cloth
_LIGHT_CELLS = 32  # columns of the grid on which the backing's light is read
_SHADE_CELLS = 96  # the same where shadows are looked for
_OWN_SHADOW_IN = 0.2  # a scrap's own shadow lies so close to it
_DEEPEST_SHADE = 0.6  # cube root of the light left
_LEAST_HOLE_SQ_IN = 0.2
_BOLD = 2.2 * FINE_LIMIT  # further off the backing no part of a print passes for it
_MARGIN_IN = 0.45  # round a scrap, with room for its tips


@dataclass(frozen=True)
class Region:
    """One scrap in the work image.

    Attributes
    ----------
    mask : bool, shape (height, width)
        The pixels of the box that are this scrap's.
    left, top : int
        The box's corner in the work image.
    rings_px : tuple of float64 arrays (n, 2)
        Outer border first, then holes, in pixels of the full photo, one point a work pixel.
    exact : bool
        Whether the border is known to a work pixel; else it bridges gaps and leaves off tips.
    """

    mask: Mask
    left: int
    top: int
    rings_px: tuple[FloatArray, ...]
    exact: bool = False


@dataclass(frozen=True)
class CutOff:
    """A scrap that the photo's border cuts: its middle in full-photo pixels, its share of it."""

    x_px: float
    y_px: float
    share: float


@dataclass(frozen=True)
class Segmentation:
    """What lies on the backing."""

    regions: tuple[Region, ...]
    cut_off: tuple[CutOff, ...]
    backing: BackingModel
    scale: float
    work_srgb: NDArray[np.uint8]
    card: Mask
    step: float
    notes: tuple[str, ...] = ()

    def backing_spots(self) -> tuple[FloatArray, FloatArray] | None:
        """Give spots of bare backing, pixels (n, 2), and their colour (n, 3), sRGB 0..1.

        None when the backing is patterned or too little of it is seen.
        """
        bare = (self.backing.fine < 0.7 * FINE_LIMIT) & (self.backing.coarse < 0.7 * _COARSE)
        return self._spots(bare, _LIGHT_CELLS) if self.backing.plain else None

    def shaded_spots(self) -> tuple[FloatArray, FloatArray] | None:
        """Give finer spots of the backing, in shadow or not, away from scraps and their shadows."""
        left = self.backing.light_left
        away = cv2.dilate(self._taken().astype(np.uint8), disc(_OWN_SHADOW_IN * self.step)) == 0
        hue = (left > _DEEPEST_SHADE) & (left < 1 / _DEEPEST_SHADE)
        return self._spots(hue & away, _SHADE_CELLS) if self.backing.plain else None

    def _taken(self) -> Mask:
        taken = self.card.copy()
        for region in self.regions:
            height, width = region.mask.shape
            taken[region.top : region.top + height, region.left : region.left + width] |= (
                region.mask
            )
        return taken

    def _spots(self, mask: Mask, columns: int) -> tuple[FloatArray, FloatArray] | None:
        height, width = mask.shape
        cells = (columns, max(4, round(columns * height / width)))
        free = cv2.resize(mask.astype(np.float32), cells, interpolation=cv2.INTER_AREA) > 0.97
        if free.mean() < 0.08:
            return None
        seen = cv2.resize(self.work_srgb, cells, interpolation=cv2.INTER_AREA)
        rows, across = np.nonzero(free)
        cell_px = np.array([width, height]) / cells / self.scale
        at = (np.stack([across, rows], axis=1) + 0.5) * cell_px - 0.5
        return np.asarray(at, dtype=np.float64), seen[rows, across].astype(np.float64) / 255


def find_scraps(
    pixels_srgb: NDArray[np.uint8], *, px_per_in: float, cards_px: tuple[FloatArray, ...]
) -> Segmentation:
    """Find every scrap in a photo.

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        The photo.
    px_per_in : float
        Its scale, about.
    cards_px : tuple of float64 arrays (n, 2)
        Outlines of the reference cards, pixels; what lies under them is no scrap.

    Raises
    ------
    BackingError
        If the backing cannot be told from the scraps.
    """
    work, scale = _work_copy(pixels_srgb, px_per_in)
    scaled = work.astype(np.float32) / np.float32(255)
    lab = np.asarray(cv2.cvtColor(scaled, cv2.COLOR_RGB2LAB), dtype=np.float32)
    step = px_per_in * scale
    card = _card_mask(work.shape[:2], cards_px, scale, step)
    backing = _backing_in_two_looks(lab, card, step)
    seen = _seen(backing, card, step)
    cloth = _cloth_mask(seen, backing, card, step)
    _check_backing(cloth, backing)
    exactly = seen if backing.plain else np.zeros_like(seen)  # lines of a pattern look like cuts
    regions, cut_off = _regions(cloth, Look(exactly, backing.fine > _BOLD, lab), scale, step)
    notes = _joined_notes(regions, step)
    return Segmentation(tuple(regions), tuple(cut_off), backing, scale, work, card, step, notes)


def _border_of(picture: NDArray[Any]) -> NDArray[Any]:
    return np.concatenate([picture[0], picture[-1], picture[:, 0], picture[:, -1]])


def _check_backing(cloth: Mask, backing: BackingModel) -> None:
    share = float(_border_of(cloth).mean())
    if share > _MOST_BORDER or backing.spread > _MOST_SPREAD:
        raise BackingError(
            "I cannot tell the scraps from what they lie on: it has many colours, or scraps run "
            "all along the edge of the photo. Lay them on one plain cloth that shows all round, "
            "and take the photo again.",
            border_share=share,
        )


def _joined_notes(regions: list[Region], step: float) -> tuple[str, ...]:
    joined = sum(looks_joined(region.mask, step) for region in regions)
    if not joined:
        return ()
    what = "One outline has" if joined == 1 else f"{joined} outlines have"
    return (
        f"{what} a waist and may be two scraps that touch; if so, lay them apart and take the "
        "photo again.",
    )


def _work_copy(pixels_srgb: NDArray[np.uint8], px_per_in: float) -> tuple[NDArray[np.uint8], float]:
    long_px = max(pixels_srgb.shape)
    wanted = np.clip(long_px * _WORK_PX_PER_IN / px_per_in, *_WORK_SIDE_PX)
    factor = max(1, round(long_px / float(wanted)))  # whole: averaging is then several times faster
    if factor == 1:
        return pixels_srgb, 1.0
    height, width = (side // factor for side in pixels_srgb.shape[:2])
    whole = pixels_srgb[: height * factor, : width * factor]
    work = cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA)
    return np.asarray(work, dtype=np.uint8), 1 / factor


def _card_mask(
    shape: tuple[int, ...], cards_px: tuple[FloatArray, ...], scale: float, step: float
) -> Mask:
    mask = np.zeros(shape[:2], dtype=np.uint8)
    for outline in cards_px:
        cv2.fillPoly(mask, [np.round(outline * scale).astype(np.int32)], 1)
    return cv2.dilate(mask, disc(0.06 * step)).astype(bool)


def _backing_in_two_looks(lab: Float32Array, card: Mask, step: float) -> BackingModel:
    """Learn the backing at the border, then again from all that looked like it."""
    height, width = card.shape
    band = max(3, round(_BORDER * max(height, width)))
    border = np.ones_like(card)
    border[band:-band, band:-band] = False
    half = np.ascontiguousarray(cv2.resize(lab, (width // 2, height // 2)), dtype=np.float32)
    learn = cv2.resize((border & ~card).astype(np.uint8), (width // 2, height // 2)) > 0
    first = model_backing(half, learn, px_per_in=step / 2)
    alike = (first.fine < FINE_LIMIT) & (first.coarse < _COARSE)
    near = cv2.resize(alike.astype(np.uint8), (width, height)) > 0
    sure = cv2.erode((near & ~card).astype(np.uint8), disc(0.1 * step)).astype(bool)
    if sure.sum() < 0.02 * sure.size:
        return model_backing(lab, border & ~card, px_per_in=step)
    return model_backing(lab, sure | (border & near), px_per_in=step)


def _seen(backing: BackingModel, card: Mask, step: float) -> Mask:
    """What does not look like the backing, nor like its shadow; threads and pins included."""
    around = cv2.dilate(backing.coarse, np.ones((2 * round(0.14 * step) + 1,) * 2, np.uint8))
    fine = backing.fine > FINE_LIMIT
    coarse = backing.coarse > np.clip(0.5 * around, _COARSE, _COARSE_MOST)
    bold = opened(fine, _HALO_IN * step)
    faint = opened((fine | coarse) & ~bold, _HALO_IN * step)
    found = opened(fine, 1.0) | faint
    return np.asarray(found & ~_thin_shadow(backing, step) & ~card, dtype=bool)


def _cloth_mask(seen: Mask, backing: BackingModel, card: Mask, step: float) -> Mask:
    free = ~_thin_shadow(backing, step) & ~card
    joined = closed(seen, _GAP_IN * step)
    bays = closed(joined, _BAY_IN * step) & (backing.coarse > _DOUBT) & free
    filled = _filled(closed(joined | bays, _GAP_IN * step), backing, step)
    kept = opened(filled, _THREAD_IN * step)
    whole = grown_back(kept, opened(filled, 0.5 * _THREAD_IN * step), 0.2 * step) & ~card
    return without_bridges(whole, seen, step)


def _thin_shadow(backing: BackingModel, step: float) -> Mask:
    """Bands beside scraps that are backing with less light: same hue, darker, narrow."""
    shadow = backing.shadow
    broad = opened(shadow, _SHADOW_IN * step)
    outside = _from_outside(broad)
    if outside.any():  # its soft edge is brighter than what counts as shadow
        rim = cv2.dilate(outside.astype(np.uint8), disc(_PENUMBRA_IN * step)) > 0
        outside |= rim & (backing.light_left > 0.68) & (backing.light_left < 1.04)
    return np.asarray(shadow & ~broad, dtype=bool) | outside


def _from_outside(broad: Mask) -> Mask:
    """Broad shadows that reach in over a good part of the photo's border: the photographer's."""
    if _border_of(broad).mean() <= _ARM_BORDER:
        return np.zeros_like(broad)
    labels = cv2.connectedComponents(broad.astype(np.uint8), connectivity=4)[1]
    border = _border_of(labels)
    reach = np.bincount(border, minlength=int(labels.max()) + 1) / len(border)
    outside = reach > _ARM_BORDER
    outside[0] = False
    return np.asarray(outside[labels], dtype=bool)


def _filled(mask: Mask, backing: BackingModel, step: float) -> Mask:
    """Fill holes, but not those where the backing shows, wide and plain."""
    filled = mask.copy()
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        (~mask).astype(np.uint8), connectivity=4
    )
    height, width = mask.shape
    for label in range(1, count):
        left, top, wide, high, area = (int(value) for value in stats[label])
        touches = left == 0 or top == 0 or left + wide == width or top + high == height
        if touches:
            continue
        box = (slice(top, top + high), slice(left, left + wide))
        hole = labels[box] == label
        if area < _LEAST_HOLE_SQ_IN * step**2 or not _shows_backing(hole, backing, box, step):
            filled[box] |= hole
    return filled


def _shows_backing(
    hole: Mask, backing: BackingModel, box: tuple[slice, slice], step: float
) -> bool:
    padded = np.pad(hole.astype(np.uint8), 1)
    inner = cv2.erode(padded, disc(0.15 * step))[1:-1, 1:-1].astype(bool)
    if inner.sum() < 0.02 * step**2:
        return False
    alike = np.median(backing.coarse[box][inner]) < 0.5 * _COARSE
    return bool(alike and np.median(backing.fine[box][inner]) < 0.5 * FINE_LIMIT)


def _regions(
    cloth: Mask, look: Look, scale: float, step: float
) -> tuple[list[Region], list[CutOff]]:
    regions, cut_off = list[Region](), list[CutOff]()
    count, labels, stats, middles = cv2.connectedComponentsWithStats(
        cloth.astype(np.uint8), connectivity=4
    )
    height, width = cloth.shape
    for label in range(1, count):
        left, top, wide, high, area = (int(value) for value in stats[label])
        if area < _LEAST_SQ_IN * step**2:
            continue
        if left <= 1 or top <= 1 or left + wide >= width - 1 or top + high >= height - 1:
            x, y = (float(value) / scale for value in middles[label])
            cut_off.append(CutOff(x, y, area / cloth.size))
            continue
        margin = round(_MARGIN_IN * step)
        left, top = max(0, left - margin), max(0, top - margin)
        box = (slice(top, top + high + 2 * margin), slice(left, left + wide + 2 * margin))
        here = labels[box] == label
        true = true_shapes(here, look.within(box), (labels[box] == 0) | here, step)
        for shape in true or [here]:
            for part in split_touching(shape, look.lab[box], step):
                rings = _rings(part, left, top, scale)
                regions.append(Region(part, left, top, rings, exact=bool(true)))
    return regions, cut_off


def _rings(mask: Mask, left: int, top: int, scale: float) -> tuple[FloatArray, ...]:
    padded = np.pad(mask.astype(np.uint8), 1)
    contours, tree = cv2.findContours(padded, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    order = sorted(range(len(contours)), key=lambda index: -len(contours[index]))
    outer = [index for index in order if tree[0][index][3] < 0][:1]
    holes = [index for index in order if tree[0][index][3] >= 0 and len(contours[index]) > 8]
    shift = np.array([left - 1, top - 1]) + 0.5
    rings = [contours[index].reshape(-1, 2) + shift for index in outer + holes]
    return tuple(np.asarray(ring / scale - 0.5, dtype=np.float64) for ring in rings)
