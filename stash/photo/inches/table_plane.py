"""The plane of the table from all a photo tells: card, straight edges, focal length."""

from __future__ import annotations

from stash.photo.cards.card import FoundCard
from stash.photo.cards.known_sheet import (
    FoundSheet,
    KnownSheet,
    find_sheets,
    no_such_sheet,
    several_sheets,
)
from stash.photo.files.reading import Photo
from stash.photo.inches.plane import Plane, fit_plane, sheet_plane
from stash.photo.inches.straight_edges import lens_of_edges

__all__ = ["plane_by_sheet", "plane_of_photo"]

_FITS = 25.0  # squared error in its own spreads, of two free numbers


def plane_of_photo(photo: Photo, found: FoundCard) -> Plane:
    """Give the map between pixels and inches in the card's frame."""
    lens = lens_of_edges(photo.pixels, focal_35mm=photo.focal_35mm)
    return fit_plane(found, photo.pixels.shape[:2], lens=lens)


def plane_by_sheet(photo: Photo, sheet: KnownSheet) -> tuple[FoundSheet, Plane]:
    """Find the one thing that is such a sheet or card, and the map in its frame.

    Raises
    ------
    CardNotFoundError, CardsDisagreeError
        If nothing has its shape as the table lies, or several things have.
    """
    lens = lens_of_edges(photo.pixels, focal_35mm=photo.focal_35mm)
    size_px = photo.pixels.shape[0], photo.pixels.shape[1]
    found = find_sheets(photo.pixels_srgb, sheet)
    planes = [(one, sheet_plane(one, size_px, lens=lens)) for one in found]
    fits = [(one, plane) for one, plane in planes if plane.misfit < _FITS]
    if not fits:
        raise no_such_sheet(sheet)
    if len(fits) > 1:
        raise several_sheets(sheet, len(fits))
    return fits[0]
