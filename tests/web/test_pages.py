"""What single pages show and do, asked of a running page."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from stash.colour.spaces import lab_of_srgb
from stash.usecases.ports import ScrapToLog
from stash.usecases.twins.imprints import take_imprints
from stash.web.shown.outline_drawing import OutlineDrawing
from stash.web.views.pictures import grey_picture
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving


def test_a_likely_twin_is_proposed_and_joined_by_one_button(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 4)
    first = store.scrap(1)
    shown = first.picture
    assert shown is not None
    jpeg = store.picture(shown.sha256)
    same = ScrapToLog(
        first.outline, first.appearance, jpeg, shown.px_per_in, shown.left_in, shown.top_in
    )
    twin = store.add_scrap(same, why="a twin")
    assert twin.fabric != first.fabric
    take_imprints(store)
    with serving(tmp_path) as served:
        proposed = served.client.get("/scrap/1").text.split("One cloth?")[1]
        assert f'name="group" value="1 {twin.number}"' in proposed
        answer = {"group": f"1 {twin.number}", "scrap": ["1", str(twin.number)], "answer": "same"}
        assert served.post("/twins", **answer).status_code == 303
        assert "More of this fabric" in served.client.get("/scrap/1").text
    assert store.scrap(1).fabric == store.scrap(twin.number).fabric


def test_the_wall_is_sifted_by_family_value_bin_and_size(page: Served) -> None:
    everything = page.client.get("/").text.count('class="swatch"')
    assert everything == 12
    for query in ("family=blue", "value=dark", "place=Blue+tin", "shape=square&size=3"):
        text = page.client.get(f"/?{query}").text
        shown = text.count('class="swatch"')
        assert 0 < shown < 12, query
        assert f"{shown} of 12 shown" in text


def test_a_size_that_is_none_is_told_in_words(page: Served) -> None:
    answer = page.client.get("/?shape=square&size=wide")
    assert answer.status_code == 422
    assert "wide" in answer.text


def test_values_only_leaves_every_lightness_and_takes_every_colour() -> None:
    rng = np.random.default_rng(3)
    image = Image.fromarray(rng.integers(0, 256, (20, 30, 3), dtype=np.uint8))
    before = lab_of_srgb(np.asarray(image) / 255)
    after = lab_of_srgb(np.asarray(grey_picture(image)) / 255)
    # A step of an 8-bit grey is at most 0.44 L*; half of it is the rounding.
    np.testing.assert_allclose(after[..., 0], before[..., 0], atol=0.25)
    np.testing.assert_allclose(after[..., 1:], 0, atol=0.02)


def test_a_swatch_shows_cloth_and_no_backing(page: Served) -> None:
    for number in range(1, 13):
        data = page.client.get(f"/picture/{number}/swatch.jpg").content
        pixels = np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), dtype=float)
        backing = np.array([0xE9, 0xE6, 0xDF])
        near = np.abs(pixels - backing).max(axis=2) < 6
        edge = np.concatenate([near[0], near[-1], near[:, 0], near[:, -1]])
        assert edge.mean() < 0.02, number


def test_a_page_that_is_loading_still_gets_the_picture_of_a_scrap_taken_out(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 2)
    addresses = ("/picture/1/swatch.jpg", "/picture/1/flat.jpg", "/twins/1/16.jpg")
    with serving(tmp_path) as served:
        before = [served.client.get(address) for address in addresses]
        store.delete_scrap(1, why="it was no scrap")
        after = [served.client.get(address) for address in addresses]
        assert [answer.status_code for answer in after] == [200, 200, 200]
        assert [answer.content for answer in after] == [answer.content for answer in before]
        store.empty_bin()
        assert served.client.get(addresses[0]).status_code == 404


@pytest.mark.parametrize(("unit", "ticks", "numbered"), [("in", 13, 4), ("cm", 16, 8)])
def test_a_ruler_of_three_inches(tmp_path: Path, unit: str, ticks: int, numbered: int) -> None:
    # 3 in: 12 quarters and the zero, 4 of them whole inches; 7.62 cm: 15 halves and the zero.
    store = open_store(tmp_path)
    fill_stash(store, 1)
    marks = OutlineDrawing(store.scrap(1), unit).ticks(3.0)
    assert len(marks) == ticks
    assert sum(bool(mark.text) for mark in marks) == numbered


def test_a_layout_is_swapped_pinned_and_shuffled_without_script(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 8)
    with serving(tmp_path) as served:
        form = {"name": "Small", "shape": "square", "size": "1", "rows": "2", "across": "2"}
        assert served.post("/quilts", **form, rule="charm").status_code == 303
        assert served.post("/quilt/allot", name="Small").status_code == 303
        before = words(served)
        swapped = served.post("/quilt/layout", name="Small", what="swap", one="1.1", other="2.2")
        assert swapped.status_code == 303
        after = words(served)
        assert (after["1.1"], after["2.2"]) == (before["2.2"], before["1.1"])
        assert served.post("/quilt/layout", name="Small", what="pin", one="1.1").status_code == 303
        for _ in range(3):
            served.post("/quilt/layout", name="Small", what="shuffle")
            assert words(served)["1.1"] == after["1.1"]
        nowhere = served.post("/quilt/layout", name="Small", what="pin", one="9.9")
        assert nowhere.status_code == 422


def words(served: Served) -> dict[str, str]:
    """Give which scrap lies in every place."""
    text = served.client.get("/quilt?name=Small").text
    found = re.findall(r'data-place="([0-9.]+)" data-called="[^"]* from scrap (\d+)', text)
    return dict(found)


def test_fibre_notes_washing_and_grain_are_noted_and_taken_back(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 1)
    with serving(tmp_path) as served:
        told = {"place": "Blue tin", "fibre": "linen", "notes": "frays\nat one end", "washed": "1"}
        assert served.post("/scrap/1/place", **told).status_code == 303
        assert served.post("/scrap/1/grain", what="set", grain="37").status_code == 303
        scrap = store.scrap(1)
        assert (scrap.place, scrap.fibre, scrap.washed) == ("Blue tin", "linen", True)
        assert scrap.notes.split() == ["frays", "at", "one", "end"]
        assert scrap.grain_deg == 37
        # SVG turns clockwise, the grain is told counter-clockwise.
        assert "rotate(-37)" in served.client.get("/scrap/1").text
        assert served.post("/scrap/1/grain", what="set", grain="north").status_code == 422
        assert served.post("/scrap/1/grain", what="forget").status_code == 303
        assert store.scrap(1).grain_deg is None
        assert served.post("/undo").status_code == 303
        assert store.scrap(1).grain_deg == 37
        assert served.post("/redo").status_code == 303
        assert store.scrap(1).grain_deg is None
        assert served.post("/redo").status_code == 404  # nothing more was taken back


def test_no_piece_is_cut_from_a_stain_until_it_is_forgotten(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 1)
    before = store.scrap(1).outline
    middle = before.polygon.representative_point()
    # A square of half an inch round a place inside: a quarter of a square inch less.
    ring = [(-0.25, -0.25), (0.25, -0.25), (0.25, 0.25), (-0.25, 0.25)]
    corners = "\n".join(f"{middle.x + x}, {middle.y + y}" for x, y in ring)
    with serving(tmp_path) as served:
        assert served.post("/scrap/1/stain", corners=corners).status_code == 303
        stained = store.scrap(1).outline
        assert stained.area_sq_in == pytest.approx(before.area_sq_in - 0.25, abs=1e-6)
        assert stained.error_in == before.error_in
        whole = "\n".join(f"{x}, {y}" for x, y in before.polygon.envelope.exterior.coords)
        gone = served.post("/scrap/1/stain", corners=whole)
        assert gone.status_code == 422 and "smaller stain" in gone.text
        assert store.scrap(1).outline == stained
        assert served.post("/scrap/1/stain", what="forget").status_code == 303
    after = store.scrap(1).outline
    assert after.holes == () and after.polygon.equals(before.polygon)
