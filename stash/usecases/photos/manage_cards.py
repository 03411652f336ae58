"""Registering reference cards and choosing the one a photo is read with."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stash.colour.spaces import linear_of_lab
from stash.errors import CardNotFoundError, MeasureError
from stash.photo.cards.card import Card, card_of, chart24, sheet_card
from stash.photo.cards.card_finding import find_card
from stash.photo.cards.chart_values import AVERAGE, PUBLISHED, read_values
from stash.photo.cards.printed_card import CHECK_LINE_IN, printed_card
from stash.photo.files.reading import read_photo
from stash.photo.light.calibration import calibrate
from stash.photo.light.learning import learn_alone, learn_beside
from stash.usecases.ports import Document, Store

__all__ = [
    "add_chart",
    "add_printed",
    "add_sheet",
    "cards",
    "cards_for_photo",
    "keep_card",
    "learn_chart",
    "learn_printed",
]

_KIND = "card"
_LEAST_PITCH_IN, _MOST_PITCH_IN = 0.1, 6.0  # the smallest pocket charts to poster size
# Farther off than this a page was fitted to another paper (judgement); room for binary rounding.
_OTHER_SIZE = 0.2 + 1e-9


def add_chart(store: Store, name: str, pitch_in: float, *, values: str = AVERAGE) -> Card:
    """Register a 24-patch chart by the inches between neighbouring patch centres.

    Parameters
    ----------
    values : str
        What its squares are said to be: a word of ``PUBLISHED``, or the text of a file; see
        ``chart_values.read_values``.

    Raises
    ------
    MeasureError
        If no chart has that distance, or the values are none.
    """
    if not _LEAST_PITCH_IN <= pitch_in <= _MOST_PITCH_IN:
        raise MeasureError(
            f"A distance of {pitch_in:g} in between patch centres fits no chart. Measure with a "
            "ruler from the middle of one square to the middle of the next; measuring over five "
            "squares and dividing by five is more exact."
        )
    if values in PUBLISHED:
        card = chart24(name, pitch_in, values=values)
    else:
        card = chart24(name, pitch_in, values="file", patch_linear=read_values(values))
    keep_card(store, card)
    return card


def add_sheet(store: Store, name: str, kind: str) -> Card:
    """Register a sheet of paper or a bank card to measure by where no reference card is at hand."""
    card = sheet_card(name, kind)
    keep_card(store, card)
    return card


def learn_chart(
    store: Store, name: str, photos: Sequence[tuple[str, bytes]], *, pitch_in: float, beside: str
) -> tuple[Card, float]:
    """Measure a 24-patch chart from photos, beside a known one or alone.

    Parameters
    ----------
    photos : sequence of (file name, bytes)
        Each shows the chart; the squares are averaged over them.
    beside : str
        Name of the registered card that lies beside it; empty makes the chart, alone, the stash's
        own reference: colours then agree between photos and are not said to be true.

    Returns
    -------
    card : Card
        With measured colours, registered.
    error_de00 : float
        How far the squares that the colours were read by came out from their values, CIEDE2000.

    Raises
    ------
    NotFoundError
        If the known card is not registered.
    PhotoError
        If a photo does not show what it should.
    """
    shape = chart24(name, pitch_in)
    known = card_of(beside, store.document(_KIND, beside).body) if beside else None
    labs, errors = [], []
    for file_name, data in photos:
        pixels = read_photo(data, name=file_name).pixels
        learnt = learn_alone(pixels, shape) if known is None else learn_beside(pixels, shape, known)
        labs.append(learnt.lab)
        errors.append(learnt.error_de00)
    card = chart24(
        name,
        pitch_in,
        values="own" if known is None else "learnt",
        patch_linear=linear_of_lab(np.mean(labs, axis=0)),
        absolute=known is not None and known.absolute,
    )
    keep_card(store, card)
    return card, float(np.mean(errors))


def add_printed(store: Store, name: str, *, check_line_in: float = CHECK_LINE_IN) -> Card:
    """Register a printed card whose inks are not measured: consistent, not absolute.

    Raises
    ------
    MeasureError
        If the printed check line is so far off that the page was fitted to another size.
    """
    if abs(check_line_in / CHECK_LINE_IN - 1) > _OTHER_SIZE:
        raise MeasureError(
            f"A check line of {check_line_in:g} in is far from 6 in. Print the card again at 100 % "
            "(“actual size”) and measure its line."
        )
    card = printed_card(name, check_line_in=check_line_in)
    keep_card(store, card)
    return card


def learn_printed(
    store: Store,
    name: str,
    photo: bytes,
    *,
    file_name: str,
    check_line_in: float = CHECK_LINE_IN,
) -> tuple[Card, float]:
    """Measure a printed card from one photo of it beside a 24-patch chart.

    Returns
    -------
    card : Card
        With measured colours, registered.
    error_de00 : float
        What the chart's own patches were off by, CIEDE2000; the card is no truer than that.

    Raises
    ------
    PhotoError
        If either card cannot be read in the photo.
    """
    pixels = read_photo(photo, name=file_name).pixels
    calibration = calibrate(find_card(pixels, [chart24("chart", 1.0)]))
    found = find_card(pixels, [printed_card(name, check_line_in=check_line_in)])
    linear = calibration.linear_of(found.patch_srgb)
    card = printed_card(name, check_line_in=check_line_in, patch_linear=linear)
    keep_card(store, card)
    return card, calibration.error_de00


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
            "No reference card is registered yet. Register yours first.",
            at_terminal="For example: stash card add pocket --kind chart24 --pitch 0.55 (inches "
            "between the middles of two squares).",
        )
    return known[::-1]
