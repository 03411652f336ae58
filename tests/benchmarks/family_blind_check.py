"""Our families beside the ISCC-NBS names, which they were not made after.

Run ``python -m tests.benchmarks.family_blind_check`` for the table of docs/measurements.md,
section "Families". Two lists are named: the 267 centroid colours of the ISCC-NBS names, and the
chips of the Munsell renotation (colour-science) inside the sRGB gamut whose three nearest
centroids carry one and the same noun; they stand well inside a block of names.

What counts as agreement was written down before it was first run:

* The noun of the ISCC-NBS name, its last word, is the family; violet is purple.
* Our families without a noun of their own stand for these: teal for bluish green and greenish
  blue; gold for orange yellow and for yellow; cream and tan for pale and greyish yellow, orange
  yellow and yellowish pink, for light and greyish (yellowish) brown, brownish pink, yellowish
  white, and for pinkish, yellowish and brownish grey.
* Names of two nouns, such as olive green or yellow green, may be either.
* Yellowish pink (peach, salmon) may be orange besides pink.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stash.colour.colour_name import named_centroids
from stash.colour.difference import difference_table
from stash.colour.naming import FAMILIES, families_of
from stash.colour.spaces import FloatArray, srgb_of_lab
from tests.colour.make_munsell_table import rows as renotation

_SAME_AS = {"violet": "purple"}
_GAMUT = 1e-6


def families_meant(name: str) -> frozenset[str]:
    """Give the families that agree with an ISCC-NBS name, by the rules above."""
    words = name.split()
    nouns = {_SAME_AS.get(word, word) for word in words}
    meant = nouns & set(FAMILIES)
    end = " ".join(words[-2:])
    if end in ("bluish green", "greenish blue"):
        meant.add("teal")
    if words[-1] == "yellow":
        meant.add("gold")
    if end == "yellowish pink":
        meant.add("orange")
    pale = bool({"pale", "greyish"} & set(words)) or ("light" in words and words[-1] == "brown")
    sandy = words[-1] in ("yellow", "brown") or end == "yellowish pink"
    if (pale and sandy and not {"greenish", "reddish"} & set(words)) or end in (
        "brownish pink", "yellowish white", "pinkish grey", "yellowish grey", "brownish grey",
    ):  # fmt: skip
        meant |= {"cream", "tan"}
    return frozenset(meant)


def chips_inside() -> tuple[list[str], FloatArray]:
    """Give the chips that stand well inside one noun, with the name of the nearest centroid."""
    names, centroids = named_centroids()
    labs = renotation()[:, :3]
    srgb = srgb_of_lab(labs)
    labs = labs[((srgb > -_GAMUT) & (srgb < 1 + _GAMUT)).all(axis=1)]
    nearest = np.argsort(difference_table(labs, centroids), axis=1)[:, :3]
    nouns = np.array([name.split()[-1] for name in names])[nearest]
    inside = (nouns == nouns[:, :1]).all(axis=1)
    return [names[row] for row in nearest[inside, 0]], labs[inside]


def agreement(names: Sequence[str], labs: FloatArray) -> list[tuple[str, str, bool, bool]]:
    """Give for each colour its name, our family, whether they agree, whether off our borders."""
    columns = families_of(labs)
    alone: NDArray[np.bool_] = columns.near == np.uint16(1) << columns.first.astype(np.uint16)
    return [
        (name, FAMILIES[first], FAMILIES[first] in families_meant(name), bool(off))
        for name, first, off in zip(names, columns.first.tolist(), alone, strict=True)
    ]


def main() -> None:
    """Print the table and what does not agree."""
    for title, (names, labs) in (
        ("centroids", named_centroids()),
        ("Munsell chips inside a noun", chips_inside()),
    ):
        rows = agreement(names, labs)
        off = [row for row in rows if row[3]]
        agree, agree_off = sum(row[2] for row in rows), sum(row[2] for row in off)
        print(f"{title}: {len(rows)}, agree {agree} ({100 * agree / len(rows):.1f} %)")
        print(f"  off borders: {len(off)}, agree {agree_off} ({100 * agree_off / len(off):.1f} %)")
        for (name, ours), count in Counter(row[:2] for row in off if not row[2]).most_common():
            print(f"    {count} x {name}: {ours}")


if __name__ == "__main__":
    main()
