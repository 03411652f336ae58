"""Sewing day in a real browser: a step a screen, ticked off, there without the network too."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.wiring import open_store
from tests.web.browsing import PHONE, browser
from tests.web.little_stash import fill_stash
from tests.web.serving import start

pytestmark = pytest.mark.slow


def test_steps_are_ticked_off_without_the_network_and_told_when_it_is_back(tmp_path: Path) -> None:
    home = tmp_path / "stash"
    store = open_store(home)
    fill_stash(store, 12)
    make_palette(store, PaletteRequest("All", words="blues, teals, reds, tan, cream, grey, black"))
    make_quilt(store, QuiltRequest("Bay", "square", "1 1/2", rows=2, across=2, charm=True))
    allot_quilt(store, "Bay")
    lay_out(store, "Bay", LayoutRequest())
    served = start(home)
    try:
        with browser() as opened:
            tab = opened.new_context(viewport=PHONE, has_touch=True).new_page()
            tab.goto(f"{served.address}quilt/sew?name=Bay")
            assert tab.locator(".sew-step:visible").count() == 1
            tab.wait_for_selector("text=opens without the network too")
            served.kill()
            tab.reload()  # nobody answers now
            tab.locator("#sew-next").tap()
            assert "Cut #" in tab.inner_text(".sew-step:visible h2")
            tab.locator(".sew-step:visible .done").tap()
            tab.wait_for_selector("#sew-count:has-text('1 done, 1 to be told')")
            assert quilt_named(open_store(home), "Bay").cut_count == 0
            served = start(home, port=served.port)
            tab.reload()
            tab.wait_for_selector("#sew-count:not(:has-text('told'))")
            assert quilt_named(open_store(home), "Bay").cut_count >= 1
    finally:
        served.kill()
