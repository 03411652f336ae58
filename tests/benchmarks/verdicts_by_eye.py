"""Contact sheets of verdicts over pictures of real cloth, to be looked at by a person.

Run ``python -m tests.benchmarks.verdicts_by_eye FOLDER SHEETS`` with a folder of pictures of cloth;
one sheet for each of three palettes goes into the folder SHEETS, and the verdicts of each are
counted. What the person saw is in docs/measurements.md, section "Verdicts".
"""

from __future__ import annotations

import io
import sys
from collections import Counter
from pathlib import Path

import numpy as np
from PIL import Image

from stash.colour.colour_name import colour_name
from stash.colour.describing import ClothSample, describe
from stash.colour.fabric_table import FabricColours
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_srgb
from stash.colour.verdict import FabricVerdict, Verdict, judge
from stash.drawing.contact_sheet import Group, Swatch, draw_contact_sheet

PALETTES = {
    "blues": "blues and teals mostly, sand, a touch of coral; no pinks, no purples",
    "browns": "browns and golds mostly, some reds, a touch of green; no blues, no purples",
    "greens": "greens mostly, some yellows, creams, a touch of pink; no browns, no neutrals",
}


def main() -> None:
    """Draw one sheet a palette and print how many belong, are borderline and clash."""
    pictures = sorted(Path(sys.argv[1]).glob("*.[pj]*g"))
    cloths = [np.asarray(Image.open(path).convert("RGB")) for path in pictures]
    fabrics = [
        FabricColours(
            number,
            describe(ClothSample(cloth, np.ones(cloth.shape[:2], bool), lab_of_srgb, px_per_in=50)),
        )
        for number, cloth in enumerate(cloths, 1)
    ]
    for name, words in PALETTES.items():
        verdicts = judge(fabrics, palette_of_words(name, words))
        counts = Counter(found.verdict for found in verdicts)
        print(words, *(f"{counts[verdict]} {verdict}" for verdict in Verdict), sep=" | ")
        groups = []
        for verdict in Verdict:
            under_it = [found for found in verdicts if found.verdict is verdict]
            swatches = [_swatch(fabrics[v.fabric - 1], v, cloths[v.fabric - 1]) for v in under_it]
            groups.append(Group(verdict.value, tuple(swatches)))
        Path(sys.argv[2], f"{name}.png").write_bytes(draw_contact_sheet(groups, title=words))


def _swatch(fabric: FabricColours, found: FabricVerdict, cloth: np.ndarray) -> Swatch:
    jpeg = io.BytesIO()
    Image.fromarray(cloth).save(jpeg, "JPEG", quality=92)
    colours = tuple((colour.lab, colour.share) for colour in fabric.appearance.colours)
    names = tuple(f"{share:.0%} {colour_name(lab)}" for lab, share in colours[:2])
    note = "; ".join(reason.text for reason in found.reasons if reason.moves)
    return Swatch(f"no. {fabric.fabric}", names, jpeg.getvalue(), colours, note)


if __name__ == "__main__":
    main()
