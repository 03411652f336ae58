"""Palettes said in words: “blues and teals mostly, sand, a touch of coral; no pinks, no purples”.

The grammar, in full::

    palette = part {("," | ";") part}
    part    = [amount] colour {("and" | "or" | "&") colour} [amount]
            | ("no" | "not" | "nothing" | "without") colour {("and" | "or" | "&") colour}
            | ["no" | "without"] "neutrals"
    amount  = "mostly" | "mainly" | "some" | "a touch of" | "touches of" | "a bit of" | "a hint of"
    colour  = ["light" | "pale" | "medium" | "dark" | "deep"] (family | shade)

Families and shades may stand in the plural. A part without an amount is a main colour, or, once
another part says "mostly", some.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from stash.colour.naming import FAMILIES
from stash.colour.palette import Amount, Palette, Target, WantedFamily
from stash.colour.spaces import lab_of_hex
from stash.errors import PaletteError

__all__ = ["SHADES", "family_of_word", "known_words", "palette_of_words"]

_AMOUNTS_ARE_WORDS = "Amounts are said in words: mostly, some, a touch of. "
# Shades finer than a family, as sRGB hex colours of our own choice (judgement, no source).
SHADES = {
    "aqua": ("#8fd3d1",),
    "apricot": ("#f6b98b",),
    "burgundy": ("#6d1f33",),
    "charcoal": ("#3b3f45",),
    "chocolate": ("#4f3222",),
    "coral": ("#ff7f50", "#f0806c"),
    "denim": ("#4a6688", "#6f8bab"),
    "fuchsia": ("#c42f86",),
    "indigo": ("#2d3263",),
    "ivory": ("#f6f0dd",),
    "khaki": ("#b5a576",),
    "lavender": ("#c3b5dc",),
    "lilac": ("#c8a2c8",),
    "lime": ("#b5d33d",),
    "magenta": ("#b0306f",),
    "maroon": ("#6b1f2a",),
    "mint": ("#b5dcc4",),
    "moss": ("#6f7a3c",),
    "mustard": ("#d1a12a",),
    "navy": ("#1f2a50", "#232f6b"),
    "peach": ("#fbc4a0",),
    "plum": ("#6f2f5f",),
    "rose": ("#d9808f",),
    "rust": ("#a5482a",),
    "sage": ("#9caf88",),
    "salmon": ("#f2907c",),
    "sand": ("#dccaa6", "#c5ae85"),
    "silver": ("#c3c6c8",),
    "sky": ("#9cc7e8",),
    "terracotta": ("#c8674a",),
    "turquoise": ("#40bfb8",),
}
_SAME_AS = {"gray": "grey", "violet": "purple", "beige": "tan", "ecru": "cream"}
_VALUES = {"light": "light", "pale": "light", "medium": "medium", "dark": "dark", "deep": "dark"}
_AMOUNTS = {
    "mostly": Amount.MAIN, "mainly": Amount.MAIN, "some": Amount.SOME,
    "a touch of": Amount.TOUCH, "touches of": Amount.TOUCH, "a bit of": Amount.TOUCH,
    "a hint of": Amount.TOUCH,
}  # fmt: skip
_NOT = ("nothing", "without", "not", "no")


@dataclass(slots=True)
class _Said:
    """What has been read so far."""

    families: list[tuple[str, str, Amount | None]] = field(default_factory=list)
    shades: list[tuple[str, Amount | None]] = field(default_factory=list)
    without: list[str] = field(default_factory=list)
    neutrals: bool = True


def palette_of_words(name: str, text: str) -> Palette:
    """Read a palette said in words.

    Raises
    ------
    PaletteError
        If a word is not known (the message lists the words that are), or a part is unclear.

    Examples
    --------
    >>> said = palette_of_words("Tidewater", "blues mostly, a touch of coral; no pinks")
    >>> [(wanted.family, wanted.amount.value) for wanted in said.families], said.without
    ([('blue', 'main')], ('pink',))
    """
    said = _Said()
    for clause in re.split(r"[;.\n]", text.lower()):
        _read_clause(clause, said)
    usual = Amount.MAIN
    if any(amount is Amount.MAIN for *_, amount in [*said.families, *said.shades]):
        usual = Amount.SOME
    families = tuple(
        WantedFamily(family, amount or usual, value) for family, value, amount in said.families
    )
    targets = tuple(
        Target(lab_of_hex(code), amount or usual, shade)
        for shade, amount in said.shades
        for code in SHADES[shade]
    )
    without = tuple(dict.fromkeys(said.without))
    return Palette(name, families, targets, without, said.neutrals)


def _read_clause(clause: str, said: _Said) -> None:
    ruled_out = ""
    for part in (" ".join(part.split()) for part in clause.split(",")):
        if not part:
            continue
        part_is_no = part.split()[0] in _NOT
        if ruled_out and not part_is_no:
            raise PaletteError(
                f"After “{ruled_out}” it is not clear whether “{part}” is wanted; write "
                f"“no {part}”, or put a semicolon before it."
            )
        if part_is_no:
            ruled_out = part
            _read_ruled_out(part.split(" ", 1)[1] if " " in part else "", said)
        else:
            _read_wanted(part, said)


def _read_ruled_out(part: str, said: _Said) -> None:
    for words in _colours_of(part):
        if words in ("neutral", "neutrals"):
            said.neutrals = False
        else:
            said.without.append(family_of_word(words))


def _read_wanted(part: str, said: _Said) -> None:
    amount = None
    for phrase, meant in _AMOUNTS.items():
        if part.startswith(phrase + " "):
            amount, part = meant, part[len(phrase) + 1 :]
        elif part.endswith(" " + phrase):
            amount, part = meant, part[: -len(phrase) - 1]
    for words in _colours_of(part):
        if words in ("neutral", "neutrals"):
            said.neutrals = True
            continue
        first, _, rest = words.partition(" ")
        value, word = (_VALUES[first], rest) if first in _VALUES and rest else ("", words)
        known = _known(word)
        if known in SHADES and not value:
            said.shades.append((known, amount))
        elif known in FAMILIES:
            said.families.append((known, value, amount))
        else:
            hint = _AMOUNTS_ARE_WORDS if any(letter.isdigit() for letter in words) else ""
            raise PaletteError(f"“{words}” is not a colour word here. {hint}{known_words()}")


def _colours_of(part: str) -> Iterator[str]:
    for words in re.split(r"\s+(?:and|or)\s+|\s*&\s*", part):
        plain = words.strip()
        if not plain:
            raise PaletteError(f"A colour is missing in “{part}”. {known_words()}")
        yield plain


def family_of_word(word: str) -> str:
    """Give the family a person means by ``pinks`` or ``violet``.

    Raises
    ------
    PaletteError
        If it is no family; the message lists the families.
    """
    known = _known(word)
    if known not in FAMILIES:
        raise PaletteError(
            f"“{word}” is not a family of colours that can be ruled out; "
            f"there are {', '.join(FAMILIES)}."
        )
    return known


def _known(word: str) -> str:
    """Take off a plural and put the usual spelling."""
    plain = word.strip().lower()
    tries = [plain, plain.removesuffix("s"), plain.removesuffix("es"), plain[:-3] + "y"]
    for candidate in tries:
        usual = _SAME_AS.get(candidate, candidate)
        if usual in FAMILIES or usual in SHADES:
            return usual
    return plain


def known_words() -> str:
    """Say which colour words there are."""
    return (
        f"Families: {', '.join(FAMILIES)} (with light, medium or dark before them if you like). "
        f"Shades: {', '.join(sorted(SHADES))}."
    )
