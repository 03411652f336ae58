"""What lies on the table, part by part: scraps, what the border cuts, what touches the card."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import find_objects

from stash.photo.table.backing_model import Mask
from stash.photo.table.gap_between import without_gap
from stash.photo.table.loose_threads import loose_threads, without_threads
from stash.photo.table.mask_sizes import numbered, parts_of
from stash.photo.table.table_look import TableLook
from stash.photo.table.touching import split_touching
from stash.photo.table.true_shape import true_shapes
from stash.photo.table.under_card import AtCard, at_card

__all__ = ["Lying", "ScrapPixels", "what_lies"]


class _Least(NamedTuple):
    """How large a thing is that is worth logging: its area, and the disc that fits in."""

    sq_in: float
    wide_in: float


_SCRAP = _Least(0.3, 0.35)  # cords, pencils, seam rippers; two seams alone take half an inch
# Where several such things are all that lies there, they were what the photo was taken for.
_TINY = _Least(0.03, 0.12)
_TINY_ONES = 3
_TELLING = 0.05  # share of a ninth of the photo that makes it worth naming
_MOSTLY = 0.7
_MARGIN_IN = 0.45  # round a scrap, with room for its tips


class ScrapPixels(NamedTuple):
    """One scrap: its pixels in a box and the box's corner.

    ``exact`` if its border is known to a pixel; ``seam`` if another scrap touches or covers it;
    ``threads`` are what was taken off it.
    """

    mask: Mask
    left: int
    top: int
    exact: bool
    seam: bool
    threads: Mask


class Cut(NamedTuple):
    """What the border cuts: its pixels' middle x, y in each ninth that it covers, and its share.

    Ninths and share are the photo's; the middles are in work pixels.
    """

    middles: tuple[tuple[float, float], ...]
    share: float


@dataclass
class Lying:
    """What was met.

    Attributes
    ----------
    parts : list of ScrapPixels
        The scraps.
    cut_off : list of Cut
        What the border cuts.
    at_card : int
        Things that touch the card.
    known : bool, shape (height, width)
        Where scraps lie, what the border cuts and what touches the card.
    narrow : list of tuple
        Middles x, y (work pixels) of things too narrow to be worth logging.
    tiny : bool
        Whether the scraps are smaller than any worth logging, and all there is.
    """

    parts: list[ScrapPixels] = field(default_factory=list)
    cut_off: list[Cut] = field(default_factory=list)
    at_card: int = 0
    known: Mask = field(default_factory=lambda: np.zeros((0, 0), dtype=bool))
    narrow: list[tuple[float, float]] = field(default_factory=list)
    tiny: bool = False

    def notes(self, *, on_sheet: bool) -> tuple[str, ...]:
        """Tell what was left alone, and why."""
        said = []
        if on_sheet:
            said.append(
                "The card lies on a sheet or mat that does not fill the photo; only what lies on "
                "it was measured."
            )
        if self.at_card:
            said.append(
                "Something touches the card, or the card lies on it; it was not measured. Lay "
                "scraps free of the card."
            )
        if self.tiny:
            said.append(
                "All that lies here is smaller than 1/2 in by the card. If it is not, the card's "
                "pitch was told wrong: measure it anew."
            )
        if any(part.seam for part in self.parts):
            said.append(
                "Scraps touch or overlap; each was measured as far as it shows. Lay them apart to "
                "measure the whole of them."
            )
        return tuple(said)


def what_lies(look: TableLook, card: Mask) -> Lying:
    """Sort everything on the table; ``card`` is where the card lies that gives the inches."""
    lying = _sorted_by(_SCRAP, look, card)
    if lying.parts or lying.cut_off or lying.narrow:
        return lying
    tiny = _sorted_by(_TINY, look, card)
    tiny.parts = [part for part in tiny.parts if _stands_out(part, look)]
    if len(tiny.parts) < _TINY_ONES:
        return lying
    tiny.tiny = True
    return tiny


def _stands_out(part: ScrapPixels, look: TableLook) -> bool:
    """Whether most of a part is far off the backing, as no stain or crumb of its pattern is."""
    height, width = part.mask.shape
    box = np.s_[part.top : part.top + height, part.left : part.left + width]
    return bool(look.colours.bold[box][part.mask].mean() > _MOSTLY)


def _sorted_by(least: _Least, look: TableLook, card: Mask) -> Lying:
    lying, step = Lying(known=np.zeros_like(look.cloth)), look.step
    labels, areas = numbered(look.cloth)
    ends = set(np.unique(labels[look.edge]).tolist())
    beside_card = at_card(labels, card, step)
    for label, (rows, columns) in enumerate(find_objects(labels), start=1):
        area = int(areas[label])
        if area < least.sq_in * step**2:
            continue
        if label in beside_card:
            lying.at_card += beside_card[label] is AtCard.TOUCHES
            lying.known |= labels == label
        elif label in ends:
            lying.known |= labels == label
            lying.cut_off.append(_cut(labels == label))
        else:
            _add_scrap(lying, look, labels, (label, rows, columns), least)
    return lying


def _cut(mask: Mask) -> Cut:
    """Describe a part by the ninths of which it covers enough, or by the one with most of it."""
    down, across = np.nonzero(mask)
    height, width = mask.shape
    ninth = 3 * (3 * down // height) + 3 * across // width
    ninths = [ninth == number for number in range(9)]
    large = [here for here in ninths if 9 * here.sum() >= _TELLING * mask.size]
    large = large or [max(ninths, key=np.count_nonzero)]
    middles = tuple((float(across[here].mean()), float(down[here].mean())) for here in large)
    return Cut(middles, len(down) / mask.size)


def _add_scrap(
    lying: Lying,
    look: TableLook,
    labels: NDArray[np.int32],
    at: tuple[int, slice, slice],
    least: _Least,
) -> None:
    """Add the part with that number, which lies in those rows and columns."""
    margin = round(_MARGIN_IN * look.step)
    label, rows, columns = at
    left, top = max(0, columns.start - margin), max(0, rows.start - margin)
    box = (slice(top, rows.stop + margin), slice(left, columns.stop + margin))
    here, colours = labels[box] == label, look.colours.within(box)
    threads = loose_threads(here, colours, look.step)
    here = without_threads(here, threads, colours.bold, look.step)
    true = true_shapes(here, colours, (labels[box] == 0) | here, look.step)
    for shape in true or parts_of(here, least.sq_in * look.step**2):
        kinds = split_touching(shape, colours.lab, look.backing.light_left[box], look.step)
        if len(kinds) > 1 and not true:
            kinds = without_gap(kinds, look.seen[box], look.step)
        for mask in kinds:
            if _wide_in(mask, look.step) < least.wide_in:
                down, across = np.nonzero(mask)
                lying.narrow.append((left + float(across.mean()), top + float(down.mean())))
            else:
                lying.known[box] |= mask
                seam = _meets_other(mask, kinds)
                lying.parts.append(
                    ScrapPixels(mask, left, top, bool(true), seam, _beside(threads, mask))
                )


def _beside(threads: Mask, mask: Mask) -> Mask:
    near = cv2.dilate(mask.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    return threads & near


def _meets_other(mask: Mask, kinds: list[Mask]) -> bool:
    """Whether no backing shows between a scrap and another of those it hung together with."""
    others = sum((kind.astype(np.uint8) for kind in kinds if kind is not mask), np.zeros_like(mask))
    return bool((cv2.dilate(mask.astype(np.uint8), np.ones((5, 5), np.uint8)) * others).any())


def _wide_in(mask: Mask, step: float) -> float:
    """Give the diameter of the largest disc that fits in."""
    inside = cv2.distanceTransform(np.pad(mask.astype(np.uint8), 1), cv2.DIST_L2, 3)
    return 2 * float(inside.max()) / step
