"""How far points lie before the line of an edge, and how much cloth can lie behind that line.

Near most edges a scrap looks like a half-plane: behind the edge's line there is no cloth, or only
a wedge beside a neighbour that bends away. A point of cloth that keeps a room v from the border
then lies at least v before the line, less the depth of such wedges.

Why a depth holds: take the points behind the line by more than that depth and within a distance of
the edge's nearest point, a convex region. If no border runs through it, it is all cloth or all
outside. It is outside when the way straight back from that nearest point, down to that depth,
meets no border: a neighbour that bends back by less than a right angle runs away from it, one that
bends forwards lies on the other side, and all other edges keep farther than the depth. Where this
cannot be shown the depth is infinite. With `outside` the same is told of the outside of a shape:
before the line means out of the shape.
"""

from __future__ import annotations

import numpy as np

from stash.shape.plane.border import Borders, FloatArray, IndexArray

__all__ = ["Behind"]

_WITHIN = np.array([0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.55, 0.75, 1.0, 1.4, 2.0])  # inches
_MOST_EDGES = 300  # pairs of edges are compared; shapes with more are left out
_SIDEWAYS = 0.2  # cosine of the sharpest bend backwards that counts as a wedge
_FOLDED = -0.95  # cosine from which on a bend forwards is a spike
_SHARP = 1e6  # stands for a bend too sharp: any part of such a neighbour is too deep
_TOO_DEEP_IN = 100.0


class Behind:
    """Depths behind the edges of shapes, worked out shape by shape when first asked for.

    Parameters
    ----------
    border : Borders
        The shapes.
    outside : bool
        Tell of what lies outside them.
    """

    def __init__(self, border: Borders, *, outside: bool = False) -> None:
        edges = len(border.table)
        self.border = border
        self.sign = -1.0 if outside else 1.0
        self.deep = np.full((len(_WITHIN), edges), np.inf)  # of edges that are no neighbours
        self.least = np.zeros(edges)  # how far those keep from the edge
        self.lean = np.zeros((2, edges))  # sine of the bend back at the edge's end and start
        self.near = np.zeros((2, edges))  # how near the neighbour comes, beside its bend's distance
        self.known = np.diff(border.first) > _MOST_EDGES

    def before(
        self, which: IndexArray, edge: IndexArray, points: FloatArray, ball: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Bound the room that points near these can keep, from the line of an edge.

        Parameters
        ----------
        which : int, shape (m,)
            The shape of each row.
        edge : int, shape (m, j)
            An edge of it for each point.
        points : float64, shape (m, j, 2)
            Points.
        ball : float64, shape (m, j)
            Distance up to which the points move and what they keep count, together.

        Returns
        -------
        (m, j) and (m, j, 2)
            How far points lie before the line plus the depth behind it, inf where that is unknown;
            and the direction in which it grows.
        """
        for one in np.unique(which[~self.known[which]]).tolist():
            self._learn(one)
        row = self.border.table.take(edge, axis=0)
        x, y, ux, uy = points[:, :, 0], points[:, :, 1], row[:, :, 0], row[:, :, 1]
        line = (ux * y - uy * x + row[:, :, 3]) * self.sign
        along = ux * x + uy * y + row[:, :, 2]
        half = row[:, :, 4]
        foot = np.minimum(np.maximum(along, -half), half)
        past = np.abs(along - foot)
        # law of cosines about the foot: no point of the ball behind the line lies farther from it
        reach = np.sqrt(np.maximum(ball**2 - line**2, 0.0)) + past
        reach = np.where(line >= 0, reach, ball + np.hypot(line, past))
        depth = self._depth(edge, reach, (half - foot, half + foot))
        normal = np.stack([-uy * self.sign, ux * self.sign], axis=2)
        return line + depth, normal

    def _depth(
        self, edge: IndexArray, reach: FloatArray, ends: tuple[FloatArray, FloatArray]
    ) -> FloatArray:
        """Give the depth within reach of points on edges, so far from the edges' two ends."""
        level = np.searchsorted(_WITHIN, reach)
        far = level >= len(_WITHIN)
        depth = self.deep[np.where(far, 0, level), edge]
        for lean, near, off in zip(self.lean, self.near, ends, strict=True):
            least = near[edge] * off
            wedge = lean[edge] * np.sqrt(np.maximum(reach**2 - least**2, 0.0))
            depth = np.maximum(depth, wedge)
        sure = ~far & (depth < np.minimum(self.least[edge], _TOO_DEEP_IN))
        return np.where(sure, depth, np.inf)

    def _learn(self, one: int) -> None:
        """Work out the tables of a shape."""
        part = slice(self.border.first[one], self.border.first[one + 1])
        ux, uy, along, left, half = self.border.table[part, :5].T
        x, y = self.border.starts[part].T
        after = self.border.after[part] - part.start
        every = np.arange(len(after))
        before = np.empty_like(after)
        before[after] = every
        # rows are corners, then edges; columns the edges whose line is looked along
        side = (y[:, None] * ux - x[:, None] * uy + left) * self.sign
        past = np.maximum(np.abs(x[:, None] * ux + y[:, None] * uy + along) - half, 0.0)
        apart = np.hypot(past, side)
        apart = np.minimum(apart, apart[after])
        apart = np.minimum(apart, apart.T)
        back = np.maximum(np.maximum(-side, -side[after]), 0.0)
        for end, (beside, far) in enumerate(((after, after[after]), (before, before))):
            sine = np.maximum(-side[far, every] / (2 * half[beside]), 0.0)
            cosine = ux * ux[beside] + uy * uy[beside]
            mild = cosine > np.where(sine > 0, _SIDEWAYS, _FOLDED)
            self.lean[end, part] = np.where(mild, sine, _SHARP)
            self.near[end, part] = np.where(cosine < 0, np.minimum(sine, 1.0), 1.0)
            apart[beside, every] = np.inf
        apart[every, every] = np.inf
        self.least[part] = apart.min(axis=0)
        for level, within in enumerate(_WITHIN.tolist()):
            deep = np.where(apart <= within, np.minimum(back, within), 0.0)
            self.deep[level, part] = deep.max(axis=0)
        self.known[one] = True
