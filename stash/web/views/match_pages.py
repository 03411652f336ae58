"""What can go in a quilt: palette and piece against every fabric, near misses, the size curve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import PaletteError, StashError, TemplateError
from stash.shape.templates.template import Template, families
from stash.units import CM_PER_INCH
from stash.usecases.matching.match_palette import FabricMatch, MatchRequest, match, side_words
from stash.usecases.matching.size_curve import SizeStep, size_curve
from stash.usecases.palettes.manage_palettes import (
    PaletteRequest,
    make_palette,
    palette_named,
    palettes,
)
from stash.usecases.pieces.manage_templates import template_of
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import QuiltRequest
from stash.usecases.quilts.suggestions import free_name, largest_quilt, suggested_palettes
from stash.web.door.forms import Form
from stash.web.page_tools import Page, PageTools, back_to, most_asked
from stash.web.shown.tiles import Tile
from stash.wording import counted

__all__ = ["PAGES", "CurveDrawing", "shapes_of", "template_named"]

_ASKED = ("palette", "shape", "size", "needed", "grain")
_SHOWN = 24
_MOST_OF = 0.6
_FIRST_SHAPE = "square"
# A piece to begin with, and how the slider goes: judgement.
_FIRST_SIZE = {"in": "3 1/2", "cm": "9"}
_STEP = {"in": 0.25, "cm": 0.5}
_MOST_SIZE = {"in": 12, "cm": 30}
_OWN_FILES = (".json", ".svg")
_BAR = 0.84  # of the room each bar has
_LEAST_MARGIN = 2.0
_CLOTHS = 6

_NO_BREAK = "\u00a0"  # a space that keeps a number and its fraction on one line


def shapes_of(store: Store) -> list[str]:
    """Give the shapes to choose from: the library's, then those kept in this stash."""
    own = [document.name for document in store.documents("template")]
    return [*families(), *(name for name in own if not name.lower().endswith(_OWN_FILES))]


def template_named(store: Store, shape: str, size: str) -> Template:
    """Give a template by the name of its shape, never by a file's.

    Raises
    ------
    TemplateError
        If it is none of those to choose from, or the size makes no shape.
    """
    if shape not in shapes_of(store):
        raise TemplateError(
            f"“{shape[:60]}” is no shape to choose from." if shape else "Choose a shape first."
        )
    return template_of(store, shape, size=size or None)


@dataclass(frozen=True)
class CurveDrawing:
    """Bars of the size curve: the first has its middle at 0, the last at 100, as a slider goes."""

    steps: Sequence[SizeStep]
    asked_in: float
    high: int = 28

    @property
    def most(self) -> int:
        """The highest bar."""
        return max((step.belong + step.borderline for step in self.steps), default=0)

    @property
    def bars(self) -> list[tuple[float, float, float, float, SizeStep]]:
        """Left edge, width, height of what belongs, height of what is borderline, the step."""
        wide, each = self._pitch * _BAR, self.high / max(self.most, 1)
        return [
            (index * self._pitch - wide / 2, wide, step.belong * each, step.borderline * each, step)
            for index, step in enumerate(self.steps)
        ]

    @property
    def margin(self) -> float:
        """Room on both sides, so that the first and the last bar are whole."""
        return max(_LEAST_MARGIN, self._pitch * _BAR / 2)

    @property
    def margin_percent(self) -> float:
        """The same as a share of the whole drawing."""
        return 100 * self.margin / (100 + 2 * self.margin)

    @property
    def _pitch(self) -> float:
        return 100 / max(len(self.steps) - 1, 1)

    @property
    def most_belong(self) -> int:
        """How many join at the size at which most do."""
        return max((step.belong for step in self.steps), default=0)

    def aim(self, needed: int | None, found: int) -> SizeStep | None:
        """Give the largest size at which as many join as are wanted; None where enough do.

        Where nothing joins and nothing is wanted: at which most of all that could do.
        """
        wanted = needed or (0 if found else ceil(_MOST_OF * self.most_belong))
        enough = [step for step in self.steps if step.belong >= wanted]
        return enough[-1] if wanted > found and enough else None

    @property
    def asked_at(self) -> float:
        """Where the asked size is among the middles of the bars."""
        if not self.steps:
            return 100.0
        index = self.asked_in / self.steps[0].size_in - 1
        return min(100.0, max(0.0, self._pitch * index))


def _match(tools: PageTools, request: Request) -> Response:
    asked = {name: request.query_params.get(name, "").strip() for name in _ASKED}
    names = [palette.name for palette in palettes(tools.store)]
    asked["palette"] = asked["palette"] or (names[-1] if names else "")
    asked["shape"] = asked["shape"] or _FIRST_SHAPE
    asked["size"] = asked["size"] or _FIRST_SIZE[tools.settings.unit]
    values: dict[str, object] = {
        "asked": asked,
        "names": names,
        "shapes": shapes_of(tools.store),
        "problem": "",
        "part": request.query_params.get("part"),
        "unknown": 0,
        **({} if names else _choices(tools)),
        "size_step": _STEP[tools.settings.unit],
        "most_size": _MOST_SIZE[tools.settings.unit],
    }
    status = 200
    if asked["palette"]:
        try:
            values |= _answer(tools, asked, most_asked(request, _SHOWN))
        except StashError as problem:
            values["problem"], status = problem.plain, 422
    part = "match_answer.html" if values["part"] else "match.html"
    return tools.page(request, part, values, status=status)


