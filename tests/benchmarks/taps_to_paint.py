"""From a tap to the paint, in Chromium: filters and live counts at 3,000 scraps, a swap of pieces.

usage: python -m tests.benchmarks.taps_to_paint

A real server process and the system's Chromium at phone size. The clock runs in the page, from the
event a hand makes to the frame after the answer stands in it. Sizes are kept beforehand; scraps
have no pictures, which are decoded beside the page in any case. For a swap the server's processor
time until it is saved is given too.
"""

from __future__ import annotations

import os
import statistics
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.wiring import open_store
from tests.benchmarks.page_at_three_thousand import filled
from tests.web.browsing import PHONE, browser
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving

ROWS, ACROSS = 14, 16
CLOCK = """([where, kind]) => {
  const place = document.querySelector(where);
  const watch = {childList: true, subtree: true, attributes: kind === 'pointerup'};
  let begun = 0;
  document.addEventListener(kind, () => { begun = performance.now(); }, true);
  new MutationObserver(() => {
    if (!begun) return;
    const from = begun;
    begun = 0;
    requestAnimationFrame(() => setTimeout(() => { window.took = performance.now() - from; }));
  }).observe(place, watch);
}"""

# The pages' policy lets no text be run as a script, so the page itself is made to wait.
WAIT = """() => new Promise((done) => {
  const look = () => window.took ? done(window.took) : setTimeout(look, 10);
  look();
})"""


def timed(tab, act: Callable[[], object]) -> float:
    """Do something and give the milliseconds until it is painted."""
    tab.evaluate("window.took = 0")
    act()
    return float(tab.evaluate(WAIT))


def told(what: str, found: Sequence[float], unit: str = "ms") -> None:
    """Print median and most."""
    print(f"{what}: {statistics.median(found):.0f} {unit}, most {max(found):.0f}", flush=True)


def processor_ms(served: Served) -> float:
    """Give the processor time a server has used."""
    fields = Path(f"/proc/{served.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
    return 1000 * (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def wall_and_question(tab, served: Served) -> None:
    """Filters of the wall by its chips, and sizes of the question by its slider."""
    tab.goto(served.address)
    tab.evaluate(CLOCK, ["#wall-part", "click"])
    tab.locator(".chips a").nth(1).tap()
    tab.wait_for_timeout(500)
    told("a chip of the wall", [
        timed(tab, tab.locator(".chips a").nth(number).tap) for number in (2, 3, 4, 5, 6, 2, 3, 4)
    ])  # fmt: skip
    tab.goto(f"{served.address}match?palette=Sea&shape=square&size=3")
    tab.wait_for_selector(".curve")
    tab.evaluate(CLOCK, ["#answer", "input"])
    tab.locator("#slide").focus()
    tab.keyboard.press("ArrowRight")
    tab.wait_for_timeout(500)
    ways = ("ArrowRight", "ArrowRight", "ArrowLeft", "ArrowLeft", "ArrowRight", "ArrowLeft")
    told("a step of the slider", [
        timed(tab, lambda way=way: tab.keyboard.press(way)) for way in ways
    ])  # fmt: skip


def swaps(tab, served: Served) -> None:
    """Two taps swap two pieces."""
    tab.goto(f"{served.address}quilt?name=Large")
    tab.wait_for_selector("#chosen:has-text('Drag')")
    tab.wait_for_timeout(1500)
    tab.evaluate(CLOCK, [".layout svg.quilt", "pointerup"])
    painted, saved = [], []
    for number in range(1, 9):
        timed(tab, tab.locator(f"[data-place='2.{number}']").tap)
        before = processor_ms(served)
        painted.append(timed(tab, tab.locator(f"[data-place='5.{number}']").tap))
        tab.wait_for_selector("#layout[aria-busy=false]", state="attached")
        saved.append(processor_ms(served) - before)
    told(f"a swap among {ROWS * ACROSS} pieces", painted)
    told("saved, processor time", saved)


def main() -> None:
    """Print one line for each."""
    print("load", os.getloadavg())
    with tempfile.TemporaryDirectory() as folder, browser() as chromium:
        tab = chromium.new_context(viewport=PHONE, has_touch=True).new_page()
        tab.set_default_timeout(120_000)
        small, large = Path(folder) / "small", Path(folder) / "large"
        fill_stash(open_store(small), 60)
        store = open_store(small)
        make_quilt(store, QuiltRequest("Large", "square", "1", rows=ROWS, across=ACROSS))
        allot_quilt(store, "Large")
        lay_out(store, "Large", LayoutRequest())
        with serving(small) as served:
            swaps(tab, served)
        filled(large)
        with serving(large) as served:
            wall_and_question(tab, served)
    print("load", os.getloadavg())


if __name__ == "__main__":
    main()
