"""From one photo to measured scraps: card, calibration, plane, masks, outlines, colours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import Appearance
from stash.colour.describing import ClothSample, describe
from stash.colour.spaces import FloatArray
from stash.errors import BackingError, CalibrationError, CardNotFoundError
from stash.photo.cards.card import Card, FoundCard
from stash.photo.cards.card_finding import find_cards
from stash.photo.cards.corner_marker import LoosePrint
from stash.photo.cards.known_sheet import KnownSheet
from stash.photo.files.reading import Photo
from stash.photo.inches.loose_corners import level_by_corners
from stash.photo.inches.parallel_sides import parallel_sides
from stash.photo.inches.plane import Plane, fit_again, scanned_plane
from stash.photo.inches.table_plane import plane_by_sheet, plane_of_photo
from stash.photo.left_out import Sorted, sort_out
from stash.photo.light.burnt_out import burnt_share, doubt_de00, warning_of
from stash.photo.light.calibration import Calibration
from stash.photo.light.coding import calibrate_photo
from stash.photo.light.colours import Colours, FileColours, WhiteBalanced
from stash.photo.light.shade import Relit, doubt_under, in_full_light, shade_over
from stash.photo.maybe_two import two_note
from stash.photo.notes import (
    cut_off_notes,
    narrow_notes,
    nothing_notes,
    odd_notes,
    thread_notes,
    unread_note,
    unsure_notes,
)
from stash.photo.outlines.by_hand import outline_by_hand
from stash.photo.outlines.outlining import MeasuredOutline, moved, outline_region
from stash.photo.scan_plate import plate_of
from stash.photo.selvage import Selvage, find_selvage
from stash.photo.sewing_things import odd_note
from stash.photo.swatch import colour_table, cut_swatch
from stash.photo.table.segmentation import Segmentation, find_scraps
from stash.scrap import SCAN, CardReport
from stash.shape.plane.outline import Outline, Ring

__all__ = [
    "MeasureOptions",
    "MeasuredPhoto",
    "MeasuredScrap",
    "measure_beside_sheet",
    "measure_photo",
    "measure_scan",
]


# Of colours by paper, or as the file says: on eight scenes by another program, plain and as phones
# render them, 95 in 100 lay within 4.5 and 8.5, 15 and 11, 19 and 15 (docs/measurements.md).
_NO_CARD_DE00 = 15.0
_WITHOUT_CARD = (
    "Measured by a {} and without a reference card: colours are rough, not absolute, and may be "
    "off by a whole family."
)
_BY_HAND = "The scraps were marked by hand."


@dataclass(frozen=True, slots=True)
class MeasureOptions:
    """How to look at a photo.

    Attributes
    ----------
    flat_field : bool
        Whether uneven light is taken off, as far as a plain backing shows it.
    corners_px : tuple of Ring
        Scraps marked by hand, corners in pixels of the upright photo; then none is looked for.
    corner_print : LoosePrint
        How large loose corner markers were printed, if any lie there.
    """

    flat_field: bool = True
    corners_px: tuple[Ring, ...] = ()
    corner_print: LoosePrint = field(default_factory=LoosePrint)


@dataclass(frozen=True, slots=True)
class MeasuredScrap:
    """One scrap: its outline in the card's frame, its looks, its picture (see ``Swatch``).

    ``burnt_share`` is the part of its pixels that are too bright to tell, 0..1; ``notes`` says why
    it may be no scrap, or two.
    """

    outline: Outline
    appearance: Appearance
    picture_jpeg: bytes = field(repr=False)
    px_per_in: float
    left_in: float
    top_in: float
    burnt_share: float = 0.0
    notes: str = ""


@dataclass(frozen=True)
class MeasuredPhoto:
    """Everything one photo tells.

    Attributes
    ----------
    card : CardReport
        How well the card could be read.
    scraps : tuple of MeasuredScrap
        By place: from the top of the photo down, left to right.
    warnings : tuple of str
        What makes these measures less sure.
    cut_off : int
        Scraps that the photo's border cuts; they are not measured.
    notes : tuple of str
        What was seen and left alone, one sentence each.
    plane : Plane
        Pixels to inches, for drawing on the photo.
    corners_px : float64, shape (4, 2)
        The card's corners in the photo.
    """

    card: CardReport
    scraps: tuple[MeasuredScrap, ...]
    warnings: tuple[str, ...]
    cut_off: int
    notes: tuple[str, ...]
    plane: Plane = field(repr=False)
    corners_px: FloatArray = field(repr=False)


def measure_photo(
    photo: Photo, cards: Sequence[Card] = (), *, options: MeasureOptions | None = None
) -> MeasuredPhoto:
    """Measure every scrap of a photo.

    Parameters
    ----------
    photo : Photo
        As ``stash.photo.files.reading`` gives it.
    cards : sequence of Card
        The cards that may lie in it, the likeliest first.
    options : MeasureOptions
        How to look.

    Raises
    ------
    PhotoError
        If there is no card or the light is too bad; the text says what to do.
    """
    options = options or MeasureOptions()
    found_cards = _cards_of(photo, cards)
    pixels, calibration = calibrate_photo(photo, found_cards[0])
    found_card = calibration.found
    plane = plane_of_photo(photo, found_card)
    loose = level_by_corners(pixels, plane, options.corner_print, found_cards)
    plane = loose.plane
    if options.corners_px:
        return _marked(photo, pixels, calibration, plane, options.corners_px)
    px_per_in = plane.px_per_in(np.zeros(2))
    cards_px = (*(card.corners_px for card in found_cards), *loose.papers_px)
    try:
        found = find_scraps(pixels, px_per_in=px_per_in, cards_px=cards_px)
    except BackingError as problem:  # the card is read all the same, and scraps can be marked
        return _unmarked(
            photo, found_card, calibration, plane, (*loose.notes, unread_note(problem))
        )
    found, touching = loose.without_paper(found)
    calibration = _in_even_light(calibration, found, flat_field=options.flat_field)
    sorted_out = sort_out(_outlines(pixels, found, plane), pixels, plane, calibration)
    plane, outlines = _on_a_truer_plane(sorted_out.kept, plane)
    calibration.check_even(_middles_px(outlines, plane))
    relit = _in_full_light(pixels, outlines, plane, found, calibration)
    scraps = _scraps(relit.pixels_srgb, outlines, plane, calibration, relit.doubt_de00)
    scraps = tuple(replace(scrap, notes=_doubted(scrap.outline)) for scrap in scraps)
    return MeasuredPhoto(
        _report(found_card, calibration),
        scraps,
        (*photo.warnings, *calibration.warnings, *relit.warnings, *_burnt(scraps)),
        len(found.cut_off),
        (*loose.notes, *touching, *_notes(found, sorted_out, outlines)),
        plane,
        found_card.corners_px,
    )


def _cards_of(photo: Photo, cards: Sequence[Card]) -> tuple[FoundCard, ...]:
    """Find the cards; squares without colour are not taken for covered ones."""
    try:
        return find_cards(photo.pixels, cards)
    except CardNotFoundError as problem:
        if photo.has_colour or not problem.squares_seen:
            raise
    raise CalibrationError(
        "This photo is black-and-white, so the card cannot tell colours. Switch the camera's "
        "filter off and take the photo again in colour.",
        error_de00=math.inf,
    )


def measure_scan(photo: Photo, *, corners_px: Sequence[Ring] = ()) -> MeasuredPhoto:
    """Measure every scrap of a flatbed scan: inches by its resolution, colours by its profile.

    The frame of its outlines has its origin in the middle of the scan.

    Parameters
    ----------
    photo : Photo
        As ``stash.photo.files.reading`` gives it.
    corners_px : sequence of Ring
        Scraps marked by hand, as in ``MeasureOptions``.

    Raises
    ------
    PhotoError
        If the file is no scan or does not tell its resolution, or if the lid hides the scraps.
    """
    plate = plate_of(photo)
    pixels = plate.pixels_srgb
    plane = scanned_plane(plate.size_px, plate.px_per_in)
    colours = FileColours(plate.error_de00, absolute=plate.has_profile)
    if corners_px:
        outlines = [outline_by_hand(ring, plane, size_px=plate.size_px) for ring in corners_px]
        notes: tuple[str, ...] = (_BY_HAND,)
        cut_off = 0
    else:
        found = find_scraps(pixels, px_per_in=plate.px_per_in, cards_px=())
        sorted_out = sort_out(_outlines(pixels, found, plane), pixels, plane, colours)
        outlines = [one.outline for one in sorted_out.kept]
        notes, cut_off = _notes(found, sorted_out, outlines), len(found.cut_off)
    scraps = _scraps(pixels, outlines, plane, colours, (0.0,) * len(outlines))
    if not corners_px:
        scraps = tuple(replace(scrap, notes=_doubted(scrap.outline)) for scrap in scraps)
    card = CardReport(SCAN, colours.error_de00, colours.error_de00, absolute=colours.absolute)
    warnings = (*photo.warnings, *plate.warnings, *_burnt(scraps))
    return MeasuredPhoto(card, scraps, warnings, cut_off, notes, plane, np.empty((0, 2)))


def measure_beside_sheet(
    photo: Photo, sheet: KnownSheet, *, corners_px: Sequence[Ring] = ()
) -> MeasuredPhoto:
    """Measure every scrap of a photo without a card, beside a sheet or bank card of known size.

    The frame of the outlines has its origin in the sheet's middle, x along its long side. Colours
    are taken by the paper's white, or as the file says beside a bank card; they are not absolute.

    Parameters
    ----------
    photo : Photo
        As ``stash.photo.files.reading`` gives it.
    sheet : KnownSheet
        What lies there.
    corners_px : sequence of Ring
        Scraps marked by hand, as in ``MeasureOptions``.

    Raises
    ------
    PhotoError
        If no such thing is seen, or several are.
    """
    pixels = photo.pixels_srgb
    found_sheet, plane = plane_by_sheet(photo, sheet)
    colours: Colours = FileColours(_NO_CARD_DE00, absolute=False)
    if sheet.white:
        colours = WhiteBalanced.by_paper(found_sheet.white_srgb, _NO_CARD_DE00)
    if corners_px:
        size_px = pixels.shape[0], pixels.shape[1]
        outlines = [outline_by_hand(ring, plane, size_px=size_px) for ring in corners_px]
        notes: tuple[str, ...] = (_BY_HAND,)
        cut_off = 0
    else:
        px_per_in = plane.px_per_in(np.zeros(2))
        cards_px = (found_sheet.corners_px,)
        try:
            found = find_scraps(pixels, px_per_in=px_per_in, cards_px=cards_px)
        except BackingError as problem:
            outlines, notes, cut_off = [], (unread_note(problem),), 0
        else:
            sorted_out = sort_out(_outlines(pixels, found, plane), pixels, plane, colours)
            plane, outlines = _on_a_truer_plane(sorted_out.kept, plane)
            notes, cut_off = _notes(found, sorted_out, outlines), len(found.cut_off)
    scraps = _scraps(pixels, outlines, plane, colours, (0.0,) * len(outlines))
    if not corners_px:
        scraps = tuple(replace(scrap, notes=_doubted(scrap.outline)) for scrap in scraps)
    card = CardReport(sheet.kind, colours.error_de00, colours.error_de00, absolute=False)
    warnings = (*photo.warnings, _WITHOUT_CARD.format(sheet.name), *_burnt(scraps))
    return MeasuredPhoto(card, scraps, warnings, cut_off, notes, plane, found_sheet.corners_px)


def _notes(found: Segmentation, sorted_out: Sorted, outlines: Sequence[Outline]) -> tuple[str, ...]:
    """Say what a person should know of what was found, and of what was left alone."""
    return (
        *thread_notes(sorted_out.kept),
        *found.notes,
        *narrow_notes(found),
        *nothing_notes(found),
        *cut_off_notes(found),
        *odd_notes(found),
        *sorted_out.notes,
        *unsure_notes(outlines),
    )


def _marked(
    photo: Photo,
    pixels: NDArray[np.uint8],
    calibration: Calibration,
    plane: Plane,
    rings: Sequence[Ring],
) -> MeasuredPhoto:
    """Measure what a person marked; nothing else of the photo is looked at."""
    height_px, width_px = pixels.shape[:2]
    outlines = [outline_by_hand(ring, plane, size_px=(height_px, width_px)) for ring in rings]
    scraps = _scraps(pixels, outlines, plane, calibration, (0.0,) * len(outlines))
    return MeasuredPhoto(
        _report(calibration.found, calibration),
        scraps,
        (*photo.warnings, *calibration.warnings, *_burnt(scraps)),
        0,
        (_BY_HAND,),
        plane,
        calibration.found.corners_px,
    )


def _unmarked(
    photo: Photo,
    found_card: FoundCard,
    calibration: Calibration,
    plane: Plane,
    notes: tuple[str, ...],
) -> MeasuredPhoto:
    """Give a photo in which no scrap can be told, so that they can be marked by hand."""
    return MeasuredPhoto(
        _report(found_card, calibration),
        (),
        (*photo.warnings, *calibration.warnings),
        0,
        notes,
        plane,
        found_card.corners_px,
    )


def _report(found: FoundCard, calibration: Calibration) -> CardReport:
    return CardReport(
        found.card.kind,
        calibration.error_de00,
        calibration.error_worst_de00,
        absolute=calibration.absolute,
    )


def _in_even_light(
    calibration: Calibration, found: Segmentation, *, flat_field: bool
) -> Calibration:
    """Take the light's unevenness off where a plain backing shows it, or only judge it."""
    spots = found.backing_spots
    if spots is None:
        return calibration
    return (calibration.with_flat_field if flat_field else calibration.without_flat_field)(*spots)


