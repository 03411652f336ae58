"""An invented stash photographed into a store, a photo at a time, for whoever tries things out."""

from __future__ import annotations

from collections.abc import Iterator

from stash.colour.palette_words import palette_of_words
from stash.demo.scene import render_scene
from stash.demo.tidewater import PALETTE_NAME, PALETTE_WORDS, demo_photos
from stash.photo.cards.card import chart24
from stash.usecases.photos.add_photo import LogOptions, PhotoOutcome, log_photo
from stash.usecases.ports import Document, Store

__all__ = ["photograph_practice_stash"]

_CARD = "practice chart"


def photograph_practice_stash(store: Store) -> Iterator[PhotoOutcome]:
    """Log the photos of the invented stash one after the other, the same every time.

    Its card and its palette are there from the first photo on.

    Raises
    ------
    StorageError
        If the store cannot be written.
    """
    photos = demo_photos()
    card = chart24(_CARD, pitch_in=photos[0].spec.pitch_in)
    store.keep_document(Document("card", card.name, card.to_body()), why="the practice card")
    palette = palette_of_words(PALETTE_NAME, PALETTE_WORDS)
    store.keep_document(
        Document("palette", palette.name, palette.to_dict()), why="the practice palette"
    )
    for photo in photos:
        data = render_scene(photo.spec, seed=photo.seed).jpeg()
        options = LogOptions(place=photo.place, washed=True)
        yield log_photo(store, data, file_name=photo.name, cards=(card,), options=options)
