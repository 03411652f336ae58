"""Breaking a text into lines, never between a whole number and its fraction."""

from __future__ import annotations

import re
from collections.abc import Callable

__all__ = ["broken"]

_SPACE = re.compile(r"(?<!\d)\s+|\s+(?!\d+/\d)")


def broken(text: str, width: float, measure: Callable[[str], float]) -> list[str]:
    """Break a text into lines no wider than ``width``, in whatever ``measure`` gives.

    A word that is too wide alone stands on a line of its own.

    Examples
    --------
    >>> broken("up to 3 5/16 in wide", 10, len)
    ['up to', '3 5/16 in', 'wide']
    """
    lines: list[str] = []
    for word in _SPACE.split(text.strip()) if text.strip() else ():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and measure(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
