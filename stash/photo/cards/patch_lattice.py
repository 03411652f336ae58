"""Squares that stand in rows and columns: the lattice of a card's patches."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.patch_candidates import Squares

__all__ = ["Lattice", "find_lattices"]

Step: TypeAlias = tuple[int, int]

_LEAST_SQUARES = 7
_REACH = 6  # a card is six patches long
_SEEDS = 40  # from which lattices are grown; those that became part of one do not count
_MOST_SQUARES = 30  # of a card, with a few of its surroundings


@dataclass(frozen=True, eq=False)
class Lattice:
    """Squares with their place in a lattice.

    Attributes
    ----------
    places : int64, shape (n, 2)
        Column and row, counted from the square the lattice was grown from.
    centres_px : float64, shape (n, 2)
        Their centres.
    image_from_places : float64, shape (3, 3)
        Homography from places to pixels.
    """

    places: np.ndarray
    centres_px: FloatArray
    image_from_places: FloatArray


def find_lattices(squares: Squares) -> list[Lattice]:
    """Grow lattices from the squares; each square serves one lattice.

    The fullest come first, but those larger than a card, such as the grid of a mat, last.
    """
    found: list[Lattice] = []
    used: set[int] = set()
    left = _SEEDS
    for seed in _seeds(squares):
        if seed in used:
            continue
        if not left:
            break
        left -= 1
        members = _best_growth(squares, seed)
        if len(members) < _LEAST_SQUARES:
            continue
        used |= set(members.values())
        lattice = _fitted(squares, members)
        if lattice is not None:
            found.append(lattice)
    return sorted(found, key=_least_like_a_card)


def _least_like_a_card(lattice: Lattice) -> tuple[bool, int]:
    return len(lattice.places) > _MOST_SQUARES, -len(lattice.places)


def _seeds(squares: Squares) -> list[int]:
    if len(squares) < _LEAST_SQUARES:
        return []
    apart = _distances(squares)
    side = squares.side_px
    alike = np.maximum(side[:, None], side) < 1.6 * np.minimum(side[:, None], side)
    near = (apart < 2.6 * side[:, None]) & alike
    crowd = near.sum(axis=1) - 1
    order = np.argsort(-crowd, kind="stable")
    return [int(index) for index in order if crowd[index] >= 3]


def _distances(squares: Squares) -> FloatArray:
    gaps = squares.centres_px[:, None] - squares.centres_px
    return np.asarray(np.hypot(gaps[..., 0], gaps[..., 1]), dtype=np.float64)


def _best_growth(squares: Squares, seed: int) -> dict[Step, int]:
    best: dict[Step, int] = {}
    for first, second in _step_pairs(squares, seed):
        grown = _grown(squares, seed, first, second)
        if len(grown) > len(best):
            best = grown
        if len(best) >= 20:
            break
    return best


def _step_pairs(squares: Squares, seed: int) -> Iterator[tuple[FloatArray, FloatArray]]:
    gaps = squares.centres_px - squares.centres_px[seed]
    length = np.hypot(gaps[:, 0], gaps[:, 1])
    side = squares.side_px
    alike = (side < 1.8 * side[seed]) & (side > side[seed] / 1.8)
    near = np.flatnonzero(alike & (length > 0) & (length < 2.4 * side[seed]))
    near = near[np.argsort(length[near], kind="stable")][:7]
    for position, one in enumerate(near[:4]):
        for other in near[position + 1 :]:
            cross = gaps[one, 0] * gaps[other, 1] - gaps[one, 1] * gaps[other, 0]
            if abs(cross) > 0.7 * length[one] * length[other]:  # 45 to 135 degrees
                yield gaps[one], gaps[other]


def _grown(squares: Squares, seed: int, first: FloatArray, second: FloatArray) -> dict[Step, int]:
    members: dict[Step, int] = {(0, 0): seed}
    taken = {seed}
    queue = deque([((0, 0), (first, second))])
    while queue:
        place, steps = queue.popleft()
        here = squares.centres_px[members[place]]
        for axis, sign in ((0, 1), (0, -1), (1, 1), (1, -1)):
            target = (place[0] + sign * (axis == 0), place[1] + sign * (axis == 1))
            if target in members or max(map(abs, target)) >= _REACH:
                continue
            step = steps[axis]
            index = _nearest(squares, here + sign * step, members[place])
            off = squares.centres_px[index] - here - sign * step
            if index in taken or np.hypot(*off) > 0.22 * np.hypot(*step):
                continue
            members[target] = index
            taken.add(index)
            turned = step + 0.7 * sign * off
            queue.append((target, (turned, steps[1]) if axis == 0 else (steps[0], turned)))
    return members


def _nearest(squares: Squares, point: FloatArray, like: int) -> int:
    gaps = squares.centres_px - point
    squared = gaps[:, 0] ** 2 + gaps[:, 1] ** 2
    side = squares.side_px
    unlike = (side > 1.7 * side[like]) | (side < side[like] / 1.7)
    return int(np.argmin(squared + 1e9 * unlike))


def _fitted(squares: Squares, members: dict[Step, int]) -> Lattice | None:
    places = np.array(list(members), dtype=np.int64)
    centres = squares.centres_px[list(members.values())]
    if np.ptp(places[:, 0]) < 1 or np.ptp(places[:, 1]) < 1:
        return None
    reach = 0.15 * float(np.median(squares.side_px[list(members.values())]))
    image_from_places, inside = cv2.findHomography(
        places.astype(np.float64), centres, cv2.RANSAC, reach
    )
    if image_from_places is None or inside is None:
        return None
    kept = inside.ravel().astype(bool)
    if kept.sum() < _LEAST_SQUARES:
        return None
    return Lattice(places[kept], centres[kept], np.asarray(image_from_places, dtype=np.float64))
