"""Registering reference cards and choosing the one a photo is read with."""

from __future__ import annotations

from stash.errors import CardNotFoundError, MeasureError
from stash.photo.card import Card, card_of, chart24
from stash.usecases.ports import Document, Store

__all__ = ["add_chart", "cards", "cards_for_photo", "keep_card"]

_KIND = "card"
_LEAST_PITCH_IN, _MOST_PITCH_IN = 0.1, 6.0  # the smallest pocket charts to poster size


def add_chart(store: Store, name: str, pitch_in: float) -> Card:
    """Register a 24-patch chart by the inches between neighbouring patch centres.

    Raises
    ------
    MeasureError
        If no chart has that distance.
    """
    if not _LEAST_PITCH_IN <= pitch_in <= _MOST_PITCH_IN:
        raise MeasureError(
            f"A distance of {pitch_in:g} in between patch centres fits no chart. Measure with a "
            "ruler from the middle of one square to the middle of the next; measuring over five "
            "squares and dividing by five is more exact."
        )
    card = chart24(name, pitch_in)
    keep_card(store, card)
    return card


def keep_card(store: Store, card: Card) -> None:
    """Keep a card; it becomes the newest, which photos are read with."""
    if any(document.name == card.name for document in store.documents(_KIND)):
        store.delete_document(_KIND, card.name, why=f"card {card.name} registered again")
    store.keep_document(
        Document(_KIND, card.name, card.to_body()), why=f"card {card.name} registered"
    )


def cards(store: Store) -> list[Card]:
    """Give all registered cards, the newest last."""
    return [card_of(document.name, document.body) for document in store.documents(_KIND)]


def cards_for_photo(store: Store, name: str | None = None) -> list[Card]:
    """Give the cards a photo may show: the one named, or all with the newest first.

    Raises
    ------
    CardNotFoundError
        If none is registered.
    NotFoundError
        If there is none of that name.
    """
    if name is not None:
        document = store.document(_KIND, name)
        return [card_of(document.name, document.body)]
    known = cards(store)
    if not known:
        raise CardNotFoundError(
            "No reference card is registered yet. Register yours, for example: stash card add "
            "pocket --kind chart24 --pitch 0.55 (inches between the middles of two squares)."
        )
    return known[::-1]
