"""The plane of the table from all a photo tells: card, straight edges, focal length."""

from __future__ import annotations

from stash.photo.cards.card import FoundCard
from stash.photo.files.reading import Photo
from stash.photo.inches.plane import Plane, fit_plane
from stash.photo.inches.straight_edges import lens_of_edges

__all__ = ["plane_of_photo"]


def plane_of_photo(photo: Photo, found: FoundCard) -> Plane:
    """Give the map between pixels and inches in the card's frame."""
    lens = lens_of_edges(photo.pixels_srgb, focal_35mm=photo.focal_35mm)
    return fit_plane(found, photo.pixels_srgb.shape[:2], lens=lens)
