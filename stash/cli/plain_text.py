"""Text for screens and files that cannot show every letter: the nearest plain one stands for it."""

from __future__ import annotations

import codecs
import io
import unicodedata
from typing import TextIO

__all__ = ["spell_out", "spelled_out"]

_HANDLER, _PLAIN_ASCII = "spelled-out", "spelled-out-ascii"
_SIGNS = {
    "×": "x", "“": '"', "”": '"', "„": '"', "‘": "'", "’": "'", "–": "-", "—": "-", "…": "...",
    "⁄": "/", "≤": "<=", "≥": ">=", "°": " deg", "″": '"', "′": "'", "·": "-", "±": "+-",
    "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "Æ": "AE", "Œ": "OE",
    "Ø": "O", "Ł": "L", "→": "->", "²": "2", "�": "?",
}  # fmt: skip


def spell_out(*streams: TextIO) -> None:
    """Let these streams write what their encoding lacks in plain letters, instead of failing."""
    codecs.register_error(_HANDLER, _stand_in)
    codecs.register(_plain_ascii)
    for stream in streams:
        if isinstance(stream, io.TextIOWrapper):
            # Under its own name ASCII is taken for a mistake by click, which then writes UTF-8.
            ascii_only = codecs.lookup(stream.encoding).name == "ascii"
            encoding = _PLAIN_ASCII if ascii_only else None
            stream.reconfigure(encoding=encoding, errors=_HANDLER)


def spelled_out(text: str, encoding: str) -> str:
    """Give a text in letters that an encoding has.

    Examples
    --------
    >>> spelled_out("5⅞ × 7½ in, Grün, 藍", "ascii"), spelled_out("5⅞ × 7½ in, Grün", "cp1252")
    ('5 7/8 x 7 1/2 in, Grun, ?', '5 7/8 × 7½ in, Grün')
    """
    codecs.register_error(_HANDLER, _stand_in)
    return text.encode(encoding, errors=_HANDLER).decode(encoding)


def _stand_in(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    text, at = problem.object, problem.start
    return _plain(text[at], before=text[at - 1 : at]), at + 1


def _plain(sign: str, *, before: str) -> str:
    if sign in _SIGNS:
        return _SIGNS[sign]
    if unicodedata.combining(sign) or unicodedata.category(sign) in ("Cf", "Mn"):
        return ""  # an accent of a letter that is there, a joiner
    parts = unicodedata.normalize("NFKD", sign).replace("⁄", "/")
    plain = "".join(part for part in parts if part.isascii())
    between = " " if "/" in plain and before.isdigit() else ""  # 5⅞ is 5 7/8
    return between + (plain or "?")


def _plain_ascii(name: str) -> codecs.CodecInfo | None:
    if name.replace("_", "-") != _PLAIN_ASCII:
        return None
    plain = codecs.lookup("ascii")
    return codecs.CodecInfo(
        plain.encode,
        plain.decode,
        streamreader=plain.streamreader,
        streamwriter=plain.streamwriter,
        incrementalencoder=plain.incrementalencoder,
        incrementaldecoder=plain.incrementaldecoder,
        name=_PLAIN_ASCII,
    )
