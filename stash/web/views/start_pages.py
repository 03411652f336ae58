"""The first minutes: an invented stash to try, our own card printed, thrown away again."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import StashError
from stash.usecases.photos.add_photo import PhotoOutcome
from stash.usecases.photos.manage_cards import add_printed, cards
from stash.web.door.forms import Form
from stash.web.page_tools import Page, PageTools, back_to
from stash.web.views.papers import asked_paper, pdf_response

__all__ = ["PAGES"]

_CARD = "our printed card"


def _try(tools: PageTools, _request: Request, _form: Form) -> Response:
    # It loads what renders scenes.
    from stash.usecases.photos.practice_stash import photograph_practice_stash

    own = tools.store
    tools.store = tools.practice.begin(own)
    photos = photograph_practice_stash(tools.store)
    try:
        with tools.measuring:
            first = next(photos)
    except BaseException:
        _back(tools)
        raise
    rest = threading.Thread(target=_go_on, args=(tools, photos), name="practice", daemon=True)
    rest.start()
    return back_to(f"/photo/{first.sha256}", said="practice")


def _go_on(tools: PageTools, photos: Iterator[PhotoOutcome]) -> None:
    """Log the other photos beside the pages; thrown away meanwhile, it ends."""
    with contextlib.suppress(StashError, OSError):
        while tools.practice.going:
            with tools.measuring:
                if next(photos, None) is None:
                    return


def _end(tools: PageTools, _request: Request, _form: Form) -> Response:
    _back(tools)
    return back_to("/", said="own")


def _back(tools: PageTools) -> None:
    own = tools.practice.end()
    if own is not None:
        tools.store = own


def _our_card(tools: PageTools, request: Request, form: Form) -> Response:
    """Register our printed card, its inks not yet measured, and send it to be printed."""
    if not any(card.kind == "printed" for card in cards(tools.store)):
        add_printed(tools.store, _CARD)
    return back_to(
        "/cards/our-card.pdf", paper=form.text("paper") or asked_paper(request, tools).name
    )


def _card_pdf(tools: PageTools, request: Request) -> Response:
    from stash.drawing.card_sheet import card_sheet_pdf  # loads OpenCV

    data = card_sheet_pdf(asked_paper(request, tools).name)
    return pdf_response(request, data, "reference card")


PAGES = (
    Page("/practice", send=_try),
    Page("/practice/end", send=_end),
    Page("/cards/print", send=_our_card),
    Page("/cards/our-card.pdf", look=_card_pdf),
)
