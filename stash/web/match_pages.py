"""What can go in a quilt: palette and piece against every fabric, near misses, the size curve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import takewhile

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import StashError, TemplateError
from stash.shape.template import Template, families
from stash.units import CM_PER_INCH
from stash.usecases.manage_palettes import palette_named, palettes
from stash.usecases.manage_templates import template_of
from stash.usecases.match_palette import FabricMatch, MatchRequest, match, side_words
from stash.usecases.piece_counts import CutRule
from stash.usecases.ports import Store
from stash.usecases.size_curve import SizeStep, size_curve
from stash.web.desk import Desk, Page, most_asked
from stash.web.tiles import Tile, tiles_by_fabric

__all__ = ["PAGES", "CurveDrawing", "shapes_of", "template_named"]

_ASKED = ("palette", "shape", "size", "needed", "grain")
_SHOWN = 60
_OWN_FILES = (".json", ".svg")

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
    """Bars of the size curve for an SVG 100 wide and 40 high."""

    steps: Sequence[SizeStep]
    asked_in: float

    @property
    def most(self) -> int:
        """The highest bar."""
        return max((step.belong + step.borderline for step in self.steps), default=0)

    @property
    def bars(self) -> list[tuple[float, float, float, float, SizeStep]]:
        """Left edge, width, height of what belongs, height of what is borderline, the step."""
        wide, high = 100 / max(len(self.steps), 1), 40 / max(self.most, 1)
        return [
            (index * wide, wide * 0.84, step.belong * high, step.borderline * high, step)
            for index, step in enumerate(self.steps)
        ]

    @property
    def asked_at(self) -> float:
        """The middle of the asked size's bar, 0.42 of a step from its left edge."""
        if not self.steps:
            return 100.0
        index = self.asked_in / self.steps[0].size_in - 1
        return min(100.0, max(0.0, 100 * (index + 0.42) / len(self.steps)))


def _match(desk: Desk, request: Request) -> Response:
    asked = {name: request.query_params.get(name, "").strip() for name in _ASKED}
    names = [palette.name for palette in palettes(desk.store)]
    asked["palette"] = asked["palette"] or (names[-1] if names else "")
    values: dict[str, object] = {
        "asked": asked,
        "names": names,
        "shapes": shapes_of(desk.store),
        "problem": "",
        "unknown": 0,
    }
    status = 200
    if asked["palette"] and asked["size"]:
        try:
            values |= _answer(desk, asked, most_asked(request, _SHOWN))
        except StashError as problem:
            values["problem"], status = problem.plain, 422
    return desk.page(request, "match.html", values, status=status)


def _answer(desk: Desk, asked: dict[str, str], most: int) -> dict[str, object]:
    template = template_named(desk.store, asked["shape"], desk.meant(asked["size"]))
    rule = CutRule(grain_tolerance_deg=_degrees(asked["grain"]))
    needed = int(asked["needed"]) if asked["needed"].isdecimal() else None
    palette = palette_named(desk.store, asked["palette"])
    wanted = MatchRequest(palette, template, rule, needed)
    unknown = desk.bench.left(desk.store, template, rule)
    if unknown:
        return {"unknown": unknown}
    answer = match(desk.store, wanted)
    tiles = tiles_by_fabric(desk.views())
    # Near misses come first; the lines of the others are not worded before they are looked at.
    near = list(takewhile(lambda one: one.near_miss, answer.cannot))
    return {
        "answered": True,
        "most": most,
        "needed": needed,
        "template": template,
        "side_up": side_words(template),
        "held": answer.count,
        "can": _Rows(answer.can_go_in, tiles, most, desk),
        "twice": _Rows(answer.look_twice, tiles, most, desk),
        "near": _Rows(near, tiles, most, desk),
        "rest": _Rows(answer.cannot[len(near) :], tiles, most, desk),
        "curve": CurveDrawing(
            size_curve(desk.store, wanted, step_in=_step_in(desk)), template.size_in
        ),
        "per_unit": CM_PER_INCH if desk.settings.unit == "cm" else 1.0,
    }


def _step_in(desk: Desk) -> float:
    return 0.5 / CM_PER_INCH if desk.settings.unit == "cm" else 0.25


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
    desk: Desk

    def __len__(self) -> int:
        return len(self.lines)

    @property
    def shown(self) -> list[tuple[FabricMatch, Tile, str]]:
        """The first few, with what to show them by."""
        return [
            (line, self.tiles[line.fabric], _pieces(line, self.desk))
            for line in self.lines[: self.most]
        ]


def _pieces(line: FabricMatch, desk: Desk) -> str:
    largest = f"up to {desk.largest(line.largest_size_in).replace(' ', _NO_BREAK)}"
    if line.largest_size_in <= 0:
        return ""
    count = sum(scrap.pieces for scrap in line.scraps)
    if not count:
        return largest
    where = ", ".join(
        f"#{scrap.scrap}" + (f" in {scrap.place}" if scrap.place else "") for scrap in line.scraps
    )
    return f"{count} piece{'' if count == 1 else 's'} from {where}; {largest}"


PAGES = (Page("/match", look=_match),)
