"""Lengths as quilters write them: inches with fractions, or centimetres.

Inside the program every length is a float in inches.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache

from stash.errors import UnitError

__all__ = [
    "CM_PER_INCH",
    "area_words",
    "cloth_words",
    "down_words",
    "exact_words",
    "format_inches",
    "format_size",
    "length_words",
    "parse_length",
    "parse_pair",
    "round_down",
    "said_size",
    "size_words",
    "with_unit",
]

CM_PER_INCH = 2.54  # exact, international yard and pound agreement of 1959

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅙": "1/6", "⅚": "5/6", "⅕": "1/5",
}  # fmt: skip
_PARTS = {"1/8": "⅛", "1/4": "¼", "3/8": "⅜", "1/2": "½", "5/8": "⅝", "3/4": "¾", "7/8": "⅞"}
_LENGTH = re.compile(
    r"""^\s*(?:(?P<whole>\d+(?:\.\d*)?|\.\d+)(?![\d/])[\s-]*)?(?P<part>\d+/\d+)?\s*"""
    r"""(?P<unit>in|inch|inches|"|″|cm|mm|yd|yard|yards)?\s*$"""
)
_NAMED = re.compile(r"[a-z\"″]+$")
# Multiplied first, divided last: 25.4 cm is 10 in to the last bit.
_IN_INCHES = {
    **dict.fromkeys(("in", "inch", "inches", '"', "″"), (1, 1.0)),
    **dict.fromkeys(("yd", "yard", "yards"), (36, 1.0)),
    "cm": (1, CM_PER_INCH),
    "mm": (1, 10 * CM_PER_INCH),
}


def parse_length(text: str, *, unit: str = "in") -> float:
    """Read a length such as ``4 1/2``, ``4½ in``, ``11.5 cm`` or ``1/4 yd`` as inches.

    Parameters
    ----------
    text : str
        A number, a fraction or both, with or without a unit.
    unit : str
        The unit of a bare number: ``in`` or ``cm``.

    Raises
    ------
    UnitError
        If the text is no length; the message repeats it.

    Examples
    --------
    >>> parse_length("4 1/2"), parse_length("4½"), parse_length("1/4 yd")
    (4.5, 4.5, 9.0)
    """
    plain = text.strip().lower()
    for sign, part in _VULGAR.items():
        plain = plain.replace(sign, f" {part}")
    found = _LENGTH.match(plain)
    if found is None or (found["whole"] is None and found["part"] is None):
        raise UnitError(f"“{text}” is not a length; write inches such as 4.5, 4 1/2 or 11.4 cm.")
    if found["whole"] is not None and "." in found["whole"] and found["part"] is not None:
        raise UnitError(f"“{text}” mixes a decimal and a fraction; write 4.5 or 4 1/2.")
    value = float(found["whole"] or 0)
    if found["part"] is not None:
        over, under = found["part"].split("/")
        if int(under) == 0:
            raise UnitError(f"“{text}” divides by nothing; write a fraction such as 1/4.")
        value += int(over) / int(under)
    times, parts = _IN_INCHES[found["unit"] or unit]
    return value * times / parts


def parse_pair(text: str, *, unit: str = "in") -> tuple[float, float]:
    """Read two lengths such as ``60x72``, ``5 1/4 × 9`` or ``13 x 23 cm`` as inches.

    Parameters
    ----------
    text : str
        Two lengths with an x between them; a unit after the second is meant for both.
    unit : str
        The unit of bare numbers: ``in`` or ``cm``.

    Raises
    ------
    UnitError
        If the text is not two lengths; the message repeats it.

    Examples
    --------
    >>> parse_pair("60x72"), parse_pair("25.4 x 50.8 cm")
    ((60.0, 72.0), (10.0, 20.0))
    """
    parts = re.split(r"[x×*]", text.lower())
    if len(parts) != 2:
        raise UnitError(f"“{text}” is not two lengths; write width x length, such as 60x72.")
    first, second = (part.strip() for part in parts)
    named = _NAMED.search(second)
    if named and not _NAMED.search(first):
        first = f"{first} {named[0]}"
    return parse_length(first, unit=unit), parse_length(second, unit=unit)


def with_unit(text: str, unit: str) -> str:
    """Write out the unit that bare numbers are meant in, so that a size keeps its meaning.

    Parameters
    ----------
    text : str
        One length or two with an x between them, as somebody wrote it.
    unit : str
        The unit of bare numbers: ``in`` or ``cm``.

    Examples
    --------
    >>> with_unit("9", "cm"), with_unit("3 x 5", "cm"), with_unit("4 in", "cm")
    ('9 cm', '3 x 5 cm', '4 in')
    """
    bare = text.strip()
    return f"{bare} cm" if unit == "cm" and bare and not _NAMED.search(bare.lower()) else bare


