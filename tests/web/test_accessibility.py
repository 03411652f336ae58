"""Every page under axe-core: nothing, by day and by night, on phone and tools."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.photos.manage_cards import add_chart
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.web.app import all_pages
from stash.wiring import open_store
from tests.web.browsing import DESK, PHONE, browser, watched
from tests.web.little_stash import fill_stash
from tests.web.serving import serving

pytestmark = pytest.mark.slow

# Rules of WCAG 2.0 to 2.2, levels A and AA, and axe's own best practices.
AXE_VERSION = "4.11"
PAGES = {
    "/": ["/", "/?words=nothing-is-called-this", "/?grey=1", "/?choose=1&dense=1&sort=hue"],
    "/scrap/{number:number}": ["/scrap/1"],
    "/scrap/{number:number}/gives": ["/scrap/1/gives"],
    "/scrap/{number:number}/stand-ins": ["/scrap/1/stand-ins"],
    "/own": ["/own"],
    "/tally": ["/tally"],
    "/twins": ["/twins"],
    "/photograph": ["/photograph"],
    "/photographed": ["/photographed"],
    "/photo/{sha256}": ["/photo/{photo}"],
    "/cards": ["/cards"],
    "/palettes": ["/palettes"],
    "/palettes/new": ["/palettes/new"],
    "/palette": ["/palette?name=Tidewater"],
    "/match": ["/match?palette=Tidewater", "/match?palette=Tidewater&shape=square&size=3"],
    "/clash": ["/clash?palette=Tidewater"],
    "/quilts": ["/quilts"],
    "/quilts/new": ["/quilts/new"],
    "/quilt": ["/quilt?name=Sampler", "/quilt?name=Too+large"],
    "/quilt/change": ["/quilt/change?name=Sampler", "/quilt/change?name=Too+large"],
    "/quilt/finishing": ["/quilt/finishing?name=Sampler"],
    "/quilt/guide": ["/quilt/guide?name=Sampler", "/quilt/guide?name=Too+large"],
    "/quilt/cloth": ["/quilt/cloth?name=Sampler", "/quilt/cloth?name=Sampler&for=backing"],
    "/goes-with": ["/goes-with?scrap=1"],
    "/quilt/sew": ["/quilt/sew?name=Sampler", "/quilt/sew?name=Too+large"],
    "/print": ["/print"],
    "/pair": ["/pair"],
    "/join": ["/join?key=x"],
}
# Pages while something is held, chosen, opened, told or refused.
STATES = {
    "/quilt?name=Sampler": [
        "document.querySelector('[data-place=\"1.1\"]').focus()",
        "document.activeElement.dispatchEvent("
        "new KeyboardEvent('keydown', {key: 'Enter', bubbles: true}))",
    ],
    "/quilt?name=Too+large": [
        "document.querySelectorAll('details').forEach((one) => { one.open = true; })",
        "document.getElementById('size').value = 'no size'",
        "document.getElementById('change').dispatchEvent(new Event('input'))",
        "new Promise((done) => { const look = () => document.querySelector('#would p')"
        " ? done() : setTimeout(look, 30); look(); })",
    ],
    "/scrap/1": ["document.querySelectorAll('details').forEach((one) => { one.open = true; })"],
}
NOT_PAGES = (".jpg", ".pdf", "/preview", "/card", "/would")


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Fetch axe-core into a folder of its own, or skip."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed, so axe-core cannot be fetched")
    folder = tmp_path_factory.mktemp("axe")
    done = subprocess.run(
        [npm, "install", "--no-audit", "--no-fund", "--ignore-scripts", f"axe-core@{AXE_VERSION}"],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    if done.returncode != 0:
        pytest.skip(f"axe-core could not be fetched: {done.stderr[-200:]}")
    return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text()


@pytest.fixture(scope="module")
def full_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a stash with something on every page."""
    home = tmp_path_factory.mktemp("stash")
    store = open_store(home)
    fill_stash(store, 16)
    add_chart(store, "practice chart", 0.55)
    make_palette(store, PaletteRequest("Tidewater", words="blues and teals, sand; no pinks"))
    make_quilt(store, QuiltRequest("Sampler", "square", "1", rows=2, across=3))
    allot_quilt(store, "Sampler")
    lay_out(store, "Sampler", LayoutRequest())
    make_quilt(store, QuiltRequest("Too large", "square", "3", rows=40, across=40, charm=True))
    return home


def test_every_page_is_looked_at() -> None:
    there = {page.path for page in all_pages() if page.look and not page.path.endswith(NOT_PAGES)}
    assert there == set(PAGES)


def visits() -> list[tuple[str, list[str]]]:
    """Give every page as it is opened, then those in a state that a hand brings about."""
    return [*((one, []) for paths in PAGES.values() for one in paths), *STATES.items()]


def faults_of(tab) -> list[str]:
    """Ask axe-core about the page shown."""
    found = tab.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{one['impact']} {one['id']}: {one['help']}: {node['html'][:160]}"
        for one in found["violations"]
        for node in one["nodes"][:3]
    ]


def test_axe_tells_a_fault_where_there_is_one(axe: str) -> None:
    with browser() as opened:
        tab = opened.new_page()
        tab.set_content("<html lang=en><title>x</title><img src=x><input></html>")
        tab.evaluate(f"() => {{ {axe} }}")
        found = {fault.split(":")[0] for fault in faults_of(tab)}
        assert {"critical image-alt", "critical label", "moderate region"} <= found


def test_axe_finds_nothing_and_no_page_is_wider_than_the_screen(axe: str, full_home: Path) -> None:
    faults: dict[str, list[str]] = {}
    complaints: list[str] = []
    photo = open_store(full_home).photos()[0].sha256
    with serving(full_home) as served, browser() as opened:
        for size, scheme in ((PHONE, "light"), (DESK, "dark")):
            context = opened.new_context(viewport=size, color_scheme=scheme)
            tab = watched(context, complaints)
            for path, steps in visits():
                tab.goto(served.address + path[1:].replace("{photo}", photo))
                for step in steps:
                    tab.evaluate(step)
                tab.evaluate(f"() => {{ {axe} }}")
                wide = tab.evaluate("() => document.documentElement.scrollWidth")
                found = faults_of(tab)
                if wide > size["width"]:
                    found.append(f"{wide} px wide")
                if found:
                    faults[f"{path} {size['width']} {scheme}"] = found
            context.close()
    assert faults == {}, json.dumps(faults, indent=1)
    unexpected = [text for text in complaints if "404" not in text and "422" not in text]
    assert unexpected == []


def test_axe_finds_nothing_where_nothing_is_yet(axe: str, tmp_path: Path) -> None:
    faults: dict[str, list[str]] = {}
    with serving(tmp_path / "stash") as served, browser() as opened:
        tab = opened.new_context(viewport=PHONE).new_page()
        for path in ("", "photograph", "palettes", "match", "quilts", "print", "pair", "join"):
            tab.goto(served.address + path)
            tab.evaluate(f"() => {{ {axe} }}")
            if found := faults_of(tab):
                faults[path] = found
    assert faults == {}, json.dumps(faults, indent=1)
