"""What a person should know of a photo that was measured, a sentence each."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely.geometry import Polygon

from stash.photo.segmentation import Segmentation
from stash.shape.outline import Outline
from stash.units import format_inches

__all__ = ["cut_off_notes", "nothing_notes", "odd_notes", "unsure_notes"]

_LARGE_SHARE = 0.08  # of the photo; a cut-off part so large may be a shadow with scraps in it
_ROUND, _LARGEST_COIN_SQ_IN = 0.95, 2.0  # cut by hand no cloth is so round: an octagon has 0.948
_RAGGED = 0.5  # of its convex hull; an ell with narrow arms has 0.6
_RULER_IN, _RULER_TIMES = 1.6, 8.0  # narrower, and so many times as long
_UNSURE_IN = 0.2  # a stated outline error that costs pieces


def unsure_notes(outlines: Sequence[Outline]) -> tuple[str, ...]:
    """Tell outlines that are known too roughly to cut close to."""
    errors = [outline.error_in for outline in outlines if outline.error_in > _UNSURE_IN]
    if not errors:
        return ()
    what, it = ("One outline is", "that scrap")
    if len(errors) > 1:
        what, it = (f"{len(errors)} outlines are", "them")
    worst = format_inches(max(errors), step=16)
    return (
        f"{what} sure to no better than {worst} in: the cloth looks like what it lies on, or its "
        f"edge is hidden. Photograph {it} on a cloth of another colour to get more pieces.",
    )


def odd_notes(outlines: Sequence[Outline]) -> tuple[str, ...]:
    """Tell outlines shaped like what else lies in a sewing room."""
    odd = sum(_looks_like_a_thing(Polygon(outline.points)) for outline in outlines)
    if not odd:
        return ()
    what, it = ("One outline is", "it is") if odd == 1 else (f"{odd} outlines are", "one is")
    return (
        f"{what} shaped like a coin, a spool, a ruler or scissors. If {it} no scrap, take it out: "
        "stash scrap NUMBER --delete.",
    )


def _looks_like_a_thing(shape: Polygon) -> bool:
    round_share = 4 * math.pi * shape.area / shape.length**2  # of the area a circle would have
    if round_share > _ROUND and shape.area < _LARGEST_COIN_SQ_IN:
        return True
    if shape.area < _RAGGED * shape.convex_hull.area:
        return True
    x, y = shape.minimum_rotated_rectangle.exterior.coords.xy
    sides = sorted(math.hypot(x[i + 1] - x[i], y[i + 1] - y[i]) for i in (0, 1))
    return sides[0] < _RULER_IN and sides[1] > _RULER_TIMES * sides[0]


def nothing_notes(found: Segmentation) -> tuple[str, ...]:
    """Tell a photo that shows no scrap at all."""
    if found.regions or found.cut_off:
        return ()
    return (
        "No scrap was found. Lay scraps on one plain cloth of another colour, clear of the card, "
        "and take the photo again; or mark them by hand (--corners).",
    )


def cut_off_notes(found: Segmentation) -> tuple[str, ...]:
    """Tell scraps that the border of the photo cuts."""
    count = len(found.cut_off)
    if not count:
        return ()
    what = "A scrap is" if count == 1 else f"{count} scraps are"
    it = "it" if count == 1 else "them"
    said = f"{what} cut off by the edge of the photo and not measured; move {it} in."
    if max(part.share for part in found.cut_off) < _LARGE_SHARE:
        return (said,)
    return (
        f"{said} If a deep shadow lies over that part, take the photo again in even light: scraps "
        "in it are not seen.",
    )
