"""Times the wall and the question on a stash of three thousand: what the server does for one tap.

Run as ``python -m tests.benchmarks.page_at_three_thousand``. Sizes are kept beforehand, for working
them out is measured elsewhere; processor time is given, for other work must not count.
"""

from __future__ import annotations

import random
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from stash.shape.templates.template import make_template
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.pieces.piece_counts import CutRule, count_key
from stash.usecases.ports import SizeKey, Store
from stash.web.door.addresses import Door
from stash.web.door.settings import WebSettings
from stash.web.page_tools import Page, PageTools
from stash.web.views import match_pages, wall_pages
from stash.wiring import open_store
from tests.web import little_stash

SCRAPS = 3000
SIZES = ("2 3/4", "3", "3 1/4", "3 1/2", "3 3/4")
FILTERS = ("family=blue", "family=teal&sort=hue", "words=stripe", "value=dark", "sort=size")


def filled(home: Path) -> Store:
    """Make the stash; its cloth needs no pictures here."""
    little_stash._picture = lambda *_: b""
    for part in range(SCRAPS // 100):
        little_stash.fill_stash(open_store(home), 100, seed=part)
    store = open_store(home)
    make_palette(store, PaletteRequest("Sea", words="blues and teals mostly, sand; no pinks"))
    rule, rng = CutRule(), random.Random(1)
    largest = {scrap.number: rng.uniform(1.5, 8) for scrap in store.scraps()}
    store.keep_largest_sizes(SizeKey("square", rule.word()), largest)
    for size in SIZES:
        key = count_key(make_template("square", size), rule)
        store.keep_largest_sizes(key, dict.fromkeys(largest, 1.0))
    return store


def asked(page: Page, desk: PageTools, query: str) -> tuple[float, Response]:
    """Ask a page once; gives processor seconds and the answer."""
    request = Request(
        {
            "type": "http",
            "method": "GET",
            "path": page.path,
            "query_string": query.encode(),
            "headers": [(b"host", desk.settings.address[7:-1].encode())],
            "state": {"session": "x" * 30},
        }
    )
    look: Callable[[PageTools, Request], Response] | None = page.look
    assert look is not None
    begun = time.process_time()
    answer = look(desk, request)
    return time.process_time() - begun, answer


def main() -> None:
    """Print the median of each."""
    with tempfile.TemporaryDirectory() as folder:
        desk = PageTools(filled(Path(folder)), Door(WebSettings(8765)))
        asked(wall_pages.PAGES[0], desk, "")
        filters = [asked(wall_pages.PAGES[0], desk, f"{one}&part=all")[0] for one in FILTERS * 3]
        queries = [f"palette=Sea&shape=square&size={one}&part=1" for one in SIZES]
        for query in queries:
            _, answer = asked(match_pages.PAGES[0], desk, query)
            assert b"data-working" not in answer.body
        live = [asked(match_pages.PAGES[0], desk, query)[0] for query in queries * 3]
    for what, found in (("a filter of the wall", filters), ("the question at one size", live)):
        print(f"{what}: {statistics.median(found) * 1000:.0f} ms, most {max(found) * 1000:.0f} ms")


if __name__ == "__main__":
    main()
