"""What every page works with: the stash, the settings, and how an answer is written."""

from __future__ import annotations

import threading
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeAlias
from urllib.parse import urlencode

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from stash.colour.spaces import Lab, hex_of_lab
from stash.errors import StashError
from stash.scrap import Scrap
from stash.units import (
    CM_PER_INCH,
    format_inches,
    length_words,
    round_down,
    said_size,
    size_words,
    with_unit,
)
from stash.usecases.photos.add_photo import PhotoOutcome
from stash.usecases.ports import Store
from stash.usecases.scraps.review_scraps import ScrapFilter, ScrapView, find_scraps
from stash.usecases.twins.one_cloth_questions import review
from stash.web.door.addresses import Door
from stash.web.door.forms import Form, Kept
from stash.web.door.pairing import Pairing, form_token, new_session
from stash.web.door.settings import WebSettings
from stash.web.practice import Practice
from stash.web.shown.picture_shelf import PictureShelf
from stash.web.shown.tiles import Tile, tiles_by_fabric
from stash.web.sizes_beside import SizesBeside
from stash.wording import counted

__all__ = [
    "Again",
    "Look",
    "Page",
    "PageTools",
    "Send",
    "back_to",
    "grey_of",
    "most_asked",
    "wants_json",
]

Look: TypeAlias = Callable[["PageTools", Request], Response]
Send: TypeAlias = Callable[["PageTools", Request, Form], Response]
Again: TypeAlias = Callable[["PageTools", Request, Kept], Response]

_RUNS_KEPT = 50
# What a page says after something was done; addresses carry the word, never the sentence.
_SAID = {
    "dropped": "Taken out of the stash. “Undo” brings it back.",
    "outline": "The outline is changed.",
    "joined": "Both are now one fabric.",
    "split": "This scrap is now a fabric of its own.",
    "placed": "It is noted.",
    "grain": "The grain is noted.",
    "stain": "No piece will be cut from there.",
    "unstained": "The whole cloth counts again.",
    "card": "The card is registered; photos are read with it from now on.",
    "named": "Its name is noted.",
    "undone": "The newest change is taken back.",
    "redone": "What was taken back is done again.",
    "marked": "The scrap is measured and kept. “Undo” takes it out again.",
    "palette": "The palette is kept.",
    "gone": "Taken away. “Undo” brings it back.",
    "quilt": "The quilt is kept.",
    "practice": "This is the invented stash: do what you like with it.",
    "own": "The invented stash is thrown away. This one is yours.",
    "phones": "Phones may come in now.",
    "nophones": "Phones are shut out. Those let in before are known when you let phones in again.",
    "forgotten": "That phone is let in no more.",
    "laid": "The layout is kept.",
    "copied": "This is the copy; change its plan here.",
    "aside": "The quilt is set aside; its scraps are free.",
    "taken-up": "The quilt is taken up again.",
    "spoilt": "The piece is noted as spoilt; another of its colour takes its place.",
    "spoilt-short": "The piece is noted as spoilt; nothing in the stash can take its place yet.",
    "surely": "That fabric is wished surely.",
    "never": "That fabric is wished never; what was chosen of it is let go.",
    "cloth-held": "That cloth is held for it.",
    "cloth-free": "The cloth is free again.",
    "cloth-cut": "What was cut is noted.",
    "allotted": "Scraps are set aside for this quilt.",
    "cut": "What was cut is noted.",
    "twins": "The answer is kept.",
}


def grey_of(lab: Lab) -> str:
    """Give the grey of the same lightness: what a value check shows."""
    return hex_of_lab((lab[0], 0.0, 0.0))


def _environment() -> jinja2.Environment:
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).parent / "pages"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["hex"] = lru_cache(4096)(hex_of_lab)  # a page shows the same colours again
    made.filters["grey"] = grey_of
    made.globals["counted"] = counted
    made.filters["query"] = lambda values: urlencode(values, doseq=True)
    return made


