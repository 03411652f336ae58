"""A selvage along a scrap's edge: a band of one colour, as straight as the edge, beside the print.

Unprinted or lettered, it is what is left of the bolt's own edge, and runs along the warp.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from stash.colour.spaces import FloatArray
from stash.shape.plane.outline import Outline
from stash.shape.plane.straight_edges import Edge, straight_edges

__all__ = ["Selvage", "find_selvage"]

# Judgements, tried on rendered cloth with and without selvages (docs/measurements.md).
_LEAST_EDGE_IN = 1.5
_STEP_IN = 1 / 50
_FIRST_IN, _DEEPEST_IN = 0.05, 1.7  # the rim mixes cloth and backing
_BAND_IN = (0.15, 0.9)
_BEYOND_IN = 0.35  # so much of the cloth itself has to be seen beside the band
# CIELAB: as far off its middle colour is still the band; letters are further. Where the ground is
# as pale as undyed cloth only a narrow choice parts them, where light is uneven only a wide one.
_ALIKE = (6.0, 9.0, 13.0)
_IN_BAND, _BEYOND = 0.7, 0.4  # least share of the band that is of its colour; most of the rest
_SEEN_IN = 0.1  # the depth in which the band's colour is looked for
_PARTS, _WAVERS_IN = 6, 0.08  # how far the band's inner edge wavers from part to part of its length
_MOST_BEYOND_IN, _SKIP_ROWS = 0.3, 4
_TRUE_IN, _MOST_ASKEW_DEG = 0.1, 5.0  # an outline's edge surer than this tells the direction
_RIM = 0.1  # share of the edge's length left out at each end


@dataclass(frozen=True)
class Selvage:
    """A selvage: its direction, degrees counter-clockwise from x, and where it lies, inches.

    ``band`` reaches beyond the scrap: what lies in it is no cloth to describe.
    """

    deg: float
    band: Polygon


def find_selvage(
    pixels_srgb: NDArray[np.uint8], outline: Outline, to_pixels: Callable[[FloatArray], FloatArray]
) -> Selvage | None:
    """Find the scrap's selvage, if it can be told from the cloth and from what lies around.

    Parameters
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        The photo.
    outline : Outline
        The scrap, inches.
    to_pixels : callable
        Inches (n, 2) to pixels (n, 2).
    """
    shape = outline.polygon
    most_askew = math.tan(math.radians(_MOST_ASKEW_DEG if outline.error_in > _TRUE_IN else 0.0))
    for start, end in straight_edges(np.array(outline.points), outline.error_in):
        if math.dist(start, end) < _LEAST_EDGE_IN:
            break
        lab = _beside(pixels_srgb, shape, to_pixels, (start, end))
        for skip, alike in itertools.product(_skips(outline), _ALIKE):
            found = _band(lab[skip:], alike, most_askew)
            if found is not None:
                leans, rows = found
                edge_deg = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
                deep_in = _FIRST_IN + (skip + rows) * _STEP_IN + _WAVERS_IN
                band = _strip((start, end), deep_in, outline.error_in + _FIRST_IN)
                return Selvage((edge_deg + math.degrees(math.atan(leans))) % 180, band)
    return None


def _strip(edge: Edge, deep_in: float, beyond_in: float) -> Polygon:
    """Give what lies along an edge: so deep inwards, so far beyond it on the other sides."""
    start, end = edge
    way = (end - start) / math.dist(start, end)
    inward = np.array([-way[1], way[0]])
    first, last = start - beyond_in * way, end + beyond_in * way
    corners = (first - beyond_in * inward, last - beyond_in * inward)
    return Polygon([*corners, last + deep_in * inward, first + deep_in * inward])


def _skips(outline: Outline) -> range:
    """Rows that may be no cloth yet, where the outline is unsure: shadow, say, beyond the edge."""
    return range(0, 1 + round(min(outline.error_in, _MOST_BEYOND_IN) / _STEP_IN), _SKIP_ROWS)


def _beside(
    pixels: NDArray[np.uint8],
    shape: Polygon,
    to_pixels: Callable[[FloatArray], FloatArray],
    edge: Edge,
) -> FloatArray:
    """Give CIELAB (depth, along, 3) of the cloth beside an edge, laid straight; nan off the cloth.

    The outline runs counter-clockwise: the cloth lies to the left of each edge.
    """
    start, end = edge
    length = math.dist(*edge)
    way = (end - start) / length
    along = np.arange(_RIM * length, (1 - _RIM) * length, _STEP_IN)
    deep = np.arange(_FIRST_IN, _DEEPEST_IN, _STEP_IN)
    inward = np.array([-way[1], way[0]])
    places = start + along[None, :, None] * way + deep[:, None, None] * inward
    px = to_pixels(places.reshape(-1, 2)).reshape(places.shape).astype(np.float32)
    seen = cv2.remap(pixels, px[..., 0], px[..., 1], cv2.INTER_LINEAR)
    # The weave is finer than a step; letters and motifs are not.
    seen = cv2.GaussianBlur(seen, (0, 0), 1.0)
    lab = cv2.cvtColor(seen.astype(np.float32) / 255, cv2.COLOR_RGB2LAB).astype(np.float64)
    inside = shapely.contains_xy(shape, places[..., 0], places[..., 1])
    lab[~inside] = np.nan
    return lab


def _band(lab: FloatArray, most_apart: float, most_askew: float) -> tuple[float, int] | None:
    """Give how a band of one colour along the edge leans, rise over run, and its rows, if any.

    Beyond it lies other cloth, and the border between them is straight. Where the outline's edge
    is unsure that border tells the direction, else it has to run along the edge.
    """
    seen = np.isfinite(lab[..., 0])
    deep = int(np.argmin(np.append(seen.mean(axis=1) >= 0.8, False)))  # rows before the far side
    least, most = (round((one - _FIRST_IN) / _STEP_IN) for one in _BAND_IN)
    if deep < least + round(_BEYOND_IN / _STEP_IN):
        return None
    lab, seen = lab[:deep], seen[:deep]
    first = lab[: round(_SEEN_IN / _STEP_IN)]
    colour = np.nanmedian(first.reshape(-1, 3), axis=0)
    apart = np.linalg.norm(np.where(seen[..., None], lab, np.inf) - colour, axis=2)
    alike = apart < most_apart
    shares = alike.sum(axis=1) / seen.sum(axis=1)
    border = _border(shares)
    if not least <= border <= min(most, deep - round(_BEYOND_IN / _STEP_IN)):
        return None
    if shares[: border - 1].mean() < _IN_BAND or shares[border + 2 :].mean() > _BEYOND:
        return None
    at = np.array([_border(part.mean(axis=1)) for part in np.array_split(alike, _PARTS, axis=1)])
    run = (np.arange(_PARTS) + 0.5) * alike.shape[1] / _PARTS
    leans, first_row = np.polyfit(run, at, 1) if most_askew else (0.0, float(border))
    waver_in = float(np.abs(at - first_row - leans * run).max()) * _STEP_IN
    if abs(leans) > most_askew or waver_in > _WAVERS_IN:
        return None
    return float(leans), int(at.max())


def _border(shares: FloatArray) -> int:
    """Where what is alike turns into what is not: the step of one row that fits best."""
    rows = np.arange(1, len(shares))
    sums = np.cumsum(shares)[:-1]
    before, after = sums / rows, (shares.sum() - sums) / (len(shares) - rows)
    return int(rows[np.argmax((before - after) ** 2 * rows * (len(shares) - rows))])
