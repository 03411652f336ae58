"""Photographs into the stash: send them, watch them being measured, look at what was found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stash.errors import MeasureError, NotFoundError
from stash.scrap import LoggedPhoto, Scrap
from stash.usecases.photos.add_photo import LogOptions, PhotoOutcome, cards_to_use, log_photo
from stash.usecases.photos.mark_scrap import find_scrap, mark_scrap
from stash.usecases.scraps.correct_scraps import Correction, correct_scrap
from stash.web.door.forms import Form, SentFile
from stash.web.page_tools import Page, PageTools, back_to, wants_json
from stash.web.shown.photo_drawing import outlines_on_photo
from stash.web.shown.tiles import tiles_of_photo
from stash.web.views.corners import corners_of_text
from stash.web.views.papers import paper_of
from stash.web.views.pictures import photo_size_px
from stash.web.views.twin_pages import groups_of_scraps

if TYPE_CHECKING:
    from stash.photo.cards.card import Card

__all__ = ["PAGES"]

_LONGEST_PLACE = 200


@dataclass(frozen=True, slots=True)
class _How:
    """What is the same for all photos of one form."""

    cards: Sequence[Card]
    options: LogOptions


def _ask(tools: PageTools, request: Request) -> Response:
    cards = [document.name for document in tools.store.documents("card")]
    places = sorted({scrap.place for scrap in tools.store.scraps() if scrap.place})
    photos = list(reversed(tools.store.photos()))[:12]
    values = {
        "cards": list(reversed(cards)),
        "places": places,
        "photos": photos,
        "paper": paper_of(request, tools),
    }
    return tools.page(request, "photograph.html", values)


def _take(tools: PageTools, request: Request, form: Form) -> Response:
    options = LogOptions(
        place=form.text("place")[:_LONGEST_PLACE],
        washed=bool(form.text("washed")),
    )
    how = _How(cards_to_use(tools.store, form.text("card") or None), options)
    outcomes = [_log(tools, file, how) for file in form.files]
    if wants_json(request):
        return JSONResponse({"photos": [_body(tools, outcome) for outcome in outcomes]})
    only = outcomes[0] if len(outcomes) == 1 else None
    if only is not None and only.status != "refused":
        return back_to(f"/photo/{only.sha256}")
    return back_to("/photographed", run=tools.keep_run(outcomes))


def _log(tools: PageTools, file: SentFile, how: _How) -> PhotoOutcome:
    """Log one photo; only one is measured at a time, so that pages stay quick meanwhile."""
    with tools.measuring:
        data = file.read()
        return log_photo(
            tools.store, data, file_name=file.label, cards=how.cards, options=how.options
        )


def _body(tools: PageTools, outcome: PhotoOutcome) -> dict[str, Any]:
    return {
        "file": outcome.file,
        "status": outcome.status,
        "reason": outcome.reason,
        "scraps": len(outcome.scraps),
        "cut_off": outcome.cut_off,
        "address": f"/photo/{outcome.sha256}" if outcome.sha256 else "",
        **_drawing(tools, outcome),
    }


def _drawing(tools: PageTools, outcome: PhotoOutcome) -> dict[str, Any]:
    """Give what the sender draws at once: the photo's size and the outlines in its pixels."""
    photo = tools.store.photo(outcome.sha256) if outcome.sha256 else None
    if photo is None or photo.view is None:
        return {"size_px": None, "outlines": []}
    outlines = outlines_on_photo(photo.view, outcome.scraps)
    return {
        "size_px": photo_size_px(tools, outcome.sha256),
        "outlines": [asdict(one) for one in outlines],
    }


def _run(tools: PageTools, request: Request) -> Response:
    outcomes = tools.run(request.query_params.get("run", ""))
    return tools.page(request, "photographed.html", {"outcomes": outcomes})


def _photo(tools: PageTools, request: Request) -> Response:
    photo = _known(tools, request)
    scraps = _scraps_of(tools, photo)
    values = {
        "photo": photo,
        "tiles": tiles_of_photo(tools.views(), photo.sha256),
        "places": sorted({one.place for one in tools.store.scraps() if one.place}),
        "outlines": outlines_on_photo(photo.view, scraps) if photo.view else [],
        "size_px": photo_size_px(tools, photo.sha256),
        "twins": groups_of_scraps(tools.store, [scrap.number for scrap in scraps]),
        "place": scraps[0].place if scraps and len({one.place for one in scraps}) == 1 else "",
    }
    return tools.page(request, "photo.html", values)


def _place(tools: PageTools, request: Request, form: Form) -> Response:
    photo = _known(tools, request)
    place = form.text("place")[:_LONGEST_PLACE]
    for scrap in _scraps_of(tools, photo):
        correct_scrap(tools.store, scrap.number, Correction(place=place))
    return back_to(f"/photo/{photo.sha256}", said="placed")


def _mark(tools: PageTools, request: Request, form: Form) -> Response:
    photo = _known(tools, request)
    corners = corners_of_text(form.text("corners"))
    with tools.measuring:
        mark_scrap(tools.store, photo.sha256, corners, hit_px=_pixels(form.text("hit")))
    return back_to(f"/photo/{photo.sha256}", said="marked")


def _find(tools: PageTools, request: Request, form: Form) -> Response:
    """Find the scrap round one spot that was tapped."""
    photo = _known(tools, request)
    spots = corners_of_text(form.text("spot"))
    if len(spots) != 1:
        raise MeasureError("Tap one spot inside the scrap.")
    with tools.measuring:
        found = find_scrap(tools.store, photo.sha256, spots[0])
    if wants_json(request):
        return JSONResponse({"scrap": found.number})
    return back_to(f"/photo/{photo.sha256}", said="marked")


def _pixels(text: str) -> float:
    """Read how far a corner may be off; what makes no sense counts as not said."""
    try:
        return float(text)
    except ValueError:
        return 0.0


def _known(tools: PageTools, request: Request) -> LoggedPhoto:
    sha256 = request.path_params["sha256"]
    photo = tools.store.photo(sha256)
    if photo is None:
        raise NotFoundError("photo", sha256[:12])
    return photo


def _scraps_of(tools: PageTools, photo: LoggedPhoto) -> list[Scrap]:
    return [scrap for scrap in tools.store.scraps() if scrap.photo == photo.sha256]


PAGES = (
    Page("/photograph", look=_ask, send=_take, photos=True),
    Page("/photographed", look=_run),
    Page("/photo/{sha256}", look=_photo),
    Page("/photo/{sha256}/place", send=_place),
    Page("/photo/{sha256}/mark", send=_mark),
    Page("/photo/{sha256}/find", send=_find),
)
