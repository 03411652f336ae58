"""An integer programme in rows and columns, solved by HiGHS."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from stash.colour.spaces import FloatArray
from stash.errors import PlanUndecidedError
from stash.quilt.solver_talk import solver_talk_aside

__all__ = ["GAP", "Program"]

GAP = 1e-4  # how close to the best counts as the best
_STEPS = 4_000  # branches looked at: counted, not timed, so that answers repeat
_INFEASIBLE = 2  # scipy.optimize.milp status


class Program:
    """Whole numbers to be chosen so that rows hold and the cost is least."""

    def __init__(self) -> None:
        self._most: list[float] = []
        self._cost: list[float] = []
        self._lines: list[int] = []
        self._columns: list[int] = []
        self._values: list[float] = []
        self._low: list[float] = []
        self._high: list[float] = []

    def add_variable(self, most: float, *, cost: float = 0.0) -> int:
        """Add a whole number from 0 to ``most`` and give its place."""
        self._most.append(most)
        self._cost.append(cost)
        return len(self._most) - 1

    def add_row(self, row: Mapping[int, float], low: float, high: float) -> None:
        """Hold a weighted sum of variables between two limits."""
        for column, value in row.items():
            if value:  # the solver stumbles over a nought that is written down
                self._lines.append(len(self._low))
                self._columns.append(column)
                self._values.append(value)
        self._low.append(low)
        self._high.append(high)

    def solve(self) -> tuple[FloatArray | None, float]:
        """Give the best choice, None where there is none, and how far it may lie from the best.

        Raises
        ------
        PlanUndecidedError
            If the steps ran out before any choice was found.
        """
        # Longer to load than most plans take to answer, and plain ones have nothing to solve.
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import coo_array

        count = len(self._most)
        if not count:
            # Without anything to choose, every sum is 0.
            holds = all(low <= 0 <= high for low, high in zip(self._low, self._high, strict=True))
            return (np.zeros(0) if holds else None), 0.0
        rows = (self._values, (self._lines, self._columns))
        matrix = coo_array(rows, shape=(len(self._low), count)).tocsr()
        with solver_talk_aside():
            found = milp(
                np.asarray(self._cost),
                integrality=np.ones(count, dtype=np.int64),
                bounds=Bounds(np.zeros(count), np.asarray(self._most)),
                constraints=LinearConstraint(matrix, np.asarray(self._low), np.asarray(self._high)),
                options={"node_limit": _STEPS, "mip_rel_gap": GAP},
            )
        if found.x is None and found.status != _INFEASIBLE:
            raise PlanUndecidedError
        if found.x is None:
            return None, 0.0
        return np.asarray(found.x, dtype=np.float64), max(0.0, float(found.mip_gap or 0.0))
