"""Palettes said in words: “blues and teals mostly, sand, a touch of coral; no pinks, no purples”.

The grammar, in full; the words stand in ``palette_vocabulary`` and ``colour_words``::

    palette = part {("," | ";" | "with" | "plus" | "but" | "accented with") part}
    part    = [amount] colours [amount] | "more" colours "than" colours
            | ("no" | "nothing" | "without" | "avoid" | "except" ...) colours
            | ("anything" | "everything" | "all" | "any colour") ("but" | "except") colours
            | ("only" | "just" | "nothing but") colours | colours "only"
            | ("not too" | "nothing too") ("light" | "dark" | "bright")
            | ["no" | "without"] "neutrals" | tone
    colours = colour {("and" | "or" | "&" | "on" | "in" | "to") colour}
    colour  = {tone} (family | word) | set
    tone    = "light" | "medium" | "dark" | "pastel" | "muted" | "bright" | "jewel" | "earthy" ...
    set     = "pastels" | "jewel tones" | "earth tones" | "warm colours" | "autumn colours" ...
    amount  = "mostly" | "some" | "a touch of" | "a pop of" | "as an accent" | "half" | "30 %" ...

Words may stand in the plural; what is said beside them and says nothing of colour (“please”, “all
the”, “prints”, “shades of”) is passed over, and so is a strange word ahead of a colour (“heirloom
rose”) that is no slip for a known one. An amount that stands alone tells of the part before it. A
part without an amount is a main colour, or, once another part says "mostly", some. A tone by
itself tells of the families said before it. After a "no" in the same sentence every further part
wants its own "no", or "or" before the last, or a semicolon before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches

from stash.colour import palette_vocabulary as vocabulary
from stash.colour.colour_words import colour_words
from stash.colour.naming import FAMILIES, NEUTRALS
from stash.colour.palette import Amount, Palette, Target, WantedFamily
from stash.colour.spaces import Lab
from stash.errors import PaletteError

__all__ = ["family_of_word", "known_words", "palette_of_words", "ruled_out_by"]

_SHADES_NAMED = 12  # in a sentence that names no near word; more is a list nobody reads
_MAIN_FROM, _SOME_FROM = 0.4, 0.12  # parts of the quilt said in figures; judgement
_SHORTEST_STRANGE, _A_SLIP = 4, 0.75  # letters; likeness of two words (judgement)
_SHIFT = {"light": 12.0, "dark": -12.0}  # L* of a word said light or dark; judgement


def _one_of(words: tuple[str, ...] | dict[str, Amount]) -> str:
    return "|".join(sorted(map(re.escape, words), key=len, reverse=True))


_ALL = r"(?:anything|everything|all(?: colours)?|any ?(?:thing|colours?)|every colours?)"
_BUT = re.compile(_ALL + r" (?:but|except(?: for)?|other than|apart from|bar) ")
_NOTHING_BUT = re.compile(r"(?:nothing but|only|just|purely|exclusively) (?!a\b)")
_ONLY = re.compile(r" (?:only|alone|and nothing else|nothing else)$")
_NO = re.compile(
    rf"(?:but |and |definitely |absolutely |strictly |please )?(?:{_one_of(vocabulary.NOT)})(?: |$)"
)
_TOO = re.compile(r"(?:but )?(?:not|nothing|none)(?: of it)? (?:too|very|overly) (?!much)(\w+)$")
_MORE = re.compile(r"(?:a (?:bit|little) )?more (.+) than (.+)$")
_ACCENTED = re.compile(r"\b(?:accented|highlighted|splashed|sprinkled) (?:with|by|in) ")
_TOUCH_ON = re.compile(rf"({vocabulary.TOUCH_OF.pattern}[\w ]+?) (?:on|against|over) (?:an? )?")
_THE_OTHERS = re.compile(
    rf"(?:otherwise |but )?{_ALL}(?: else)?(?: goes| is fine| is welcome| will do)?$"
)
_ONLY_AHEAD = re.compile(r"(?:just|only) ")
_FIGURE = re.compile(r"(\d+)\s*(%|/\s*\d+)\s+(?:of\s+)?(.+)$")
_AMOUNT_AHEAD = rf"(?:{_one_of(vocabulary.AMOUNTS)}|\d+\s*[%/]) |{vocabulary.TOUCH_OF.pattern}"
_PARTS = re.compile(
    r",|(?= (?:except|without|minus) )|\b(?:along |together |paired |mixed )?with\b|\bplus\b"
    r"|(?<!nothing )\bbut\b(?! not too\b)"
)
_NEW_AMOUNT = re.compile(rf"\s*(?:\band\b|&|\+)\s+(?={_AMOUNT_AHEAD}|{_NO.pattern})")
_ITEMS = re.compile(
    r"\s+(?:and|or|nor|on|to|through|into|from|in|against|over|then|via)(?=\s+)|\s*[&+/]\s*"
)
_WISH = re.compile(
    r"^(?:(?:i|we)(?: am|'m|'d| would| will|'ll)? (?:like|love|want|need|use|using)"
    r"|give me|let's use|something|it should be|make it|think(?:ing)?(?: of)?|like|inspired by"
    r"|in the (?:spirit|style|mood) of|reminiscent of)"
    r"(?: to (?:use|see|have))?(?: something)?(?: in)? "
)
_LEADING = re.compile(r"^(?:(?:and|or|nor|in|from|on|with|of)\s+)+")


@dataclass(slots=True)
class _Said:
    """What has been read so far."""

    families: list[tuple[str, str, Amount | None]] = field(default_factory=list)
    of_sets: list[tuple[str, str, Amount | None]] = field(default_factory=list)
    of_neutrals: list[Amount | None] = field(default_factory=list)
    targets: list[tuple[str, Lab, Amount | None]] = field(default_factory=list)
    without: list[str] = field(default_factory=list)
    avoided: list[WantedFamily | Target] = field(default_factory=list)
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
    for clause in re.split(r"[;.!?:\n]", _spelled(text)):
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
    targets = tuple(
        dict.fromkeys(Target(lab, amount or usual, word) for word, lab, amount in said.targets)
    )
    return Palette(
        name,
        tuple(families.values()),
        targets,
        tuple(dict.fromkeys(said.without)),
        said.neutrals,
        not_too=tuple(dict.fromkeys(said.not_too)),
        avoided=tuple(dict.fromkeys(said.avoided)),
    )


def _spelled(text: str) -> str:
    """Bring spellings and hyphens to one form."""
    plain = re.sub(r"[-‐–](?=ish\b)", "", text.lower().replace("’", "'").replace("'n'", "and"))
    plain = " ".join(re.sub(r"[-‐–—]", " ", plain).split(" "))
    for pattern, usual in vocabulary.SPELLED:
        plain = pattern.sub(usual, plain)
    return _TOUCH_ON.sub(r"\1, ", _ACCENTED.sub(", a touch of ", plain))


def _read_clause(clause: str, said: _Said) -> None:
    """Read what stands between semicolons: wanted parts, then those that are ruled out."""
    ruled_out = ""
    if but := _BUT.search(clause):
        _read_part(clause[: but.start()], said)
        clause = "no " + clause[but.end() :]
    parts = _with_amounts([part for part in map(_tidy, _split(clause)) if part])
    for place, part in enumerate(parts):
        if ruled_out and _THE_OTHERS.match(part):
            continue  # “nothing pink, otherwise anything”: a palette that only rules out says so
        if ruled_out and _ONLY_AHEAD.match(part):
            ruled_out = ""  # “no pastels, just brights”
        no, too = _NO.match(part), _TOO.match(part)
        listed = ruled_out and any(re.search(r"\bn?or\b", later) for later in parts[place:])
        if ruled_out and not (no or too or listed):
            raise PaletteError(
                f"After “{ruled_out}” it is not clear whether “{part}” is wanted; write "
                f"“no {part}”, or put a semicolon before it."
            )
        if (no or listed) and not too and not _NOTHING_BUT.match(part) and not _amount(part)[0]:
            ruled_out = part
        _read_part(part, said, ruled_out=bool(listed))


def _with_amounts(parts: list[str]) -> list[str]:
    """Put an amount that stands alone to the part before it: “orange, but only a little”."""
    told: list[str] = []
    for part in parts:
        phrase = re.sub(r"^(?:(?:but|only|just) )+", "", part)
        if told and _amount(f"{phrase} x")[1] == "x":
            told[-1] = f"{phrase} {told[-1]}"
        else:
            told.append(part)
    return told


def _split(clause: str) -> Iterator[str]:
    """Give the parts of a clause; tones by themselves go before the part they wait for."""
    waiting = ""
    for stretch in _PARTS.split(clause):
        for part in _NEW_AMOUNT.split(stretch):
            if _is_tone(_tidy(part)) and not waiting and _PARTS.search(clause):
                waiting = f"{_tidy(part)} and "
                continue
            if waiting and not _starts_with_tone(_tidy(part)):
                yield waiting.removesuffix(" and ")
                waiting = ""
            yield waiting + _tidy(part)
            waiting = ""
    yield waiting.removesuffix(" and ")


def _tidy(part: str) -> str:
    """Trim a part; nothing is left of one that only says please."""
    words = _LEADING.sub("", _WISH.sub("", " ".join(part.split()))).removesuffix(" please")
    return "" if vocabulary.BESIDE_A_NOUN.issuperset(words.split()) else words


def _is_tone(words: str) -> bool:
    return words in vocabulary.TONE_WORDS


def _starts_with_tone(words: str) -> bool:
    first, _, rest = words.partition(" ")
    return first in vocabulary.TONE_WORDS and bool(rest)


def _read_part(part: str, said: _Said, *, ruled_out: bool = False) -> None:
    if too := _TOO.match(part):
        said.not_too.append(_extreme(too.group(1)))
        return
    if more := _MORE.match(part):
        _read_colours(more.group(1), Amount.MAIN, said)
        _read_colours(more.group(2), Amount.SOME, said)
        return
    alone = _NOTHING_BUT.match(part) or _ONLY.search(part)
    if alone and not vocabulary.TOUCH_OF.match(part):
        said.neutrals = False
        part = _ONLY.sub("", _NOTHING_BUT.sub("", part, count=1))
    amount, colours = _amount(part)
    no = _NO.match(part)
    if (no and amount is None) or ruled_out:
        _read_ruled_out(part[no.end() :] if no else part, said)
    elif part:
        _read_colours(colours, amount, said)


def _extreme(word: str) -> str:
    if word not in vocabulary.EXTREME_WORDS:
        raise PaletteError(f"“not too {word}” is not clear; say not too light, dark or bright.")
    return vocabulary.EXTREME_WORDS[word]


def _read_ruled_out(part: str, said: _Said) -> None:
    too = re.match(r"(?:too |very )?(\w+?)s?$", part)
    if too and too.group(1) in vocabulary.EXTREME_WORDS:
        said.not_too.append(vocabulary.EXTREME_WORDS[too.group(1)])
        return
    for item in _colours_of(part):
        plain = _bare(item)[0] or item
        if _singular(plain) in ("neutral", "neutrals"):
            said.neutrals = False
        elif _singular(plain) in vocabulary.EXTREME_WORDS:
            said.not_too.append(vocabulary.EXTREME_WORDS[_singular(plain)])
        else:
            families, shades = ruled_out_by(item)
            said.without += families
            said.avoided += shades


def ruled_out_by(words: str) -> tuple[tuple[str, ...], tuple[WantedFamily | Target, ...]]:
    """Give what “no pinks”, “no navy”, “no dark greens” rule out: whole families, and shades.

    Raises
    ------
    PaletteError
        If it is no colour; the message lists the families.
    """
    told = _Said()
    try:
        _read_item(words.strip().lower(), None, told)
    except PaletteError as problem:
        raise PaletteError(
            f"“{words}” is not a colour that can be ruled out. {_nearest(words)}"
        ) from problem
    families = [*told.families, *told.of_sets]
    shades: list[WantedFamily | Target] = [
        WantedFamily(family, Amount.MAIN, tone) for family, tone, _ in families if tone
    ]
    shades += [Target(lab, Amount.MAIN, word) for word, lab, _ in told.targets]
    return tuple(family for family, tone, _ in families if not tone), tuple(shades)


def _amount(part: str) -> tuple[Amount | None, str]:
    """Give an amount said before or after the colours, and what is left of the part."""
    if figure := _FIGURE.match(part):
        return _amount_in_figures(part, figure)
    if touch := vocabulary.TOUCH_OF.match(part):
        return Amount.TOUCH, part[touch.end() :]
    for phrase in sorted(vocabulary.AMOUNTS, key=len, reverse=True):
        meant = vocabulary.AMOUNTS[phrase]
        if part.startswith(phrase + " "):
            return meant, part[len(phrase) + 1 :].removeprefix("of ")
        if part.endswith(" " + phrase):
            return meant, part[: -len(phrase) - 1].removesuffix(" as").removesuffix(" for")
    return None, part


def _amount_in_figures(part: str, figure: re.Match[str]) -> tuple[Amount, str]:
    below = figure.group(2).strip("/ ")
    share = int(figure.group(1)) / (100 if below == "%" else max(int(below), 1))
    if not 0 < share <= 1:
        raise PaletteError(
            f"“{part}” is no part of a quilt; say 1 to 100 %, mostly, some or a touch of, or "
            f"rule it out: no {figure.group(3)}."
        )
    amount = Amount.MAIN if share >= _MAIN_FROM else Amount.SOME
    return (amount if share >= _SOME_FROM else Amount.TOUCH), figure.group(3)


def _read_colours(part: str, amount: Amount | None, said: _Said) -> None:
    for item in _colours_of(part):
        if item in vocabulary.TONE_WORDS and said.families:
            _read_tone_after(vocabulary.TONE_WORDS[item], said)
        else:
            _read_item(item, amount, said)


def _read_tone_after(tone: str, said: _Said) -> None:
    """Read a tone by itself: it tells of the families said before it."""
    said.families = [
        (family, old or ("" if family in NEUTRALS else tone), amount)
        for family, old, amount in said.families
    ]


def _colours_of(part: str) -> Iterator[str]:
    found = [_LEADING.sub("", words.strip()) for words in _ITEMS.split(part)]
    if not all(found):
        raise PaletteError(f"A colour is missing in “{part}”. {known_words()}")
    head, told = "", []
    for words in reversed(found):
        # Light and dark blues are light blues and dark blues.
        first, _, rest = words.partition(" ")
        told.append(f"{words} {head}" if _is_tone(words) and head else words)
        head = rest if first in vocabulary.TONE_WORDS and rest else head if _is_tone(words) else ""
    yield from reversed(told)


def _bare(words: str) -> tuple[str, bool]:
    """Leave out what says nothing of colour; tell whether a noun such as tones stood there."""
    kept = [
        word
        for word in words.split()
        if word not in vocabulary.SMALL_WORDS
        and word not in vocabulary.BESIDE_A_NOUN
        and not _is_noun(word)
    ]
    return " ".join(kept), any(map(_is_noun, words.split()))


def _is_noun(word: str) -> bool:
    return bool({word, word.removesuffix("s"), word.removesuffix("es")} & vocabulary.NOUNS)


def _read_item(item: str, amount: Amount | None, said: _Said) -> None:
    """Read one colour or set, as it was said: “all the pale blues”, “jewel tones”."""
    first, _, rest = item.partition(" ")
    toned = first in vocabulary.TONE_WORDS and first not in vocabulary.PART_OF_A_WORD
    if (known := _known(item)) and not (toned and _known(rest) in FAMILIES):
        _add(item, known, "", amount, said)
        return
    words, noun = _bare(item)
    if not words and not _set_named(item):
        if not noun:
            raise PaletteError(f"“{item}” is not a colour word here. {_nearest(item)}")
        return  # “prints in blue”: only the kind of cloth
    if not _read_set(item, words, noun, amount, said):
        _read_colour(words, amount, said)


def _read_set(item: str, words: str, noun: bool, amount: Amount | None, said: _Said) -> bool:
    """Read neutrals or a set of colours such as pastels; say whether it was one."""
    tone, name = "", _set_named(item) or _set_named(words)
    first, _, rest = words.partition(" ")
    if not name and first in vocabulary.TONE_WORDS and rest:
        tone, name = vocabulary.TONE_WORDS[first], _set_named(rest)
    if not name or (_known(words) and not (noun or words.endswith("s"))):
        return False
    if name == "neutrals":
        said.neutrals = True
        said.of_neutrals.append(amount)
        return True
    meant, families = vocabulary.SETS[name]
    if meant and tone and {meant, tone} in vocabulary.AT_ODDS:
        raise PaletteError(f"“{words}” asks for two things at once; say one of them.")
    said.of_sets += [(family, meant or tone, amount) for family in families]
    return True


def _set_named(words: str) -> str:
    """Give the set, or neutrals, that words name; or ''."""
    for candidate in _candidates(words):
        usual = vocabulary.SAME_AS.get(candidate, candidate)
        usual = vocabulary.TONE_WORDS.get(usual) or usual
        if usual in vocabulary.SETS or usual == "neutrals":
            return usual
    return ""


def _read_colour(words: str, amount: Amount | None, said: _Said) -> None:
    known, tones, rest = _known(words), [], words
    while _starts_with_tone(rest):
        first, _, after = rest.partition(" ")
        if known and (_known(after) not in FAMILIES or first in vocabulary.PART_OF_A_WORD):
            break
        tones.append(vocabulary.TONE_WORDS[first])
        known, rest = _known(after), after
    if not known and (told := _without_strange_words(words)):
        _read_colour(told, amount, said)
        return
    tone = next((one for one in tones if one), "")
    if any({tone, other} in vocabulary.AT_ODDS for other in tones):
        raise PaletteError(f"“{words}” asks for two things at once; say one of them.")
    if not known:
        raise PaletteError(f"“{words}” is not a colour word here. {_nearest(words)}")
    _add(words if tone and known not in FAMILIES else rest, known, tone, amount, said)


def _without_strange_words(words: str) -> str:
    """Leave out words ahead of a colour that are like no colour word: “heirloom rose”; or ''.

    A slip of the pen is not passed over: it is near a word that is known.
    """
    told = words.split()
    single = {part for word in (*FAMILIES, *colour_words()) for part in word.split()}
    single |= vocabulary.TONE_WORDS.keys() | set(vocabulary.NOT)
    for place, word in enumerate(told[:-1], 1):
        if len(word) < _SHORTEST_STRANGE or get_close_matches(word, single, 1, _A_SLIP):
            return ""
        rest = " ".join(told[place:])
        if _known(rest) or _starts_with_tone(rest):
            return rest
    return ""


def _add(label: str, known: str, tone: str, amount: Amount | None, said: _Said) -> None:
    """Add a family, or a word with all the colours that are it."""
    if known in FAMILIES:
        said.families.append((known, tone, amount))
        return
    for lightness, a, b in colour_words()[known].colours:
        moved = min(max(lightness + _SHIFT.get(tone, 0.0), 5.0), 97.0)
        said.targets.append((label if tone else known, (moved, a, b), amount))


def family_of_word(word: str) -> str:
    """Give the family a person means by ``pinks`` or ``violet``.

    Raises
    ------
    PaletteError
        If it is no family; the message lists the families.
    """
    known = _known(_bare(word.strip().lower())[0])
    if known not in FAMILIES:
        raise PaletteError(
            f"“{word}” is not a family of colours that can be ruled out; "
            f"there are {', '.join(FAMILIES)}."
        )
    return known


def _known(words: str) -> str:
    """Give the family or word that is meant, without plural and in the usual spelling; or ''."""
    for candidate in _candidates(words):
        usual = vocabulary.SAME_AS.get(candidate, candidate)
        if usual in FAMILIES or usual in colour_words():
            return usual
    for candidate in _candidates(words):
        first, _, last = candidate.rpartition(" ")
        last = vocabulary.SAME_AS.get(last, last)
        # A family after a word says nothing new: mustard yellow, rosy pink, christmas red.
        if last in FAMILIES:
            for stem in (first, first.removesuffix("y"), first.removesuffix("y") + "e"):
                if stem in colour_words():
                    return stem
            if _set_named(first) and first not in vocabulary.TONE_WORDS:
                return last
        elif first in FAMILIES and last in colour_words():
            return last
    return ""


def _candidates(words: str) -> list[str]:
    """Give words as they stand, and without a plural."""
    plain = words.strip().lower()
    return [
        plain,
        plain.removesuffix("s"),
        plain.removesuffix("es"),
        *([plain[:-3] + "y"] if plain.endswith("ies") else []),
    ]


def _singular(words: str) -> str:
    for candidate in _candidates(words):
        if candidate in ("neutral", "neutrals") or candidate in vocabulary.EXTREME_WORDS:
            return candidate
    return _known(words) or words


def _nearest(words: str) -> str:
    """Name the known words that are spelled most alike."""
    sets = (f"{one.removesuffix(' colours')} colours" for one in vocabulary.SETS)
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
