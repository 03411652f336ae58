"""Finished shapes drawn by hand from their definitions, for tests of the settings."""

from __future__ import annotations

from math import cos, radians, sin, sqrt, tan

Point = tuple[float, float]
Ring = tuple[Point, ...]


def arc(
    x: float, y: float, r: float, begin_deg: float, end_deg: float
) -> list[tuple[float, float]]:
    """Points every 3.75 degrees, without the last, so that facing arcs share their points."""
    steps = round(abs(end_deg - begin_deg) / 3.75)
    angles = [begin_deg + (end_deg - begin_deg) * step / steps for step in range(steps)]
    return [(x + r * cos(radians(angle)), y + r * sin(radians(angle))) for angle in angles]


def hexagon(side: float) -> Ring:
    return tuple((side * cos(radians(60 * k)), side * sin(radians(60 * k))) for k in range(6))


def diamond(side: float, angle_deg: float) -> Ring:
    along, up = side * cos(radians(angle_deg)), side * sin(radians(angle_deg))
    return ((0, 0), (side, 0), (side + along, up), (along, up))


def clamshell(r: float) -> Ring:
    return tuple(arc(0, 0, r, 0, 180) + arc(-r, -r, r, 90, 0) + arc(r, -r, r, 180, 90))


def apple_core(r: float) -> Ring:
    apart = r * sqrt(2)  # centres of the hollow arcs lie one chord above and below
    return tuple(
        arc(0, 0, r, -45, 45) + arc(0, apart, r, -45, -135)
        + arc(0, 0, r, 135, 225) + arc(0, -apart, r, 135, 45)
    )  # fmt: skip


def tumbler(wide: float, narrow: float, height: float) -> Ring:
    return ((-wide / 2, 0), (wide / 2, 0), (narrow / 2, height), (-narrow / 2, height))


def wedge(narrow: float, height: float, angle_deg: float) -> Ring:
    wide = narrow + 2 * height * tan(radians(angle_deg / 2))
    return tumbler(narrow, wide, height)


FINISHED: dict[str, Ring] = {
    "square": ((0, 0), (3, 0), (3, 3), (0, 3)),
    "rectangle": ((0, 0), (4, 0), (4, 2), (0, 2)),
    "half-square-triangle": ((0, 0), (3, 0), (0, 3)),
    "quarter-square-triangle": ((0, 0), (4, 0), (2, 2)),
    "equilateral-triangle": ((0, 0), (4, 0), (2, 2 * sqrt(3))),
    "diamond-60": diamond(3, 60),
    "diamond-45": diamond(3, 45),
    "hexagon": hexagon(2),
    "tumbler": tumbler(4, 2.8, 4),
    "clamshell": clamshell(2),
    "apple-core": apple_core(2),
    "wedge": wedge(1.5, 8, 18),
}