def _suggested(tools: PageTools) -> list[PaletteRequest]:
    families = {view.fabric.number: view.family for view in tools.views()}
    return suggested_palettes(families.values())


def _choices(tools: PageTools) -> dict[str, object]:
    """Palettes to begin with, each with a few own fabrics of its colours."""
    suggested, tiles = _suggested(tools), tools.tiles().values()
    return {
        "suggested": suggested,
        "cloths": {
            one.name: [tile for tile in tiles if tile.family in one.words.split(", ")][:_CLOTHS]
            for one in suggested
        },
    }


def _suggest(tools: PageTools, _request: Request, form: Form) -> Response:
    """Keep the palette that was proposed under this name."""
    asked = next((one for one in _suggested(tools) if one.name == form.text("palette")), None)
    if asked is None:
        raise PaletteError("The stash has changed since this palette was proposed. Look again.")
    palette = make_palette(
        tools.store, replace(asked, name=free_name(tools.store, "palette", asked.name))
    )
    return back_to("/match", palette=palette.name)


def _plan(tools: PageTools, _request: Request, form: Form) -> Response:
    """Plan a charm quilt of what can go in, as large as that gives, under a name of its own."""
    palette = palette_named(tools.store, form.text("palette"))
    size = tools.meant(form.text("size"))
    template = template_named(tools.store, form.text("shape"), size)
    request = MatchRequest(
        palette, template, CutRule(grain_tolerance_deg=_degrees(form.text("grain")))
    )
    found = len(match(tools.store, request).can_go_in)
    if not found:
        raise PaletteError("No fabric of this palette gives that piece. Take a smaller size.")
    wanted = f"{palette.name}, {template.family.replace('-', ' ')}s"
    quilt = largest_quilt(
        tools.store,
        QuiltRequest(
            free_name(tools.store, "quilt", wanted),
            template.family,
            size,
            charm=True,
            palette=palette.name,
            grain_tolerance_deg=request.rule.grain_tolerance_deg,
        ),
        fabrics=min(found, form.number("needed") or found),
    )
    return back_to("/quilt", name=quilt.name, said="quilt")


def _answer(tools: PageTools, asked: dict[str, str], most: int) -> dict[str, object]:
    template = template_named(tools.store, asked["shape"], tools.meant(asked["size"]))
    rule = CutRule(grain_tolerance_deg=_degrees(asked["grain"]))
    needed = int(asked["needed"]) if asked["needed"].isdecimal() else None
    palette = palette_named(tools.store, asked["palette"])
    wanted = MatchRequest(palette, template, rule, needed)
    unknown = tools.sizes.left(tools.store, template, rule)
    answer = match(tools.store, wanted)
    tiles = tools.tiles()
    # The curve is of largest sizes: it comes when all of them are worked out.
    steps = () if answer.unsized else size_curve(tools.store, wanted, step_in=_step_in(tools))
    near, rest = answer.cannot[: answer.near_misses], answer.cannot[answer.near_misses :]
    return {
        "answered": True,
        "unknown": unknown,
        "most": most,
        "needed": needed,
        "template": template,
        "side_up": side_words(template),
        "held": answer.count,
        "can": _Rows(answer.can_go_in, tiles, most, tools),
        "twice": _Rows(answer.look_twice, tiles, most, tools),
        "near": _Rows(near, tiles, most, tools),
        "rest": _Rows(rest, tiles, most, tools),
        "curve": CurveDrawing(steps, template.size_in),
        "per_unit": CM_PER_INCH if tools.settings.unit == "cm" else 1.0,
    }


def _step_in(tools: PageTools) -> float:
    return 0.5 / CM_PER_INCH if tools.settings.unit == "cm" else 0.25


def _degrees(text: str) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        raise TemplateError(f"“{text[:20]}” is no angle; write degrees such as 5.") from None


@dataclass(frozen=True)
class _Rows:
    """Lines of an answer, of which the first few are shown."""

    lines: Sequence[FabricMatch]
    tiles: Mapping[int, Tile]
    most: int
    tools: PageTools

    def __len__(self) -> int:
        return len(self.lines)

    @property
    def shown(self) -> list[tuple[FabricMatch, Tile, str]]:
        """The first few, with what to show them by."""
        return [
            (line, self.tiles[line.fabric], _pieces(line, self.tools))
            for line in self.lines[: self.most]
        ]


def _pieces(line: FabricMatch, tools: PageTools) -> str:
    largest = f"up to {tools.largest(line.largest_size_in).replace(' ', _NO_BREAK)}"
    if line.largest_size_in <= 0:
        return ""
    count = sum(scrap.pieces for scrap in line.scraps)
    if not count:
        return largest
    where = ", ".join(
        f"#{scrap.scrap}" + (f" in {scrap.place}" if scrap.place else "") for scrap in line.scraps
    )
    least = "" if all(scrap.counted for scrap in line.scraps) else "at least "
    if not all(scrap.sized for scrap in line.scraps):
        largest = "the largest size is being worked out"
    return f"{least}{counted(count, 'piece')} from {where}; {largest}"


PAGES = (
    Page("/match", look=_match),
    Page("/palettes/suggested", send=_suggest),
    Page("/quilts/suggested", send=_plan),
)
