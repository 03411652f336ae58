"""Corners as a form writes them: one a line, two numbers each."""

from __future__ import annotations

from collections.abc import Iterable

from stash.errors import MeasureError
from stash.shape.outline import Point

__all__ = ["corners_of_text", "text_of_corners"]

_MOST_CORNERS = 4000


def corners_of_text(text: str) -> list[Point]:
    r"""Read corners as written in the form: one ``x, y`` a line.

    Raises
    ------
    MeasureError
        If a line is no corner; repeats it.

    Examples
    --------
    >>> corners_of_text("0, 0\n2.5, 0\n0 3")
    [(0.0, 0.0), (2.5, 0.0), (0.0, 3.0)]
    """
    lines = [line for line in text.splitlines() if line.strip()]
    if len(lines) > _MOST_CORNERS:
        raise MeasureError(f"An outline may have {_MOST_CORNERS} corners, not {len(lines)}.")
    return [_corner(line) for line in lines]


def text_of_corners(points: Iterable[Point]) -> str:
    """Write corners for the form."""
    return "\n".join(f"{x:.3f}, {y:.3f}" for x, y in points)


def _corner(line: str) -> Point:
    parts = line.replace(",", " ").split()
    try:
        x, y = (float(part) for part in parts)
    except ValueError:
        raise MeasureError(
            f"“{line.strip()[:40]}” is no corner; write two numbers such as: 2.5, 0"
        ) from None
    return x, y
