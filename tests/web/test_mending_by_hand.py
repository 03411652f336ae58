"""The corners of an outline are moved by a finger in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stash.wiring import open_store
from tests.web.browsing import PHONE, browser, watched
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving
from tests.web.touching import Finger, covered, hidden, pixels

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    home = tmp_path_factory.mktemp("stash")
    fill_stash(open_store(home), 3)
    with serving(home) as running:
        yield running, home


@pytest.fixture
def phone(served: tuple[Served, Path]) -> Iterator:
    """Scrap 1 on a phone with its outline being mended."""
    complaints: list[str] = []
    with browser() as opened:
        tab = watched(opened.new_context(viewport=PHONE, has_touch=True), complaints)
        tab.goto(f"{served[0].address}scrap/1")
        tab.click("text=Mend the outline")
        tab.wait_for_selector(".handles g")
        tab.evaluate("document.getElementById('outline').scrollIntoView({block: 'center'})")
        yield tab
    assert complaints == []


def handle(tab, order: int = 0) -> tuple[float, float]:
    """Give where a corner's dot lies on the screen."""
    box = tab.locator(".handles .dot").nth(order).bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def corners(tab) -> list[list[float]]:
    lines = tab.input_value("#corners").splitlines()
    return [[float(part) for part in line.split(",")] for line in lines]


def test_a_corner_is_large_enough_for_a_finger_and_small_enough_to_see_the_cloth(phone) -> None:
    reach = phone.locator(".handles .reach").first.bounding_box()
    assert reach["width"] >= 44 and reach["height"] >= 44
    dot = phone.locator(".handles .dot").first.bounding_box()
    assert dot["width"] <= 16


def test_a_corner_held_covers_little_of_the_cloth(phone) -> None:
    drawing = phone.locator("#outline")
    plain = pixels(drawing)
    Finger(phone).at("touchStart", handle(phone))
    phone.keyboard.press("Shift")  # rings of the keyboard's kind show as well
    shown = pixels(drawing)
    assert phone.locator("#loupe").is_visible()
    loupe, over = phone.locator("#loupe").bounding_box(), drawing.bounding_box()
    assert loupe["y"] + loupe["height"] <= over["y"] or loupe["y"] >= over["y"] + over["height"]
    assert covered(plain, shown) < 0.02
    assert hidden(phone, "#outline") < 0.05


def test_a_finger_moves_a_corner_as_far_as_it_went(phone) -> None:
    phone.locator("#snap").uncheck()
    phone.evaluate("document.getElementById('outline').scrollIntoView({block: 'center'})")
    before, scrolled = corners(phone), phone.evaluate("scrollY")
    per_inch = phone.evaluate("document.getElementById('outline').getScreenCTM().a")
    x, y = handle(phone)
    finger = Finger(phone)
    finger.drag((x, y), (x - 25 if x > PHONE["width"] / 2 else x + 25, y + 15))
    phone.wait_for_selector("#loupe", state="hidden")
    moved = max(abs(a[0] - b[0]) for a, b in zip(before, corners(phone), strict=True))
    fallen = max(abs(a[1] - b[1]) for a, b in zip(before, corners(phone), strict=True))
    assert moved == pytest.approx(25 / per_inch, abs=0.03)
    assert fallen == pytest.approx(15 / per_inch, abs=0.03)
    assert phone.evaluate("scrollY") == scrolled


def test_a_corner_let_go_beside_the_cloth_snaps_to_where_the_cloth_ends(served, phone) -> None:
    truth = open_store(served[1]).scrap(1).outline.polygon.exterior
    per_inch = phone.evaluate("document.getElementById('outline').getScreenCTM().a")
    x, y = handle(phone)
    Finger(phone).drag((x, y), (x + 8, y - 6))
    phone.wait_for_selector("#loupe", state="hidden")
    from shapely.geometry import Point

    order = int(phone.get_attribute("#outline", "data-handles").split()[0])
    left = Point(corners(phone)[order]).distance(truth)
    assert left < 0.08 < 10 / per_inch  # let go a quarter of an inch away
