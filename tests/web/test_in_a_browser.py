"""A quilter's way through the pages in a real browser, at the size of a phone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.drawing.photo_view import to_pixels
from stash.usecases.photos.manage_cards import add_chart
from stash.wiring import open_store
from tests.web.browsing import PHONE, browser, watched
from tests.web.serving import start

pytestmark = pytest.mark.slow

PITCH_IN = 0.55
CLOTH = ("deep water", "slack tide", "dry sand", "pilot stripe")


def photo(folder: Path, name: str, seed: int) -> Path:
    """Render a photo of four scraps beside the card."""
    leftovers = tuple(Leftover(fabric, "crumb", 4.0) for fabric in CLOTH)
    scene = render_scene(SceneSpec(leftovers, pitch_in=PITCH_IN), seed=seed)
    path = folder / name
    path.write_bytes(scene.jpeg())
    return path


def said(tab, text: str) -> None:
    """Wait until the page says so."""
    tab.wait_for_selector(f"[role=status]:has-text('{text}')")


def photograph_side_by_side(phone, other, address: str, photos: tuple[Path, Path]) -> None:
    """Two phones send at the same time; one of them sends the other's photo once more."""
    first, second = photos
    phone.goto(f"{address}photograph")
    other.goto(f"{address}photograph")
    phone.set_input_files("#photos", [str(first)])
    other.set_input_files("#photos", [str(second), str(first)])
    for tab in (phone, other):
        tab.wait_for_selector("#summary:has-text('Done:')")
    told = phone.inner_text("#summary") + other.inner_text("#summary")
    assert told.count("0 not logged") == 2
    assert told.count("1 already there") == 1


def drop_and_undo(phone, home: Path) -> None:
    """The outlines lie on the photo; one is dropped, and that is undone."""
    phone.click("text=Look and correct")
    phone.wait_for_url("**/photo/*")
    assert phone.locator("svg.on-photo a").count() == len(CLOTH)
    phone.click("button:has-text('Not a scrap') >> nth=3")
    said(phone, "Taken out")
    assert len(open_store(home).scraps()) == 7
    mark_by_taps_and_keys(phone, home)
    phone.click("text=Undo the newest change")
    said(phone, "taken back")
    assert len(open_store(home).scraps()) == 7
    phone.click("text=Do it again")
    said(phone, "done again")
    assert len(open_store(home).scraps()) == 8
    for _ in range(2):
        with phone.expect_navigation():  # the page before says the same
            phone.click("text=Undo the newest change")
        said(phone, "taken back")
    assert max(scrap.number for scrap in open_store(home).scraps()) == 8


