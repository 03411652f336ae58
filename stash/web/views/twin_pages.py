"""What may be one cloth, on the page: group after group, one tap each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import NotFoundError, TwinsError
from stash.scrap import TwinWord
from stash.usecases.ports import Store
from stash.usecases.twins.answer_twins import Answers, answer_twins
from stash.usecases.twins.one_cloth_questions import TwinGroup, review
from stash.usecases.twins.twin_pictures import level_square, one_scale_in
from stash.web.door.forms import Form
from stash.web.page_tools import Page, PageTools, back_to
from stash.web.views.pictures import picture_response, scrap_shown

__all__ = ["PAGES", "GroupShown", "groups_of_scraps", "groups_shown"]

_A_PAGE = 40
_MOST = 10_000  # scraps a form may name
_EIGHTHS = 8  # sides are given in eighths of an inch, so that addresses stay few


@dataclass(frozen=True, slots=True)
class ClothShown:
    """One scrap of a group: its photo and bin, and where its square is to be had, if anywhere."""

    number: int
    photo: str
    place: str
    address: str


@dataclass(frozen=True, slots=True)
class GroupShown:
    """One group: its scraps, and the inches of each that the squares show."""

    cloths: tuple[ClothShown, ...]
    side_in: float

    @property
    def numbers(self) -> str:
        """The scraps' numbers with spaces between."""
        return " ".join(str(cloth.number) for cloth in self.cloths)


def groups_shown(store: Store, groups: Iterable[TwinGroup]) -> list[GroupShown]:
    """Give groups as the page shows them."""
    scraps = {scrap.number: scrap for scrap in store.scraps()}
    photos = {photo.sha256: photo.file_name for photo in store.photos()}
    shown = []
    for group in groups:
        there = [scraps[number] for number in group.scraps if number in scraps]
        eighths = max(1, int(one_scale_in(there) * _EIGHTHS))
        cloths = tuple(
            ClothShown(
                scrap.number,
                photos.get(scrap.photo or "", ""),
                scrap.place,
                ""
                if scrap.picture is None
                else f"/twins/{scrap.number}/{eighths}.jpg?v={scrap.picture.sha256[:12]}",
            )
            for scrap in there
        )
        shown.append(GroupShown(cloths, eighths / _EIGHTHS))
    return shown


def groups_of_scraps(store: Store, scraps: Iterable[int]) -> list[GroupShown]:
    """Give the groups that wait and hold one of some scraps."""
    here = set(scraps)
    waiting = [one for one in review(store).waiting if not here.isdisjoint(one.scraps)]
    return groups_shown(store, waiting)


def _look(tools: PageTools, request: Request) -> Response:
    found = review(tools.store)
    values = {
        "groups": groups_shown(tools.store, found.waiting[:_A_PAGE]),
        "more": max(0, len(found.waiting) - _A_PAGE),
        "count": found.count,
        "answered": [one for one in found.answered if one.state != str(TwinWord.SAME)],
        # After an answer the keyboard stands on the next group: Enter answers it.
        "going_on": request.query_params.get("said") == "twins",
    }
    return tools.page(request, "twins.html", values)


def _answer(tools: PageTools, request: Request, form: Form) -> Response:  # noqa: ARG001
    group = _numbers(form.text("group"))
    chosen = _numbers(" ".join(form.texts("scrap")))
    try:
        word = TwinWord(form.text("answer"))
    except ValueError:
        raise TwinsError("Say same, different or not sure.") from None
    if word is not TwinWord.SAME:
        chosen = group
    if len(chosen) < 2:
        raise TwinsError("Tick at least two that are the same cloth.", scraps=group)
    sets = (chosen,)
    answers = {
        TwinWord.SAME: Answers(same=sets, as_seen=(group,)),
        TwinWord.DIFFERENT: Answers(different=_apart(tools, group), as_seen=(group,)),
        TwinWord.NOT_SURE: Answers(not_sure=sets, as_seen=(group,)),
    }[word]
    answer_twins(tools.store, answers)
    here = form.text("here")
    known = here if here.startswith(("/photo/", "/scrap/")) and here.count("/") == 2 else "/twins"
    return back_to(known, said="twins")


def _apart(tools: PageTools, group: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """Name one scrap of each fabric, so that sisters are not said to be different."""
    of_fabric: dict[int, int] = {}
    for scrap in tools.store.scraps():
        if scrap.number in group:
            of_fabric.setdefault(scrap.fabric, scrap.number)
    return (tuple(of_fabric.values()),)


def _numbers(text: str) -> tuple[int, ...]:
    return tuple(int(one) for one in text.split()[:_MOST] if one.isdecimal() and len(one) < 10)


def _square(tools: PageTools, request: Request) -> Response:
    scrap = scrap_shown(tools, request.path_params["number"])
    eighths = min(64, max(1, request.path_params["eighths"]))
    key = f"level {scrap.picture and scrap.picture.sha256} {scrap.outline.points} {eighths}"
    held = tools.shelf.get(key)
    if held is None:
        held = level_square(tools.store, scrap, eighths / _EIGHTHS)
        if not held:
            raise NotFoundError("picture", scrap.number)
        tools.shelf.put(key, held)
    return picture_response(held)


PAGES = (
    Page("/twins", look=_look, send=_answer),
    Page("/twins/{number:number}/{eighths:number}.jpg", look=_square),
)
