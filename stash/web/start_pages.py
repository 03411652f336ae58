"""The first minutes: an invented stash to try, our own card printed, thrown away again."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import StashError
from stash.usecases.add_photo import PhotoOutcome
from stash.usecases.manage_cards import add_printed, cards
from stash.web.desk import Desk, Page, back_to
from stash.web.forms import Form
from stash.web.papers import asked_paper, pdf_response

__all__ = ["PAGES"]

_CARD = "our printed card"


def _try(desk: Desk, _request: Request, _form: Form) -> Response:
    # It loads what renders scenes.
    from stash.usecases.practice_stash import photograph_practice_stash  # noqa: PLC0415

    own = desk.store
    desk.store = desk.practice.begin(own)
    photos = photograph_practice_stash(desk.store)
    try:
        with desk.measuring:
            first = next(photos)
    except BaseException:
        _back(desk)
        raise
    rest = threading.Thread(target=_go_on, args=(desk, photos), name="practice", daemon=True)
    rest.start()
    return back_to(f"/photo/{first.sha256}", said="practice")


def _go_on(desk: Desk, photos: Iterator[PhotoOutcome]) -> None:
    """Log the other photos beside the pages; thrown away meanwhile, it ends."""
    with contextlib.suppress(StashError, OSError):
        while desk.practice.going:
            with desk.measuring:
                if next(photos, None) is None:
                    return


def _end(desk: Desk, _request: Request, _form: Form) -> Response:
    _back(desk)
    return back_to("/", said="own")


def _back(desk: Desk) -> None:
    own = desk.practice.end()
    if own is not None:
        desk.store = own


def _our_card(desk: Desk, request: Request, form: Form) -> Response:
    """Register our printed card, its inks not yet measured, and send it to be printed."""
    if not any(card.kind == "printed" for card in cards(desk.store)):
        add_printed(desk.store, _CARD)
    return back_to(
        "/cards/our-card.pdf", paper=form.text("paper") or asked_paper(request, desk).name
    )


def _card_pdf(desk: Desk, request: Request) -> Response:
    from stash.drawing.card_sheet import card_sheet_pdf  # noqa: PLC0415 - loads OpenCV

    data = card_sheet_pdf(asked_paper(request, desk).name)
    return pdf_response(request, data, "reference card")


PAGES = (
    Page("/practice", send=_try),
    Page("/practice/end", send=_end),
    Page("/cards/print", send=_our_card),
    Page("/cards/our-card.pdf", look=_card_pdf),
)
