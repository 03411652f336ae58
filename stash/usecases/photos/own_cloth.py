"""Do I own this? Cloth on a photo against the stash; nothing is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from stash.errors import PhotoError
from stash.usecases.photos.add_photo import LogOptions, PhotoOutcome, measure
from stash.usecases.ports import Store
from stash.usecases.twins.same_fabric import OwnAnswer, own_photo

if TYPE_CHECKING:
    from stash.photo.cards.card import Card

__all__ = ["OwnCloth", "own_cloth"]


@dataclass(frozen=True, slots=True)
class OwnCloth:
    """One cloth on a photo: what the stash says to it, and a picture of it (JPEG)."""

    answer: OwnAnswer
    picture_jpeg: bytes = field(repr=False)


def own_cloth(
    store: Store, data: bytes, *, file_name: str, cards: Sequence[Card]
) -> tuple[OwnCloth, ...]:
    """Say of every cloth on a photo which fabrics of the stash it may be.

    Raises
    ------
    PhotoError
        If the photo cannot be measured; the text says what to do.
    """
    measured = measure(data, file_name=file_name, cards=cards, options=LogOptions())
    if isinstance(measured, PhotoOutcome):
        raise PhotoError(measured.reason)
    answers = own_photo(store, [scrap.appearance for scrap in measured.scraps])
    return tuple(
        OwnCloth(answer, scrap.picture_jpeg)
        for answer, scrap in zip(answers, measured.scraps, strict=True)
    )
