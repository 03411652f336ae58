"""Pieces cut by template from a strip that just takes them: how close they lie, how many there are.

Good for every shape, curved ones too: two pieces lie as near as their outlines allow when each
height of the strip is looked at alone, all one way or every second one turned by half a turn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.shape.nesting.straight_cuts import up_to_mark
from stash.shape.plane.outline import Ring
from stash.shape.templates.template import Template

__all__ = ["TemplateStrip", "pieces_by_strips", "template_strips"]

_FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TemplateStrip:
    """A strip and the pieces cut from it round the template.

    Attributes
    ----------
    width_in : float
        Width of the strip: the shape as it lies.
    turn_deg : float
        How the template is turned: 0, or 90 for lying along.
    by_halves : bool
        Whether every second piece is turned by half a turn.
    starts_in : tuple of float
        Where the left end of each piece lies.
    """

    width_in: float
    turn_deg: float
    by_halves: bool
    starts_in: tuple[float, ...]

    @property
    def pieces(self) -> int:
        """Pieces of one strip."""
        return len(self.starts_in)

    def rings(self, template: Template) -> list[Ring]:
        """Give the outlines of the pieces, the strip from 0, 0 along x."""
        made = []
        for number, start in enumerate(self.starts_in):
            half = 180.0 if self.by_halves and number % 2 else 0.0
            ring = _turned(template.cut, self.turn_deg + half)
            made.append(tuple((float(x) + start, float(y)) for x, y in ring))
        return made


def template_strips(template: Template, *, usable_in: float = 40.0) -> tuple[TemplateStrip, ...]:
    """Give the strips of a shape standing across and lying along, the one that wastes least first.

    Parameters
    ----------
    template : Template
        What is cut.
    usable_in : float
        Length of a strip, inches.
    """
    found = []
    for turn_deg in (0.0, 90.0):
        one, other = _turned(template.cut, turn_deg), _turned(template.cut, turn_deg + 180)
        width_in = float(one[:, 1].max())
        ways = [
            TemplateStrip(width_in, turn_deg, halves, _starts(one, second, usable_in))
            for halves, second in ((False, one), (True, other))
        ]
        found.append(max(ways, key=lambda way: (way.pieces, not way.by_halves)))
    return tuple(sorted(found, key=lambda way: -way.pieces / way.width_in))


def pieces_by_strips(
    template: Template, width_in: float, height_in: float, *, ruler_step: float
) -> int:
    """Count the pieces a cloth gives by strips across its width, as wide as a ruler marks them.

    Parameters
    ----------
    template : Template
        What is cut.
    width_in, height_in : float
        The cloth; strips run along its width.
    ruler_step : float
        Parts of an inch the ruler is marked in; strips are told up to the next mark.

    Examples
    --------
    >>> from stash.shape.templates.template import make_template
    >>> pieces_by_strips(make_template("square", 2), 40, 36, ruler_step=16)  # 14 strips of 16
    224
    """
    return max(
        strip.pieces * math.floor(height_in / up_to_mark(strip.width_in, ruler_step) + 1e-9)
        for strip in template_strips(template, usable_in=width_in)
    )


def _turned(ring: Ring, turn_deg: float) -> _FloatArray:
    turn = math.radians(turn_deg)
    cos, sin = round(math.cos(turn), 12), round(math.sin(turn), 12)
    points = np.asarray(ring) @ np.array([[cos, sin], [-sin, cos]])
    return np.asarray(points - points.min(axis=0))


def _starts(first: _FloatArray, second: _FloatArray, usable_in: float) -> tuple[float, ...]:
    """Lay pieces by turns from the left until the strip ends."""
    pitches = (_touching(first, second), _touching(second, first))
    wide = float(first[:, 0].max())
    starts, x = [], 0.0
    while x + wide <= usable_in + 1e-9:
        starts.append(x)
        x += pitches[(len(starts) - 1) % 2]
    return tuple(starts)


def _touching(one: _FloatArray, other: _FloatArray) -> float:
    """How far the second piece's left end lies from the first's when they touch."""
    levels = np.unique(np.concatenate([one[:, 1], other[:, 1]]))  # between them all is straight
    right, _ = _reach(one, levels)
    _, left = _reach(other, levels)
    return float((right - left).max())


def _reach(ring: _FloatArray, levels: _FloatArray) -> tuple[_FloatArray, _FloatArray]:
    """Give the greatest and least x of a ring at some heights."""
    start, end = ring, np.roll(ring, -1, axis=0)
    y0, y1, level = start[None, :, 1], end[None, :, 1], levels[:, None]
    meets = (np.minimum(y0, y1) <= level + 1e-9) & (np.maximum(y0, y1) >= level - 1e-9)
    flat = np.abs(y1 - y0) < 1e-9
    share = np.where(flat, 0.0, np.clip((level - y0) / np.where(flat, 1.0, y1 - y0), 0, 1))
    x = start[None, :, 0] + share * (end - start)[None, :, 0]
    other = np.where(flat, end[None, :, 0], x)
    right = np.where(meets, np.maximum(x, other), -np.inf).max(axis=1)
    left = np.where(meets, np.minimum(x, other), np.inf).min(axis=1)
    return right, left
