"""Pages of a stash larger than one would wait for: sizes come by and by, long lists in parts."""

from __future__ import annotations

import time
from pathlib import Path

from stash.shape.templates.template import make_template
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.pieces.sizes_ahead import not_worked_out
from stash.web.sizes_beside import SizesBeside
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import serving


def test_sizes_are_worked_out_beside_the_page_and_kept(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 16)
    square, rule = make_template("square", "3"), CutRule()
    assert SizesBeside(at_most_s=0.0).left(store, square, rule, counts=False) == 16
    until = time.monotonic() + 300
    while not_worked_out(open_store(tmp_path), square, rule, counts=False):
        assert time.monotonic() < until
        time.sleep(0.1)


def test_a_long_list_shows_its_beginning_and_the_way_to_the_rest(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 20)
    make_palette(store, PaletteRequest("Reds", words="reds; no blues, no greens, no teals"))
    with serving(tmp_path) as served:
        few = served.client.get("/clash?palette=Reds&most=2").text
        everything = served.client.get("/clash?palette=Reds&most=20").text
    assert 2 <= few.count('class="name"') <= 4  # two clashing, two borderline at most
    assert "most=10" in few
    assert everything.count('class="name"') > 4
    assert "Show more" not in everything