@dataclass(slots=True)
class PageTools:
    """One running page.

    Attributes
    ----------
    store : Store
        The stash.
    door : Door
        Where the page answers, and the phones that may come in.
    practice : Practice
        The invented stash, while somebody tries things out.
    shelf : PictureShelf
        Pictures drawn lately.
    photo_sizes : dict
        Height and width, pixels, of photos shown lately.
    sizes : SizesBeside
        Works out sizes beside the pages.
    measuring : threading.Lock
        Held while a photo is measured: one at a time, so that pages stay quick.
    """

    store: Store
    door: Door
    practice: Practice = field(default_factory=Practice)
    shelf: PictureShelf = field(default_factory=PictureShelf)
    photo_sizes: dict[str, tuple[int, int]] = field(default_factory=dict)
    sizes: SizesBeside = field(default_factory=SizesBeside)
    measuring: threading.Lock = field(default_factory=threading.Lock)
    _looking: threading.Lock = field(default_factory=threading.Lock)
    _seen: tuple[Sequence[Scrap], tuple[ScrapView, ...]] | None = None
    _tiled: tuple[tuple[ScrapView, ...], Mapping[int, Tile]] | None = None
    _runs: dict[str, tuple[PhotoOutcome, ...]] = field(default_factory=dict)
    _templates: jinja2.Environment = field(default_factory=_environment)

    @property
    def settings(self) -> WebSettings:
        """Where the page answers now."""
        return self.door.settings

    @property
    def pairing(self) -> Pairing:
        """The phones that may come in."""
        return self.door.pairing

    def views(self) -> tuple[ScrapView, ...]:
        """Give every scrap with its name and family; worked out anew only after a change."""
        with self._looking:
            scraps = self.store.scraps()
            if self._seen is None or self._seen[0] is not scraps:
                self._seen = (scraps, find_scraps(self.store, ScrapFilter()))
            return self._seen[1]

    def tiles(self) -> Mapping[int, Tile]:
        """Give a tile for each fabric, as ``tiles_by_fabric`` does; anew only after a change."""
        views = self.views()
        if self._tiled is None or self._tiled[0] is not views:
            self._tiled = (views, tiles_by_fabric(views))
        return self._tiled[1]

    def keep_run(self, outcomes: Sequence[PhotoOutcome]) -> str:
        """Remember what became of some photos, for the page shown next; gives its word."""
        word = new_session()
        self._runs[word] = tuple(outcomes)
        while len(self._runs) > _RUNS_KEPT:
            self._runs.pop(next(iter(self._runs)))
        return word

    def run(self, word: str) -> tuple[PhotoOutcome, ...]:
        """Give what became of those photos; nothing if it was long ago."""
        return self._runs.get(word, ())

    def page(
        self,
        request: Request,
        template: str,
        values: Mapping[str, Any] | None = None,
        *,
        status: int = 200,
    ) -> Response:
        """Write a page from a template; everything shown is escaped."""
        said = request.query_params.get("said", "")
        text = self._templates.get_template(template).render(
            token=form_token(request.state.session),
            here=request.url.path,
            said=_SAID.get(said, ""),
            undone=said == "undone",
            # A page that tells of a fault asks the stash nothing.
            waiting=self._waiting() if status < 500 else 0,
            lan=bool(self.settings.lan_address),
            practising=self.practice.going,
            tools=self,
            **(values or {}),
        )
        return HTMLResponse(text, status_code=status)

    def _waiting(self) -> int:
        """Count the groups that may be one cloth and wait for a look; 0 if that cannot be told."""
        try:
            return len(review(self.store).waiting)
        except StashError:
            return 0  # the page itself tells what is wrong with the stash

    def length(self, inches: float) -> str:
        """Write a length with its unit."""
        return length_words(inches, unit=self.settings.unit)

    def largest(self, inches: float) -> str:
        """Write a length that must not be overstated: down to a sixteenth, or to a millimetre."""
        if self.settings.unit == "cm":
            return self.length(round_down(inches * CM_PER_INCH, step=10) / CM_PER_INCH)
        return f"{format_inches(round_down(inches), step=16)} in"

    @property
    def per_unit(self) -> float:
        """Inches in one unit of bare numbers."""
        return 1 / CM_PER_INCH if self.settings.unit == "cm" else 1.0

    def error(self, inches: float) -> str:
        """Write an error with its unit, finer than a length."""
        cm = self.settings.unit == "cm"
        return f"{inches * CM_PER_INCH * 10:.0f} mm" if cm else f"{inches:.2f} in"

    def area(self, square_inches: float) -> str:
        """Write an area with its unit."""
        if self.settings.unit == "cm":
            return f"{square_inches * CM_PER_INCH**2:.0f} square centimetres"
        return f"{square_inches:.1f} square inches"

    def meant(self, text: str) -> str:
        """Give a size as it was typed, its unit written out."""
        return with_unit(text, self.settings.unit)

    def said(self, size: str) -> str:
        """Write a kept size in the unit chosen."""
        return said_size(size, unit=self.settings.unit)

    def size(self, width_in: float, height_in: float) -> str:
        """Write width by height with its unit."""
        return size_words(width_in, height_in, unit=self.settings.unit)


@dataclass(frozen=True, slots=True)
class Page:
    """One address and what answers there.

    Attributes
    ----------
    path : str
        The address.
    look, send : callable, optional
        Answers to GET and to POST.
    photos : bool
        Whether files are welcome.
    again : callable, optional
        Shows a form that could not be taken once more, with everything typed in it.
    fields : mapping
        By kind of problem, the field it belongs to.
    """

    path: str
    look: Look | None = None
    send: Send | None = None
    photos: bool = False
    again: Again | None = None
    fields: Mapping[type[StashError], str] = field(default_factory=dict)

    def kept(self, form: Form, trouble: StashError) -> Kept:
        """Give what was typed, with the reason at its field."""
        at = next((name for kind, name in self.fields.items() if isinstance(trouble, kind)), "")
        return Kept(form, trouble.plain, at)


def most_asked(request: Request, usual: int) -> int:
    """Give how many lines of a long list are to be shown."""
    text = request.query_params.get("most", "")
    return int(text) if text.isascii() and text.isdigit() and 0 < len(text) < 6 else usual


def back_to(path: str, said: str = "", **values: str | int) -> Response:
    """Send the browser to a page after something was done, so that reloading repeats nothing."""
    query = {**{name: str(value) for name, value in values.items()}, "said": said}
    kept = {name: value for name, value in query.items() if value}
    return RedirectResponse(f"{path}?{urlencode(kept)}" if kept else path, status_code=303)


def wants_json(request: Request) -> bool:
    """Whether a script of ours asked."""
    return "application/json" in request.headers.get("accept", "")


def problem(tools: PageTools, request: Request, text: str, status: int) -> Response:
    """Say in one sentence why something was not done."""
    if wants_json(request):
        return JSONResponse({"problem": text}, status_code=status)
    return tools.page(request, "problem.html", {"text": text, "status": status}, status=status)


Handler: TypeAlias = Callable[[Request], Awaitable[Response]]
