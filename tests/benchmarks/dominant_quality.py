"""How well dominant colours are found on made prints, beside other libraries.

Run ``python -m tests.benchmarks.dominant_quality [PRINTS]`` for the table of
docs/measurements.md, section "Dominant colours".
"""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Callable
from importlib.util import find_spec

import numpy as np
from PIL import Image

from stash.colour.appearance import ColourShare
from stash.colour.cloth_sample import ClothSample, cropped
from stash.colour.difference import difference_table
from stash.colour.dominant import cells_of, dominant_colours
from stash.colour.likeness import earth_mover
from stash.colour.spaces import lab_of_srgb
from tests.benchmarks.made_prints import MadePrint, made_print

MISSED_DE00 = 8.0  # a true colour without a found one this near is missed
FIGURES = ("dE00", "missed %", "right number %", "share points", "EMD", "ms")
LEAST_COUNTED = 0.03
MOST = 6  # the number of colours a library is asked for that does not find it


def ours(pixels, _count):
    cloth = cropped(ClothSample(pixels, np.ones(pixels.shape[:2], bool), lab_of_srgb, 50.0))
    return [(c.lab, c.share) for c in dominant_colours(cells_of(cloth, lab_of_srgb))]


def by_pylette(pixels, count):
    from pylette import extract_colors

    found = extract_colors(Image.fromarray(pixels), palette_size=count, resize=256)
    return [(lab_of_srgb(np.array(c.rgb[:3]) / 255), c.frequency) for c in found]


def by_colorthief(pixels, count):
    from colorthief import ColorThief

    data = io.BytesIO()
    Image.fromarray(pixels).save(data, "PNG", compress_level=0)
    found = ColorThief(data).get_palette(color_count=max(count, 2), quality=10)
    # It gives no shares: every pixel goes to the nearest of its colours.
    labs = lab_of_srgb(np.array(found) / 255)
    some = lab_of_srgb(pixels[::7, ::7].reshape(-1, 3) / 255)
    nearest = ((some[:, None] - labs[None]) ** 2).sum(axis=2).argmin(axis=1)
    return list(zip(labs, np.bincount(nearest, minlength=len(labs)) / len(some), strict=True))


def by_extcolors(pixels, count):
    import extcolors

    found, total = extcolors.extract_from_image(Image.fromarray(pixels), tolerance=32, limit=count)
    return [(lab_of_srgb(np.array(rgb) / 255), n / total) for rgb, n in found]


def finders() -> dict[str, tuple[Callable, int | None]]:
    """Give each library that is installed: how it is called, and the number it is asked for."""
    there: dict[str, tuple[Callable, int | None]] = {"stash": (ours, MOST)}
    for name, finder in (
        ("pylette", by_pylette),
        ("colorthief", by_colorthief),
        ("extcolors", by_extcolors),
    ):
        if find_spec(name) is not None:
            there[f"{name}, asked for {MOST}"] = (finder, MOST)
            there[f"{name}, told the true number"] = (finder, None)
    return there


def score(prints: list[MadePrint], finder: Callable, count: int | None) -> dict[str, float]:
    """Give the figures of one library over all prints."""
    distances, number, points, movers, seconds = [], [], [], [], []
    for made in prints:
        began = time.perf_counter()
        found = finder(made.pixels_srgb, count or len(made.labs))
        seconds.append(time.perf_counter() - began)
        labs = np.array([lab for lab, _ in found])
        shares = np.array([share for _, share in found])
        table = difference_table(made.labs, labs)
        distances.extend(table.min(axis=1))
        # Inks under 4 % are no part of the truth, so neither are accents that are found under 3 %.
        number.append((shares >= LEAST_COUNTED * shares.sum()).sum() == len(made.labs))
        # Each found colour counts for the true colour it is nearest to.
        given = np.bincount(table.argmin(axis=0), shares, minlength=len(made.labs))
        points.extend(100 * np.abs(given / shares.sum() - made.shares))
        movers.append(
            earth_mover(_shares(made.labs, made.shares), _shares(labs, shares / shares.sum()))
        )
    missed = 100 * float((np.array(distances) > MISSED_DE00).mean())
    figures = (np.mean(distances), missed, 100 * np.mean(number), np.mean(points),
               np.mean(movers), 1e3 * np.median(seconds))  # fmt: skip
    return dict(zip(FIGURES, map(float, figures), strict=True))


def _shares(labs, shares):
    return [ColourShare(tuple(lab), float(share)) for lab, share in zip(labs, shares, strict=True)]


def prints_of(count: int, *, fine: bool, seed: int, size: int = 1000) -> list[MadePrint]:
    """Make prints from a seed."""
    rng = np.random.default_rng(seed)
    return [made_print(rng, fine=fine, size=size) for _ in range(count)]


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 7
    peers = finders()
    for fine in (True, False):
        prints = prints_of(count, fine=fine, seed=seed)
        print(f"\n{count} prints, {'fine' if fine else 'coarse'} figures, seed {seed}\n")
        print("| library | " + " | ".join(FIGURES) + " |")
        print("|---|" + "---|" * len(FIGURES))
        for name, (finder, asked) in peers.items():
            if len(sys.argv) > 3 and name != "stash":
                continue
            found = score(prints, finder, asked)
            print(f"| {name} | " + " | ".join(f"{found[f]:.2f}" for f in FIGURES) + " |")


if __name__ == "__main__":
    main()
