"""Palettes said in words: “blues and teals mostly, sand, a touch of coral; no pinks, no purples”.

The grammar, in full::

    palette = part {("," | ";" | "with" | "plus") part}
    part    = [amount] colours [amount]
            | ("no" | "not" | "nothing" | "without" | "avoid" | "except") colours
            | ("anything" | "everything" | "all" | "any colour") ("but" | "except") colours
            | ("not too" | "nothing too") ("light" | "dark" | "bright")
            | ["no" | "without"] "neutrals"
    colours = colour {("and" | "or" | "&") colour}
    colour  = ["all the" | "all" | "every" | "shades of"] [tone] (family | word) | set
    tone    = "light" | "pale" | "medium" | "dark" | "deep" | "pastel" | "muted" | "dusty"
            | "soft" | "bright" | "vivid" | "jewel" | "earthy"
    set     = "pastels" | "brights" | "jewel tones" | "earth tones" | "muted colours"
            | "warm colours" | "cool colours" | "autumn colours" | "low volumes" | "1930s"
            | "all colours"
    amount  = "mostly" | "mainly" | "lots of" | "some" | "a little" | "a touch of" | "a bit of"
            | "a hint of" | "a pop of" | "a splash of" | "a dash of" | "accents of"
            | "two thirds" | "half" | "one third" | "a quarter" | "a fifth" | "a tenth" | "30 %"

Words are those of ``colour_words``; they may stand in the plural. A part without an amount is a
main colour, or, once another part says "mostly", some. After a "no" in the same sentence every
further part wants its own "no", or a semicolon before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches

from stash.colour.colour_words import colour_words
from stash.colour.naming import FAMILIES, NEUTRALS
from stash.colour.palette import Amount, Palette, Target, WantedFamily
from stash.colour.spaces import Lab
from stash.errors import PaletteError

__all__ = ["family_of_word", "known_words", "palette_of_words"]

_SAME_AS = {
    "gray": "grey", "beige": "tan", "ecru": "cream", "neutral": "neutrals", "violet": "purple",
    "sky": "sky blue", "hunter": "hunter green", "kelly": "kelly green", "royal": "royal blue",
    "forest": "forest green", "butter yellow": "butter", "lemon yellow": "lemon",
    "navy blue": "navy", "peacock": "peacock blue", "robin's egg": "robin's egg blue",
    "multicolour": "all colours", "multicoloured": "all colours", "rainbow": "all colours",
    "anything": "all colours", "scrappy": "all colours", "everything": "all colours",
    "thirties": "1930s", "30s": "1930s", "fall": "autumn", "light neutrals": "low volume",
}  # fmt: skip
_TONES = {
    "light": "light", "pale": "light", "medium": "medium", "mid": "medium", "dark": "dark",
    "deep": "dark", "pastel": "pastel", "muted": "muted", "dusty": "muted", "soft": "muted",
    "faded": "muted", "dull": "muted", "bright": "bright", "vivid": "bright", "clear": "bright",
    "rich": "jewel", "jewel": "jewel", "earthy": "earth", "warm": "", "cool": "", "true": "",
}  # fmt: skip
_SHADES_NAMED = 12  # in a sentence that names no near word; more is a list nobody reads
_HUES = ("pink", "red", "orange", "gold", "yellow", "green", "teal", "blue", "purple")
# What a set stands for: a tone and families. Common practice, no source.
_SETS: dict[str, tuple[str, tuple[str, ...]]] = {
    "pastel": ("pastel", _HUES),
    "bright": ("bright", _HUES),
    "jewel": ("jewel", ("pink", "red", "green", "teal", "blue", "purple", "gold")),
    "earth": ("earth", ("brown", "tan", "olive", "gold", "orange", "red", "green")),
    "muted": ("muted", (*_HUES, "brown", "olive")),
    "dark": ("dark", (*_HUES, "brown", "olive", "black")),
    "light": ("light", (*_HUES, "white", "cream")),
    "medium": ("medium", (*_HUES, "brown", "olive")),
    "warm": ("", ("pink", "red", "orange", "gold", "yellow", "brown")),
    "cool": ("", ("green", "teal", "blue", "purple")),
    "autumn": ("earth", ("brown", "olive", "gold", "orange", "red")),
    "low volume": ("light", ("white", "cream", "grey", "tan")),
    "1930s": ("pastel", _HUES),
    "all": ("", (*_HUES, "brown", "olive", "white", "cream", "tan", "grey", "black")),
}
_SET_NOUNS = re.compile(r"\s+(?:tones?|colou?rs?|shades?|hues?|ones|prints?|fabrics?)$")
_AMOUNTS = {
    "mostly": Amount.MAIN, "mainly": Amount.MAIN, "lots of": Amount.MAIN, "a lot of": Amount.MAIN,
    "plenty of": Amount.MAIN, "primarily": Amount.MAIN, "two thirds": Amount.MAIN,
    "three quarters": Amount.MAIN, "half": Amount.MAIN, "one half": Amount.MAIN,
    "some": Amount.SOME, "a little": Amount.SOME, "one third": Amount.SOME,
    "a third": Amount.SOME, "one quarter": Amount.SOME, "a quarter": Amount.SOME,
    "one fifth": Amount.SOME, "a fifth": Amount.SOME, "a tenth": Amount.TOUCH,
    "one tenth": Amount.TOUCH, "a touch of": Amount.TOUCH, "touches of": Amount.TOUCH,
    "a bit of": Amount.TOUCH, "bits of": Amount.TOUCH, "a hint of": Amount.TOUCH,
    "hints of": Amount.TOUCH, "a pop of": Amount.TOUCH, "pops of": Amount.TOUCH,
    "a splash of": Amount.TOUCH, "a dash of": Amount.TOUCH, "a spark of": Amount.TOUCH,
    "an accent of": Amount.TOUCH, "accents of": Amount.TOUCH, "a tiny bit of": Amount.TOUCH,
}  # fmt: skip
_MAIN_FROM, _SOME_FROM = 0.4, 0.12  # parts of the quilt said in figures; judgement
_NOT = ("nothing", "without", "not", "no", "avoid", "except", "never", "but no", "and no")
_BUT = re.compile(r"(?:anything|everything|all|any colou?rs?|every colou?r)\s+(?:but|except)\s+")
_TOO = re.compile(r"(?:not|nothing|none)\s+too\s+(\w+)$")
_OF_ALL = re.compile(r"^(?:all\s+the|all|every|any|shades\s+of|tones\s+of|lots\s+of)\s+")
_OF_KINDS = re.compile(r"\s+of\s+(?:every|all|any)\s+(?:kinds?|sorts?|shades?)$")
_EXTREMES = {"dark": "dark", "deep": "dark", "light": "light", "pale": "light", "bright": "bright",
             "loud": "bright", "vivid": "bright", "strong": "bright"}  # fmt: skip
_AT_ODDS = ({"pastel", "dark"}, {"pastel", "jewel"}, {"jewel", "light"}, {"bright", "muted"},
            {"light", "dark"}, {"pastel", "bright"})  # fmt: skip
_SHIFT = {"light": 12.0, "dark": -12.0}  # L* of a word said light or dark; judgement


@dataclass(slots=True)
class _Said:
    """What has been read so far."""

    families: list[tuple[str, str, Amount | None]] = field(default_factory=list)
    of_sets: list[tuple[str, str, Amount | None]] = field(default_factory=list)
    of_neutrals: list[Amount | None] = field(default_factory=list)
    targets: list[tuple[str, Lab, Amount | None]] = field(default_factory=list)
    without: list[str] = field(default_factory=list)
    not_too: list[str] = field(default_factory=list)
    neutrals: bool = True


def palette_of_words(name: str, text: str) -> Palette:
    """Read a palette said in words.

    Raises
    ------
    PaletteError
        If a word is not known (the message names the nearest that are), or a part is unclear.

    Examples
    --------
    >>> said = palette_of_words("Tidewater", "blues mostly, a touch of coral; no pinks")
    >>> [(wanted.family, wanted.amount.value) for wanted in said.families], said.without
    ([('blue', 'main')], ('pink',))
    """
    said = _Said()
    plain = re.sub(r"[-‐–]", " ", text.lower().replace("’", "'"))
    for clause in re.split(r"[;.\n]", plain):
        _read_clause(clause, said)
    # Neutrals are welcome anyhow; they are a part of it where an amount says so, or nothing else.
    alone = not (said.families or said.of_sets or said.targets or said.without)
    for amount in said.of_neutrals:
        if amount is not None or alone:
            said.of_sets += [(family, "", amount) for family in NEUTRALS]
    # What a set brings is there as far as nothing else is said of it.
    told = {*said.without, *(family for family, *_ in said.families)}
    said.families += [one for one in said.of_sets if one[0] not in told]
    amounts = [amount for *_, amount in [*said.families, *said.targets]]
    usual = Amount.SOME if Amount.MAIN in amounts else Amount.MAIN
    families = {
        (family, tone): WantedFamily(family, amount or usual, tone)
        for family, tone, amount in said.families
    }
    targets = tuple(Target(lab, amount or usual, word) for word, lab, amount in said.targets)
    return Palette(
        name,
        tuple(families.values()),
        targets,
        tuple(dict.fromkeys(said.without)),
        said.neutrals,
        not_too=tuple(dict.fromkeys(said.not_too)),
    )


def _read_clause(clause: str, said: _Said) -> None:
    ruled_out = ""
    for part in filter(None, map(_tidy, re.split(r",|\bwith\b|\bplus\b", clause))):
        too, but = _TOO.match(part), _BUT.match(part)
        no = next((word for word in _NOT if part == word or part.startswith(word + " ")), "")
        if ruled_out and not (no or too or but):
            raise PaletteError(
                f"After “{ruled_out}” it is not clear whether “{part}” is wanted; write "
                f"“no {part}”, or put a semicolon before it."
            )
        if too:
            said.not_too.append(_extreme(too.group(1)))
        elif but:
            ruled_out = part
            _read_ruled_out(part[but.end() :], said)
        elif no:
            ruled_out = part
            _read_ruled_out(part[len(no) :].strip(), said)
        else:
            _read_wanted(part, said)


def _tidy(part: str) -> str:
    return " ".join(part.split()).removeprefix("and ").removeprefix("or ")


def _extreme(word: str) -> str:
    if word not in _EXTREMES:
        raise PaletteError(f"“not too {word}” is not clear; say not too light, dark or bright.")
    return _EXTREMES[word]


def _read_ruled_out(part: str, said: _Said) -> None:
    for words in _colours_of(part):
        plain = _without_noun(words)
        if _singular(plain) in ("neutral", "neutrals"):
            said.neutrals = False
        elif _singular(plain) in ("warm", "cool"):
            said.without += _SETS[_singular(plain)][1]
        elif _singular(plain) in _EXTREMES:
            said.not_too.append(_EXTREMES[_singular(plain)])
        else:
            said.without.append(family_of_word(plain))


def _read_wanted(part: str, said: _Said) -> None:
    amount, part = _amount(part)
    for found in _colours_of(part):
        words = _OF_KINDS.sub("", _OF_ALL.sub("", found, count=1))
        if not _read_set(words, amount, said):
            _read_colour(words, amount, said)


def _amount(part: str) -> tuple[Amount | None, str]:
    """Give an amount said before or after the colours, and what is left of the part."""
    figure = re.match(r"(\d+)\s*(?:%|per ?cent)\s+(?:of\s+)?(.+)$", part)
    if figure:
        share = int(figure.group(1)) / 100
        if not 0 < share <= 1:
            raise PaletteError(
                f"“{part}” is no part of a quilt; say 1 to 100 %, mostly, some or a touch of, or "
                f"rule it out: no {figure.group(2)}."
            )
        amount = Amount.MAIN if share >= _MAIN_FROM else Amount.SOME
        return (amount if share >= _SOME_FROM else Amount.TOUCH), figure.group(2)
    for phrase, meant in _AMOUNTS.items():
        if part.startswith(phrase + " "):
            return meant, part[len(phrase) + 1 :].removeprefix("of ")
        if part.endswith(" " + phrase):
            return meant, part[: -len(phrase) - 1]
    return None, part


def _read_set(words: str, amount: Amount | None, said: _Said) -> bool:
    """Read neutrals or a set of colours such as pastels; say whether it was one."""
    noun = bool(_SET_NOUNS.search(words))
    plain = _singular(_without_noun(words))
    plain = _SAME_AS.get(plain, plain)
    first, _, rest = plain.partition(" ")
    toned = _singular(rest) if first in _TONES and rest else ""
    if toned in _SETS or toned == "neutrals":
        plain = _toned_set(first, toned)
    if plain in ("neutral", "neutrals"):
        said.neutrals = True
        said.of_neutrals.append(amount)
        return True
    plain = "all" if plain in ("all colours", "all", "colour", "color", "of") else plain
    alone = plain in ("all", "1930s", "low volume")
    if plain not in _SETS or not (noun or words.endswith("s") or alone):
        return False
    tone, families = _SETS[plain]
    said.of_sets += [(family, tone, amount) for family in families]
    return True


def _toned_set(tone: str, name: str) -> str:
    """Give the set that is meant where a tone is said of one, if that makes sense."""
    meant = _SETS[name][0] if name in _SETS else ""
    if meant and _TONES[tone] and {meant, _TONES[tone]} in _AT_ODDS:
        raise PaletteError(f"“{tone} {name}” asks for two things at once; say one of them.")
    return name


def _read_colour(words: str, amount: Amount | None, said: _Said) -> None:
    known = _known(words)
    first, _, rest = words.partition(" ")
    if first in _TONES and rest:
        second, tone = _known(rest), _TONES[first]
        if second in FAMILIES:
            said.families.append((second, tone, amount))
            return
        if second and not known:
            _add_word(words, second, amount, said, shift=_SHIFT.get(tone, 0.0))
            return
        words = words if known else rest
    if known in FAMILIES:
        said.families.append((known, "", amount))
    elif known:
        _add_word(known, known, amount, said)
    else:
        raise PaletteError(f"“{words}” is not a colour word here. {_nearest(words)}")


def _add_word(
    label: str, word: str, amount: Amount | None, said: _Said, *, shift: float = 0.0
) -> None:
    for lightness, a, b in colour_words()[word].colours:
        moved = min(max(lightness + shift, 5.0), 97.0)
        said.targets.append((label, (moved, a, b), amount))


def _colours_of(part: str) -> Iterator[str]:
    found = [words.strip() for words in re.split(r"\s+(?:and|or|on)\s+|\s*[&+/]\s*", part)]
    if not all(found):
        raise PaletteError(f"A colour is missing in “{part}”. {known_words()}")
    for words, following in zip(found, [*found[1:], ""], strict=True):
        first, _, rest = following.partition(" ")
        # Light and dark blues are light blues and dark blues.
        yield f"{words} {rest}" if words in _TONES and first in _TONES and rest else words


def family_of_word(word: str) -> str:
    """Give the family a person means by ``pinks`` or ``violet``.

    Raises
    ------
    PaletteError
        If it is no family; the message lists the families.
    """
    known = _known(_without_noun(word.strip().lower()))
    if known not in FAMILIES:
        raise PaletteError(
            f"“{word}” is not a family of colours that can be ruled out; "
            f"there are {', '.join(FAMILIES)}."
        )
    return known


def _known(words: str) -> str:
    """Give the family or word that is meant, without plural and in the usual spelling; or ''."""
    usual = _singular(words)
    if usual in FAMILIES or usual in colour_words():
        return usual
    first, _, last = usual.rpartition(" ")
    # A family after a word says nothing new: mustard yellow, forest green.
    return first if last in FAMILIES and first in colour_words() else ""


def _singular(words: str) -> str:
    plain = words.strip().lower()
    tries = [plain, plain.removesuffix("s"), plain.removesuffix("es")]
    tries += [plain[:-3] + "y"] if plain.endswith("ies") else []
    for candidate in tries:
        usual = _SAME_AS.get(candidate, candidate)
        if usual in FAMILIES or usual in colour_words() or usual in _SETS or usual == "neutrals":
            return usual
    return plain


def _without_noun(words: str) -> str:
    return _SET_NOUNS.sub("", words)


def _nearest(words: str) -> str:
    """Name the known words that are spelled most alike."""
    sets = (f"{one} colours" for one in _SETS)
    everything = dict.fromkeys([*FAMILIES, *colour_words(), *sets])
    close = get_close_matches(words, everything, n=4, cutoff=0.6)
    return f"Near it: {', '.join(close)}. {known_words()}" if close else known_words()


def known_words() -> str:
    """Say which colour words there are."""
    called = [word for word, one in colour_words().items() if one.called and word not in FAMILIES]
    some = sorted(called)[:: -(-len(called) // _SHADES_NAMED)]
    return (
        f"Families: {', '.join(FAMILIES)} (with light, dark, pastel, muted or bright before them "
        f"if you like). Shades such as {', '.join(some)}, and some hundred more."
    )
