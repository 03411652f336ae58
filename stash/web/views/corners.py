"""Corners as a form writes them: one a line, two numbers each."""

from __future__ import annotations

from collections.abc import Iterable

from stash.errors import MeasureError
from stash.shape.plane.outline import Point

__all__ = ["corners_of_text", "text_of_corners"]

_MOST_CORNERS = 4000


def corners_of_text(text: str, *, per_unit: float = 1.0) -> list[Point]:
    r"""Read corners as written in the form: one ``x, y`` a line.

    Parameters
    ----------
    text : str
        The lines.
    per_unit : float
        Inches in one unit of the form.

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
    corners = [_corner(line) for line in lines]
    return [(x * per_unit, y * per_unit) for x, y in corners]


def text_of_corners(points: Iterable[Point], *, per_unit: float = 1.0) -> str:
    """Write corners, inches, for the form; ``per_unit`` inches are one unit of it."""
    return "\n".join(f"{x / per_unit:.3f}, {y / per_unit:.3f}" for x, y in points)


def _corner(line: str) -> Point:
    parts = line.replace(",", " ").split()
    try:
        x, y = (float(part) for part in parts)
    except ValueError:
        raise MeasureError(
            f"“{line.strip()[:40]}” is no corner; write two numbers such as: 2.5, 0"
        ) from None
    return x, y
