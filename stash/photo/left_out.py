"""Outlines that are not logged, and what is said of them: guesses, and things that are no cloth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from stash.photo.inches.plane import Plane
from stash.photo.light.colours import Colours
from stash.photo.outlines.outlining import MeasuredOutline
from stash.photo.place_words import place_words
from stash.photo.sewing_things import thing_like

__all__ = ["Sorted", "sort_out"]

# How far in the edge may lie, of the way to the middle, before it outlines nothing: as a rule (the
# ends of slim scraps reach 1.5, blades of scissors begin at 2), and where its median step of colour
# is no clearer than the backing's own texture.
_GUESSED, _GUESSED_FAINT, _FAINT_STEP = 1.8, 0.5, 7.0  # the last in CIELAB


@dataclass(frozen=True)
class Sorted:
    """What is logged, and a sentence for each kind of thing that is not."""

    kept: tuple[MeasuredOutline, ...]
    notes: tuple[str, ...]


def sort_out(
    measured: Sequence[MeasuredOutline],
    pixels_srgb: NDArray[np.uint8],
    plane: Plane,
    calibration: Colours,
) -> Sorted:
    """Leave out what is a guess or no cloth.

    Parameters
    ----------
    measured : sequence of MeasuredOutline
        All of the photo.
    pixels_srgb : uint8, shape (height, width, 3)
        The photo.
    plane, calibration
        Inches to pixels; camera colours to true ones.
    """
    size_px = pixels_srgb.shape[1], pixels_srgb.shape[0]
    kept, guessed, things = list[MeasuredOutline](), list[str](), dict[str, list[str]]()
    for one in measured:
        middle = np.array(one.outline.points).mean(axis=0, keepdims=True)
        where = place_words(plane.to_pixels(middle)[0], size_px)
        if thing := thing_like(one.outline, pixels_srgb, plane, calibration):
            things.setdefault(thing, []).append(where)
        elif _is_guessed(one):
            guessed.append(where)
        else:
            kept.append(one)
    return Sorted(tuple(kept), (*_thing_notes(things), *_guess_notes(guessed)))


def _is_guessed(one: MeasuredOutline) -> bool:
    radius_in = shapely.maximum_inscribed_circle(one.outline.polygon, tolerance=0.005).length
    share = _GUESSED_FAINT if one.edge_step < _FAINT_STEP else _GUESSED
    return bool(one.seen_in > share * radius_in)


def _thing_notes(things: dict[str, list[str]]) -> tuple[str, ...]:
    if not things:
        return ()
    said = ", ".join(f"{thing} ({', '.join(where)})" for thing, where in sorted(things.items()))
    return (
        f"Left out as no cloth: {said}. If one of these is a scrap, mark it on the photo's page.",
    )


def _guess_notes(guessed: list[str]) -> tuple[str, ...]:
    if not guessed:
        return ()
    what, was, it = ("Something", "was", "it")
    if len(guessed) > 1:
        what, was, it = (f"{len(guessed)} things", "were", "them")
    return (
        f"{what} ({', '.join(guessed)}) can hardly be told from the background and {was} not "
        f"measured. Lay {it} on a plain cloth of another colour and take the photo again.",
    )
