"""Palettes: made of words, cloth, colours or a photo, with the stash's verdicts beside them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response

from stash.colour.naming import FAMILIES
from stash.colour.palette import Amount, Palette
from stash.colour.palette_files import typical_lab
from stash.colour.spaces import hex_of_lab
from stash.colour.verdict import FabricVerdict, Verdict
from stash.errors import ChangedElsewhereError, NameTakenError, NotFoundError, PaletteError
from stash.usecases.matching.match_palette import clashes
from stash.usecases.palettes.manage_palettes import (
    PaletteChange,
    PaletteRequest,
    change_palette,
    compose_palette,
    forget_palette,
    make_palette,
    palette_named,
    palettes,
)
from stash.usecases.ports import Store
from stash.usecases.quilts.suggestions import free_name, name_of_palette
from stash.web.door.forms import Form, Kept
from stash.web.page_tools import Page, PageTools, back_to, most_asked
from stash.web.shown.tiles import Tile, tiles_by_fabric

__all__ = ["PAGES", "Patch", "hopes_of", "patches_of"]

_HOPES_OF_ONE = 6
_WEIGHT = {Amount.MAIN: 4, Amount.SOME: 2, Amount.TOUCH: 1}
_AMOUNT_WORDS = {Amount.MAIN: "main", Amount.SOME: "some", Amount.TOUCH: "a touch"}
_LEAVES = "no more"
_LONGEST_NAME = 120
_SHOWN_OF_A_KIND = 12
_LINES_SHOWN = 60
_SHOWN_TO_PICK = 240


@dataclass(frozen=True, slots=True)
class Patch:
    """One wish of a palette: its name, how much of it, and hex colours to show it by."""

    name: str
    amount: str
    fills: tuple[str, ...]
    weight: int


def patches_of(palette: Palette) -> list[Patch]:
    """Give what a palette welcomes, for drawing."""
    families = [
        Patch(
            f"{wanted.value} {wanted.family}".strip(),
            _AMOUNT_WORDS[wanted.amount],
            _family_fills(wanted.family, wanted.value),
            _WEIGHT[wanted.amount],
        )
        for wanted in palette.families
    ]
    shades: dict[tuple[str, Amount], list[str]] = {}
    for target in palette.targets:
        shades.setdefault((target.label, target.amount), []).append(hex_of_lab(target.lab))
    targets = [
        Patch(name, _AMOUNT_WORDS[amount], tuple(fills), _WEIGHT[amount])
        for (name, amount), fills in shades.items()
    ]
    return [*families, *targets]


def hopes_of(store: Store, name: str) -> tuple[str, ...]:
    """Give hex colours of a palette, each as often as much is wanted of it; none without one."""
    try:
        patches = patches_of(palette_named(store, name)) if name else []
    except NotFoundError:
        return ()
    return tuple(
        fill
        for patch in patches
        for fill in patch.fills
        for _ in range(max(1, _HOPES_OF_ONE * patch.weight // len(patch.fills)))
    )


def _family_fills(family: str, value: str) -> tuple[str, ...]:
    values = (value,) if value else ("dark", "medium", "light")
    return tuple(dict.fromkeys(hex_of_lab(typical_lab(family, one)) for one in values))


@dataclass(frozen=True, slots=True)
class _Fields:
    """What a palette form holds, however it came."""

    texts: Mapping[str, Sequence[str]]

    def request(self, photo: bytes = b"", photo_name: str = "the photo") -> PaletteRequest:
        """Give what the form asks for, with the photo that came with it."""
        return PaletteRequest(
            name=self._one("name")[:_LONGEST_NAME],
            words=self._one("words"),
            colours=tuple(self._colours()),
            scraps=tuple(
                int(text)
                for text in self.texts.get("scrap", ())
                if text.isascii() and text.isdigit() and len(text) < 10
            ),
            without=tuple(word for word in self.texts.get("without", ()) if word),
            neutrals=self._one("no_neutrals") == "",
            photo=photo,
            photo_name=photo_name,
        )

    def _one(self, name: str) -> str:
        values = self.texts.get(name, ())
        return values[-1].strip() if values else ""

    def _colours(self) -> list[str]:
        return self._one("colours").replace(",", " ").split()


def _list(tools: PageTools, request: Request) -> Response:
    shown = [(palette, patches_of(palette)) for palette in palettes(tools.store)]
    return tools.page(request, "palettes.html", {"palettes": shown})


def _new(tools: PageTools, request: Request) -> Response:
    return _form(tools, request, Kept())


def _form(tools: PageTools, request: Request, kept: Kept) -> Response:
    tiles = list(tiles_by_fabric(tools.views()).values())[:_SHOWN_TO_PICK]
    return tools.page(
        request, "palette_new.html", {"kept": kept, "families": FAMILIES, "tiles": tiles}
    )


def _make(tools: PageTools, _request: Request, form: Form) -> Response:
    photo = form.files[0] if form.files else None
    fields = _Fields(form.fields)
    asked = fields.request(photo.read(), photo.label) if photo else fields.request()
    if not asked.name:
        composed = compose_palette(tools.store, replace(asked, name="palette"))
        asked = replace(asked, name=free_name(tools.store, "palette", name_of_palette(composed)))
    if not form.text("replace") and asked.name in {one.name for one in palettes(tools.store)}:
        raise NameTakenError("palette", asked.name)
    palette = make_palette(tools.store, asked)
    return back_to("/palette", name=palette.name, said="palette")


def _preview(tools: PageTools, request: Request) -> Response:
    try:
        palette = compose_palette(tools.store, _Fields(_lists(request.query_params)).request())
    except PaletteError as problem:
        return tools.page(request, "palette_preview.html", {"problem": problem.plain})
    values = {"problem": "", "patches": patches_of(palette), **_verdicts(tools, palette)}
    return tools.page(request, "palette_preview.html", values)


def _lists(query: QueryParams) -> dict[str, list[str]]:
    # A palette looked at before it is kept needs no name of its own.
    return {**{name: query.getlist(name) for name in query}, "name": ["preview"]}


def _palette(tools: PageTools, request: Request) -> Response:
    palette = palette_named(tools.store, request.query_params.get("name", ""))
    values = {
        "palette": palette,
        "patches": patches_of(palette),
        "amounts": [*_AMOUNT_WORDS.values(), _LEAVES],
        "families": (*FAMILIES, *(name for name in palette.ruled_out if name not in FAMILIES)),
        "mark": _mark(palette),
        **_verdicts(tools, palette),
    }
    return tools.page(request, "palette.html", values)


def _change(tools: PageTools, _request: Request, form: Form) -> Response:
    """Take a palette's form: amounts one by one, what leaves it, what comes, what is ruled out."""
    palette = palette_named(tools.store, form.text("name"))
    if form.text("was") != _mark(palette):
        raise ChangedElsewhereError(f"the palette “{palette.name}”")
    before = {patch.name: patch.amount for patch in patches_of(palette)}
    wanted = dict(zip(form.texts("colour"), form.texts("amount"), strict=False))
    changed = {one: word for one, word in wanted.items() if before.get(one) not in (None, word)}
    amounts = {word: amount.value for amount, word in _AMOUNT_WORDS.items()}
    out = set(form.texts("without"))
    change = PaletteChange(
        add=form.text("add"),
        drop=tuple(one for one, word in changed.items() if word == _LEAVES),
        amounts={one: amounts[word] for one, word in changed.items() if word in amounts},
        without=tuple(family for family in FAMILIES if family in out - set(palette.without)),
        allow=tuple(name for name in palette.ruled_out if name not in out),
    )
    if change != PaletteChange():
        change_palette(tools.store, palette.name, change)
    return back_to("/palette", name=palette.name, said="palette")


