"""Rows of the tables as the records everything talks about, and back."""

from __future__ import annotations

import json
from typing import Any

from stash.colour.appearance import Appearance, PrintKind
from stash.scrap import CardReport, Fabric, LoggedPhoto, Picture, Scrap, ScrapState
from stash.storage.packing import PackedOutline, pack_colours, pack_outline, unpack_colours
from stash.usecases.ports import PhotoToLog, ScrapToLog

__all__ = [
    "fabric_of",
    "new_scrap_row",
    "photo_of",
    "photo_row",
    "scrap_of",
    "scrap_row",
]

_KINDS = {str(kind): kind for kind in PrintKind}
_STATES = {str(state): state for state in ScrapState}


def photo_of(row: Any) -> LoggedPhoto:
    """Make the record of a photo's row."""
    card = CardReport(
        row.card_kind, row.card_error_de00, row.card_error_worst_de00, bool(row.card_absolute)
    )
    return LoggedPhoto(row.sha256, row.file_name, card, tuple(json.loads(row.warnings)))


def photo_row(photo: PhotoToLog, *, suffix: str) -> dict[str, object]:
    """Make the row of a photo on its way in."""
    return {
        "sha256": photo.sha256,
        "kept_sha256": photo.sha256,
        "suffix": suffix,
        "file_name": photo.file_name,
        "card_kind": photo.card.kind,
        "card_error_de00": float(photo.card.error_de00),
        "card_error_worst_de00": float(photo.card.error_worst_de00),
        "card_absolute": bool(photo.card.absolute),
        "warnings": json.dumps(list(photo.warnings), ensure_ascii=False),
    }


def fabric_of(row: Any) -> Fabric:
    """Make the record of a fabric's row."""
    return Fabric(row.number, row.name, bool(row.one_way), row.notes)


def scrap_of(row: Any) -> Scrap:
    """Make the record of a scrap's row; its points are unpacked when first asked for."""
    picture = None
    if row.picture is not None:
        picture = Picture(row.picture, row.px_per_in, row.left_in, row.top_in)
    return Scrap(
        row.number,
        row.fabric,
        PackedOutline.of(row.outline, row.outline_error_in),
        _appearance_of(row),
        row.place,
        bool(row.washed),
        row.fibre,
        row.notes,
        row.grain_deg,
        _STATES[row.state],
        row.photo,
        picture,
    )


def _appearance_of(row: Any) -> Appearance:
    return Appearance(
        (row.reads_as_l, row.reads_as_a, row.reads_as_b),
        unpack_colours(row.colours),
        _KINDS[row.kind],
        row.value_contrast,
        row.mean_chroma,
        row.direction_deg,
        row.repeat_in,
        bool(row.repeat_sure),
        row.error_de00,
        bool(row.absolute),
    )


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
        photo=photo,
        picture=shown,
    )
    return {**scrap_row(record), "deleted": False}
