"""Sizes as they are said at the cutting table: ``5 x 9``, ``1/4 yd``, ``fat quarter``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from stash.errors import MeasureError, UnitError
from stash.shape.plane.outline import Outline, Point, outline_of
from stash.units import parse_length, parse_pair

__all__ = ["CLOTH_WIDTH_IN", "RulerSize", "rectangle_of", "size_from_words"]

# Usable width of quilting cotton, the cautious end of 40 to 42; common practice, no source.
CLOTH_WIDTH_IN = 40.0

# Sizes of cuts; trade handbooks, e.g. "Quilting", ISBN 9781615646142, pp. 36-37. Cut from metres
# they are larger (about 50 x 55 cm; common practice, no source): those are written by their size.
_CUTS = {"fat quarter": (18.0, 22.0), "fat eighth": (9.0, 22.0)}
_NUMBERS = {
    "two and a half": "2 1/2", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6",
    "eight": "8", "ten": "10", "twelve": "12",
}  # fmt: skip
_YARDS = re.compile(r"^(?P<length>[\d\s./¼½¾⅛⅜⅝⅞⅓⅔]+)\s*(yd|yard|yards|m|metre|metres)$")
_SQUARE = re.compile(r"^(?P<side>.+?)[\s-]*square$")
_STRIP = re.compile(r"^(?:strip\s+(?P<after>.+)|(?P<before>.+?)[\s-]*strip)$")


@dataclass(frozen=True, slots=True)
class RulerSize:
    """A straight-edged piece, inches, and how its words were taken."""

    width_in: float
    height_in: float
    taken_as: str


def size_from_words(
    words: str, *, unit: str = "in", cloth_width_in: float = CLOTH_WIDTH_IN
) -> RulerSize:
    """Read a size as a quilter says it.

    Parameters
    ----------
    words : str
        ``W x H`` in any length, a fraction of a yard or metre (the width of the cloth is added),
        ``fat quarter``, ``fat eighth``, ``five-inch square``, ``2 1/2 in strip``.
    unit : str
        Unit of bare numbers: ``in`` or ``cm``.
    cloth_width_in : float
        Usable width of the cloth, inches, for cuts that run from selvage to selvage.

    Raises
    ------
    MeasureError
        If the words are no size; lists what is understood.

    Examples
    --------
    >>> size = size_from_words("5 1/4 x 9")
    >>> size.width_in, size.height_in
    (5.25, 9.0)
    >>> size_from_words("1/4 yd").height_in
    9.0
    """
    plain = " ".join(words.lower().replace("×", " x ").split())
    plain = re.sub(r"(?<=\w)-(?=[a-z])", " ", plain)
    for name, digits in _NUMBERS.items():
        plain = re.sub(rf"\b{name}\b", digits, plain)
    try:
        size = _read(plain, words, unit, cloth_width_in)
    except UnitError as problem:
        raise MeasureError(f"{problem} {_UNDERSTOOD}") from None
    if not (0 < size.width_in <= 3600 and 0 < size.height_in <= 3600):
        raise MeasureError(f"“{words}” is not the size of a piece of cloth. {_UNDERSTOOD}")
    return size


_UNDERSTOOD = (
    "Sizes are written as 5 1/4 x 9, 13 x 23 cm, 1/4 yd, fat quarter, fat eighth, "
    "five-inch square or 2 1/2 in strip."
)


def _read(plain: str, words: str, unit: str, cloth_width_in: float) -> RulerSize:
    if plain in _CUTS:
        return _said(*_CUTS[plain], plain)
    if " x " in plain or re.search(r"\dx[\d.]", plain):
        return _two_lengths(plain, unit)
    if found := _SQUARE.match(plain):
        side = parse_length(found["side"], unit=unit)
        return _said(side, side, "square")
    if found := _STRIP.match(plain):
        width = parse_length(found["before"] or found["after"], unit=unit)
        return _said(cloth_width_in, width, "strip across the cloth")
    if _YARDS.match(plain):
        return _said(cloth_width_in, _running_length(plain), "cut across the cloth")
    raise MeasureError(f"“{words}” is not a size. {_UNDERSTOOD}")


def _two_lengths(plain: str, unit: str) -> RulerSize:
    return _said(*parse_pair(plain, unit=unit), "rectangle")


def _running_length(plain: str) -> float:
    if found := re.match(r"^(.+?)\s*(m|metre|metres)$", plain):
        return parse_length(found[1], unit="in") * 100 / 2.54
    return parse_length(plain)


def _said(width_in: float, height_in: float, taken_as: str) -> RulerSize:
    return RulerSize(width_in, height_in, taken_as)


def rectangle_of(size: RulerSize, *, error_in: float = 0.0, middle: Point | None = None) -> Outline:
    """Lay the size upright, its lower left corner at 0, 0 or its middle where told."""
    width, height = size.width_in, size.height_in
    left, low = (0.0, 0.0) if middle is None else (middle[0] - width / 2, middle[1] - height / 2)
    right, top = left + width, low + height
    corners = [(left, low), (right, low), (right, top), (left, top)]
    return outline_of(corners, error_in=error_in)
