"""Cutting a quilt's pieces: what each scrap gives, and strips for a shape."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stash.shape.curve import Arc
from stash.shape.outline import Outline, Ring
from stash.shape.straight_cuts import StripCuts
from stash.shape.template import Template
from stash.units import format_inches

__all__ = [
    "MOST_LAYERS",
    "ScrapToCut",
    "StripPlan",
    "StripWidths",
    "cross_cut_width",
    "strip_plan",
    "strip_widths",
    "strip_words",
]

MOST_LAYERS = 6  # what a sharp 45 mm blade goes through cleanly: common practice, no source


@dataclass(frozen=True, slots=True)
class ScrapToCut:
    """A scrap and where its pieces lie.

    Attributes
    ----------
    number, fabric : int
        In the stash.
    name, place : str
        The fabric's name and the bin; may be empty.
    outline : Outline
        As measured, inches.
    pieces : tuple of Ring
        Cut outlines on the scrap, in its own inches.
    places : tuple of str
        Where each piece goes, row and piece such as ``3.12``; empty before the layout.
    washed : bool
        Unwashed cloth is washed before it is cut.
    grain_deg : float or None
        Grain line if it is known.
    strips : StripCuts or None
        Another way, with straight cuts only.
    picture : bytes
        A picture of the scrap (JPEG), or nothing.
    px_per_in, left_in, top_in : float
        Its scale and the inches of its upper left corner.
    """

    number: int
    fabric: int
    name: str
    place: str
    outline: Outline
    pieces: tuple[Ring, ...]
    washed: bool = True
    grain_deg: float | None = None
    strips: StripCuts | None = None
    picture: bytes = b""
    px_per_in: float = 0.0
    left_in: float = 0.0
    top_in: float = 0.0
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StripWidths:
    """Strips that just take a shape, inches.

    Attributes
    ----------
    across_in : float
        The shape stands with its longer side across the strip.
    along_in : float
        It lies with its longer side along the strip.
    """

    across_in: float
    along_in: float


@dataclass(frozen=True, slots=True)
class StripPlan:
    """How a straight-edged shape comes off strips cut along the grain.

    Attributes
    ----------
    width_in : float
        Width of the strip: the shape between its edges along the grain.
    per_strip : int
        Pieces a strip of the usable width of cloth gives.
    cross_cut_in : float or None
        Distance of parallel cross-cuts, square to them; None when pieces are cut by template.
    angle_deg : float
        Angle of the cross-cuts to the strip, at most 90.
    by_halves : bool
        Whether every second piece is turned by half a turn.
    """

    width_in: float
    per_strip: int
    cross_cut_in: float | None
    angle_deg: float
    by_halves: bool


def strip_plan(template: Template, *, usable_in: float = 40.0) -> StripPlan | None:
    """Say how a shape comes off strips; None for a shape with arcs.

    A shape of three or four corners with an edge on both sides of the strip (or a tip on one)
    lies edge to edge with its neighbours; others lie side by side.
    """
    if any(isinstance(segment, Arc) for segment in template.cut_path):
        return None
    left, bottom, right, top = template.cut_polygon().bounds
    width_in = top - bottom
    low, high = (_level(template.cut, level) for level in (bottom, top))
    if len(template.cut) > 4 or low is None or high is None:
        count = math.floor(usable_in / (right - left) + 1e-9)
        return StripPlan(width_in, count, None, 90.0, False)
    below, above = low[1] - low[0], high[1] - high[0]
    count = _edge_to_edge(low, high, usable_in)
    if not math.isclose(below, above, abs_tol=1e-6):
        return StripPlan(width_in, count, None, 90.0, True)
    angle_deg = math.degrees(math.atan2(width_in, abs(high[0] - low[0])))
    cross_in = below * math.sin(math.radians(angle_deg))
    return StripPlan(width_in, count, cross_in, angle_deg, False)


def _level(ring: Ring, level: float) -> tuple[float, float] | None:
    on = [x for x, y in ring if math.isclose(y, level, abs_tol=1e-6)]
    return (min(on), max(on)) if on else None


def _edge_to_edge(low: tuple[float, float], high: tuple[float, float], usable_in: float) -> int:
    """Count pieces in a strip, every second one turned, so that each cut serves two pieces."""
    below, above = low[1] - low[0], high[1] - high[0]
    left = min(low[0], high[0])
    bottom_x, top_x, count = low[0], high[0], 0
    while True:
        wide, narrow = (below, above) if count % 2 == 0 else (above, below)
        bottom_x, top_x = bottom_x + wide, top_x + narrow
        if max(bottom_x, top_x) - left > usable_in + 1e-9:
            return count
        count += 1


def strip_widths(template: Template) -> StripWidths:
    """Give the widths of strips that just take a shape standing across or lying along them."""
    points = [segment.start for segment in template.cut_path]
    for segment in template.cut_path:
        if isinstance(segment, Arc):  # the box of an arc ends where it runs level or upright
            points += [segment.point_at(share) for share in _turning_shares(segment)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    sides = (max(xs) - min(xs), max(ys) - min(ys))
    return StripWidths(max(sides), min(sides))


def cross_cut_width(template: Template, strip_in: float, angle_deg: float) -> float | None:
    """Give how far cross-cuts lie apart, measured square to them; None where they alternate.

    Only a shape of two pairs of equal sides fills a strip with cuts that are all parallel.
    """
    ring = template.cut
    if len(ring) != 4 or len(template.cut_path) != 4:
        return None
    sides = [math.dist(ring[k], ring[(k + 1) % 4]) for k in range(4)]
    if not (
        math.isclose(sides[0], sides[2], rel_tol=1e-6)
        and math.isclose(sides[1], sides[3], rel_tol=1e-6)
    ):
        return None
    base_in = template.cut_polygon().area / strip_in
    return float(base_in * math.sin(math.radians(angle_deg)))


def strip_words(template: Template, cuts: StripCuts) -> tuple[str, ...]:
    """Say a straight-cut layout in words, equal strips together."""
    counted: dict[tuple[float, int], int] = {}
    for strip in cuts.strips:
        key = (round(strip.width_in, 3), strip.pieces)
        counted[key] = counted.get(key, 0) + 1
    lines = []
    for (width_in, pieces), times in counted.items():
        many = f"{times} strips" if times > 1 else "one strip"
        each = " each" if times > 1 else ""
        apart = cross_cut_width(template, width_in, cuts.cross_cut_deg)
        if apart is None:
            how = f"then {pieces}{each}, turned by halves"
        else:
            how = f"then {pieces}{each}, cut {_up(apart)} apart"
            if abs(cuts.cross_cut_deg - 90) > 0.5:
                how += f" at {min(cuts.cross_cut_deg, 180 - cuts.cross_cut_deg):.0f}°"
        lines.append(f"{many} {_up(width_in)} in wide, {how}")
    return tuple(lines)


def _up(inches: float) -> str:
    """Write a width to cut, up to the next sixteenth: a strip is never told too narrow."""
    return format_inches(math.ceil(inches * 16 - 1e-6) / 16, step=16)


def _turning_shares(arc: Arc) -> list[float]:
    shares = []
    for quarter in range(-8, 9):
        share = (90 * quarter - arc.start_deg) / arc.sweep_deg
        if 0 <= share <= 1:
            shares.append(share)
    return [*shares, 1.0]
