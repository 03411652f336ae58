"""The library of quilt shapes: the finished path of each family from its size."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stash.shape.plane.outline import Point
from stash.shape.templates.curve import Arc, Line, Path

__all__ = ["LIBRARY", "Family"]

_SQRT3 = math.sqrt(3)
_NARROW_TUMBLER = 2 / 3  # narrow end to wide end: our proportion, common practice, no source
_WEDGES_ROUND = 20  # wedges to the full circle: common practice, no source
_WEDGE_INNER = 1 / 3  # inner radius to wedge length, so the narrow end is a quarter of the wide


@dataclass(frozen=True, slots=True)
class Family:
    """A shape of any size.

    Attributes
    ----------
    name : str
        As written on the command line.
    meaning : str
        What the finished size means, for people.
    path : callable
        Finished width and height in inches -> counter-clockwise path. The template's x axis
        is the path's x axis.
    period_deg : float
        The turn after which the shape looks the same.
    height_of : callable
        The height that goes with a single number.
    two_numbers : bool
        Whether ``W x H`` may be given.
    mirror_symmetric : bool
        Whether the turned-over shape is the same shape, perhaps turned.
    """

    name: str
    meaning: str
    path: Callable[[float, float], Path]
    period_deg: float
    height_of: Callable[[float], float] = lambda size_in: size_in
    two_numbers: bool = False
    mirror_symmetric: bool = True


def _closed(*corners: Point) -> Path:
    return tuple(Line(corner, corners[(k + 1) % len(corners)]) for k, corner in enumerate(corners))


def _rectangle(width: float, height: float) -> Path:
    return _closed((0, 0), (width, 0), (width, height), (0, height))


def _half_square(leg: float, _: float) -> Path:
    return _closed((0, 0), (leg, 0), (0, leg))


def _quarter_square(long_side: float, _: float) -> Path:
    return _closed((0, 0), (long_side, 0), (long_side / 2, long_side / 2))


def _equilateral(height: float, _: float) -> Path:
    side = 2 * height / _SQRT3
    return _closed((0, 0), (side, 0), (side / 2, height))


def _diamond(angle_deg: float) -> Callable[[float, float], Path]:
    lean, rise = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))

    def path(side: float, _: float) -> Path:
        """Draw it with a side so long."""
        return _closed(
            (0, 0), (side, 0), (side * (1 + lean), side * rise), (side * lean, side * rise)
        )

    return path


def _hexagon(side: float, _: float) -> Path:
    turns = [math.radians(60 * k) for k in range(6)]
    return _closed(*((side * math.cos(turn), side * math.sin(turn)) for turn in turns))


def _tumbler(wide: float, height: float) -> Path:
    inset = wide * (1 - _NARROW_TUMBLER) / 2
    return _closed((0, 0), (wide, 0), (wide - inset, height), (inset, height))


def _clamshell(width: float, _: float) -> Path:
    r = width / 2
    return (
        Arc((0, 0), r, 0, 180),
        Arc((-r, -r), r, 90, -90),
        Arc((r, -r), r, 180, -90),
    )


def _apple_core(length: float, _: float) -> Path:
    # Quarter circles of radius r over the sides of a square with side r * sqrt 2; the two bulging
    # ones are parts of one circle, so the length is 2r.
    r = length / 2
    half = r / math.sqrt(2)
    return (
        Arc((0, 0), r, -45, 90),
        Arc((0, 2 * half), r, -45, -90),
        Arc((0, 0), r, 135, 90),
        Arc((0, -2 * half), r, 135, -90),
    )


def _wedge(wide: float, height: float) -> Path:
    narrow = wide * _WEDGE_INNER / (1 + _WEDGE_INNER)
    inset = (wide - narrow) / 2
    return _closed((inset, 0), (wide - inset, 0), (wide, height), (0, height))


def _wedge_height(wide: float) -> float:
    # The chord of one of n wedges at the outer radius (1 + inner) * height.
    return wide / (2 * (1 + _WEDGE_INNER) * math.tan(math.pi / _WEDGES_ROUND))


_ALL = (
    Family("square", "side", _rectangle, 90),
    Family(
        "rectangle",
        "width x height, such as 2x4; one number is the short side of a 1 by 2 brick",
        _rectangle,
        180,
        height_of=lambda width: 2 * width,
        two_numbers=True,
    ),
    Family(
        "half-square-triangle",
        "one of the two equal short sides",
        _half_square,
        360,
    ),
    Family("quarter-square-triangle", "the long side", _quarter_square, 360),
    Family(
        "equilateral-triangle",
        "height, from a side to the opposite tip",
        _equilateral,
        120,
    ),
    Family("diamond-60", "side", _diamond(60), 180),
    Family("diamond-45", "side", _diamond(45), 180),
    Family("hexagon", "side", _hexagon, 60),
    Family(
        "tumbler",
        "width of the wide end = height, or width x height; the narrow end is 2/3 as wide",
        _tumbler,
        360,
        two_numbers=True,
    ),
    Family("clamshell", "width, which is also the height", _clamshell, 360),
    Family("apple-core", "length, from end to end", _apple_core, 180),
    Family(
        "wedge",
        "width of the wide end (20 make a circle), or width x height; "
        "the narrow end is 1/4 as wide",
        _wedge,
        360,
        height_of=_wedge_height,
        two_numbers=True,
    ),
)

LIBRARY: Mapping[str, Family] = MappingProxyType({family.name: family for family in _ALL})
