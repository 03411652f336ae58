"""Finding scraps: everything on the backing that is thick enough to be cloth, the card cut out.

Works on a copy of about sixty pixels an inch; where exactly cloth ends is decided later, along
the edges, in the full photo (``stash.photo.outlines.edge_profile``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray
from stash.photo.cards.patch_candidates import smaller_copy
from stash.photo.table.backing_model import (
    FINE_LIMIT,
    BackingModel,
    Float32Array,
    Mask,
    lab_of_levels,
)
from stash.photo.table.cloth_mask import COARSE_LIMIT
from stash.photo.table.lying import Lying, ScrapPixels, what_lies
from stash.photo.table.mask_sizes import disc, shrunk
from stash.photo.table.odd_area import odd_areas
from stash.photo.table.table_look import TableLook, look_at
from stash.photo.table.under_card import sheet_round, sheet_under

__all__ = ["CutOff", "Region", "Segmentation", "find_scraps"]

_WORK_PX_PER_IN = 60.0
_WORK_SIDE_PX = (800, 1500)  # least and most length of the work image's long side
_LIGHT_CELLS = 32  # columns of the grid on which the backing's light is read
_FREE, _MAIN_COLOUR = 0.97, 0.5  # shares of a cell that show a plain backing's light, a mat's
_SHADE_CELLS = 96  # the same where shadows are looked for
_OWN_SHADOW_IN = 0.2  # a scrap's own shadow lies so close to it
_LIKE_SHADE = 0.002  # share of a scrap's inside
_DEEPEST_SHADE = 0.6  # cube root of the light left
_HEM_IN = 0.1  # a sheet's own edge, its shadow included


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
    seam : bool
        Whether part of the border is another scrap's cloth instead of the backing.
    threads_px : float64, shape (n, 2)
        Where threads and pins lie over the border, pixels of the full photo.
    """

    mask: Mask
    left: int
    top: int
    rings_px: tuple[FloatArray, ...]
    exact: bool = False
    seam: bool = False
    threads_px: FloatArray = field(default_factory=lambda: np.empty((0, 2)))


@dataclass(frozen=True)
class CutOff:
    """What the photo's border cuts: its middle in each ninth it covers, its share of the photo."""

    middles_px: tuple[tuple[float, float], ...]
    share: float


@dataclass(frozen=True)
class Segmentation:
    """What lies on the backing.

    ``narrow_px`` and ``odd_px`` are middles x, y, in pixels of the full photo, of what is too
    narrow to log and of areas that a patterned backing does not explain.
    """

    regions: tuple[Region, ...]
    cut_off: tuple[CutOff, ...]
    backing: BackingModel
    scale: float
    work_srgb: NDArray[np.uint8]
    card: Mask
    step: float
    notes: tuple[str, ...] = ()
    narrow_px: tuple[tuple[float, float], ...] = ()
    odd_px: tuple[tuple[float, float], ...] = ()

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the full photo, about."""
        height, width = self.work_srgb.shape[:2]
        return round(width / self.scale), round(height / self.scale)

    @cached_property
    def backing_spots(self) -> tuple[FloatArray, FloatArray] | None:
        """Spots of bare backing, pixels (n, 2), and their colour (n, 3), sRGB 0..1.

        On a patterned backing they are of its main colour, as between the lines of a cutting mat.
        None when it has none or too little is seen.
        """
        if not self.backing.plain:
            main = self.backing.main_colour & ~self._taken()
            return self._spots(main, _LIGHT_CELLS, least=_MAIN_COLOUR)
        bare = (self.backing.fine < 0.7 * FINE_LIMIT) & (self.backing.coarse < 0.7 * COARSE_LIMIT)
        return self._spots(bare, _LIGHT_CELLS)

    def shaded_spots(self) -> tuple[FloatArray, FloatArray] | None:
        """Give finer spots of the backing, in shadow or not, away from scraps and their shadows."""
        left = self.backing.light_left
        away = cv2.dilate(self._taken().astype(np.uint8), disc(_OWN_SHADOW_IN * self.step)) == 0
        hue = (left > _DEEPEST_SHADE) & (left < 1 / _DEEPEST_SHADE)
        return self._spots(hue & away, _SHADE_CELLS) if self.backing.plain else None

    def open_spots(self) -> tuple[FloatArray, FloatArray] | None:
        """Give such finer spots of whatever lies free, backing or not."""
        away = cv2.dilate(self._taken().astype(np.uint8), disc(_OWN_SHADOW_IN * self.step)) == 0
        return self._spots(away, _SHADE_CELLS)

    def like_shade(self, region: Region) -> bool:
        """Whether some of a scrap's cloth looks like the backing in shadow."""
        height, width = region.mask.shape
        box = np.s_[region.top : region.top + height, region.left : region.left + width]
        inside = cv2.erode(region.mask.astype(np.uint8), disc(_OWN_SHADOW_IN * self.step)) > 0
        alike = self.backing.shadow[box] & inside
        return bool(alike.sum() > _LIKE_SHADE * max(1, inside.sum()))

    def _taken(self) -> Mask:
        taken = self.card.copy()
        for region in self.regions:
            height, width = region.mask.shape
            taken[region.top : region.top + height, region.left : region.left + width] |= (
                region.mask
            )
        return taken

    def _spots(
        self, mask: Mask, columns: int, *, least: float = _FREE
    ) -> tuple[FloatArray, FloatArray] | None:
        """Give the colour of the mask in cells of which it fills more than a share."""
        height, width = mask.shape
        cells = (columns, max(4, round(columns * height / width)))
        filled = cv2.resize(mask.astype(np.float32), cells, interpolation=cv2.INTER_AREA)
        free = filled > least
        if free.mean() < 0.08:
            return None
        rows, across = np.nonzero(free)
        cell_px = np.array([width, height]) / cells / self.scale
        at = (np.stack([across, rows], axis=1) + 0.5) * cell_px - 0.5
        shown = self.work_srgb
        if least < _FREE:  # what else the cells hold is not to colour them
            shown = shown * mask[..., None]
        mean = cv2.resize(shown.astype(np.float32), cells, interpolation=cv2.INTER_AREA)
        seen = mean[rows, across].astype(np.float64) / 255
        if least < _FREE:
            seen /= filled[rows, across].astype(np.float64)[:, None]
        return np.asarray(at, dtype=np.float64), seen


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
    lab = lab_of_levels(work)
    step = px_per_in * scale
    card = _card_mask(work.shape[:2], cards_px, scale, step)
    look, lying = _on_the_table(lab, card, _card_mask(card.shape, cards_px[:1], scale, step), step)
    regions = [_region(part, scale) for part in lying.parts]
    cut_off = tuple(CutOff(_full(cut.middles, scale), cut.share) for cut in lying.cut_off)
    odd = odd_areas(look.backing, look.blocked | lying.known, step)
    notes = lying.notes(on_sheet=not look.ground.all())
    return Segmentation(
        tuple(regions),
        cut_off,
        look.backing,
        scale,
        work,
        look.blocked,
        step,
        notes,
        _full(lying.narrow, scale),
        _full(odd, scale),
    )


