"""A bound on the clearance of small ranges of poses, from lines of edges taken together.

A corner of the piece near an edge of the scrap can keep no more room than it lies before the line
of that edge, and a corner of the scrap near an edge of the piece no more than it lies out of that
edge's line (see `edge_depth`). Those distances are linear in the position of the piece,
and in the sine of its turn but for a term of its square. Any weighted mean of them is at least the
least of them, and a mean of linear functions is greatest over a box at its middle by the sum of
its absolute slopes: so every choice of weights bounds the clearance. Good weights let the slopes
cancel, as the forces on a piece that is stuck do. They are found by some rounds of raising the
weights of what is least in that corner of the box where the mean is greatest.

Where no line is known, the distance from the border plus the farthest a corner can move stands in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stash.shape.containment.edge_depth import Behind
from stash.shape.plane.border import FloatArray, IndexArray

__all__ = ["Lines", "Spans", "lines_of_piece", "lines_of_scrap", "most_room"]

_ROUNDS = 8
_NONE_IN = 1e3


@dataclass(frozen=True)
class Spans:
    """How far ranges of poses go from their middle.

    Attributes
    ----------
    pose : float64, shape (m, 3)
        The middle: x, y and turn.
    half, turn : float64, shape (m,)
        Half the side of the square of positions; half the span of turns, less than pi / 2.
    most : float64, shape (m,)
        Only clearances less than this matter, inches.
    """

    pose: FloatArray
    half: FloatArray
    turn: FloatArray
    most: FloatArray

    def moved(self, arm: FloatArray) -> FloatArray:
        """Bound how far points (m, j, 2), as seen from the middle of the piece, move."""
        away = np.hypot(arm[:, :, 0], arm[:, :, 1])
        shift, sway = 1.4143 * self.half, 2 * np.sin(self.turn / 2)
        return np.asarray(shift[:, None] + sway[:, None] * away)


@dataclass(frozen=True)
class Lines:
    """Functions over ranges of poses that no clearance exceeds, shape (m, k) each.

    Attributes
    ----------
    value : float64
        At the middle; what may be unknown is added.
    slopes : three of float64
        What half the square's side adds in x and y, and half the span of turns.
    curved : float64
        What any turn adds besides, at half the span.
    """

    value: FloatArray
    slopes: tuple[FloatArray, FloatArray, FloatArray]
    curved: FloatArray

    def joined(self, other: Lines) -> Lines:
        """Give these and others of the same ranges."""

        def both(one: FloatArray, two: FloatArray) -> FloatArray:
            """Lay the columns of two tables side by side."""
            return np.concatenate([one, two], axis=1)

        x, y, turn = (both(one, two) for one, two in zip(self.slopes, other.slopes, strict=True))
        return Lines(both(self.value, other.value), (x, y, turn), both(self.curved, other.curved))


def lines_of_scrap(
    behind: Behind,
    scrap: IndexArray,
    spans: Spans,
    corners: tuple[FloatArray, IndexArray, FloatArray],
) -> Lines:
    """Give a function for each corner of the piece.

    Parameters
    ----------
    behind : Behind
        Of the scraps' borders.
    scrap : int, shape (m,)
        The scrap of each range.
    spans : Spans
        The ranges.
    corners : float64 (m, j, 2), int (m, j), float64 (m, j)
        Where they lie at the middle, the nearest edges, and the signed distances inside.
    """
    placed, edge, inside = corners
    arm = placed - spans.pose[:, None, :2]
    moved = spans.moved(arm)
    line, normal = behind.before(scrap, edge, placed, moved + spans.most[:, None])
    known = np.isfinite(line)
    return _lines(np.where(known, line, inside + moved), normal * known[:, :, None], arm, spans)


def lines_of_piece(
    behind: Behind,
    number: IndexArray,
    spans: Spans,
    corners: tuple[FloatArray, FloatArray, IndexArray, FloatArray],
) -> Lines:
    """Give a function for each corner of the scrap that points into the cloth.

    Parameters
    ----------
    behind : Behind
        Of the outside of the pieces.
    number : int, shape (m,)
        The piece of each range.
    spans : Spans
        The ranges.
    corners : float64 (m, j, 2), float64 (m, j, 2), int (m, j), float64 (m, j)
        Where they lie, the same as seen from the piece at the middle, its nearest edges, and the
        distances from the piece; inf where there is none.
    """
    placed, seen, edge, beyond = corners
    arm = placed - spans.pose[:, None, :2]
    moved = spans.moved(arm)
    line, across = behind.before(number, edge, seen, moved + spans.most[:, None])
    # the line's direction turns with the piece, so that turns change the slopes in x and y
    line = line + 2 * np.sin(spans.turn / 2)[:, None] * 1.4143 * spans.half[:, None]
    known = np.isfinite(line) & np.isfinite(beyond)
    cos, sin = np.cos(spans.pose[:, 2, None]), np.sin(spans.pose[:, 2, None])
    normal = np.stack(
        [
            -(across[:, :, 0] * cos - across[:, :, 1] * sin),
            -(across[:, :, 0] * sin + across[:, :, 1] * cos),
        ],
        axis=2,
    )
    value = np.where(known, line, np.minimum(beyond + moved, _NONE_IN))
    lines = _lines(value, normal * known[:, :, None], arm, spans)
    return replace(lines, curved=-lines.curved)


def _lines(value: FloatArray, normal: FloatArray, arm: FloatArray, spans: Spans) -> Lines:
    nx, ny, ax, ay = normal[:, :, 0], normal[:, :, 1], arm[:, :, 0], arm[:, :, 1]
    half, turn = spans.half[:, None], spans.turn[:, None]
    return Lines(
        value,
        (nx * half, ny * half, (ny * ax - nx * ay) * np.sin(turn)),
        -(nx * ax + ny * ay) * (1 - np.cos(turn)),
    )


def most_room(lines: Lines, most: FloatArray) -> FloatArray:
    """Give what no pose of a range exceeds, where that is less than most; inf elsewhere."""
    best = np.full(len(most), np.inf)
    value, slopes = lines.value, lines.slopes
    steep = (np.abs(slopes[0]) + np.abs(slopes[1]) + np.abs(slopes[2])).max(axis=1) + 1e-9
    standing = value.copy()
    for number in range(_ROUNDS):
        above = standing - standing.min(axis=1)[:, None]
        weight = np.exp(above * (-(3.0 + number) / steep)[:, None])
        weight /= weight.sum(axis=1)[:, None]
        tilt = [np.einsum("ij,ij->i", weight, slope) for slope in slopes]
        mean = np.einsum("ij,ij->i", weight, value) + np.abs(tilt).sum(axis=0)
        mean += np.maximum(np.einsum("ij,ij->i", weight, lines.curved), 0.0)
        np.minimum(best, mean, out=best)
        there = value.copy()
        for slope, sign in zip(slopes, tilt, strict=True):
            there += slope * np.sign(sign)[:, None]
        standing += (there - standing) / (number + 2)
    # a pose that sticks out may have less than 0: nothing is said of how much less
    return np.where(best < most, np.maximum(best, 0.0), np.inf)
