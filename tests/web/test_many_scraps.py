"""Pages of a stash larger than one would wait for: sizes come by and by, long lists in parts."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from stash.shape.template import make_template
from stash.usecases.manage_palettes import PaletteRequest, make_palette
from stash.usecases.piece_counts import CutRule
from stash.usecases.sizes_ahead import not_worked_out
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving

SCRAPS = 90  # more than are worked out while a page waits


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    home = tmp_path_factory.mktemp("many")
    store = open_store(home)
    fill_stash(store, SCRAPS)
    make_palette(store, PaletteRequest("Tidewater", words="blues and teals; no pinks"))
    with serving(home) as served:
        yield served, home


def test_sizes_not_yet_known_are_told_and_worked_out_beside_the_page(
    many: tuple[Served, Path],
) -> None:
    served, home = many
    asked = "/match?palette=Tidewater&shape=square&size=2"
    told = re.search(r"Not yet worked out: (\d+) scraps", served.client.get(asked).text)
    assert told is not None
    assert 60 < int(told[1]) <= SCRAPS
    until = time.monotonic() + 120
    while "Not yet worked out" in served.client.get(asked).text:
        assert time.monotonic() < until
        time.sleep(0.3)
    square = make_template("square", "2")
    assert not not_worked_out(open_store(home), square, CutRule())
    wall = served.client.get("/?shape=square&size=2").text
    assert "Not yet worked out" not in wall
    assert f"of {SCRAPS} shown" in wall


def test_a_long_list_shows_its_beginning_and_the_way_to_the_rest(
    many: tuple[Served, Path],
) -> None:
    served, _ = many
    page = "/clash?palette=Tidewater"
    few = served.client.get(f"{page}&most=5").text
    assert "5 of" in few
    assert "most=25" in few
    everything = served.client.get(f"{page}&most=99999").text
    assert everything.count('class="name"') > few.count('class="name"')
    assert "Show more" not in everything
