"""Which way the grain of a scrap runs, and what says so."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stash.colour.appearance import WOVEN_KINDS
from stash.scrap import Scrap

__all__ = ["Grain", "GrainFrom", "grain_of"]


class GrainFrom(StrEnum):
    """What tells the grain, the surest first."""

    SAID = "set by hand"
    PRINT = "print"
    SELVAGE = "selvage"
    EDGE = "longest straight edge"


@dataclass(frozen=True, slots=True)
class Grain:
    """A scrap's grain line.

    Attributes
    ----------
    deg : float
        Degrees counter-clockwise from x.
    told_by : GrainFrom
        Where it is from; all but the first are guesses.
    """

    deg: float
    told_by: GrainFrom

    @property
    def sure(self) -> bool:
        """Whether more than an edge says so: leftovers are cut at any angle."""
        return self.told_by is not GrainFrom.EDGE

    def short(self) -> str:
        """Say it in a table: ``13° print``, ``45° edge``."""
        return f"{self._turned()} {_short(self.told_by)}"

    def words(self) -> str:
        """Say it in a few words."""
        turned = self._turned()
        if self.told_by is GrainFrom.SAID:
            return f"grain at {turned}"
        return f"grain taken at {turned}, by the {self.told_by}"

    def _turned(self) -> str:
        return f"{round(self.deg) % 180}°"  # 179.7 is 0, not 180


def _short(told_by: GrainFrom) -> str:
    return {GrainFrom.SAID: "set", GrainFrom.EDGE: "edge"}.get(told_by, str(told_by))


def grain_of(scrap: Scrap) -> Grain:
    """Give the grain as it was set, else by the print, a selvage, or the longest straight edge.

    Stripes and plaids are laid by their lines: pieces on the thread but off the lines look askew.
    """
    look = scrap.appearance
    if scrap.grain_deg is not None:
        return Grain(scrap.grain_deg, GrainFrom.SAID)
    if look.kind in WOVEN_KINDS and look.direction_deg is not None:
        return Grain(look.direction_deg, GrainFrom.PRINT)
    if look.selvage_deg is not None:
        return Grain(look.selvage_deg, GrainFrom.SELVAGE)
    return Grain(scrap.outline.longest_edge_deg(), GrainFrom.EDGE)
