"""How much verdicts on judged cloth hang on single colours and limits.

``python -m tests.benchmarks.judged_cloth_moved`` moves every colour of every cloth by 1 and by
2 CIEDE2000 in a direction of its own, three times each, and every limit of the verdicts by a tenth
up and down, and prints what the figures of ``judged_cloth`` come to.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any

import numpy as np

from stash.colour.appearance import Appearance, ColourShare
from stash.colour.difference import colour_difference
from stash.colour.palette import Palette, Thresholds
from tests.benchmarks import judged_cloth
from tests.shared_data import shared


def moved(look: Appearance, by: float, rng: np.random.Generator) -> Appearance:
    """Move every colour of a cloth by so much, CIEDE2000, to first order."""

    def shift(lab):
        way = rng.normal(size=3)
        way /= np.linalg.norm(way)
        unit = float(np.ravel(colour_difference(lab, [tuple(np.add(lab, way))]))[0])
        return tuple(map(float, np.add(lab, way * by / unit)))

    colours = tuple(ColourShare(shift(one.lab), one.share) for one in look.colours)
    return replace(look, reads_as=shift(look.reads_as), colours=colours)


def figures(
    judged: dict[str, Any], looks: dict[str, Appearance], change: Callable[[Palette], Palette]
) -> str:
    """Give the figures of all palettes together, each changed before it is asked."""
    count: Counter[str] = Counter()
    for one in judged_cloth.verdicts(judged, looks, change).values():
        count += one
    out, good = count["keep out"], count["belongs"]
    return (
        f"keep-outs that belong {100 * count['keep out: belongs'] / out:.1f} %, "
        f"good cloth that clashes {100 * count['belongs: clashes'] / good:.1f} %, "
        f"shouted {count['shouted']}"
    )


def main() -> None:
    """Print the figures as they are, with colours moved, and with limits moved."""
    folder = shared("data/judged_cloth")
    judged = json.loads((folder / "judged.json").read_text())
    looks = judged_cloth.looks_of(judged, folder)
    print("as it is:", figures(judged, looks, lambda palette: palette))
    rng = np.random.default_rng(5)
    for by in (1.0, 2.0) * 3:
        others = {name: moved(look, by, rng) for name, look in looks.items()}
        print(f"moved by {by:.0f}:", figures(judged, others, lambda palette: palette))
        print("  ", dict(judged_cloth.company(judged, others)))
    for name in (one.name for one in fields(Thresholds)):
        for times in (0.9, 1.1):
            limits = Thresholds().changed({name: getattr(Thresholds(), name) * times})
            told = figures(
                judged, looks, lambda one, limits=limits: replace(one, thresholds=limits)
            )
            print(f"{name} x {times}:", told)


if __name__ == "__main__":
    main()
