"""Rows of the tables as the records everything talks about, and back."""

from __future__ import annotations

import json
import struct
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict
from typing import Any

from sqlalchemy import Boolean, Integer, type_coerce

from stash.colour.appearance import Appearance, PrintKind
from stash.errors import RecordDamagedError
from stash.scrap import CardReport, Fabric, LoggedPhoto, PhotoView, Picture, Scrap, ScrapState
from stash.storage.packing import PackedOutline, pack_colours, pack_outline, unpack_colours
from stash.storage.picture_files import sha256_of
from stash.storage.tables import scraps
from stash.usecases.ports import PhotoToLog, ScrapToLog

__all__ = [
    "KNOWN_KINDS",
    "KNOWN_STATES",
    "SCRAP_COLUMNS",
    "fabric_of",
    "new_scrap_row",
    "photo_of",
    "photo_row",
    "scrap_row",
    "scraps_of",
]

_NAMES = (
    "number", "fabric", "photo", "place", "washed", "fibre", "notes", "grain_deg", "state",
    "outline", "outline_error_in", "area_sq_in", "picture", "px_per_in", "left_in", "top_in",
    "reads_as_l", "reads_as_a", "reads_as_b", "colours", "kind", "value_contrast", "mean_chroma",
    "direction_deg", "repeat_in", "repeat_sure", "error_de00", "absolute",
    "selvage_deg",
)  # fmt: skip
# Truth values are read as they come: converting them row by row takes a tenth of the time.
SCRAP_COLUMNS = tuple(
    type_coerce(scraps.c[name], Integer)
    if isinstance(scraps.c[name].type, Boolean)
    else scraps.c[name]
    for name in _NAMES
)
KNOWN_KINDS = {str(kind): kind for kind in PrintKind}
KNOWN_STATES = {str(state): state for state in ScrapState}


def photo_of(row: Any) -> LoggedPhoto:
    """Make the record of a photo's row."""
    card = CardReport(
        row.card_kind, row.card_error_de00, row.card_error_worst_de00, bool(row.card_absolute)
    )
    return LoggedPhoto(
        row.sha256, row.file_name, card, tuple(json.loads(row.warnings)), _view_of(row.view)
    )


def photo_row(photo: PhotoToLog, *, suffix: str) -> dict[str, object]:
    """Make the row of a photo on its way in."""
    return {
        "sha256": photo.sha256,
        "kept_sha256": sha256_of(photo.data),  # differs where place and device were taken off
        "suffix": suffix,
        "file_name": photo.file_name,
        "card_kind": photo.card.kind,
        "card_error_de00": float(photo.card.error_de00),
        "card_error_worst_de00": float(photo.card.error_worst_de00),
        "card_absolute": bool(photo.card.absolute),
        "warnings": json.dumps(list(photo.warnings), ensure_ascii=False),
        "view": None if photo.view is None else json.dumps(asdict(photo.view)),
    }


def _view_of(text: str | None) -> PhotoView | None:
    if text is None:
        return None
    view = json.loads(text)
    return PhotoView(
        image_from_inches=tuple(view["image_from_inches"]),
        middle_px=tuple(view["middle_px"]),
        radius_px=view["radius_px"],
        radial=view["radial"],
    )


def fabric_of(row: Any) -> Fabric:
    """Make the record of a fabric's row."""
    return Fabric(row.number, row.name, bool(row.one_way), row.notes)


def scraps_of(rows: Iterable[Sequence[Any]]) -> Iterator[Scrap]:
    """Make the records of scraps' rows, columns in the order of ``SCRAP_COLUMNS``.

    Written for a stash of ten thousand: columns by place (by name takes four times as long), and
    outlines unpacked only when asked for.
    """
    for (
        number, fabric, photo, place, washed, fibre, notes, grain_deg, state,
        outline, outline_error_in, area_sq_in, picture, px_per_in, left_in, top_in,
        lightness, a, b, colours, kind, value_contrast, mean_chroma,
        direction_deg, repeat_in, repeat_sure, error_de00, absolute, selvage_deg,
    ) in rows:  # fmt: skip
        try:
            scrap = Scrap(
                number,
                fabric,
                PackedOutline.of(outline, outline_error_in, area_sq_in),
                Appearance(
                    (lightness, a, b),
                    unpack_colours(colours),
                    KNOWN_KINDS[kind],
                    value_contrast,
                    mean_chroma,
                    direction_deg,
                    repeat_in,
                    bool(repeat_sure),
                    error_de00,
                    bool(absolute),
                    selvage_deg,
                ),
                place,
                bool(washed),
                fibre,
                notes,
                grain_deg,
                KNOWN_STATES[state],
                photo,
                None if picture is None else Picture(picture, px_per_in, left_in, top_in),
            )
        except (KeyError, ValueError, TypeError, struct.error):
            raise RecordDamagedError(f"Scrap {number}") from None
        yield scrap


def scrap_row(scrap: Scrap) -> dict[str, object]:
    """Make the row of a scrap, its number left out."""
    picture = scrap.picture
    return {
        "fabric": scrap.fabric,
        "photo": scrap.photo,
        "place": scrap.place,
        "washed": bool(scrap.washed),
        "fibre": scrap.fibre,
        "notes": scrap.notes,
        "grain_deg": None if scrap.grain_deg is None else float(scrap.grain_deg),
        "state": str(scrap.state),
        "outline": pack_outline(scrap.outline),
        "outline_error_in": float(scrap.outline.error_in),
        "area_sq_in": scrap.outline.area_sq_in,
        "picture": None if picture is None else picture.sha256,
        "px_per_in": 0.0 if picture is None else float(picture.px_per_in),
        "left_in": 0.0 if picture is None else float(picture.left_in),
        "top_in": 0.0 if picture is None else float(picture.top_in),
        **_appearance_row(scrap.appearance),
    }


def _appearance_row(appearance: Appearance) -> dict[str, object]:
    lightness, a, b = appearance.reads_as
    return {
        "reads_as_l": float(lightness),
        "reads_as_a": float(a),
        "reads_as_b": float(b),
        "colours": pack_colours(appearance.colours),
        "kind": str(appearance.kind),
        "value_contrast": float(appearance.value_contrast),
        "mean_chroma": float(appearance.mean_chroma),
        "direction_deg": _float_or_none(appearance.direction_deg),
        "repeat_in": _float_or_none(appearance.repeat_in),
        "repeat_sure": bool(appearance.repeat_sure),
        "error_de00": float(appearance.error_de00),
        "absolute": bool(appearance.absolute),
        "selvage_deg": _float_or_none(appearance.selvage_deg),
    }


def _float_or_none(value: float | None) -> float | None:
    return None if value is None else float(value)


def new_scrap_row(
    scrap: ScrapToLog, *, fabric: int, photo: str | None, picture: str | None
) -> dict[str, object]:
    """Make the row of a scrap on its way in."""
    shown = None
    if picture is not None:
        shown = Picture(picture, scrap.px_per_in, scrap.left_in, scrap.top_in)
    record = Scrap(
        number=0,
        fabric=fabric,
        outline=scrap.outline,
        appearance=scrap.appearance,
        place=scrap.place,
        washed=scrap.washed,
        notes=scrap.notes,
        photo=photo,
        picture=shown,
    )
    return {**scrap_row(record), "deleted": False}