def mark_by_taps_and_keys(phone, home: Path) -> None:
    """The cloth that was dropped is marked anew: three corners by finger, one by key."""
    store = open_store(home)
    gone = store.bin()[0]
    photo = store.photo(gone.photo)
    box = gone.outline.polygon.minimum_rotated_rectangle
    corners = to_pixels(photo.view, np.array(box.exterior.coords)[:4])
    phone.click("text=Mark a scrap by its corners")
    on_screen = phone.evaluate(
        """corners => {
            const drawing = document.getElementById("on-photo");
            drawing.scrollIntoView({block: "center"});
            const at = drawing.getScreenCTM();
            return corners.map(([x, y]) => [x * at.a + at.e, y * at.d + at.f]);
        }""",
        corners.tolist(),
    )
    for count, (x, y) in enumerate(on_screen[:3], start=1):
        phone.touchscreen.tap(x, y)
        phone.wait_for_selector(f"[data-told]:has-text('{count} corner')")
    phone.locator(".cross").focus()
    at = phone.locator(".cross path").first.bounding_box()
    across = on_screen[3][0] - at["x"] - at["width"] / 2
    down = on_screen[3][1] - at["y"] - at["height"] / 2
    ways = ("Right" if across > 0 else "Left", across), ("Down" if down > 0 else "Up", down)
    for key, pixels in ways:
        for _ in range(round(abs(pixels)) // 8):
            phone.keyboard.press(f"Arrow{key}")
        for _ in range(round(abs(pixels)) % 8):
            phone.keyboard.press(f"Shift+Arrow{key}")
    phone.keyboard.press("Enter")
    phone.wait_for_selector("[data-told]:has-text('4 corners set')")
    phone.click("text=Measure it and keep it")
    said(phone, "measured and kept")
    marked = open_store(home).scraps()[-1]
    assert marked.photo == gone.photo and marked.place == gone.place
    away = marked.outline.polygon.hausdorff_distance(box)
    assert 0.05 < marked.outline.error_in < 0.6
    assert away <= marked.outline.error_in


def correct(phone, address: str, home: Path) -> None:
    """A corner is moved by key, a bin noted, a fabric named, two fabrics joined."""
    phone.goto(f"{address}scrap/1")
    before = open_store(home).scrap(1).outline
    phone.click("text=Mend the outline")
    phone.locator("svg .handles g").first.focus()
    for _ in range(4):
        phone.keyboard.press("ArrowUp")
    phone.click("text=Keep this outline")
    said(phone, "outline is changed")
    after = open_store(home).scrap(1).outline
    moved = max(
        abs(one - other)
        for old, new in zip(before.points, after.points, strict=True)
        for one, other in zip(old, new, strict=True)
    )
    assert moved == pytest.approx(0.25, abs=0.002)  # four times a sixteenth of an inch
    phone.fill("#place", "Blue tin")
    phone.click("button:has-text('Note it')")
    said(phone, "It is noted")
    phone.fill("#name", "Deep <b>water</b>")
    phone.click("button:has-text('Name it')")
    phone.wait_for_selector("h1:has-text('Deep <b>water</b>')")
    phone.fill("#other", "5")
    phone.click("button:has-text('Join')")
    phone.wait_for_selector("text=More of this fabric")


def choose_and_plan(phone, address: str) -> None:
    """A palette with live verdicts, then what can go in, then a layout changed by hand."""
    phone.goto(f"{address}palettes/new")
    phone.fill("#name", "Tidewater")
    phone.fill("#words", "dark blues and teals mostly, sand; no pinks")
    phone.wait_for_selector("#preview .numbers")
    phone.click("text=Keep this palette")
    phone.wait_for_selector("h1:has-text('Tidewater')")
    phone.click("text=Can go in")
    phone.select_option("#shape", "square")
    phone.fill("#size", "1 1/2")
    phone.wait_for_selector("text=fabrics can go in")
    phone.goto(f"{address}quilts/new")
    phone.fill("#name", "Sampler")
    phone.select_option("#shape", "square")
    phone.fill("#size", "1")
    phone.fill("#rows", "2")
    phone.fill("#across", "3")
    phone.check("[name=rule][value=scrappy]")
    phone.click("text=Plan it")
    phone.click("text=Choose the scraps and lay it out")
    phone.wait_for_selector("#chosen:has-text('Drag a piece')")
    assert phone.locator("svg.quilt .piece").count() == 6


def lay_by_hand(phone) -> None:
    """Two pieces change places by two touches, one is pinned."""
    was = phone.get_attribute("[data-place='1.1']", "data-called")
    phone.locator("[data-place='1.1']").tap()
    phone.locator("[data-place='2.3']").tap()
    phone.wait_for_selector("#layout[aria-busy=false]")
    phone.reload()
    phone.wait_for_selector("#chosen:has-text('Drag a piece')")
    assert phone.get_attribute("[data-place='2.3']", "data-called") == was
    phone.locator("[data-place='1.2']").tap()
    phone.locator("#layout-pin").tap()
    phone.wait_for_selector("text=Pinned: 1.2")
    phone.wait_for_selector("#layout[aria-busy=false]")


def test_a_quilter_photographs_corrects_and_plans_though_the_power_fails_between(
    tmp_path: Path,
) -> None:
    home = tmp_path / "stash"
    add_chart(open_store(home), "practice chart", PITCH_IN)
    photos = photo(tmp_path, "first.jpg", 3), photo(tmp_path, "second.jpg", 4)
    complaints: list[str] = []
    served = start(home)
    try:
        with browser() as opened:
            phone = watched(opened.new_context(viewport=PHONE, has_touch=True), complaints)
            other = watched(opened.new_context(viewport=PHONE), complaints)
            photograph_side_by_side(phone, other, served.address, photos)
            assert len(open_store(home).scraps()) == 8
            drop_and_undo(phone, home)
            correct(phone, served.address, home)

            for tab in (phone, other):
                tab.wait_for_load_state("networkidle")  # a picture half sent would be complained of
            served.kill()
            served = start(home, port=served.port)
            store = open_store(home)
            assert len(store.scraps()) == 8
            assert store.scrap(1).place == "Blue tin"
            assert store.scrap(1).fabric == store.scrap(5).fabric
            phone.fill("#place", "Green tin")  # on the page opened before
            phone.click("button:has-text('Note it')")
            said(phone, "It is noted")
            assert open_store(home).scrap(1).place == "Green tin"

            choose_and_plan(phone, served.address)
            lay_by_hand(phone)
    finally:
        served.kill()
    assert complaints == []
