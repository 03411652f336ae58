"""Making a planned quilt: in which order to cut, sew and press, and what finishing takes."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from starlette.requests import Request
from starlette.responses import Response

from stash.errors import PlanError, StashError
from stash.quilt.binding import BindingFold
from stash.quilt.cautions import cautions_for
from stash.quilt.cutting import MOST_LAYERS, strip_words
from stash.quilt.finishing import FinishingWish, StripGrain
from stash.quilt.sewing_steps import curve_steps, sewing_steps
from stash.quilt.stacks import Stack
from stash.units import cloth_words, parse_length
from stash.usecases.papers.print_sheets import cut_list, finishing_of, sewing_of, top_of_quilt
from stash.usecases.quilts.plan_quilt import quilt_named
from stash.web.page_tools import Page, PageTools
from stash.web.shown.tiles import Tile, tiles_by_scrap

__all__ = ["PAGES"]

_ASKED = ("name", "fold", "grain", "cut", "backing", "backing_usable", "batting", "usable")


def _finishing(tools: PageTools, request: Request) -> Response:
    asked = {name: request.query_params.get(name, "").strip() for name in _ASKED}
    quilt = quilt_named(tools.store, asked["name"])
    values: dict[str, object] = {
        "quilt": quilt,
        "asked": asked,
        "problem": "",
        "answer": None,
        "cloth": lambda inches: cloth_words(inches, unit=tools.settings.unit),
    }
    status = 200
    try:
        wish = _wish(asked, tools.settings.unit)
        values["answer"] = finishing_of(top_of_quilt(tools.store, quilt.name), wish)
    except StashError as problem:
        values["problem"], status = problem.plain, 422
    return tools.page(request, "finishing.html", values, status=status)


def _wish(asked: dict[str, str], unit: str) -> FinishingWish:
    if asked["fold"] not in ("", *BindingFold) or asked["grain"] not in ("", *StripGrain):
        raise PlanError("Choose how the binding is folded and cut from the lists.")
    lengths = {
        "cut_in": asked["cut"],
        "usable_in": asked["usable"],
        "backing_over_in": asked["backing"],
        "backing_usable_in": asked["backing_usable"],
        "batting_over_in": asked["batting"],
    }
    given = {key: parse_length(text, unit=unit) for key, text in lengths.items() if text}
    return FinishingWish(
        fold=BindingFold(asked["fold"] or BindingFold.DOUBLE),
        grain=StripGrain(asked["grain"]) if asked["grain"] else None,
        diagonal_joins=False,
        **given,
    )


def _guide(tools: PageTools, request: Request) -> Response:
    quilt = quilt_named(tools.store, request.query_params.get("name", ""))
    tiles = tiles_by_scrap(tools.views())
    top = top_of_quilt(tools.store, quilt.name)
    plan = sewing_of(top)
    values: dict[str, object] = {
        "quilt": quilt,
        "tiles": tiles,
        "cloth_of": partial(_cloth_of, tiles),
        "cuts": None,
        "no_cuts": "",
        "strip_words": partial(strip_words, unit=tools.settings.unit),
        "template": top.template,
        "steps": sewing_steps(
            plan, seam_in=top.template.seam_allowance_in, unit=tools.settings.unit
        ),
        "curves": curve_steps(plan),
        "rows": [(number + 1, plan.pressing_of_row(number)) for number in range(len(plan.rows))],
        "cautions": cautions_for,
    }
    try:
        values["cuts"] = cut_list(
            tools.store, quilt.name, layers=MOST_LAYERS, unit=tools.settings.unit
        )
    except PlanError:
        values["no_cuts"] = "all cut" if quilt.pieces else "not allotted"
    return tools.page(request, "guide.html", values)


def _cloth_of(tiles: Mapping[int, Tile], stack: Stack) -> list[Tile]:
    """Give the cloth of a stack, its bottom first."""
    return [tiles[layer.scrap] for layer in stack.layers if layer.scrap in tiles]


PAGES = (
    Page("/quilt/finishing", look=_finishing),
    Page("/quilt/guide", look=_guide),
)
