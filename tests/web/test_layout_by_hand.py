"""Pieces of a quilt are moved by finger, mouse and keys in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out, move_pieces
from stash.wiring import open_store
from tests.web.browsing import DESK, PHONE, browser, watched
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving
from tests.web.touching import Finger, covered, hidden, pixels

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    """A page on a quilt of six rows of eight squares, laid out."""
    home = tmp_path_factory.mktemp("stash")
    store = open_store(home)
    fill_stash(store, 12)
    make_quilt(store, QuiltRequest(name="Sampler", template="square", size="1", rows=6, across=8))
    allot_quilt(store, "Sampler")
    lay_out(store, "Sampler", LayoutRequest())
    with serving(home) as served:
        yield served, home


@pytest.fixture
def phone(laid: tuple[Served, Path]) -> Iterator:
    """The quilt's page on a phone with a touch screen; nothing may complain."""
    complaints: list[str] = []
    with browser() as opened:
        tab = watched(opened.new_context(viewport=PHONE, has_touch=True), complaints)
        tab.goto(f"{laid[0].address}quilt?name=Sampler")
        tab.wait_for_selector("#chosen:has-text('Drag a piece')")
        tab.locator(".layout svg.quilt").scroll_into_view_if_needed()
        yield tab
    assert [one for one in complaints if "409" not in one and "422" not in one] == []


def called(tab, place: str) -> str:
    """Give what the screen says lies in a place."""
    return tab.get_attribute(f"[data-place='{place}']", "aria-label").split(": ")[1]


def kept(home: Path, place: str) -> int:
    """Give the scrap whose piece the stash keeps in a place."""
    quilt = quilt_named(open_store(home), "Sampler")
    row, number = (int(part) for part in place.split("."))
    return quilt.pieces[quilt.piece_at[(row - 1) * 8 + number - 1]].scrap


def shown(tab, place: str) -> int:
    """Give the scrap whose piece the screen shows in a place."""
    return int(tab.get_attribute(f"[data-place='{place}']", "data-scrap"))


def other_scrap(tab, place: str) -> str:
    """Give a place below where another scrap lies."""
    mine = shown(tab, place)
    return next(f"4.{n}" for n in range(1, 9) if shown(tab, f"4.{n}") != mine)


def middle(tab, place: str) -> tuple[float, float]:
    box = tab.locator(f"[data-place='{place}'] .seam").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def saved(tab) -> None:
    tab.wait_for_selector("#layout[aria-busy=false]", state="attached")


def test_a_finger_drags_a_piece_onto_another_and_the_page_stays_where_it_was(laid, phone) -> None:
    to = other_scrap(phone, "1.1")
    mine, theirs = called(phone, "1.1"), called(phone, to)
    scrolled = phone.evaluate("scrollY")
    Finger(phone).drag(middle(phone, "1.1"), middle(phone, to))
    assert (called(phone, "1.1"), called(phone, to)) == (theirs, mine)
    assert phone.evaluate("scrollY") == scrolled
    saved(phone)
    assert [kept(laid[1], "1.1"), kept(laid[1], to)] == [shown(phone, "1.1"), shown(phone, to)]


def test_a_swap_is_on_the_screen_before_the_stash_has_answered(laid, phone) -> None:
    waiting: list = []

    def hold(route) -> None:  # playwright marks what it calls, and a list's method cannot be marked
        waiting.append(route)

    phone.route("**/quilt/layout", hold)
    to = other_scrap(phone, "2.2")
    mine, before = called(phone, "2.2"), kept(laid[1], to)
    phone.locator("[data-place='2.2']").tap()
    phone.locator(f"[data-place='{to}']").tap()
    assert called(phone, to) == mine
    assert kept(laid[1], to) == before
    waiting[0].continue_()
    saved(phone)
    phone.unroute("**/quilt/layout")
    assert kept(laid[1], to) == shown(phone, to)


def test_undo_beside_the_quilt_takes_a_swap_back_on_the_screen_and_in_the_stash(laid, phone):
    to = other_scrap(phone, "1.3")
    before = shown(phone, "1.3")
    phone.locator("[data-place='1.3']").tap()
    phone.locator(f"[data-place='{to}']").tap()
    assert shown(phone, "1.3") != before
    button = phone.locator("#layout-undo").bounding_box()
    assert button["height"] >= 44 and button["y"] > PHONE["height"] / 2  # where the thumb is
    phone.locator("#layout-undo").tap()
    saved(phone)
    assert shown(phone, "1.3") == before == kept(laid[1], "1.3")
    assert phone.locator("#layout-undo").is_disabled()


def test_a_long_press_pins_and_a_short_tap_does_not(laid, phone) -> None:
    finger = Finger(phone)
    finger.at("touchStart", middle(phone, "3.3"))
    phone.wait_for_selector("[data-place='3.3'].pinned")
    finger.at("touchEnd")
    saved(phone)
    assert quilt_named(open_store(laid[1]), "Sampler").pinned == ("3.3",)
    phone.locator("[data-place='3.4']").tap()
    assert phone.locator(".pinned").count() == 1
    phone.locator("[data-place='3.4']").tap()
    phone.locator("[data-place='3.3']").tap()
    phone.locator("#layout-pin").tap()
    saved(phone)
    assert quilt_named(open_store(laid[1]), "Sampler").pinned == ()


