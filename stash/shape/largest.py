"""The largest finished size of a shape that still fits on a scrap."""

from __future__ import annotations

from collections.abc import Sequence

from stash.errors import TemplateError
from stash.shape.outline import Outline
from stash.shape.piece_fit import find_placements
from stash.shape.template import make_template
from stash.shape.turning import Turning

__all__ = ["largest_size", "largest_sizes"]

_ROUNDS = 9
_SAFE = 0.002


def largest_size(
    outline: Outline, family: str, *, turning: Turning, seam_allowance_in: float = 0.25
) -> float:
    """Give the largest finished size in inches that was proved to fit; 0 when none does."""
    return largest_sizes(
        [outline], family, turnings=[turning], seam_allowance_in=seam_allowance_in
    )[0]


def largest_sizes(
    outlines: Sequence[Outline],
    family: str,
    *,
    turnings: Sequence[Turning],
    seam_allowance_in: float = 0.25,
) -> list[float]:
    """Give the largest size of each scrap; faster than one by one."""
    return [
        _bisected(outline, family, turning, seam_allowance_in)
        for outline, turning in zip(outlines, turnings, strict=True)
    ]


def _bisected(outline: Outline, family: str, turning: Turning, seam_in: float) -> float:
    west, south, east, north = outline.bounds
    low, high = 0.0, 2 * max(east - west, north - south)
    while high - low > _SAFE * high and high > 0.05:
        middle = (low + high) / 2
        try:
            template = make_template(family, middle, seam_allowance_in=seam_in)
            fits = find_placements([outline], template, turnings=[turning])[0].fits == "yes"
        except TemplateError:
            fits = False
        low, high = (middle, high) if fits else (low, middle)
    return low
