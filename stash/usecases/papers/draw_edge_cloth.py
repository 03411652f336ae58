"""Pictures of what cloth looks like as binding or border: straight, and on the bias."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from stash.drawing.strip_picture import StripRow, StripShown, draw_strips
from stash.errors import StorageError
from stash.quilt.edge_cloth import ClothUse
from stash.scrap import Scrap
from stash.shape.plane.strips import Strip, strips_along
from stash.usecases.papers.edge_cloth import ClothAnswer, ClothLine
from stash.usecases.pieces.grain import grain_of
from stash.usecases.ports import Store

__all__ = ["strips_picture"]

_SHOWN = 8  # cloths on one picture
_SEAM_IN, _THICK_IN = 0.25, 0.125  # as the width to cut follows from what shows


def strips_picture(store: Store, answer: ClothAnswer, *, svg: bool = False) -> bytes:
    """Draw strips of the first cloths of an answer, as cut and as they show; PNG or SVG.

    Each is shown along the grain and on the bias, so that the two can be compared: stripes and
    plaids run slantwise on the bias, other cloth hardly changes.
    """
    if answer.use is ClothUse.BACKING:
        cut_in, shows_in = 6.0, 0.0
    else:
        cut_in = min(answer.cut_in, 6.0)
        binding = answer.use is ClothUse.BINDING
        shows_in = _shows(answer) if binding else 0.0
    rows = [_row(store, line, cut_in, answer.use) for line in _first(answer.lines)]
    return draw_strips(
        rows, title=f"Cloth for the {answer.use} of {answer.quilt.name}", bound_in=shows_in, svg=svg
    )


def _first(lines: Iterable[ClothLine]) -> list[ClothLine]:
    """Give the first lines, of cloth that looks otherwise on the bias before others."""
    return sorted(lines, key=lambda one: not one.looks_turned)[:_SHOWN]


def _shows(answer: ClothAnswer) -> float:
    binding = answer.finishing.binding
    seams = 2 * _SEAM_IN if binding.fold == "double" else 0.0
    return max(0.125, (binding.cut_in - seams - _THICK_IN) / 4)


def _row(store: Store, line: ClothLine, cut_in: float, use: ClothUse) -> StripRow:
    scrap = store.scrap(line.scraps[0].scrap)
    title = f"fabric {line.fabric}, {line.name} (#{scrap.number})"
    if scrap.picture is None:
        return StripRow(title, b"", None, ())
    try:
        jpeg = store.picture(scrap.picture.sha256)
    except StorageError:
        return StripRow(title, b"", None, ())
    ways = [("along the grain", 0.0), ("on the bias", 45.0)]
    if use is not ClothUse.BINDING:
        ways = [("along the grain", 0.0), ("across it", 90.0)]
    shown = [_shown(scrap, label, turn, cut_in) for label, turn in ways]
    return StripRow(title, jpeg, scrap.picture, tuple(one for one in shown if one))


def _shown(scrap: Scrap, label: str, turn_deg: float, cut_in: float) -> StripShown | None:
    """Give the longest strip of a scrap that way, for the eye: nothing is held for it."""
    along = grain_of(scrap).deg + turn_deg
    cloth = replace(scrap.outline, error_in=0.0)
    strips = strips_along(cloth, cut_in, along)
    if not strips:
        return None
    longest: Strip = strips[0]
    return StripShown(label, longest.ring[0], along, longest.length_in, longest.width_in)
