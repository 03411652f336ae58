"""Which typeface has which letter: names may be written in any script.

A picture or sheet is lettered in its own typeface as far as that goes; for other letters stand, in
this order, one with Latin, Greek, Cyrillic and Hebrew, one with kana and the Chinese characters of
Japan and China, and one with emoji, all beside this module with their licences. What none of them
has is shown as an empty square, and the letters after it stay in their places.
"""

from __future__ import annotations

import json
import re
import unicodedata
from bisect import bisect_right
from collections.abc import Callable, Iterator
from functools import cache
from itertools import groupby
from pathlib import Path

__all__ = ["FACES", "OWN", "face_file", "in_faces", "in_reading_order"]

OWN = "own"  # the typeface that the sheet is set in
FACES = ("letters", "han", "emoji")
MISSING = "□"
_FOLDER = Path(__file__).parent / "fonts"
# Signs that only say how others are drawn: joiners, variants, directions, tones of skin.
_SILENT = re.compile("[\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufe00-\ufe0f\U0001f3fb-\U0001f3ff]")
_RIGHT_TO_LEFT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")


def in_reading_order(text: str) -> str:
    """Give a line as its letters stand on paper from the left, right-to-left words turned about.

    By the Unicode bidirectional algorithm (UAX 9) for a line that runs from the left; accents are
    joined with their letters and signs without a picture of their own are left out.
    """
    plain = unicodedata.normalize("NFC", _SILENT.sub("", text))
    if not _RIGHT_TO_LEFT.search(plain):
        return plain
    from bidi import get_display  # only where it is needed

    return str(get_display(plain, base_dir="L"))


def in_faces(text: str, has: Callable[[str], bool]) -> Iterator[tuple[str, str]]:
    """Cut a line into runs of one typeface each: its name and what it sets.

    Parameters
    ----------
    text : str
        In reading order.
    has : callable
        Whether the sheet's own typeface holds a letter.
    """
    chosen = [(OWN, sign) if has(sign) else _face_of(sign) for sign in text]
    for face, run in groupby(chosen, key=lambda pair: pair[0]):
        yield face, "".join(sign for _, sign in run)


def face_file(name: str, *, bold: bool = False) -> Path:
    """Give the file of a typeface."""
    heavier = _FOLDER / f"{name}-bold.ttf"
    return heavier if bold and heavier.exists() else _FOLDER / f"{name}.ttf"


def _face_of(sign: str) -> tuple[str, str]:
    for face in FACES:
        if _holds(face, ord(sign)):
            return face, sign
    return FACES[0], MISSING


def _holds(face: str, number: int) -> bool:
    firsts, lasts = _coverage()[face]
    at = bisect_right(firsts, number) - 1
    return at >= 0 and number <= lasts[at]


@cache
def _coverage() -> dict[str, tuple[list[int], list[int]]]:
    ranges = json.loads((_FOLDER / "coverage.json").read_text(encoding="utf-8"))
    return {name: ([r[0] for r in runs], [r[1] for r in runs]) for name, runs in ranges.items()}
