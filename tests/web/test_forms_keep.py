"""A form that cannot be taken comes back with everything typed and the reason at its field."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette, palette_named
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving

pytestmark = pytest.mark.slow


def value_of(page: str, name: str) -> str:
    """Give what a field shows."""
    tag = re.search(rf'<input id="{name}"[^>]*>', page)
    assert tag is not None
    return re.search(r'value="([^"]*)"', tag[0])[1]


def chosen(page: str, value: str) -> bool:
    tag = re.search(rf'<(?:option|input)[^>]*value="{value}"[^>]*>', page)
    assert tag is not None
    return "selected" in tag[0] or "checked" in tag[0]


def told(page: str) -> list[str]:
    return re.findall(r'role="alert"[^>]*>([^<]*)<', page)


def test_a_quilt_of_no_size_keeps_its_name_shape_rows_and_rule(page: Served) -> None:
    typed = {
        "name": "Grandmother’s",
        "shape": "hexagon",
        "size": "huge",
        "rows": "7",
        "across": "9",
    }
    answer = page.post("/quilts", **typed, rule="scrappy", straight="1")
    assert answer.status_code == 422
    assert {key: value_of(answer.text, key) for key in ("name", "size", "rows", "across")} == {
        key: typed[key] for key in ("name", "size", "rows", "across")
    }
    assert chosen(answer.text, "hexagon") and chosen(answer.text, "scrappy")
    assert not chosen(answer.text, "charm") and not chosen(answer.text, "square")
    assert len(told(answer.text)) == 1 and "huge" in told(answer.text)[0]
    size = re.search(r'<input id="size"[^>]*>', answer.text)[0]
    assert 'aria-invalid="true"' in size and "autofocus" in size


def test_a_new_form_shows_no_reason_and_charm_chosen(page: Served) -> None:
    fresh = page.client.get("/quilts/new").text
    assert told(fresh) == [] and chosen(fresh, "charm") and not chosen(fresh, "scrappy")


def test_a_card_of_no_pitch_keeps_its_name(page: Served) -> None:
    answer = page.post("/cards", name="pocket", pitch="wide")
    assert answer.status_code == 422
    assert value_of(answer.text, "name") == "pocket"
    assert "wide" in told(answer.text)[0]


def test_a_palette_is_not_written_over_unless_that_is_said(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 4)
    make_palette(store, PaletteRequest("Tidewater", words="blues"))
    with serving(tmp_path) as served:
        typed = {"name": "Tidewater", "words": "reds and golds", "without": "pink"}
        answer = served.post("/palettes", **typed)
        assert answer.status_code == 422
        assert "Tidewater" in told(answer.text)[0]
        assert "reds and golds</textarea>" in answer.text and chosen(answer.text, "pink")
        assert [one.family for one in palette_named(store, "Tidewater").families] == ["blue"]
        assert served.post("/palettes", **typed, replace="1").status_code == 303
        families = {one.family for one in palette_named(open_store(tmp_path), "Tidewater").families}
        assert families == {"red", "gold"}


def test_the_tally_draws_each_count_in_a_colour_of_its_own_cloth(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 20)
    cloth = {scrap.appearance.reads_as for scrap in store.scraps()}
    from stash.colour.spaces import hex_of_lab
    from stash.usecases.quilts.neighbours import tally

    found = tally(store)
    assert found and all(one.lab in cloth for one in found)
    with serving(tmp_path) as served:
        page = served.client.get("/tally").text
    assert {hex_of_lab(one.lab) for one in found} == set(re.findall(r'fill="(#[0-9a-f]{6})"', page))
