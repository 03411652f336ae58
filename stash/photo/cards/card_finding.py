"""Finding the reference cards in a photo: the one its colours are read from, and any others."""

from __future__ import annotations

from collections.abc import Sequence

from stash.errors import PhotoError
from stash.photo.cards.card import Card, FoundCard, chart24
from stash.photo.cards.chart_finding import ChartSearch, read_chart, search_charts
from stash.photo.cards.patch_order import PatchOrder
from stash.photo.cards.printed_card import find_markers
from stash.photo.cards.printed_finding import read_printed_cards
from stash.photo.cards.quality import check_found, why_no_card
from stash.photo.files.reading import PixelsU8

__all__ = ["find_card", "find_cards"]

_BESIDE_PX = (1000,)  # one look for a chart that lies beside a printed card


def find_card(pixels_srgb: PixelsU8, cards: Sequence[Card] = ()) -> FoundCard:
    """Find the registered card of a photo that its colours are read from; see `find_cards`."""
    return find_cards(pixels_srgb, cards)[0]


def find_cards(pixels_srgb: PixelsU8, cards: Sequence[Card] = ()) -> tuple[FoundCard, ...]:
    """Find the registered cards in a photo.

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        An upright photo.
    cards : sequence of Card
        The cards that may lie there, the likeliest first.

    Returns
    -------
    tuple of FoundCard
        First the one colours are read from: one whose colours were measured before one whose
        were not, the largest in the photo of several charts. Then what else was read.

    Raises
    ------
    CardNotFoundError
        If no card is seen; one of its leaves if a part of the card is hidden, outside the photo
        or in glare, if it is seen as in a mirror, or is a card of another order. Of several
        cards one that can be read is enough.
    """
    wanted = list(cards) or [chart24("chart", 1.0)]
    printed = [card for card in wanted if card.kind == "printed"]
    charts = [card for card in wanted if card.kind == "chart24"]
    markers = find_markers(pixels_srgb) if printed else []
    if not markers:
        return _charts(pixels_srgb, charts)
    beside = search_charts(pixels_srgb, copies_px=_BESIDE_PX) if charts else ChartSearch((), ())
    found = _further(pixels_srgb, beside.orders, charts)
    try:
        prints = read_printed_cards(pixels_srgb, markers, printed[0])
        check_found(prints[0])
    except PhotoError:
        if not found:
            raise
        return found
    return tuple(sorted((*prints, *found), key=lambda card: not card.card.absolute))


def _charts(pixels: PixelsU8, charts: Sequence[Card]) -> tuple[FoundCard, ...]:
    if not charts:
        raise why_no_card(pixels)
    search = search_charts(pixels)
    if not search.orders:
        raise search.why_none(pixels)
    orders = sorted(search.orders, key=lambda order: -order.size_px)
    found = _further(pixels, orders, charts)
    return found or (read_chart(pixels, orders[0], charts[0]),)  # which says what is wrong


def _further(
    pixels: PixelsU8, orders: Sequence[PatchOrder], charts: Sequence[Card]
) -> tuple[FoundCard, ...]:
    """Read the charts that can be read; what is wrong with another one spoils nothing."""
    found = []
    for order in orders:
        try:
            found.append(read_chart(pixels, order, charts[0]))
        except PhotoError:
            continue
    return tuple(found)
