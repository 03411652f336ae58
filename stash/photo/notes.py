"""What a person should know of a photo that was measured, a sentence each."""

from __future__ import annotations

from collections.abc import Sequence

from stash.errors import BackingError
from stash.photo.outlines.outlining import MeasuredOutline
from stash.photo.place_words import place_words
from stash.photo.table.segmentation import Segmentation
from stash.shape.plane.outline import Outline
from stash.units import format_inches

__all__ = [
    "cut_off_notes",
    "narrow_notes",
    "nothing_notes",
    "odd_notes",
    "thread_notes",
    "unread_note",
    "unsure_notes",
]

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
        "and take the photo again; or mark them on the photo's page.",
    )


def unread_note(problem: BackingError) -> str:
    """Tell that no scrap can be told from the backing, and what can be done on this photo."""
    return f"{problem} Or mark them by hand on the photo's page."


def cut_off_notes(found: Segmentation) -> tuple[str, ...]:
    """Tell what the border of the photo cuts, and where a deep shadow may hide scraps."""
    count = len(found.cut_off)
    if not count:
        return ()
    what, was, it = ("Something is", "was", "it is a scrap, move it")
    if count > 1:
        what, was, it = (f"{count} things are", "were", "they are scraps, move them")
    where = _places([at for part in found.cut_off for at in part.middles_px], found)
    said = (
        f"{what} cut off by the edge of the photo ({where}) and {was} not measured; if {it} in.",
    )
    large = [part.middles_px for part in found.cut_off if part.share >= _LARGE_SHARE]
    if not large:
        return said
    where = _places([at for middles in large for at in middles], found)
    return (
        *said,
        f"If a deep shadow lies there ({where}), scraps in it were not found: take the photo again "
        "in even light.",
    )


def narrow_notes(found: Segmentation) -> tuple[str, ...]:
    """Tell things too narrow to be worth logging; several may be one scrap's stripes."""
    count = len(found.narrow_px)
    if not count:
        return ()
    where = _places(found.narrow_px, found)
    if count == 1:
        return (
            f"Something narrower than 3/8 in ({where}) was left out: a cord, a tool or a trimming.",
        )
    return (
        f"{count} things narrower than 3/8 in ({where}) were left out: cords, tools, trimmings, or "
        "the stripes of a scrap that is else like what it lies on; lay that on another colour.",
    )


def odd_notes(found: Segmentation) -> tuple[str, ...]:
    """Tell where cloth may lie that has a patterned table's own colours."""
    if not found.odd_px:
        return ()
    return (
        f"Something in the table's own colours ({_places(found.odd_px, found)}) may be cloth and "
        "was not measured; if it is, lay it on another cloth and take the photo again.",
    )


def _places(at_px: Sequence[tuple[float, float]], found: Segmentation) -> str:
    """Name the ninths of the photo that places lie in, each once."""
    named = dict.fromkeys(place_words(at, found.size_px) for at in at_px)
    return ", ".join(named)
