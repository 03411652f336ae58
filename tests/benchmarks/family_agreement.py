"""How often our family of a colour is the one people named it by.

Run ``python -m tests.benchmarks.family_agreement`` for the table of docs/measurements.md,
section "Families". The names are the survey colours that ship with Matplotlib (XKCD_COLORS, a
survey by Randall Munroe, 2010, CC0; from memory): those whose name holds exactly one
family word, as its last word.
"""

from __future__ import annotations

import numpy as np

from stash.colour.naming import FAMILIES, families_of
from stash.colour.spaces import lab_of_srgb

_SAME_AS = {"gray": "grey", "violet": "purple", "beige": "tan", "sand": "tan", "turquoise": "teal"}
# Words that mix a second family in, so that the colour lies between two by its own name.
_MIXED = {f"{family}{end}" for family in FAMILIES for end in ("ish", "y", "e")} | {
    "reddish", "purply", "purpley", "bluey", "orangey", "orangish", "greeny", "yellowy", "pinky",
    "browny", "greyish", "greyblue", "peach", "mustard", "rust", "mint", "lime", "rose", "salmon",
    "coral", "lilac", "lavender", "mauve", "aqua", "cyan", "sea", "golden", "violet", "indigo",
}  # fmt: skip


def named_colours() -> tuple[list[str], list[str], np.ndarray]:
    """Give names, expected families and CIELAB of the survey's plainly named colours."""
    from matplotlib.colors import XKCD_COLORS, to_rgb

    names, expected, labs = [], [], []
    for name, code in XKCD_COLORS.items():
        words = [_SAME_AS.get(w, w) for w in name.removeprefix("xkcd:").replace("/", " ").split()]
        families = [word for word in words if word in FAMILIES]
        if len(families) == 1 and words[-1] in FAMILIES and not _MIXED & set(words[:-1]):
            names.append(name.removeprefix("xkcd:"))
            expected.append(words[-1])
            labs.append(lab_of_srgb(np.array(to_rgb(code))))
    return names, expected, np.array(labs)


def agreement() -> tuple[int, int, list[tuple[str, str, str]]]:
    """Give how many lie away from borders, how many of these agree, and those that do not."""
    names, expected, labs = named_colours()
    columns = families_of(labs)
    alone = columns.near == (np.uint16(1) << columns.first.astype(np.uint16))
    wrong = [
        (name, people, FAMILIES[first])
        for name, people, first, away in zip(names, expected, columns.first, alone, strict=True)
        if away and FAMILIES[first] != people
    ]
    return int(alone.sum()), int(alone.sum()) - len(wrong), wrong


def main() -> None:
    """Print the table."""
    names, expected, labs = named_colours()
    columns = families_of(labs)
    bits = np.array([1 << FAMILIES.index(family) for family in expected])
    either = ((columns.near & bits) != 0).mean()
    alone, agree, wrong = agreement()
    print(f"{len(names)} plainly named colours; one of our names agrees: {100 * either:.1f} %")
    print(f"{alone} away from borders; agree: {agree} ({100 * agree / alone:.1f} %)")
    for row in wrong:
        print("  {}: people {}, we {}".format(*row))


if __name__ == "__main__":
    main()