def said_size(text: str, *, unit: str = "in") -> str:
    """Write a size that was typed once, such as ``4 1/2`` or ``3 x 5 cm``, in the unit chosen.

    Examples
    --------
    >>> said_size("4 1/2"), said_size("2x3", unit="cm"), said_size("9 cm", unit="cm")
    ('4½ in', '5.1 × 7.6 cm', '9.0 cm')
    """
    parts = re.split(r"[x×*]", text)
    lengths = parse_pair(text) if len(parts) == 2 else (parse_length(text),)
    shown = [format_inches(one, step=16, unit=unit).removesuffix(" cm") for one in lengths]
    return f"{' × '.join(shown)} {unit}"


def format_inches(inches: float, *, step: int = 8, unit: str = "in") -> str:
    """Write a length for a person: inches in eighths, or centimetres.

    Parameters
    ----------
    inches : float
        The length, inches.
    step : int
        Parts of an inch to round to (8 = eighths).
    unit : str
        ``in`` or ``cm``.

    Examples
    --------
    >>> format_inches(4.5), format_inches(0.25), format_inches(3.0), format_inches(2.54, unit="cm")
    ('4½', '¼', '3', '6.5 cm')
    >>> format_inches(2.5, unit="cm")
    '6.4 cm'
    """
    if unit == "cm":
        return f"{_cm(inches):.1f} cm"
    return _parts_in_words(round(inches * step), step)


def _cm(inches: float) -> float:
    """Round to the nearest millimetre; what lies half way goes away from zero: 2.5 in are 6.4."""
    return math.copysign(math.floor(abs(inches) * CM_PER_INCH * 10 + 0.5 + 1e-6) / 10, inches)


@lru_cache(maxsize=4096)  # a list of scraps says the same lengths again and again
def _parts_in_words(count: int, step: int) -> str:
    rounded = Fraction(count, step)
    sign = "-" if rounded < 0 else ""
    whole, part = divmod(abs(rounded), 1)
    if part == 0:
        return f"{sign}{whole}"
    text = str(part)
    shown = _PARTS.get(text, f" {text}" if whole else text)
    return f"{sign}{whole or ''}{shown}"


def length_words(inches: float, *, step: int = 8, unit: str = "in") -> str:
    """Write a length for a person with its unit, e.g. ``4½ in`` or ``11.4 cm``."""
    text = format_inches(inches, step=step, unit=unit)
    return text if unit == "cm" else f"{text} in"


def size_words(width_in: float, height_in: float, *, unit: str = "in") -> str:
    """Write width x height for a person with the unit, e.g. ``5¼ × 9 in``."""
    text = format_size(width_in, height_in, unit=unit)
    return text if unit == "cm" else f"{text} in"


def down_words(inches: float, *, unit: str = "in") -> str:
    """Write a length that must not be overstated: down to a sixteenth, or to a millimetre.

    Examples
    --------
    >>> down_words(3.49), down_words(3.5, unit="cm"), down_words(3.53, unit="cm")
    ('3 7/16 in', '8.8 cm', '8.9 cm')
    """
    step = 10 * CM_PER_INCH if unit == "cm" else 16
    return length_words(round_down(inches, step=step), step=16, unit=unit)


def exact_words(inches: float, *, unit: str = "in") -> str:
    """Write a length as it was worked out, e.g. ``3.125 in`` or ``7.94 cm``."""
    return f"{inches * CM_PER_INCH:.2f} cm" if unit == "cm" else f"{inches:.3f} in"


def area_words(square_inches: float, *, unit: str = "in", digits: int = 0) -> str:
    """Write an area with its unit, e.g. ``24 sq in`` or ``155 sq cm``."""
    if unit == "cm":
        return f"{square_inches * CM_PER_INCH**2:.{digits}f} sq cm"
    return f"{square_inches:.{digits}f} sq in"


def round_down(inches: float, *, step: float = 16) -> float:
    """Round a length that must not be overstated down to a part of an inch.

    Examples
    --------
    >>> round_down(3.49), round_down(3.5)
    (3.4375, 3.5)
    """
    return math.floor(inches * step + 1e-6) / step


def format_size(width_in: float, height_in: float, *, unit: str = "in") -> str:
    """Write width x height for a person, e.g. ``5¼ × 9`` (inches) or ``13.3 × 22.9 cm``."""
    if unit == "cm":
        return f"{_cm(width_in):.1f} × {_cm(height_in):.1f} cm"
    return f"{format_inches(width_in)} × {format_inches(height_in)}"


def cloth_words(inches: float, *, unit: str = "in") -> str:
    """Write a length of cloth to buy: yards up to the next eighth, metres up to the next cm.

    Examples
    --------
    >>> cloth_words(160), cloth_words(2 * 236 / 2.54, unit="cm")
    ('4½ yd', '4.72 m')
    """
    if unit == "cm":
        return f"{math.ceil(inches * CM_PER_INCH - 1e-6) / 100:.2f} m"
    return f"{format_inches(math.ceil(inches / 36 * 8 - 1e-9) / 8)} yd"
