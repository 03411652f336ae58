"""How often the kind of print is told right, on pictures of real cloth labelled by eye.

Run ``python -m tests.benchmarks.kinds_of_print FOLDER`` with pictures named ``...-KIND.png``
(plain, tone, tweed, print, stripe, plaid or check), for the table of docs/measurements.md,
section "Kinds of print".
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import numpy as np
from PIL import Image

from stash.colour.describing import ClothSample, describe
from stash.colour.spaces import lab_of_srgb

# A tweed is a weave of two colours: to a quilter it is tone-on-tone or a small print.
RIGHT = {
    "plain": {"plain"},
    "tone": {"tone-on-tone", "plain"},
    "tweed": {"tone-on-tone", "print"},
    "print": {"print"},
    "stripe": {"stripe"},
    "plaid": {"plaid"},
    "check": {"plaid"},
}


def main() -> None:
    """Print one row a label: how many, how many right, and what the others were called."""
    called: dict[str, Counter[str]] = {}
    wrong = []
    for path in sorted(Path(sys.argv[1]).glob("*.[pj]*g")):
        label = path.stem.rsplit("-", 1)[1]
        pixels = np.asarray(Image.open(path).convert("RGB"))
        sample = ClothSample(pixels, np.ones(pixels.shape[:2], bool), lab_of_srgb, px_per_in=50.0)
        look = describe(sample)
        called.setdefault(label, Counter())[look.kind.value] += 1
        if look.kind.value not in RIGHT[label]:
            wrong.append(f"{path.stem} ({look.kind.value})")
    print("| label by eye | pictures | right | called |\n|---|---|---|---|")
    for label, kinds in called.items():
        right = sum(n for kind, n in kinds.items() if kind in RIGHT[label])
        names = ", ".join(f"{kind} {n}" for kind, n in kinds.most_common())
        print(f"| {label} | {kinds.total()} | {right} | {names} |")
    print("\nwrong:", "; ".join(wrong))


if __name__ == "__main__":
    main()