def _in_full_light(
    pixels: NDArray[np.uint8],
    outlines: Sequence[Outline],
    plane: Plane,
    found: Segmentation,
    calibration: Calibration,
) -> Relit:
    px_per_in = plane.px_per_in(np.zeros(2))
    shade = shade_over(found, calibration, calibration.found.corners_px, px_per_in=px_per_in)
    if shade is None:
        return Relit(pixels, (doubt_under(calibration.found),) * len(outlines))
    rings = [plane.to_pixels(np.array(outline.points)) for outline in outlines]
    return in_full_light(pixels, rings, shade, calibration)


def _middles_px(outlines: Sequence[Outline], plane: Plane) -> FloatArray:
    """Where the scraps lie in the photo, (n, 2)."""
    middles = [plane.to_pixels(np.array(one.points)).mean(axis=0) for one in outlines]
    return np.array(middles).reshape(-1, 2)


def _outlines(
    pixels: NDArray[np.uint8], found: Segmentation, plane: Plane
) -> list[MeasuredOutline]:
    measured = [outline_region(pixels, region, found, plane) for region in found.regions]
    return [outline for outline in measured if outline is not None]


def _on_a_truer_plane(
    measured: Sequence[MeasuredOutline], plane: Plane
) -> tuple[Plane, list[Outline]]:
    """Let parallel sides of scraps tell how the table slants, and lay all down again."""
    sides = parallel_sides([one.outline for one in measured], plane.to_pixels)
    truer = fit_again(plane, sides)
    if truer is not plane:
        measured = [moved(one, plane, truer) for one in measured]
    return truer, [one.outline for one in measured]


