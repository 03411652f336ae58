"""Scraps as swatches for contact sheets: a snip of the cloth, its names, its colours."""

from __future__ import annotations

from collections.abc import Sequence

from stash.drawing.cloth_cut import snip
from stash.drawing.contact_sheet import SheetSwatch
from stash.errors import StorageError
from stash.usecases.ports import Store
from stash.usecases.scraps.review_scraps import ScrapView

__all__ = ["swatch_of"]

_VALUES_THEMSELVES = ("white", "black")  # "light white" says nothing


def swatch_of(
    store: Store, view: ScrapView, *, number: int, lines: Sequence[str], note: str = ""
) -> SheetSwatch:
    """Make the swatch of a scrap; a picture that is lost leaves its colours to show.

    Parameters
    ----------
    view : ScrapView
        The scrap with what a person calls it.
    number : int
        Of the scrap or of its fabric, whichever is counted.
    lines : sequence of str
        What to say under the name.
    note : str
        A reason, in small type.
    """
    looks = view.scrap.appearance
    colour = view.family if view.family in _VALUES_THEMSELVES else f"{view.value} {view.family}"
    return SheetSwatch(
        label=f"{number}  {view.name}",
        lines=(f"{colour}, {looks.kind}", *lines),
        picture_jpeg=_picture(store, view),
        colours=tuple((one.lab, one.share) for one in looks.colours),
        note=note,
    )


def _picture(store: Store, view: ScrapView) -> bytes:
    picture = view.scrap.picture
    if picture is None:
        return b""
    try:
        return snip(store.picture(picture.sha256), picture, view.scrap.outline)
    except StorageError:
        return b""
