"""How alike two fabrics look, to propose that two scraps are of one fabric."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.difference import colour_difference, difference_table
from stash.colour.spaces import FloatArray

__all__ = ["earth_mover", "likeness", "most_alike"]

# Distances (CIEDE2000 or the like) that count as one step apart: the noise between two crops of
# one fabric and between two photos of it (judgement, from crops of real fabrics).
_COLOURS_STEP, _READS_AS_STEP, _CONTRAST_STEP, _REPEAT_STEP = 6.0, 4.0, 10.0, 0.4
_KIND_STEPS = 0.7  # another kind of figure; small, since kinds are mistaken now and then
_NEARLY_KIND_STEPS = 0.3


def earth_mover(one: Sequence[ColourShare], other: Sequence[ColourShare]) -> float:
    """Give the earth mover's distance between two sets of colours, CIEDE2000.

    Notes
    -----
    The least cost of turning the shares of one into those of the other, with CIEDE2000 as the
    distance; a transport linear program, solved by HiGHS.
    """
    from scipy.optimize import linprog  # longer to load than most answers take

    distance = difference_table([c.lab for c in one], [c.lab for c in other])
    rows, columns = distance.shape
    if rows == 1 or columns == 1:
        shares = [c.share for c in (other if rows == 1 else one)]
        return float(np.dot(shares, distance.ravel()) / sum(shares))
    supply = np.array([c.share for c in one]) / sum(c.share for c in one)
    demand = np.array([c.share for c in other]) / sum(c.share for c in other)
    limits = np.zeros((rows + columns, rows * columns))
    for row in range(rows):
        limits[row, row * columns : (row + 1) * columns] = 1
    for column in range(columns):
        limits[rows + column, column::columns] = 1
    # The last equation follows from the others; without it rounding cannot make them disagree.
    right = np.concatenate([supply, demand])
    solved = linprog(distance.ravel(), A_eq=limits[:-1], b_eq=right[:-1], method="highs")
    return float(solved.fun or 0.0)


def likeness(a: Appearance, b: Appearance) -> float:
    """Say how alike two fabrics look: 1 for the same, near 0 for nothing in common.

    Symmetric. Weighs the colours and their shares, what they read as, kind of figure, value
    contrast and, where both are sure, the repeat.
    """
    return float(np.exp(-_steps_apart(a, b, earth_mover(a.colours, b.colours))))


def _steps_apart(a: Appearance, b: Appearance, colours_apart: float) -> float:
    reads = float(colour_difference(a.reads_as, [b.reads_as])[0])
    steps = [
        colours_apart / _COLOURS_STEP,
        reads / _READS_AS_STEP,
        abs(a.value_contrast - b.value_contrast) / _CONTRAST_STEP,
        _kind_steps(a.kind, b.kind),
    ]
    if a.repeat_sure and b.repeat_sure and a.repeat_in and b.repeat_in:
        steps.append(min(abs(float(np.log(a.repeat_in / b.repeat_in))) / _REPEAT_STEP, 2.0))
    return float(np.sqrt(np.square(steps).sum())) / 2


def _kind_steps(one: PrintKind, other: PrintKind) -> float:
    if one is other:
        return 0.0
    near = ({PrintKind.PLAIN, PrintKind.TONE}, {PrintKind.TONE, PrintKind.PRINT})
    return _NEARLY_KIND_STEPS if {one, other} in near else _KIND_STEPS


def most_alike(
    appearance: Appearance, others: Sequence[Appearance], n: int = 3
) -> tuple[tuple[int, float], ...]:
    """Give the places in ``others`` of the n most alike fabrics, and their likeness.

    Notes
    -----
    All are ranked by a lower bound first (each colour's distance to the nearest one); the exact
    distance is worked out for the best few only, so that thousands of fabrics stay quick.
    """
    if not others:
        return ()
    bounds = np.array([_lower_bound(appearance, other) for other in _near(appearance, others)])
    order = np.argsort(bounds, kind="stable")[: max(4 * n, 12)]
    places = _near_places(appearance, others)[order]
    exact = [(int(place), likeness(appearance, others[place])) for place in places]
    return tuple(sorted(exact, key=lambda pair: (-pair[1], pair[0]))[:n])


def _near_places(appearance: Appearance, others: Sequence[Appearance]) -> FloatArray:
    """The places of the fabrics that read most alike; others cannot be the same cloth."""
    reads = colour_difference(appearance.reads_as, np.array([o.reads_as for o in others]))
    return np.asarray(np.argsort(reads, kind="stable")[:60])


def _near(appearance: Appearance, others: Sequence[Appearance]) -> list[Appearance]:
    return [others[int(place)] for place in _near_places(appearance, others)]


def _lower_bound(a: Appearance, b: Appearance) -> float:
    distance = difference_table([c.lab for c in a.colours], [c.lab for c in b.colours])
    there = np.dot([c.share for c in a.colours], distance.min(axis=1))
    back = np.dot([c.share for c in b.colours], distance.min(axis=0))
    return _steps_apart(a, b, float(max(there, back)))
