"""Which turns a piece may take on a scrap: any, or along the grain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stash.errors import MeasureError

__all__ = ["Turning"]


@dataclass(frozen=True, slots=True)
class Turning:
    """Windows of allowed turns.

    Attributes
    ----------
    windows_deg : tuple of (low, high)
        The piece may be turned counter-clockwise by any angle in one of them, degrees.
    rule : str
        The rule apart from the scrap's own grain line; names stored answers.
    """

    windows_deg: tuple[tuple[float, float], ...]
    rule: str

    @staticmethod
    def free() -> Turning:
        """Let the piece lie in any direction."""
        return Turning(((0.0, 360.0),), "free")

    @staticmethod
    def grain(
        grain_deg: float, tolerance_deg: float, steps: Sequence[float] = (0, 90, 180, 270)
    ) -> Turning:
        """Keep the template's x axis within a tolerance of the grain line plus given steps.

        Parameters
        ----------
        grain_deg : float
            Direction of the grain line, counter-clockwise from x.
        tolerance_deg : float
            How far off the grain a piece may lie.
        steps : sequence of float
            Turns off the grain that the print allows; a one-way print has fewer.
        """
        if not (math.isfinite(grain_deg) and 0 <= tolerance_deg <= 180) or not steps:
            raise MeasureError(
                f"A grain line at {grain_deg} degrees within {tolerance_deg} makes no sense; "
                "give the tolerance from 0 to 45 degrees."
            )
        windows = tuple(
            (float(grain_deg + step - tolerance_deg), float(grain_deg + step + tolerance_deg))
            for step in steps
        )
        named = ",".join(f"{step:g}" for step in steps)
        return Turning(windows, f"grain {tolerance_deg:g} at {named}")

    @property
    def is_free(self) -> bool:
        """Whether any turn is allowed."""
        return any(high - low >= 360 for low, high in self.windows_deg)

    def allows(self, angle_deg: float, *, slack_deg: float = 1e-6) -> bool:
        """Say whether a piece may be turned by this angle."""
        return any(
            (angle_deg - low + slack_deg) % 360 <= high - low + 2 * slack_deg
            for low, high in self.windows_deg
        )

    def within(self, period_deg: float) -> tuple[tuple[float, float], ...]:
        """Give the windows a shape needs that repeats after a period, without doubles.

        Examples
        --------
        >>> Turning.grain(10, 5).within(90)
        ((5.0, 15.0),)
        """
        if self.is_free or any(high - low >= period_deg for low, high in self.windows_deg):
            return ((0.0, float(period_deg)),)
        kept: list[tuple[float, float]] = []
        for low, high in self.windows_deg:
            start = low % period_deg
            if not any(
                math.isclose((start - old) % period_deg, 0.0, abs_tol=1e-9)
                or math.isclose((start - old) % period_deg, period_deg, abs_tol=1e-9)
                for old, _ in kept
            ):
                kept.append((start, start + high - low))
        return tuple(kept)
