"""The picture of a photo: what was found on it, or why it was not logged."""

from __future__ import annotations

from stash.drawing.photo_picture import Outlined, draw_photo, draw_with_words
from stash.errors import NotFoundError
from stash.photo.cards.patch_candidates import find_squares, smaller_copy
from stash.photo.files.reading import read_photo
from stash.usecases.ports import Store

__all__ = ["photo_with_outlines", "refused_photo"]

_COPY_PX = 1000  # the size at which the card is looked for first


def photo_with_outlines(store: Store, sha256: str, *, unit: str = "in") -> bytes:
    """Draw a logged photo with its scraps' outlines, numbers, sizes and colours; JPEG.

    Raises
    ------
    NotFoundError
        If the photo was not logged, or logged before the table's place was kept with it.
    """
    logged = store.photo(sha256)
    if logged is None or logged.view is None:
        raise NotFoundError("photo", sha256[:12], at_terminal="Log it with: stash log PHOTO")
    photo = read_photo(store.picture(sha256), name=logged.file_name)
    scraps = [
        Outlined(f"#{scrap.number}", scrap.outline, scrap.appearance.colours)
        for scrap in store.scraps()
        if scrap.photo == sha256
    ]
    return draw_photo(photo.pixels_srgb, logged.view, scraps, unit=unit)


def refused_photo(data: bytes, *, name: str, reason: str) -> bytes:
    """Draw a photo that was refused: what looked like squares of a card, and the reason; JPEG.

    Raises
    ------
    PhotoError
        If the bytes are no picture that can be drawn on.
    """
    pixels = read_photo(data, name=name).pixels_srgb
    small, factor = smaller_copy(pixels, _COPY_PX)
    found = max(find_squares(small), key=len)
    squares = [
        (float(x) * factor, float(y) * factor, float(side) * factor)
        for (x, y), side in zip(found.centres_px, found.side_px, strict=True)
    ]
    return draw_with_words(pixels, reason, squares)
