"""A palette is changed where it is shown and may bend; what goes with cloth is asked on a page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from stash.usecases.matching.match_palette import clashes
from stash.usecases.palettes.goes_with import goes_with
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette, palette_named
from stash.usecases.quilts.look_twice_pieces import bent_fabrics
from stash.usecases.quilts.plan_quilt import quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving


@pytest.fixture
def page(tmp_path: Path) -> Iterator[tuple[Served, Path]]:
    store = open_store(tmp_path)
    fill_stash(store, 20)
    make_palette(store, PaletteRequest("sea", words="blues and teals; no pink"))
    with serving(tmp_path) as served:
        yield served, tmp_path


def mark(served: Served) -> str:
    shown = served.client.get("/palette", params={"name": "sea"}).text
    found = re.search(r'name="was" value="(\w+)"', shown)
    assert found
    return found[1]


def test_amounts_colours_and_what_is_ruled_out_change_in_place(page) -> None:
    served, home = page
    seen = mark(served)
    answer = served.post(
        "/palettes/change", name="sea", was=seen, colour=["blue", "teal"],
        amount=["a touch", "no more"], add="some tan", without=["purple"],
    )  # fmt: skip
    assert answer.status_code == 303
    palette = palette_named(open_store(home), "sea")
    assert {(one.family, str(one.amount)) for one in palette.families} == {
        ("blue", "touch"),
        ("tan", "some"),
    }
    assert palette.without == ("purple",)
    late = served.post("/palettes/change", name="sea", was=seen, colour=["blue"], amount=["main"])
    assert late.status_code == 409
    assert palette_named(open_store(home), "sea") == palette


def test_a_shade_that_is_ruled_out_is_shown_and_can_be_allowed_again(page) -> None:
    served, home = page
    make_palette(open_store(home), PaletteRequest("sea", words="blues, teals; no pink, no navy"))
    shown = served.client.get("/palette", params={"name": "sea"}).text
    assert "Without pink, navy." in shown
    assert re.search(r'value="navy" checked', shown)
    served.post("/palettes/change", name="sea", was=mark(served), without=["pink"])
    assert palette_named(open_store(home), "sea").ruled_out == ("pink",)


def test_what_goes_with_a_scrap_is_shown_and_asked_on(page) -> None:
    served, home = page
    store = open_store(home)
    found = goes_with(store, PaletteRequest("", scraps=(1,)))
    shown = served.client.get("/goes-with", params={"scrap": "1"}).text
    echoes = shown.split("What echoes it")[1]
    first = next(one.number for one in store.scraps() if one.fabric == found.fabrics[0])
    assert f'href="/scrap/{first}"' in echoes and f"scrap=1&amp;scrap={first}" in echoes
    assert served.client.get("/goes-with").status_code == 422


def test_a_palette_that_may_bend_takes_and_names_what_wants_a_second_look(page) -> None:
    served, home = page
    store = open_store(home)
    judged = clashes(store, palette_named(store, "sea"))
    grades = [str(one.verdict) for one in judged]
    belong, twice = grades.count("belongs"), grades.count("borderline")
    assert belong and twice
    asked = {
        "name": "bent", "shape": "square", "size": "1", "rows": "1",
        "across": str(belong + 1), "rule": "charm", "palette": "sea",
    }  # fmt: skip
    assert served.post("/quilts", **asked, bend="1").status_code == 303
    assert allot_quilt(store, "bent").possible
    lay_out(store, "bent", LayoutRequest())
    (bent,) = bent_fabrics(store, quilt_named(store, "bent"))
    verdict = next(one for one in judged if one.fabric == bent.fabric)
    assert str(verdict.verdict) == "borderline" and len(bent.places) == 1
    shown = served.client.get("/quilt", params={"name": "bent"}, timeout=60).text
    named = shown.split("Where the palette bends")[1]
    assert f'href="/scrap/{bent.scraps[0]}"' in named and bent.places[0] in named
