"""Mark a scrap by hand on a photo that was logged without it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import shapely

from stash.drawing.photo_view import to_inches, to_pixels
from stash.errors import MeasureError, NotFoundError
from stash.scrap import SCAN, LoggedPhoto, Scrap
from stash.shape.plane.outline import Outline, Point, Ring, outline_of
from stash.usecases.photos.add_photo import LogOptions, PhotoOutcome, measure, view_of
from stash.usecases.ports import ScrapToLog, Store
from stash.usecases.twins.imprints import take_imprints

if TYPE_CHECKING:
    from stash.photo.cards.card import Card
    from stash.photo.measuring import MeasuredPhoto, MeasuredScrap

__all__ = ["find_scrap", "mark_scrap"]

# Two outlines that share more than this of the smaller one are the same cloth; a judgement.
_SAME_CLOTH = 0.25
# What was logged and what is measured now may differ by this share of the photo's width; a card
# of another size is off by far more.
_SAME_PLACE = 0.02


def mark_scrap(
    store: Store, sha256: str, corners_px: Sequence[Point], *, hit_px: float = 0.0
) -> Scrap:
    """Measure what a person marked on a logged photo and keep it as one scrap more, undoably.

    Parameters
    ----------
    corners_px : sequence of (x, y)
        Once round the scrap, in pixels of the upright photo.
    hit_px : float
        How far a corner may lie off what was meant, pixels: a finger on a small screen hits less
        well than measuring takes for granted.

    Raises
    ------
    NotFoundError
        If the photo was not logged, or its card is no longer registered.
    MeasureError
        If the corners are no shape, or lie on a scrap already there.
    """
    photo = store.photo(sha256)
    if photo is None:
        raise NotFoundError("photo", sha256[:12])
    ring: Ring = tuple((float(x), float(y)) for x, y in corners_px)
    measured = _measured(store, photo, ring)
    (found,) = measured.scraps
    outline = _as_unsure_as_the_hand(found.outline, measured, hit_px)
    return _kept(store, photo, found, outline)


def find_scrap(store: Store, sha256: str, spot_px: Point) -> Scrap:
    """Find the cloth round one spot of a logged photo and keep it as one scrap more, undoably.

    What measuring finds there is taken, with straight sides where they are hardly seen; where it
    finds nothing, the cloth is told from what lies round the spot.

    Parameters
    ----------
    spot_px : (x, y)
        Inside the scrap, in pixels of the upright photo.

    Raises
    ------
    NotFoundError
        If the photo was not logged, or its card is no longer registered.
    MeasureError
        If no cloth can be told there, or it is a scrap already there.
    """
    from stash.photo.files.reading import read_photo  # these load cv2
    from stash.photo.outlines.faint_edge import straight_sides
    from stash.photo.table.round_spot import ring_round

    photo = store.photo(sha256)
    if photo is None:
        raise NotFoundError("photo", sha256[:12])
    measured = _measured(store, photo)
    inches = to_inches(view_of(measured), np.array([spot_px], dtype=np.float64))[0]
    spot = shapely.Point(inches)
    for found in measured.scraps:
        if found.outline.polygon.contains(spot):
            return _kept(store, photo, found, straight_sides(found.outline))
    pixels = read_photo(store.picture(sha256), name=photo.file_name).pixels
    ring = ring_round(pixels, spot_px, px_per_in=measured.plane.px_per_in(inches))
    if ring is None:
        raise MeasureError(
            "No cloth can be told apart there. Tap its corners instead, or photograph it on "
            "another backing."
        )
    return mark_scrap(store, sha256, ring.corners_px, hit_px=ring.unsure_px)


def _kept(store: Store, photo: LoggedPhoto, found: MeasuredScrap, outline: Outline) -> Scrap:
    sha256 = photo.sha256
    sisters = [scrap for scrap in store.scraps() if scrap.photo == sha256]
    _refuse_twice(outline, sisters)
    to_log = ScrapToLog(
        outline=outline,
        appearance=found.appearance,
        picture_jpeg=found.picture_jpeg,
        px_per_in=found.px_per_in,
        left_in=found.left_in,
        top_in=found.top_in,
        # What all the others have in common holds for this one too.
        place=sisters[0].place if len({scrap.place for scrap in sisters}) == 1 else "",
        washed=bool(sisters) and all(scrap.washed for scrap in sisters),
    )
    scrap = store.add_scrap(to_log, why=f"marked a scrap on {photo.file_name}", photo=sha256)
    take_imprints(store, [scrap])
    return scrap


def _measured(store: Store, photo: LoggedPhoto, ring: Ring = ()) -> MeasuredPhoto:
    """Measure the photo anew with the card it was logged with: the newest that agrees with it."""
    if ring:
        outline_of(ring)  # corners that are no shape are told before the photo is read
    data = store.picture(photo.sha256)
    refused = ""
    options = LogOptions(corners_px=(ring,) if ring else (), scan=photo.card.kind == SCAN)
    for cards in [()] if options.scan else [(card,) for card in _cards_of(store, photo)]:
        result = measure(data, file_name=photo.file_name, cards=cards, options=options)
        if isinstance(result, PhotoOutcome):
            refused = refused or result.reason
        elif _agrees(photo, result):
            return result
    if refused:
        raise MeasureError(refused)
    raise NotFoundError(
        "card",
        photo.card.kind,
        hint="Register the card that lies on this photo, with the same distance as before.",
    )


def _cards_of(store: Store, photo: LoggedPhoto) -> list[Card]:
    from stash.photo.cards.card import card_of  # loads the picture libraries

    known = [card_of(one.name, one.body) for one in reversed(store.documents("card"))]
    return [card for card in known if card.kind == photo.card.kind]


def _agrees(photo: LoggedPhoto, measured: MeasuredPhoto) -> bool:
    if photo.view is None or not measured.scraps:
        return True
    inches = np.array(measured.scraps[0].outline.points)
    now, then = to_pixels(view_of(measured), inches), to_pixels(photo.view, inches)
    return bool(np.abs(now - then).max() <= _SAME_PLACE * 2 * photo.view.radius_px)


def _as_unsure_as_the_hand(outline: Outline, measured: MeasuredPhoto, hit_px: float) -> Outline:
    """Add how badly the corners were hit to the outline's error."""
    if not 0 < hit_px < 1e4:
        return outline
    middle = outline.polygon.centroid
    hit_in = hit_px / measured.plane.px_per_in(np.array([middle.x, middle.y]))
    return outline_of(outline.points, outline.holes, error_in=outline.error_in + hit_in)


def _refuse_twice(outline: Outline, sisters: Sequence[Scrap]) -> None:
    for sister in sisters:
        shared = outline.polygon.intersection(sister.outline.polygon).area
        if shared > _SAME_CLOTH * min(outline.area_sq_in, sister.outline.area_sq_in):
            raise MeasureError(
                f"Scrap {sister.number} lies there already. Mend its outline, or take it out first "
                "and mark again."
            )
