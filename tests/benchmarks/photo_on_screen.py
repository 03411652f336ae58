"""Seconds from choosing a 12-megapixel photo on the page until its outlines are seen on it.

usage: python -m tests.benchmarks.photo_on_screen [COUNT]

Wall clock, a real server process and the system's Chromium at phone size; the photos, seven
scraps each, are rendered by stash.demo with seeds of their own. The first photo warms the server.
Seen is what has a box of some size within the screen, without a hand scrolling: the picture first,
then the drawing of its outlines.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from stash.demo.scene import SceneSpec, render_scene
from tests.benchmarks.scraps_by_kind import some
from tests.running import run_stash
from tests.web.browsing import PHONE, browser
from tests.web.serving import serving

SEEN = """([where, high]) => new Promise((done) => {
  const look = () => {
    const part = document.querySelector(where);
    const box = part && part.getBoundingClientRect();
    const there = box && box.width > 100 && box.height > 75 && box.top >= 0 && box.bottom <= high;
    if (there) requestAnimationFrame(() => setTimeout(done)); else setTimeout(look, 10);
  };
  look();
})"""


def main(count: int) -> None:
    """Render, serve, send one after the other, and print each time."""
    with tempfile.TemporaryDirectory() as place:
        home, photos = Path(place) / "stash", []
        run_stash("card", "add", "chart", "--kind", "chart24", "--pitch", "0.55", home=home)
        for seed in range(count + 1):
            spec = SceneSpec(some(np.random.default_rng(seed)), size_px=(4000, 3000))
            photos.append(Path(place) / f"table-{seed}.jpg")
            photos[-1].write_bytes(render_scene(spec, seed=900 + seed).jpeg())
        with serving(home) as served, browser() as chromium:
            tab = chromium.new_context(viewport=PHONE).new_page()
            tab.set_default_timeout(120_000)
            for photo in photos:
                tab.goto(f"{served.address}photograph")
                begun = time.perf_counter()
                tab.set_input_files("#photos", [str(photo)])
                told = []
                for part in ("#sent img", "#sent svg:has(path)"):
                    tab.evaluate(SEEN, [part, PHONE["height"]])
                    told.append(time.perf_counter() - begun)
                picture, outlines = told
                print(
                    f"{photo.name}: picture {picture:.2f} s, outlines {outlines:.2f} s", flush=True
                )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4)
