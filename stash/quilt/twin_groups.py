"""Which fabrics are shown together when it is asked whether they are one cloth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

import numpy as np

__all__ = ["ASKED", "beside_rivals", "groups_of"]

Pair = tuple[int, int]

ASKED = 1.0  # imprint.comparing.apart up to which two, or a group in the mean, may be one cloth
_FAR = 1.7  # taken for pairs that are further apart than anybody noted
_RIVALRY = 0.6  # of how much nearer a rival is, added to a pair's distance


def beside_rivals(apart: Mapping[Pair, float]) -> dict[Pair, float]:
    """Move pairs apart of which either one looks more like a third.

    Parameters
    ----------
    apart : mapping
        How far apart pairs of scraps look, as ``colour.imprint.comparing.apart`` says; pairs that
        are left out look nothing alike.

    Returns
    -------
    dict
        The same pairs, none nearer than before.

    Notes
    -----
    Among many fabrics each has more look-alikes, but no more twins; where a scrap has a good match,
    a middling one is the less likely. What was answered does not matter, so that no answer brings
    up what was not asked. The share was chosen by measuring (docs/measurements.md).
    """
    nearest: dict[int, tuple[int, float]] = {}
    second: dict[int, float] = {}
    for pair, far in apart.items():
        for scrap, other in (pair, pair[::-1]):
            _, least = nearest.get(scrap, (0, inf))
            if far < least:
                nearest[scrap], second[scrap] = (other, far), least
            else:
                second[scrap] = min(far, second[scrap])

    def rival(scrap: int, other: int) -> float:
        """Give how near the nearest third one is."""
        best, far = nearest[scrap]
        return second[scrap] if best == other else far

    return {
        (one, other): far + _RIVALRY * max(0.0, far - min(rival(one, other), rival(other, one)))
        for (one, other), far in apart.items()
    }


def groups_of(apart: Mapping[Pair, float]) -> tuple[tuple[int, ...], ...]:
    """Put fabrics into groups that are looked at together, each fabric into one at most.

    Parameters
    ----------
    apart : mapping
        How far apart pairs of fabrics look, as ``colour.imprint.comparing.apart`` says; pairs
        that are left out look nothing alike.

    Returns
    -------
    tuple of tuple of int
        Fabrics of each group, ascending, two at least.

    Notes
    -----
    A chain of look-alikes is no group: of those that hang together, average linkage makes groups
    in which all look alike. Order of the pairs never matters.
    """
    asked = [pair for pair, far in apart.items() if far <= ASKED]
    if not asked:
        return ()
    import networkx  # only where something looks alike

    graph = networkx.Graph(asked)
    groups: list[tuple[int, ...]] = []
    for together in networkx.connected_components(graph):
        groups += _parted(sorted(together), apart)
    return tuple(sorted(groups))


def _parted(fabrics: Sequence[int], apart: Mapping[Pair, float]) -> list[tuple[int, ...]]:
    if len(fabrics) == 2:
        return [tuple(fabrics)]
    from scipy.cluster.hierarchy import fcluster, linkage

    far = [
        apart.get((one, other), _FAR)
        for place, one in enumerate(fabrics)
        for other in fabrics[place + 1 :]
    ]
    label = fcluster(linkage(np.array(far), "average"), ASKED, "distance")
    parts: dict[int, list[int]] = {}
    for fabric, one in zip(fabrics, label.tolist(), strict=True):
        parts.setdefault(one, []).append(fabric)
    return [tuple(part) for part in parts.values() if len(part) > 1]
