"""What a person should know of a photo that was measured, a sentence each."""

from __future__ import annotations

from collections.abc import Sequence

from stash.photo.outlines.outlining import MeasuredOutline
from stash.photo.table.segmentation import Segmentation
from stash.shape.outline import Outline
from stash.units import format_inches

__all__ = ["cut_off_notes", "nothing_notes", "thread_notes", "unsure_notes"]

_LARGE_SHARE = 0.08  # of the photo; a cut-off part so large may be a shadow with scraps in it
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


def thread_notes(measured: Sequence[MeasuredOutline]) -> tuple[str, ...]:
    """Tell outlines from which threads or pins were left off."""
    count = sum(one.threads for one in measured)
    if not count:
        return ()
    where, them = (
        ("a scrap", "its outline") if count == 1 else (f"{count} scraps", "their outlines")
    )
    return (
        f"Threads or pins stick out of {where} and were left off {them}. Take them away and "
        "take the photo again for a surer edge.",
    )


def nothing_notes(found: Segmentation) -> tuple[str, ...]:
    """Tell a photo that shows no scrap at all."""
    if found.regions or found.cut_off:
        return ()
    return (
        "No scrap was found. Lay scraps on one plain cloth of another colour, clear of the card, "
        "and take the photo again; or mark them on the photo's page (stash web).",
    )


def cut_off_notes(found: Segmentation) -> tuple[str, ...]:
    """Tell scraps that the border of the photo cuts."""
    count = len(found.cut_off)
    if not count:
        return ()
    what, was, it = ("Something is", "was", "it is a scrap, move it")
    if count > 1:
        what, was, it = (f"{count} things are", "were", "they are scraps, move them")
    said = f"{what} cut off by the edge of the photo and {was} not measured; if {it} in."
    if max(part.share for part in found.cut_off) < _LARGE_SHARE:
        return (said,)
    return (
        f"{said} If a deep shadow lies over that part, take the photo again in even light: scraps "
        "in it are not seen.",
    )
