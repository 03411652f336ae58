"""The papers that sheets are printed on, and the margin every sheet keeps."""

from __future__ import annotations

from dataclasses import dataclass

from stash.errors import PlanError

__all__ = ["A4", "LETTER", "MARGIN_IN", "Paper", "paper_named"]

MARGIN_IN = 0.5  # home printers leave up to a quarter inch white; the rest is air


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper size, inches, upright."""

    name: str
    width_in: float
    height_in: float


LETTER = Paper("letter", 8.5, 11.0)  # ANSI/ASME Y14.1, size A
A4 = Paper("a4", 210 / 25.4, 297 / 25.4)  # ISO 216


def paper_named(name: str) -> Paper:
    """Give a paper size by name; raises PlanError with the names there are."""
    for paper in (LETTER, A4):
        if paper.name == name.strip().lower():
            return paper
    raise PlanError(f"I print on letter or a4, not on “{name}”.")
