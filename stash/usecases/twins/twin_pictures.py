"""What may be one cloth as a picture and on paper: at one scale, turned alike, photo and bin."""

from __future__ import annotations

from collections.abc import Sequence

from stash.drawing.cloth_cut import square_of, widest_square_in
from stash.drawing.paper import Paper
from stash.drawing.twin_picture import draw_twins
from stash.drawing.twin_sheet import TwinCloth, TwinRow, twins_pdf
from stash.errors import StorageError
from stash.scrap import Scrap
from stash.units import format_inches, round_down
from stash.usecases.ports import Store

__all__ = ["level_square", "one_scale_in", "twins_picture", "twins_sheet"]

_WIDEST_IN = 3.0  # more shows no more of a figure, and makes it small
_LEAST_IN = 0.5
_SHOWN = 12  # scraps of one group; more of the same fabrics add nothing


def twins_picture(store: Store, groups: Sequence[Sequence[int]], *, svg: bool = False) -> bytes:
    """Draw groups of scraps, PNG or SVG; in each all squares show the same inches."""
    return draw_twins(_rows(store, groups), svg=svg)


def twins_sheet(store: Store, groups: Sequence[Sequence[int]], paper: Paper) -> bytes:
    """Draw groups of scraps with boxes to tick, PDF."""
    return twins_pdf(_rows(store, groups), paper)


def _rows(store: Store, groups: Sequence[Sequence[int]]) -> list[TwinRow]:
    photos = {photo.sha256: photo.file_name for photo in store.photos()}
    known = {scrap.number: scrap for scrap in store.scraps()}
    rows = []
    for group in groups:
        scraps = [known[number] for number in group if number in known][:_SHOWN]
        side_in = one_scale_in(scraps)
        cloths = tuple(
            TwinCloth(scrap.number, _lines(scrap, photos), level_square(store, scrap, side_in))
            for scrap in scraps
        )
        rows.append(TwinRow(cloths, _scale(side_in)))
    return rows


def one_scale_in(scraps: Sequence[Scrap]) -> float:
    """Give the side of the squares in which some scraps are shown at one scale, inches."""
    widest = [widest_square_in(scrap.outline) for scrap in scraps if scrap.picture is not None]
    return max(_LEAST_IN, min([_WIDEST_IN, *widest]))


def level_square(store: Store, scrap: Scrap, side_in: float) -> bytes:
    """Give a square of a scrap's cloth, JPEG; nothing where it has no picture or has lost it."""
    if scrap.picture is None:
        return b""
    try:
        jpeg = store.picture(scrap.picture.sha256)
    except StorageError:
        return b""
    return square_of(jpeg, scrap.picture, scrap.outline, side_in)


def _lines(scrap: Scrap, photos: dict[str, str]) -> tuple[str, ...]:
    named = photos.get(scrap.photo or "", "")
    place = scrap.place and (scrap.place if scrap.place.startswith("bin") else f"bin {scrap.place}")
    return tuple(line for line in (named, place) if line)


def _scale(side_in: float) -> str:
    return f"{format_inches(round_down(side_in, step=8), step=8)} in of each"