def test_keys_walk_choose_swap_and_pin(laid, phone) -> None:
    phone.locator("[data-place='1.1']").focus()
    before, below = called(phone, "1.1"), called(phone, "2.1")
    phone.keyboard.press("Enter")
    phone.keyboard.press("ArrowDown")
    phone.keyboard.press("Enter")
    assert (called(phone, "1.1"), called(phone, "2.1")) == (below, before)
    assert phone.evaluate("document.activeElement.dataset.place") == "2.1"
    phone.keyboard.press("p")
    assert phone.locator("[data-place='2.1'].pinned").count() == 1
    phone.keyboard.press("p")
    saved(phone)
    assert quilt_named(open_store(laid[1]), "Sampler").pinned == ()


def test_two_fingers_bring_the_quilt_closer_and_swap_nothing(laid, phone) -> None:
    narrow = phone.locator("[data-place='2.2'] .seam").bounding_box()["width"]
    phone.locator("#layout-wide").tap()
    before = phone.locator("[data-place='2.2'] .seam").bounding_box()["width"]
    words = [called(phone, f"{row}.{n}") for row in range(1, 7) for n in range(1, 9)]
    finger = Finger(phone)
    finger.at("touchStart", (150, 300), (240, 300))
    for step in range(1, 9):
        finger.at("touchMove", (150 - 12 * step, 300), (240 + 12 * step, 300))
    finger.at("touchEnd")
    wider = phone.locator("[data-place='2.2'] .seam").bounding_box()["width"] / before
    assert wider == pytest.approx((90 + 2 * 96) / 90, rel=0.12)  # as far as the fingers went apart
    assert words == [called(phone, f"{row}.{n}") for row in range(1, 7) for n in range(1, 9)]
    phone.locator("#layout-wide").tap()
    assert phone.locator("[data-place='2.2'] .seam").bounding_box()["width"] == pytest.approx(
        narrow
    )


def test_what_another_window_moved_meanwhile_is_told_and_put_back(laid, phone) -> None:
    to = other_scrap(phone, "1.5")
    third = next(f"5.{n}" for n in range(1, 9) if shown(phone, f"5.{n}") != shown(phone, "1.5"))
    move_pieces(open_store(laid[1]), "Sampler", LayoutRequest(swaps=(("1.5", third),)))
    was = called(phone, "1.5")
    with phone.expect_response("**/quilt/layout") as answer:
        phone.locator("[data-place='1.5']").tap()
        phone.locator(f"[data-place='{to}']").tap()
    assert answer.value.status == 409
    phone.wait_for_selector("#chosen:has-text('was changed in another window')")
    assert called(phone, "1.5") == was


QUILT = ".layout svg.quilt"


@pytest.mark.parametrize("state", ["held", "pinned", "walked to", "dragging", "refused", "wide"])
def test_a_mark_covers_little_of_the_cloth_it_marks(phone, state: str) -> None:
    phone.locator("#main").focus()
    quilt = phone.locator(QUILT)
    if state == "wide":
        phone.locator("#layout-wide").tap()
    plain = pixels(quilt)
    if state == "walked to":
        phone.locator("[data-place='3.5']").focus()
        phone.keyboard.press("ArrowRight")
    elif state == "dragging":
        Finger(phone).drag(middle(phone, "3.5"), middle(phone, "4.6"), lift=False)
    elif state == "refused":
        phone.route(
            "**/quilt/layout", lambda route: route.fulfill(status=422, json={"problem": 9 * "No, "})
        )
        phone.locator("[data-place='3.5']").tap()
        phone.locator(f"[data-place='{other_scrap(phone, '3.5')}']").tap()
        phone.wait_for_selector("#chosen:has-text('No, ')")
    else:
        phone.locator("[data-place='3.5']").tap()
        if state == "pinned":
            phone.locator("#layout-pin").tap()
    most = 0.05 if state == "dragging" else 0.01  # 1/48 of the quilt is the piece itself
    assert covered(plain, pixels(quilt)) < most
    assert state == "refused" or covered(plain, pixels(quilt)) > 0.0005
    assert hidden(phone, QUILT) < 0.05
    if state == "pinned":
        phone.locator("#layout-undo").tap()
        saved(phone)


def test_on_the_whole_screen_nothing_of_the_page_lies_over_the_quilt(phone) -> None:
    bar = "<a class='waiting' href='/twins'>2 groups may be one cloth: look</a>"
    phone.set_viewport_size(DESK)
    phone.evaluate("(bar) => main.insertAdjacentHTML('beforebegin', bar)", bar)
    phone.locator("#layout-wide").click()
    assert hidden(phone, QUILT) == 0


def test_what_a_change_would_do_is_drawn_in_place_of_the_quilt_and_hides_none_of_it(phone) -> None:
    phone.fill("#rows", "7")
    phone.wait_for_selector("#as-would .piece")
    assert phone.locator("#as-would .piece").count() == 7 * 8
    assert phone.locator(QUILT).is_hidden()
    phone.locator("#as-would svg").scroll_into_view_if_needed()
    assert hidden(phone, "#as-would svg") < 0.05
    phone.fill("#size", "no size")
    phone.wait_for_selector("#would [role=alert]")
    assert phone.locator(QUILT).is_visible()
    phone.fill("#size", "1 in")
    phone.fill("#rows", "6")
    phone.wait_for_selector("#would:empty", state="attached")
    assert phone.locator("#now").is_visible()
