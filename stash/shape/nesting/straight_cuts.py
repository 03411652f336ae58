"""Rotary layouts: straight strips across the cloth, then cross-cuts, straight cuts only."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from stash.shape.containment.piece_fit import Placement
from stash.shape.nesting.rows import Base, Row, bases_of, best_rows, rings_of
from stash.shape.plane.border import FloatArray
from stash.shape.plane.outline import Outline
from stash.shape.templates.template import Template
from stash.shape.templates.turning import Turning

__all__ = [
    "CrossCutStrip",
    "StripCuts",
    "edge_directions",
    "strip_cuts",
    "strip_placements",
    "up_to_mark",
]

_EVEN_TURNS = 12


@dataclass(frozen=True, slots=True)
class CrossCutStrip:
    """A strip to cut across the scrap and the pieces cross-cut from it.

    Attributes
    ----------
    width_in : float
        Width of the strip, inches.
    direction_deg : float
        Direction of its long cuts, counter-clockwise from x.
    pieces : int
        How many pieces it gives.
    """

    width_in: float
    direction_deg: float
    pieces: int


@dataclass(frozen=True, slots=True)
class StripCuts:
    """A way to cut a scrap with straight cuts only.

    Attributes
    ----------
    strips : tuple of CrossCutStrip
        In the order they are cut, from one side to the other.
    placements : tuple of Placement
        Every piece, strip by strip.
    cross_cut_deg : float
        Angle between the strip and its cross-cuts: 90 for rectangles.
    """

    strips: tuple[CrossCutStrip, ...]
    placements: tuple[Placement, ...]
    cross_cut_deg: float


def strip_cuts(
    outline: Outline, template: Template, *, turning: Turning, ruler_step: float | None = None
) -> StripCuts | None:
    """Give the strips that yield most pieces; None for shapes strips cannot give.

    Parameters
    ----------
    outline, template, turning
        The scrap, what to cut, and the turns allowed.
    ruler_step : float or None
        Parts of an inch a ruler is marked in: strips and cross-cuts are then laid as wide as they
        are told, up to the next mark. None lays them exactly.
    """
    return strip_placements(outline.sure(), template, turning=turning, ruler_step=ruler_step)


def strip_placements(
    sure: Polygon | MultiPolygon,
    template: Template,
    *,
    turning: Turning,
    ruler_step: float | None = None,
) -> StripCuts | None:
    """Give the best strips on sure cloth, whose border counts as it is."""
    bases = bases_of(template.cut)
    if ruler_step is not None:
        bases = tuple(_as_told(base, ruler_step) for base in bases)
    if not bases:
        return None
    best = StripCuts((), (), 90.0)
    if sure.is_empty:
        return best
    upright = all(abs(base.lean_in) < 1e-9 for base in bases)
    groups = [bases] if upright else [(base,) for base in bases]
    if upright and abs(bases[0].width_in - bases[1].width_in) < 1e-9:
        groups = [bases[:1]]
    rings = rings_of(sure)
    for group in groups:
        for direction_deg in _directions(rings, group, template, turning):
            found = _along(rings, group, template, direction_deg)
            if len(found.placements) > len(best.placements):
                best = found
    return best


def up_to_mark(inches: float, step: float) -> float:
    """Round a width to cut up to the next mark of a ruler, inches."""
    return math.ceil(inches * step - 1e-6) / step


def _as_told(base: Base, step: float) -> Base:
    """Widen a parallelogram to the marks of a ruler; its angle stays."""
    height_in = up_to_mark(base.height_in, step)
    slant = math.hypot(base.height_in, base.lean_in) / base.height_in
    return replace(
        base,
        height_in=height_in,
        lean_in=base.lean_in * height_in / base.height_in,
        width_in=up_to_mark(base.width_in / slant, step) * slant,
    )


def _along(
    rings: Sequence[FloatArray],
    bases: Sequence[Base],
    template: Template,
    direction_deg: float,
) -> StripCuts:
    turn = math.radians(direction_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    slant = bases[0].lean_in / bases[0].height_in
    level = [
        np.column_stack(
            [
                ring[:, 0] * cos + ring[:, 1] * sin - slant * (ring[:, 1] * cos - ring[:, 0] * sin),
                ring[:, 1] * cos - ring[:, 0] * sin,
            ]
        )
        for ring in rings
    ]
    rows = best_rows(level, bases)
    placements = []
    for row in rows:
        for start in row.starts_in:
            x = start + slant * row.bottom_in
            spot = (x * cos - row.bottom_in * sin, x * sin + row.bottom_in * cos)
            placements.append(_placed(row, template, direction_deg, spot))
    strips = tuple(
        CrossCutStrip(row.base.height_in, direction_deg, len(row.starts_in)) for row in rows
    )
    lean = math.degrees(math.atan2(bases[0].height_in, bases[0].lean_in))
    return StripCuts(strips, tuple(placements), lean)


def _placed(
    row: Row, template: Template, direction_deg: float, spot: tuple[float, float]
) -> Placement:
    angle_deg = round((direction_deg - row.base.turn_deg) % 360, 9)
    corner = Placement(0, 0, angle_deg).moved((template.cut[row.base.corner],))[0]
    return Placement(spot[0] - corner[0], spot[1] - corner[1], angle_deg)


def _directions(
    rings: Sequence[FloatArray], bases: Sequence[Base], template: Template, turning: Turning
) -> Iterator[float]:
    """Directions of the long edges, then even ones, as far as the grain allows."""
    offered = [*edge_directions(rings), *(k * 180 / _EVEN_TURNS for k in range(_EVEN_TURNS))]
    first = bases[0].turn_deg
    if not turning.is_free:
        for low, high in turning.windows_deg:
            offered.extend(one + first for one in (low, (low + high) / 2, high))
    seen: set[float] = set()
    for direction_deg in offered:
        for flip in (0.0, 180.0) if not turning.is_free else (0.0,):
            direction = round((direction_deg + flip) % 360, 7)
            allowed = all(
                turning.allows(direction - base.turn_deg)
                or (
                    template.rotation_period_deg <= 180
                    and turning.allows(direction - base.turn_deg + 180)
                )
                or (template.rotation_period_deg <= 90 and turning.allows(direction + 90 - first))
                for base in bases
            )
            if allowed and direction not in seen:
                seen.add(direction)
                yield direction


def edge_directions(rings: Sequence[FloatArray], most: int = 8) -> list[float]:
    """Give the directions along which most of the border runs, longest first, degrees."""
    lengths: dict[float, float] = {}
    for ring in rings:
        for dx, dy in np.roll(ring, -1, axis=0) - ring:
            direction = round(math.degrees(math.atan2(dy, dx)) % 180, 3)
            exact = math.degrees(math.atan2(dy, dx)) % 180
            key = next((old for old in lengths if abs(old - direction) < 0.01), exact)
            lengths[key] = lengths.get(key, 0.0) + math.hypot(dx, dy)
    return sorted(lengths, key=lambda one: -lengths[one])[:most]
