"""Loose corner markers as the sheet prints them: rasterised, cut out, ready to lay in a scene."""

from __future__ import annotations

from functools import cache

import numpy as np
import pypdfium2

from stash.colour.spaces import linear_of_srgb
from stash.demo.paper import PrintedSheet
from stash.drawing.corner_sheet import corner_sheet_pdf, places_in
from stash.photo.cards.corner_marker import PAPER_IN

_DPI = 400
_INK, _WHITE = 0.035, 0.82  # reflectance of toner and of plain paper, from memory


@cache
def marker_tile(number: int, paper: str = "letter") -> np.ndarray:
    """Cut one marker out of the rasterised page; linear reflectance."""
    page, place = divmod(number - 1, 4)
    document = pypdfium2.PdfDocument(corner_sheet_pdf(paper))
    seen = np.asarray(document[page].render(scale=_DPI / 72).to_pil().convert("RGB"))
    x, y = places_in(paper)[place]
    left, top = round((x - PAPER_IN / 2) * _DPI), round((y - PAPER_IN / 2) * _DPI)
    side = round(PAPER_IN * _DPI)
    cut = linear_of_srgb(seen[top : top + side, left : left + side] / 255)
    return np.asarray(_INK + (_WHITE - _INK) * cut, dtype=np.float32)


def laid_marker(
    number: int, at_in: tuple[float, float], *, turn_deg: float = 0.0, scale: float = 1.0
) -> PrintedSheet:
    """Lay a marker down that was printed ``scale`` times too large."""
    side = PAPER_IN * scale
    return PrintedSheet(marker_tile(number), (side, side), at_in, turn_deg)
