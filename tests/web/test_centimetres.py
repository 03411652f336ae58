"""A page opened in centimetres reads and writes centimetres, and no inch slips through."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.photos.manage_cards import add_chart
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilt_named
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving

pytestmark = pytest.mark.slow

# A number followed by an inch or a yard, or either in words.
_INCHES = re.compile(r"[\d¼½¾⅛⅜⅝⅞]\s*(?:in\b(?! [a-z])|″|yd\b)|\binch(?:es)?\b|\byards?\b", re.I)
_PAGES = (
    "/", "/scrap/1", "/scrap/1/gives", "/tally", "/cards", "/palettes", "/palette?name=All",
    "/match?palette=All", "/match?palette=All&shape=square&size=4", "/quilts", "/quilts/new",
    "/quilt?name=Plan", "/quilt/change?name=Plan", "/quilt/finishing?name=Plan",
    "/quilt/cloth?name=Plan",
    "/quilt/guide?name=Plan", "/quilt/sew?name=Plan", "/print",
)  # fmt: skip


@pytest.fixture(scope="module")
def metric(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    home = tmp_path_factory.mktemp("stash")
    store = open_store(home)
    fill_stash(store, 12)
    add_chart(store, "practice chart", 0.55)
    make_palette(store, PaletteRequest("All", words="blues, teals, sand, red, gold, green"))
    make_quilt(store, QuiltRequest("Plan", "square", "5 cm", rows=2, across=3))
    with serving(home, "--unit", "cm") as served:
        yield served, home


def seen(page: str) -> str:
    """Give what a person reads of a page, placeholders and described drawings included."""
    told = re.findall(r'(?:placeholder|aria-label)="([^"]*)"', page)
    body = re.sub(r"(?s)<(script|style|head)\b.*?</\1>", " ", page)
    return html.unescape(" ".join([re.sub(r"<[^>]+>", " ", body), *told]))


@pytest.mark.parametrize("path", _PAGES)
def test_no_inch_is_written_on_a_page_in_centimetres(
    metric: tuple[Served, Path], path: str
) -> None:
    answer = metric[0].client.get(path)
    assert answer.status_code == 200
    found = [
        seen(answer.text)[one.start() - 40 : one.end() + 20]
        for one in _INCHES.finditer(seen(answer.text))
    ]
    assert found == []


def test_the_search_for_inches_finds_them() -> None:
    assert all(_INCHES.search(text) for text in ("4½ in", "4 in.", "3″", "true inches", "¼ yd"))
    assert not any(
        _INCHES.search(text) for text in ("9.0 cm", "3 fabrics can go in", "12 in the tin")
    )


def test_a_bare_nine_is_nine_centimetres(metric: tuple[Served, Path]) -> None:
    def numbers(size: str) -> list[str]:
        page = metric[0].client.get(
            "/match", params={"palette": "All", "shape": "square", "size": size}
        )
        return re.findall(r'big-number">(\d+)', page.text)

    assert numbers("9") == numbers("9 cm") != numbers("9 in")
    form = {"shape": "square", "rows": "2", "across": "2", "rule": "charm"}
    assert metric[0].post("/quilts", name="Nine", size="9", **form).status_code == 303
    assert quilt_named(open_store(metric[1]), "Nine").plan.size == "9 cm"
    page = metric[0].client.get("/quilt?name=Nine").text
    assert "9.0 cm" in page and "18.0 × 18.0 cm" in page