def _scraps(
    pixels: NDArray[np.uint8],
    outlines: Sequence[Outline],
    plane: Plane,
    calibration: Colours,
    doubts_de00: Sequence[float],
) -> tuple[MeasuredScrap, ...]:
    table = colour_table(calibration.lut3d(17))
    scraps = []
    for outline, doubt in zip(outlines, doubts_de00, strict=True):
        swatch = cut_swatch(pixels, outline, plane, table)
        selvage = find_selvage(pixels, outline, plane.to_pixels)
        sample = _sample(pixels, outline, plane, calibration, selvage)
        burnt = burnt_share(sample)
        looks = describe(sample, absolute=calibration.absolute)
        middle = _middles_px([outline], plane)[0]
        sure_to = calibration.sure_to(np.array(looks.reads_as), middle)
        looks = replace(
            looks,
            error_de00=math.hypot(sure_to, doubt, doubt_de00(burnt)),
            selvage_deg=selvage.deg if selvage else None,
        )
        scraps.append(
            MeasuredScrap(
                outline,
                looks,
                swatch.jpeg,
                swatch.px_per_in,
                swatch.left_in,
                swatch.top_in,
                burnt,
            )
        )
    return tuple(scraps)


def _doubted(outline: Outline) -> str:
    """Say why what was found may be no scrap, or two."""
    return "; ".join(filter(None, (odd_note(outline), two_note(outline))))


