"""Things of a sewing room that are no cloth, told by shape and look.

Only what no cloth looks like is named: strips of cloth are as slim as rulers but bear no ticks
along an edge, and the print of cloth is cut off at its edges while writing stops short of them.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from stash.colour.spaces import FloatArray
from stash.photo.inches.plane import Plane
from stash.photo.light.colours import Colours
from stash.photo.table.backing_model import Float32Array
from stash.shape.plane.outline import Outline

__all__ = ["odd_note", "thing_like"]

_LARGEST_COIN_SQ_IN = 2.0
# Of the radius, and inches more; the corners of a hexagon are a tenth of the radius off.
_OFF_CIRCLE, _OFF_CIRCLE_IN = 0.05, 0.02
_RING_ROUND, _RING_SQ_IN, _OPEN = 0.8, 0.1, 0.62  # finger rings; share of the convex hull
_NARROW_IN = 0.35  # as for masks, but the border is now known well
_RAGGED = 0.5  # of its convex hull; an ell with narrow arms has 0.6
_SLIM_IN, _SLIM_TIMES = 1.6, 8.0  # narrower, and so many times as long
_RULER_IN, _RULER_TIMES, _RULER_LONG_IN = 2.6, 4.0, 4.0
_TICKS_IN = (0.035, 0.2)  # least and most distance of ticks: millimetres to fifths of an inch
_TICK_ROWS_IN = (0.06, 0.2)  # from the edge
_REGULAR, _ONE_SIDED, _TICK_STEP = 0.5, 0.25, 1.0  # of the variance; of the edge's; CIELAB L*
_RECTANGLE = 0.95  # of its box
_PAPER_IN, _WHITE_L, _GREY_CHROMA = 6.0, 82.0, 7.0
_INK_STEP, _INK_SHARE = 25.0, (0.01, 0.5)  # CIELAB L* below the paper; least and most of its face
_MARGIN_IN, _BLURRED_IN, _INK_IN_MARGIN = 0.1, 0.03, 0.005
_LETTER_GAP_IN, _LINE_TIMES = 0.07, 3.0  # half a gap between words; a line of writing is so long
_SAMPLES_PER_IN = 80.0


def thing_like(
    outline: Outline, pixels_srgb: NDArray[np.uint8], plane: Plane, calibration: Colours
) -> str:
    """Name the thing that an outline is surely of, as in "scissors"; empty for what may be cloth.

    Parameters
    ----------
    outline : Outline
        Inches.
    pixels_srgb : uint8, shape (height, width, 3)
        The photo.
    plane, calibration
        Inches to pixels; camera colours to true ones.
    """
    shape = outline.polygon
    if 2 * shapely.maximum_inscribed_circle(shape, tolerance=0.005).length < _NARROW_IN:
        return "something narrower than 3/8 in"
    if shape.area < _LARGEST_COIN_SQ_IN and _is_circle(outline):
        return "a coin or spool"
    if _has_finger_rings(outline):
        return "scissors"
    short, long = outline.least_box_in()
    if short < _RULER_IN and long > max(_RULER_LONG_IN, _RULER_TIMES * short):
        face = _face(outline, pixels_srgb, plane, calibration)
        return "a ruler" if _has_ticks(face[..., 0]) else ""
    if long < _PAPER_IN and shape.area > _RECTANGLE * short * long:
        return (
            "a paper label"
            if _is_written_on(_face(outline, pixels_srgb, plane, calibration))
            else ""
        )
    return ""


def odd_note(outline: Outline) -> str:
    """Say that a scrap may be no cloth by its shape; empty for a usual one."""
    if outline.polygon.area < _RAGGED * outline.polygon.convex_hull.area:
        return "may be no scrap: it is shaped like a tool"
    short, long = outline.least_box_in()
    slim = short < _SLIM_IN and long > _SLIM_TIMES * short
    return "may be no scrap: it is shaped like a ruler" if slim else ""


def _is_circle(outline: Outline) -> bool:
    disc = Polygon(outline.points)
    radius_in = math.sqrt(disc.area / math.pi)
    rim = disc.centroid.buffer(radius_in).exterior
    off_in = float(rim.hausdorff_distance(disc.exterior))
    return off_in < _OFF_CIRCLE * radius_in + _OFF_CIRCLE_IN


def _round(ring: object) -> float:
    """Share of the area that a circle as long as the ring would have."""
    shape = Polygon(np.asarray(ring))
    return float(4 * math.pi * shape.area / shape.length**2)


def _has_finger_rings(outline: Outline) -> bool:
    rings = [hole for hole in outline.holes if Polygon(hole).area > _RING_SQ_IN]
    twice = sum(_round(ring) > _RING_ROUND for ring in rings) >= 2
    return twice and outline.polygon.area < _OPEN * outline.polygon.convex_hull.area


def _face(
    outline: Outline, pixels: NDArray[np.uint8], plane: Plane, calibration: Colours
) -> Float32Array:
    """Sample the outline's least box, its long side along the rows: CIELAB (rows, columns, 3)."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(outline.polygon))[:4]
    if math.dist(corners[0], corners[1]) < math.dist(corners[1], corners[2]):
        corners = np.roll(corners, 1, axis=0)
    along, down = corners[1] - corners[0], corners[3] - corners[0]
    columns, rows = (
        max(8, round(float(np.hypot(*side)) * _SAMPLES_PER_IN)) for side in (along, down)
    )
    across = ((np.arange(columns) + 0.5) / columns)[None, :, None]
    below = ((np.arange(rows) + 0.5) / rows)[:, None, None]
    places = (corners[0] + across * along + below * down).reshape(-1, 2)
    at_px = plane.to_pixels(places)
    x, y = (axis.astype(np.float32).reshape(rows, columns) for axis in at_px.T)
    seen = cv2.remap(pixels, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    lab = calibration.lab_of(seen.reshape(-1, 3) / 255, at_px)
    return np.asarray(lab, dtype=np.float32).reshape(rows, columns, 3)


def _has_ticks(lightness: Float32Array) -> bool:
    """Whether marks stand evenly along one long edge, and none like them in the middle."""
    rows = len(lightness)
    first, last = (round(inches * _SAMPLES_PER_IN) for inches in _TICK_ROWS_IN)
    middle = _repeats(lightness[round(0.4 * rows) : round(0.6 * rows) + 1])
    least, most = (round(inches * _SAMPLES_PER_IN) for inches in _TICKS_IN)
    for edge in (lightness[first:last], lightness[rows - last : rows - first]):
        repeats = _repeats(edge)
        lag = least + int(np.argmax(repeats[least : most + 1]))
        regular = min(repeats[lag], repeats[3 * lag]) > _REGULAR * repeats[0]
        if regular and repeats[0] > _TICK_STEP**2 and middle[lag] < _ONE_SIDED * repeats[lag]:
            return True
    return False


def _repeats(band: Float32Array) -> FloatArray:
    """Autocovariance of a band's mean along it, slow changes and the ends left out."""
    profile = band.mean(axis=0, dtype=np.float64)
    wide = round(0.4 * _SAMPLES_PER_IN)
    slow = np.convolve(profile, np.ones(2 * wide + 1) / (2 * wide + 1), mode="same")
    quick = (profile - slow)[2 * wide : -2 * wide]
    lags = np.correlate(quick, quick, mode="full")[len(quick) - 1 :]
    return np.asarray(lags / np.arange(len(quick), 0, -1), dtype=np.float64)


def _is_written_on(face: Float32Array) -> bool:
    """Whether it is white with lines of dark writing that keep clear of every edge."""
    paper = np.median(face.reshape(-1, 3), axis=0)
    if paper[0] < _WHITE_L or float(np.hypot(paper[1], paper[2])) > _GREY_CHROMA:
        return False
    ink = face[..., 0] < paper[0] - _INK_STEP
    blurred, margin = (round(inches * _SAMPLES_PER_IN) for inches in (_BLURRED_IN, _MARGIN_IN))
    whole = ink[blurred:-blurred, blurred:-blurred]
    inner = np.zeros_like(whole)
    deep = margin - blurred
    inner[deep:-deep, deep:-deep] = True
    if whole[~inner].mean() > _INK_IN_MARGIN:
        return False
    return _INK_SHARE[0] < whole.mean() < _INK_SHARE[1] and _has_lines(whole & inner)


def _has_lines(ink: NDArray[np.bool_]) -> bool:
    """Whether most of the ink lies in lines, words joined, along either side."""
    gap = 2 * round(_LETTER_GAP_IN * _SAMPLES_PER_IN) + 1
    for way in (ink, ink.T):
        joined = cv2.morphologyEx(
            np.ascontiguousarray(way).astype(np.uint8), cv2.MORPH_CLOSE, np.ones((1, gap), np.uint8)
        )
        _, labels, stats, _ = cv2.connectedComponentsWithStats(joined)
        line = stats[:, cv2.CC_STAT_WIDTH] > _LINE_TIMES * stats[:, cv2.CC_STAT_HEIGHT]
        line[0] = False
        if (line[labels] & way).sum() > 0.5 * way.sum():
            return True
    return False
