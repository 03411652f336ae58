"""A single row or column of a card: what is left to see when most of it is hidden."""

from __future__ import annotations

import numpy as np

from stash.colour.spaces import FloatArray, srgb_of_linear
from stash.photo.cards.card import CHART24_LINEAR
from stash.photo.cards.patch_candidates import Squares
from stash.photo.cards.patch_order import blocks
from stash.photo.files.reading import PixelsU8

__all__ = ["squares_in_lines"]

_REFERENCE = srgb_of_linear(CHART24_LINEAR).reshape(4, 6, 3)
_LEAST = 4  # squares in a line; two numbers a channel are fitted to them
_FITS = 0.06  # encoded sRGB; nine in ten lines of real charts do, one random line in 1,000
_SPACING = (0.95, 1.75)  # distance of neighbours over their side
_OFF = 0.15  # of the step: how far a square may lie from where the line leads
_MOST_LINES = 300


def squares_in_lines(squares: Squares, small: PixelsU8) -> int:
    """Count the squares that stand in lines coloured like a row or column of a chart."""
    seen = blocks(small, np.rint(squares.centres_px).astype(int)) if len(squares) else np.empty(0)
    known: set[int] = set()
    for line in _lines(squares):
        if not known.issuperset(line) and _misfit(seen[line]) < _FITS:
            known |= set(line)
    return len(known)


def _lines(squares: Squares) -> list[list[int]]:
    """Give evenly spaced, equally large squares in a straight line, the longest first."""
    side, centres = squares.side_px, squares.centres_px
    found: dict[frozenset[int], list[int]] = {}
    for first in range(len(squares)):
        gaps = centres - centres[first]
        far = np.hypot(gaps[:, 0], gaps[:, 1])
        near = (far > _SPACING[0] * side[first]) & (far < _SPACING[1] * side[first])
        for second in np.flatnonzero(near & _alike(side, first)):
            line = _followed(squares, [first, int(second)])
            if len(line) >= _LEAST:
                found.setdefault(frozenset(line), line)
        if len(found) > _MOST_LINES:
            break
    return sorted(found.values(), key=len, reverse=True)


def _followed(squares: Squares, line: list[int]) -> list[int]:
    while len(line) < _REFERENCE.shape[1]:
        here = squares.centres_px[line[-1]]
        step = here - squares.centres_px[line[-2]]
        off = squares.centres_px - (here + step)
        far = np.where(_alike(squares.side_px, line[-1]), np.hypot(off[:, 0], off[:, 1]), np.inf)
        index = int(np.argmin(far))
        if far[index] > _OFF * np.hypot(*step) or index in line:
            break
        line.append(index)
    return line


def _alike(side: FloatArray, index: int) -> np.ndarray:
    return np.asarray((side < 1.25 * side[index]) & (side > side[index] / 1.25))


def _misfit(seen: FloatArray) -> float:
    """Give what a gain and an offset a channel leave on the likeliest place of a line."""
    count = len(seen)
    rows = [row[at : at + count] for row in _REFERENCE for at in range(7 - count)]
    columns = [c[at : at + count] for c in _REFERENCE.swapaxes(0, 1) for at in range(5 - count)]
    aims = np.array(rows + columns + [part[::-1] for part in rows + columns])
    here = seen - seen.mean(axis=0)
    there = aims - aims.mean(axis=1, keepdims=True)
    power = np.maximum((here**2).sum(axis=0), 1e-6)
    gain = np.clip((here * there).sum(axis=1) / power, 0.5, 3.0)
    left = there - gain[:, None] * here
    return float(np.sqrt((left**2).sum(axis=(1, 2)) / (3 * (count - 2))).min())