def _burnt(scraps: Sequence[MeasuredScrap]) -> tuple[str, ...]:
    return warning_of([scrap.burnt_share for scrap in scraps])


def _sample(
    pixels: NDArray[np.uint8],
    outline: Outline,
    plane: Plane,
    calibration: Colours,
    selvage: Selvage | None,
) -> ClothSample:
    """Crop the photo to a scrap and mask what is surely cloth; nobody sews a selvage in."""
    rings = [plane.to_pixels(np.array(ring)) for ring in (outline.points, *outline.holes)]
    low = np.maximum(np.floor(rings[0].min(axis=0)).astype(int), 0)
    high = np.ceil(rings[0].max(axis=0)).astype(int) + 1
    crop = pixels[low[1] : high[1], low[0] : high[0]]
    mask = np.zeros(crop.shape[:2], dtype=np.uint8)
    cv2.fillPoly(mask, [np.round((ring - low) * 16).astype(np.int32) for ring in rings], 1, shift=4)
    if selvage is not None:
        band = plane.to_pixels(np.array(selvage.band.exterior.coords)) - low
        cv2.fillPoly(mask, [np.round(band * 16).astype(np.int32)], 0, shift=4)
    middle = rings[0].mean(axis=0)
    at_in = plane.to_inches(middle[None])[0]
    return ClothSample(
        crop,
        mask.astype(bool),
        partial(_lab_at, calibration, middle),
        px_per_in=plane.px_per_in(at_in),
        to_inches=lambda px: plane.to_inches(px + low),
    )


def _lab_at(calibration: Colours, at_px: FloatArray, srgb: FloatArray) -> FloatArray:
    return calibration.lab_of(srgb, np.broadcast_to(at_px, (len(srgb), 2)))
