"""Blocks one under another, page after page, so that no page is left half empty."""

from __future__ import annotations

from collections.abc import Callable

from stash.drawing.paper import MARGIN_IN
from stash.drawing.pdf_page import Pdf, Pen

__all__ = ["Flow"]

_GAP_IN = 0.14


class Flow:
    """Where the next block of a document goes.

    Parameters
    ----------
    pdf : Pdf
        The pages; the first is begun at once.
    head : callable
        Writes what stands on top of a page, given whether it is the first, and gives the base
        line that is free below it.
    """

    def __init__(self, pdf: Pdf, head: Callable[[bool], float]) -> None:
        self._pdf, self._head = pdf, head
        pdf.new_page()
        self.y = head(True)

    @property
    def full_in(self) -> float:
        """Room for blocks on a page that has none yet, about."""
        return self._pdf.height_in - 2 * MARGIN_IN - 1.0

    @property
    def left_in(self) -> float:
        """Room left on this page."""
        return self.y - MARGIN_IN

    def take(self, height_in: float, *, ruled: bool = False) -> tuple[float, float]:
        """Give the next block's lower and upper end, on a new page where this one is full.

        ``ruled`` draws a line over it.
        """
        if self.y - height_in < MARGIN_IN:
            self._pdf.new_page()
            self.y = self._head(False)
        elif ruled:
            pen, x = Pen(0.6, 0.6), self._pdf.width_in - MARGIN_IN
            self._pdf.line([(MARGIN_IN, self.y), (x, self.y)], pen)
        top = self.y
        self.y = top - height_in - (_GAP_IN if ruled else 0.0)
        return top - height_in, top
