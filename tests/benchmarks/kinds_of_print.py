"""How often the kind of print is told right.

``python -m tests.benchmarks.kinds_of_print FOLDER``: pictures of real cloth labelled by eye, named
``...-KIND.png`` (plain, tone, tweed, print, stripe, plaid or check).
``python -m tests.benchmarks.kinds_of_print``: our invented fabrics, each six times, turned anyhow,
70 to 180 pixels an inch, 2 to 6 inches of it, one side up to 6 % nearer, blurred, noisy, JPEG.
``python -m tests.benchmarks.kinds_of_print --made FIRST COUNT``: made cloth of every kind in many
scales, by its seeds (``made_cloth``).
All for the tables of docs/measurements.md, section "Kinds of print".
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from stash.colour.describing import ClothSample, describe
from stash.colour.spaces import lab_of_srgb, srgb_of_linear
from stash.demo.fabrics import FABRICS, TILE_PX_PER_IN, weave
from tests.benchmarks.made_cloth import made_cloth

# A tweed is a weave of two colours: to a quilter it is tone-on-tone or a small print.
RIGHT = {
    "plain": {"plain"},
    "tone": {"tone-on-tone", "plain"},
    "tone-on-tone": {"tone-on-tone", "plain"},
    "tweed": {"tone-on-tone", "print"},
    "print": {"print"},
    "stripe": {"stripe"},
    "plaid": {"plaid"},
    "check": {"plaid"},
}


def real_cloth(folder: Path) -> Iterator[tuple[str, str, np.ndarray, float]]:
    """Name, label, pixels and pixels an inch of every picture of a folder."""
    for path in sorted(folder.glob("*.[pj]*g")):
        yield (
            path.stem,
            path.stem.rsplit("-", 1)[1],
            np.asarray(Image.open(path).convert("RGB")),
            50,
        )


def made_cloths(first: int, count: int) -> Iterator[tuple[str, str, np.ndarray, float]]:
    """The same of made cloth."""
    for seed in range(first, first + count):
        cloth = made_cloth(seed)
        yield f"{seed} {cloth.figure}", cloth.kind, cloth.pixels_srgb, 100


def invented_cloth(views: int = 6, seed: int = 5) -> Iterator[tuple[str, str, np.ndarray, float]]:
    """The same of every invented fabric, seen anyhow."""
    rng = np.random.default_rng(seed)
    for fabric in FABRICS.values():
        tile = weave(fabric)
        for _ in range(views):
            px_per_in = rng.uniform(70, 180)
            yield fabric.name, fabric.kind.value, seen(tile, px_per_in, rng), px_per_in


def seen(tile: np.ndarray, px_per_in: float, rng: np.random.Generator) -> np.ndarray:
    """A square of repeated cloth, slanting and turned, as a camera keeps it (uint8 sRGB)."""
    size, repeat = int(px_per_in * rng.uniform(2.2, 6)), tile.shape[0]
    scale, turn = TILE_PX_PER_IN / px_per_in, rng.uniform(0, 2 * np.pi)
    y, x = np.mgrid[: 2 * size, : 2 * size] / 2 - size / 2
    slant = rng.uniform(-0.06, 0.06, 2) / size
    nearer = scale / (1 + slant[0] * x + slant[1] * y)
    across = (np.cos(turn) * x - np.sin(turn) * y) * nearer + rng.uniform(0, repeat)
    down = (np.sin(turn) * x + np.cos(turn) * y) * nearer + rng.uniform(0, repeat)
    places = ((axis % repeat).astype(np.float32) for axis in (across, down))
    joined = np.pad(tile, ((0, 1), (0, 1), (0, 0)), mode="wrap")
    fine = cv2.remap(joined, *places, cv2.INTER_LINEAR)
    light = cv2.GaussianBlur(
        cv2.resize(fine, (size, size), interpolation=cv2.INTER_AREA), (0, 0), rng.uniform(0.5, 1)
    ) * rng.uniform(0.5, 1.0)
    levels = srgb_of_linear(np.clip(light, 0, 1)) * 255 + rng.normal(0, 1.5, light.shape)
    kept = cv2.imencode(".jpg", np.clip(levels, 0, 255).astype(np.uint8)[..., ::-1])[1]
    return np.ascontiguousarray(cv2.imdecode(kept, cv2.IMREAD_COLOR)[..., ::-1])


def main() -> None:
    """Print one row a label: how many, how many right, and what the others were called."""
    called: dict[str, Counter[str]] = {}
    wrong = []
    if sys.argv[1:2] == ["--made"]:
        cloths = made_cloths(int(sys.argv[2]), int(sys.argv[3]))
    else:
        cloths = real_cloth(Path(sys.argv[1])) if len(sys.argv) > 1 else invented_cloth()
    for name, label, pixels, px_per_in in cloths:
        sample = ClothSample(pixels, np.ones(pixels.shape[:2], bool), lab_of_srgb, px_per_in)
        look = describe(sample)
        called.setdefault(label, Counter())[look.kind.value] += 1
        if look.kind.value not in RIGHT[label]:
            wrong.append(f"{name} ({look.kind.value})")
    print("| label by eye | pictures | right | called |\n|---|---|---|---|")
    for label, kinds in called.items():
        right = sum(n for kind, n in kinds.items() if kind in RIGHT[label])
        names = ", ".join(f"{kind} {n}" for kind, n in kinds.most_common())
        print(f"| {label} | {kinds.total()} | {right} | {names} |")
    print("\nwrong:", "; ".join(wrong))


if __name__ == "__main__":
    main()