def _mark(palette: Palette) -> str:
    """Tell a palette from itself after a change."""
    return hashlib.sha256(repr(palette).encode()).hexdigest()[:16]


def _clash(tools: PageTools, request: Request) -> Response:
    palette = palette_named(tools.store, request.query_params.get("palette", ""))
    tiles = tiles_by_fabric(tools.views())
    found = [(one, tiles[one.fabric]) for one in clashes(tools.store, palette)]
    values = {
        "palette": palette,
        "clashing": [pair for pair in found if pair[0].verdict == Verdict.CLASHES],
        "borderline": [pair for pair in found if pair[0].verdict == Verdict.BORDERLINE],
        "count": len(found),
        "most": most_asked(request, _LINES_SHOWN),
    }
    return tools.page(request, "clash.html", values)


def _verdicts(tools: PageTools, palette: Palette) -> dict[str, object]:
    """Give the fabrics of each verdict, best first, the first few of each to show."""
    tiles = tiles_by_fabric(tools.views())
    groups: dict[str, list[tuple[FabricVerdict, Tile]]] = {str(one): [] for one in Verdict}
    for one in reversed(clashes(tools.store, palette)):
        groups[str(one.verdict)].append((one, tiles[one.fabric]))
    return {"groups": groups, "shown": _SHOWN_OF_A_KIND}


def _forget(tools: PageTools, _request: Request, form: Form) -> Response:
    forget_palette(tools.store, form.text("name"))
    return back_to("/palettes", said="gone")


PAGES = (
    Page(
        "/palettes",
        look=_list,
        send=_make,
        photos=True,
        again=_form,
        fields={NameTakenError: "name", PaletteError: "words"},
    ),
    Page("/palettes/new", look=_new),
    Page("/palettes/preview", look=_preview),
    Page("/palettes/forget", send=_forget),
    Page("/palettes/change", send=_change),
    Page("/palette", look=_palette),
    Page("/clash", look=_clash),
)