def _full(middles: Sequence[tuple[float, float]], scale: float) -> tuple[tuple[float, float], ...]:
    """Bring places from the work image to the full photo."""
    return tuple((x / scale, y / scale) for x, y in middles)


def _region(part: ScrapPixels, scale: float) -> Region:
    rows, columns = np.nonzero(part.threads)
    threads = np.stack([columns + part.left, rows + part.top], axis=1) + 0.5
    return Region(
        part.mask,
        part.left,
        part.top,
        _rings(part.mask, part.left, part.top, scale),
        exact=part.exact,
        seam=part.seam,
        threads_px=np.asarray(threads / scale - 0.5, dtype=np.float64),
    )


def _on_the_table(
    lab: Float32Array, cards: Mask, card: Mask, step: float
) -> tuple[TableLook, Lying]:
    """Look at the whole photo, or at the sheet that the card lies on if scraps lie on it."""
    whole = look_at(lab, cards, np.ones_like(cards), step)
    sheet = sheet_under(card, whole.cloth)
    if sheet is not None:
        look = look_at(lab, cards, shrunk(sheet, round(_HEM_IN * step)), step)
        look.check()
        lying = what_lies(look, card)
        if lying.parts or lying.cut_off:
            return look, lying
    if not whole.readable:
        round_it = sheet_round(card, lab, step)
        if round_it is not None:
            ground = shrunk(round_it.whole, round(_HEM_IN * step))
            look = look_at(lab, cards, ground, step, bare=round_it.bare)
            if look.readable:
                return look, what_lies(look, card)
    whole.check()
    return whole, what_lies(whole, card)


def _work_copy(pixels_srgb: NDArray[np.uint8], px_per_in: float) -> tuple[NDArray[np.uint8], float]:
    long_px = max(pixels_srgb.shape)
    wanted = np.clip(long_px * _WORK_PX_PER_IN / px_per_in, *_WORK_SIDE_PX)
    work, factor = smaller_copy(pixels_srgb, round(float(wanted)))
    return work, 1 / factor


def _card_mask(
    shape: tuple[int, ...], cards_px: tuple[FloatArray, ...], scale: float, step: float
) -> Mask:
    mask = np.zeros(shape[:2], dtype=np.uint8)
    for outline in cards_px:
        cv2.fillPoly(mask, [np.round(outline * scale).astype(np.int32)], 1)
    return cv2.dilate(mask, disc(0.06 * step)).astype(bool)


def _rings(mask: Mask, left: int, top: int, scale: float) -> tuple[FloatArray, ...]:
    padded = np.pad(mask.astype(np.uint8), 1)
    contours, tree = cv2.findContours(padded, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    order = sorted(range(len(contours)), key=lambda index: -len(contours[index]))
    outer = [index for index in order if tree[0][index][3] < 0][:1]
    holes = [index for index in order if tree[0][index][3] >= 0 and len(contours[index]) > 8]
    shift = np.array([left - 1, top - 1]) + 0.5
    rings = [contours[index].reshape(-1, 2) + shift for index in outer + holes]
    return tuple(np.asarray(ring / scale - 0.5, dtype=np.float64) for ring in rings)
