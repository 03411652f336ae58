"""A line of text in pieces: letters as they are, fractions to be built from small digits."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["FRACTION_SIGNS", "Piece", "as_plain_text", "in_pieces"]

Piece = str | tuple[int, int]  # plain letters, or the two numbers of a fraction

FRACTION_SIGNS = {
    "¼": (1, 4), "½": (1, 2), "¾": (3, 4), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
    "⅓": (1, 3), "⅔": (2, 3), "⅙": (1, 6), "⅚": (5, 6), "⅕": (1, 5),
}  # fmt: skip
_SIGN_OF = {fraction: sign for sign, fraction in FRACTION_SIGNS.items()}
_FRACTION = re.compile(
    f"([{''.join(FRACTION_SIGNS)}])|(?:(?<=\\d) )?(?<![\\d/])(\\d{{1,3}})/(\\d{{1,3}})(?![\\d/])"
)


def in_pieces(text: str) -> list[Piece]:
    """Cut a line into plain letters and fractions; a space before a fraction is left out.

    Examples
    --------
    >>> in_pieces("3½ x 2 5/16 in")
    ['3', (1, 2), ' x 2', (5, 16), ' in']
    """
    pieces: list[Piece] = []
    at = 0
    for found in _FRACTION.finditer(text):
        if found.start() > at:
            pieces.append(text[at : found.start()])
        sign, over, under = found.groups()
        pieces.append(FRACTION_SIGNS[sign] if sign else (int(over), int(under)))
        at = found.end()
    if at < len(text):
        pieces.append(text[at:])
    return pieces


def as_plain_text(pieces: Sequence[Piece]) -> str:
    """Give a line as a reader copies or searches it: fractions as their real characters.

    Examples
    --------
    >>> as_plain_text(["3", (1, 2), " x 2", (5, 16), " in"])
    '3½ x 2 5/16 in'
    """
    text = ""
    for piece in pieces:
        if isinstance(piece, str):
            text += piece
        elif piece in _SIGN_OF:
            text += _SIGN_OF[piece]
        else:
            text += f"{' ' if text[-1:].isdigit() else ''}{piece[0]}/{piece[1]}"
    return text
