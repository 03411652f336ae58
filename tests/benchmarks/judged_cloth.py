"""Verdicts, the wild one, drawers, names and phrases beside a person's judgement.

``python -m tests.benchmarks.judged_cloth`` prints them; ``--unmeasured`` asks as if no photo's card
were measured. The cloths, palettes and sets are those of ``shared/data/judged_cloth``
beside the checkout; a person judged them by eye before any program was asked. Split before the
first trial: a cloth is "fit" where the sha256 of its name is even (first eight hex digits), else
"kept"; three whole palettes, the last by the sha256 of their names, are kept too. Cloth is
described from its picture with no colour error.
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from stash.colour.appearance import Appearance
from stash.colour.cloth_family import cloth_family
from stash.colour.cloth_name import cloth_name
from stash.colour.colour_words import colour_words
from stash.colour.describing import ClothSample, describe
from stash.colour.fabric_table import FabricColours
from stash.colour.naming import FAMILIES
from stash.colour.palette import Palette, palette_of_appearances, palette_of_hex
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_srgb
from stash.colour.verdict import Verdict, judge
from stash.colour.wild_one import keep_company
from stash.errors import PaletteError
from tests.shared_data import shared

KEPT_PALETTES = ("tide", "jewel", "redwhite")


def is_fit(name: str) -> bool:
    """Tell the half that rules were tried on."""
    return int(hashlib.sha256(name.encode()).hexdigest()[:8], 16) % 2 == 0


def looks_of(judged: Mapping[str, Any], folder: Path) -> dict[str, Appearance]:
    """Describe every cloth from its picture."""
    looks = {}
    for name, picture in judged["pictures"].items():
        pixels = np.asarray(Image.open(folder / picture["file"]).convert("RGB"))
        whole = np.ones(pixels.shape[:2], dtype=bool)
        looks[name] = describe(ClothSample(pixels, whole, lab_of_srgb, picture["px_per_in"]))
    return looks


def palette_of(told: Mapping[str, Any], looks: Mapping[str, Appearance]) -> Palette:
    """Make a palette as the person meant it."""
    if told["how"] == "words":
        return palette_of_words("x", told["say"])
    if told["how"] == "hex":
        return palette_of_hex("x", told["say"].split(","), without=told.get("without", ()))
    return palette_of_appearances("x", [looks[told["say"]]])


def verdicts(
    judged: Mapping[str, Any],
    looks: Mapping[str, Appearance],
    change: Callable[[Palette], Palette] = lambda palette: palette,
) -> dict[str, Counter[str]]:
    """Count the verdicts by split, and by what the person said; palettes may be changed first."""
    names = sorted(judged["cloths"])
    fabrics = [FabricColours(number, looks[name]) for number, name in enumerate(names)]
    counts: dict[str, Counter[str]] = {}
    for key, right in judged["verdicts"].items():
        said = judge(fabrics, change(palette_of(judged["palettes"][key], looks)))
        for name, one in zip(names, said, strict=True):
            split = "fit" if is_fit(name) else "kept cloth"
            count = counts.setdefault("kept palette" if key in KEPT_PALETTES else split, Counter())
            _count(count, right[name], one.verdict)
    return counts


def _count(count: Counter[str], right: Mapping[str, Any], said: Verdict) -> None:
    group = right["verdict"].split(",")[0]
    wrong = {"keep out": Verdict.BELONGS, "belongs": Verdict.CLASHES}.get(group)
    count[group] += 1
    count[f"{group}: {said}"] += 1
    count["shouted"] += bool(right.get("shout")) and said == wrong


def company(judged: Mapping[str, Any], looks: Mapping[str, Appearance]) -> Counter[str]:
    """Count the sets whose wild one comes first, and the harmonious ones that are accused."""
    count: Counter[str] = Counter()
    for one in judged["wild_sets"].values():
        found = keep_company(
            [FabricColours(place, looks[name]) for place, name in enumerate(one["fabrics"])]
        )
        first = one["fabrics"][found[0].fabric] if found else None
        count["with a wild one" if one["wild"] else "harmonious"] += 1
        count["wild one first"] += bool(one["wild"]) and first == one["wild"]
        count["accused"] += not one["wild"] and bool(found)
    return count


def own_palettes(judged: Mapping[str, Any], looks: Mapping[str, Appearance]) -> int:
    """Count the cloths whose own palette says belongs, with all the others beside them."""
    names = sorted(judged["cloths"])
    fabrics = [FabricColours(number, looks[name]) for number, name in enumerate(names)]
    return sum(
        judge(fabrics, palette_of_appearances("own", [looks[name]]))[place].verdict
        is Verdict.BELONGS
        for place, name in enumerate(names)
    )


def understood(phrases: list[str]) -> list[str]:
    """Give the phrases that make a palette."""
    return [phrase for phrase in phrases if _makes(phrase)]


def _makes(phrase: str) -> bool:
    try:
        palette_of_words("x", phrase)
    except PaletteError:
        return False
    return True


def agreeing(
    judged: Mapping[str, Any], looks: Mapping[str, Appearance], *, what: str,
    ours: Callable[[Appearance], str],
) -> str:  # fmt: skip
    """Count the cloths where our word is the person's."""
    right = sum(ours(looks[name]) == one[what] for name, one in judged["cloths"].items())
    return f"{right} of {len(judged['cloths'])}"


def telling_words(judged: Mapping[str, Any], looks: Mapping[str, Appearance]) -> str:
    """Count the cloths whose name holds the colour word, finer than a family, the person used."""
    finer = sorted(colour_words().keys() - set(FAMILIES), key=len, reverse=True)
    told = right = 0
    for name, one in judged["cloths"].items():
        said = next((word for word in finer if re.search(rf"\b{word}\b", one["say"])), None)
        told += said is not None
        right += said is not None and said in cloth_name(looks[name])
    return f"{right} of {told}"


def main() -> None:
    """Print everything, a line each."""
    folder = shared("data/judged_cloth")
    judged = json.loads((folder / "judged.json").read_text())
    looks = looks_of(judged, folder)
    if "--unmeasured" in sys.argv:
        looks = {name: replace(look, absolute=False) for name, look in looks.items()}
    for split, count in verdicts(judged, looks).items():
        print(split, dict(sorted(count.items())))
    print("company", dict(company(judged, looks)))
    print("own palette belongs", own_palettes(judged, looks), "of", len(judged["cloths"]))
    print("drawer", agreeing(judged, looks, what="drawer", ours=cloth_family))
    print("telling words", telling_words(judged, looks))
    print("phrases", len(understood(judged["phrases"])), "of", len(judged["phrases"]))


if __name__ == "__main__":
    main()
