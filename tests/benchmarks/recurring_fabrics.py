"""How often a scrap's own fabric is among the first three proposed, over logged scenes.

Run ``python -m tests.benchmarks.recurring_fabrics SCENES LOG.json STASH`` with the folder of
scenes (``NAME.jpg`` beside its truth ``NAME.json``), the answer of ``stash log --json`` on them,
and the stash folder they were logged into.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon

from stash.colour.likeness import likeness, most_alike
from stash.wiring import open_store


def truth_by_scrap(scenes: Path, answer: dict) -> dict[int, str]:
    """Name the true fabric of each logged scrap: the true scrap of most equal area, in order."""
    fabric = {}
    for photo in answer["photos"]:
        truth = json.loads((scenes / Path(photo["file"]).with_suffix(".json").name).read_text())
        left = list(truth["scraps"])
        for scrap in photo["scraps"]:
            area = Polygon(scrap["outline_in"]).area
            lab = np.array(scrap["reads_as_lab"])
            cost = [
                20 * abs(np.log(area / t["area_sq_in"]))
                + np.linalg.norm(lab - t["reads_as_lab_d65"])
                for t in left
            ]
            fabric[scrap["scrap"]] = left.pop(int(np.argmin(cost)))["fabric"]
    return fabric


def main() -> None:
    """Print recall, and each scrap that was missed."""
    scenes, answer = Path(sys.argv[1]), json.loads(Path(sys.argv[2]).read_text())
    truth = truth_by_scrap(scenes, answer)
    scraps = {scrap.number: scrap for scrap in open_store(Path(sys.argv[3])).scraps()}
    recurring, found = 0, 0
    for number, name in truth.items():
        others = [n for n in truth if n != number]
        if not any(truth[n] == name for n in others):
            continue
        recurring += 1
        looks = [scraps[n].appearance for n in others]
        best = most_alike(scraps[number].appearance, looks, n=3)
        proposed = [truth[others[place]] for place, _ in best]
        found += name in proposed
        if name not in proposed:
            same = [likeness(scraps[number].appearance, scraps[n].appearance)
                    for n in others if truth[n] == name]  # fmt: skip
            print(f"  missed {name} (its own: {max(same):.2f}); proposed {best}: {proposed}")
    print(f"{len(truth)} scraps, {recurring} of fabrics that recur; in the first three: {found}")


if __name__ == "__main__":
    main()
