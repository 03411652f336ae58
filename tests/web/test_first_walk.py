"""From nothing to printed papers in a real browser, by touch, counting what a hand has to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.wiring import open_store
from tests.web.browsing import PHONE, browser, watched
from tests.web.serving import start
from tests.web.touching import hidden

pytestmark = pytest.mark.slow

PITCH_IN = 0.55
CLOTH = ("deep water", "slack tide", "dry sand", "pilot stripe")


class Hand:
    """A finger that counts its taps."""

    def __init__(self, tab) -> None:
        self.tab, self.taps = tab, 0

    def tap(self, what: str) -> None:
        self.taps += 1
        self.tab.locator(what).first.tap()

    def choose_file(self, what: str, file: Path) -> None:
        """Tap the button, then a file of those the phone shows."""
        with self.tab.expect_file_chooser() as chooser:
            self.tap(what)
        self.taps += 1
        chooser.value.set_files(file)


def photo(folder: Path) -> Path:
    scraps = tuple(Leftover(fabric, "square", 5.0) for fabric in CLOTH)
    path = folder / "scraps.jpg"
    path.write_bytes(render_scene(SceneSpec(scraps, pitch_in=PITCH_IN), seed=3).jpeg())
    return path


def try_and_throw_away(hand: Hand, home: Path) -> None:
    """The invented stash is there at one tap and gone at another; nothing of it is kept."""
    hand.tap("text=Try it now")
    hand.tab.wait_for_selector("svg.on-photo a")
    assert hand.tab.locator("svg.on-photo a").count() >= 6
    hand.tap("text=Throw it away")
    hand.tab.wait_for_selector("text=Try it now")
    assert hand.taps == 2
    store = open_store(home)
    assert not store.scraps() and not store.documents("card")


def test_from_nothing_to_papers_takes_few_taps_and_no_name(tmp_path: Path) -> None:
    home, complaints = tmp_path / "stash", []
    sent, served = photo(tmp_path), start(tmp_path / "stash")
    try:
        with browser() as opened:
            tab = watched(opened.new_context(viewport=PHONE, has_touch=True), complaints)
            tab.goto(served.address)
            try_and_throw_away(Hand(tab), home)
            hand = Hand(tab)
            hand.tap("text=I own a 24-patch chart")
            hand.tap("#own-pitch")
            tab.keyboard.type(str(PITCH_IN))  # a number from a ruler, no name
            hand.tap("text=This is mine")
            hand.choose_file("text=Choose photos", sent)
            tab.wait_for_selector("#sent svg.on-photo a")
            seen = tab.locator("#sent svg.on-photo").bounding_box()
            assert seen["y"] >= 0 and seen["y"] + seen["height"] <= PHONE["height"]
            hand.tap("text=Look and correct")
            tab.wait_for_url("**/photo/*")  # the page before shows the same outlines
            assert hand.taps <= 6  # outlines
            tab.locator("svg.on-photo a").first.tap()
            tab.wait_for_selector("dialog[open] >> text=Keep")
            assert hidden(tab, "svg.on-photo") < 0.05
            tab.locator("dialog >> text=Close").tap()
            hand.tap("text=What can go in a quilt?")
            hand.tap("button:has-text('All my colours')")
            hand.tap("text=Plan this quilt")
            hand.tap("text=Choose the scraps and lay it out")
            tab.wait_for_selector("#chosen:has-text('Drag a piece')")
            with tab.expect_download() as papers:
                hand.tap("text=All papers")
            assert Path(papers.value.path()).read_bytes().startswith(b"%PDF")
            assert hand.taps <= 14
    finally:
        served.kill()
    assert complaints == []
