"""Photographs into the stash: send them, watch them being measured, look at what was found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stash.errors import MeasureError, NotFoundError
from stash.scrap import LoggedPhoto, Scrap
from stash.usecases.add_photo import LogOptions, PhotoOutcome, cards_to_use, log_photo
from stash.usecases.correct_scraps import Correction, correct_scrap
from stash.usecases.mark_scrap import find_scrap, mark_scrap
from stash.web.corners import corners_of_text
from stash.web.desk import Desk, Page, back_to, wants_json
from stash.web.forms import Form, SentFile
from stash.web.papers import paper_of
from stash.web.photo_drawing import outlines_on_photo
from stash.web.pictures import photo_size_px
from stash.web.tiles import tiles_of_photo
from stash.web.twin_pages import groups_of_scraps

if TYPE_CHECKING:
    from stash.photo.cards.card import Card

__all__ = ["PAGES"]

_LONGEST_PLACE = 200


@dataclass(frozen=True, slots=True)
class _How:
    """What is the same for all photos of one form."""

    cards: Sequence[Card]
    options: LogOptions


def _ask(desk: Desk, request: Request) -> Response:
    cards = [document.name for document in desk.store.documents("card")]
    places = sorted({scrap.place for scrap in desk.store.scraps() if scrap.place})
    photos = list(reversed(desk.store.photos()))[:12]
    values = {
        "cards": list(reversed(cards)),
        "places": places,
        "photos": photos,
        "paper": paper_of(request, desk),
    }
    return desk.page(request, "photograph.html", values)


def _take(desk: Desk, request: Request, form: Form) -> Response:
    options = LogOptions(
        place=form.text("place")[:_LONGEST_PLACE],
        washed=bool(form.text("washed")),
    )
    how = _How(cards_to_use(desk.store, form.text("card") or None), options)
    outcomes = [_log(desk, file, how) for file in form.files]
    if wants_json(request):
        return JSONResponse({"photos": [_body(desk, outcome) for outcome in outcomes]})
    only = outcomes[0] if len(outcomes) == 1 else None
    if only is not None and only.status != "refused":
        return back_to(f"/photo/{only.sha256}")
    return back_to("/photographed", run=desk.keep_run(outcomes))


def _log(desk: Desk, file: SentFile, how: _How) -> PhotoOutcome:
    """Log one photo; only one is measured at a time, so that pages stay quick meanwhile."""
    with desk.measuring:
        data = file.read()
        return log_photo(
            desk.store, data, file_name=file.label, cards=how.cards, options=how.options
        )


def _body(desk: Desk, outcome: PhotoOutcome) -> dict[str, Any]:
    return {
        "file": outcome.file,
        "status": outcome.status,
        "reason": outcome.reason,
        "scraps": len(outcome.scraps),
        "cut_off": outcome.cut_off,
        "address": f"/photo/{outcome.sha256}" if outcome.sha256 else "",
        **_drawing(desk, outcome),
    }


def _drawing(desk: Desk, outcome: PhotoOutcome) -> dict[str, Any]:
    """Give what the sender draws at once: the photo's size and the outlines in its pixels."""
    photo = desk.store.photo(outcome.sha256) if outcome.sha256 else None
    if photo is None or photo.view is None:
        return {"size_px": None, "outlines": []}
    outlines = outlines_on_photo(photo.view, outcome.scraps)
    return {
        "size_px": photo_size_px(desk, outcome.sha256),
        "outlines": [asdict(one) for one in outlines],
    }


def _run(desk: Desk, request: Request) -> Response:
    outcomes = desk.run(request.query_params.get("run", ""))
    return desk.page(request, "photographed.html", {"outcomes": outcomes})


def _photo(desk: Desk, request: Request) -> Response:
    photo = _known(desk, request)
    scraps = _scraps_of(desk, photo)
    values = {
        "photo": photo,
        "tiles": tiles_of_photo(desk.views(), photo.sha256),
        "places": sorted({one.place for one in desk.store.scraps() if one.place}),
        "outlines": outlines_on_photo(photo.view, scraps) if photo.view else [],
        "size_px": photo_size_px(desk, photo.sha256),
        "twins": groups_of_scraps(desk.store, [scrap.number for scrap in scraps]),
        "place": scraps[0].place if scraps and len({one.place for one in scraps}) == 1 else "",
    }
    return desk.page(request, "photo.html", values)


def _place(desk: Desk, request: Request, form: Form) -> Response:
    photo = _known(desk, request)
    place = form.text("place")[:_LONGEST_PLACE]
    for scrap in _scraps_of(desk, photo):
        correct_scrap(desk.store, scrap.number, Correction(place=place))
    return back_to(f"/photo/{photo.sha256}", said="placed")


def _mark(desk: Desk, request: Request, form: Form) -> Response:
    photo = _known(desk, request)
    corners = corners_of_text(form.text("corners"))
    with desk.measuring:
        mark_scrap(desk.store, photo.sha256, corners, hit_px=_pixels(form.text("hit")))
    return back_to(f"/photo/{photo.sha256}", said="marked")


def _find(desk: Desk, request: Request, form: Form) -> Response:
    """Find the scrap round one spot that was tapped."""
    photo = _known(desk, request)
    spots = corners_of_text(form.text("spot"))
    if len(spots) != 1:
        raise MeasureError("Tap one spot inside the scrap.")
    with desk.measuring:
        found = find_scrap(desk.store, photo.sha256, spots[0])
    if wants_json(request):
        return JSONResponse({"scrap": found.number})
    return back_to(f"/photo/{photo.sha256}", said="marked")


def _pixels(text: str) -> float:
    """Read how far a corner may be off; what makes no sense counts as not said."""
    try:
        return float(text)
    except ValueError:
        return 0.0


def _known(desk: Desk, request: Request) -> LoggedPhoto:
    sha256 = request.path_params["sha256"]
    photo = desk.store.photo(sha256)
    if photo is None:
        raise NotFoundError("photo", sha256[:12])
    return photo


def _scraps_of(desk: Desk, photo: LoggedPhoto) -> list[Scrap]:
    return [scrap for scrap in desk.store.scraps() if scrap.photo == photo.sha256]


PAGES = (
    Page("/photograph", look=_ask, send=_take, photos=True),
    Page("/photographed", look=_run),
    Page("/photo/{sha256}", look=_photo),
    Page("/photo/{sha256}/place", send=_place),
    Page("/photo/{sha256}/mark", send=_mark),
    Page("/photo/{sha256}/find", send=_find),
)
