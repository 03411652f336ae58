"""The whole stash as plain JSON values with documented fields, and back without loss.

The fields are described in docs/open_format.md.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

from sqlalchemy import Connection, func, insert, select, text

from stash.colour.appearance import ColourShare
from stash.errors import MeasureError
from stash.shape.plane.outline import outline_of
from stash.storage.change_log import bump
from stash.storage.open_fields import FORMAT, VERSION, Y_DOWN, refuse_entry
from stash.storage.packing import pack_colours, pack_outline, unpack_colours, unpack_rings
from stash.storage.records import KNOWN_KINDS, KNOWN_STATES
from stash.storage.row_digests import reseal
from stash.storage.size_rows import forget_sizes_on_grain
from stash.storage.tables import (
    changes,
    documents,
    edits,
    fabrics,
    largest_sizes,
    photos,
    scraps,
    twin_answers,
)
from stash.storage.y_upwards import turn_y_up

__all__ = ["dump", "load"]

_PLAIN = (
    "number", "fabric", "photo", "deleted", "washed", "fibre", "notes", "grain_deg", "state",
    "outline_error_in", "kind", "value_contrast", "mean_chroma", "direction_deg", "repeat_in",
    "repeat_sure", "error_de00", "absolute",
)  # fmt: skip


def dump(connection: Connection) -> dict[str, Any]:
    """Read everything the database holds."""

    def rows(table: Any, order: Any, make: Callable[[Any], dict[str, Any]]) -> list[dict[str, Any]]:
        """Read a table in an order, each row as it is written."""
        return [make(row) for row in connection.execute(select(table).order_by(*order)).mappings()]

    return {
        "format": FORMAT,
        "version": VERSION,
        "photos": rows(photos, [photos.c.number], _photo_out),
        "fabrics": rows(fabrics, [fabrics.c.number], _same),
        "scraps": rows(scraps, [scraps.c.number], _scrap_out),
        "records": rows(documents, [documents.c.number], _record_out),
        "twin_answers": rows(twin_answers, [twin_answers.c.number], dict),
        "largest_sizes": rows(
            largest_sizes,
            [largest_sizes.c.family, largest_sizes.c.rule, largest_sizes.c.scrap],
            dict,
        ),
        "history": rows(changes, [changes.c.number], dict),
        "history_rows": rows(edits, [edits.c.change, edits.c.step], _edit_out),
    }


def load(connection: Connection, stash: Mapping[str, Any]) -> None:
    """Write everything into an empty database, inside the caller's transaction.

    Parameters
    ----------
    connection : Connection
        In a write transaction.
    stash : mapping
        Passed by ``check_export`` before.

    Raises
    ------
    StorageError
        If an outline is no shape or a word is not known; says which entry.
    """
    for table, key, make in (
        (photos, "photos", _photo_in),
        (fabrics, "fabrics", _same),
        (scraps, "scraps", _scrap_in),
        (documents, "records", _record_in),
        (twin_answers, "twin_answers", _same),
        (largest_sizes, "largest_sizes", _same),
        (changes, "history", _same),
        (edits, "history_rows", _edit_in),
    ):
        known = {column.name for column in table.columns}
        rows = [_made(make, key, place, one) for place, one in enumerate(stash.get(key, ()))]
        if rows:
            # A field that is not ours is passed over.
            ours = [{name: row[name] for name in row if name in known} for row in rows]
            connection.execute(insert(table), ours)
    if any("selvage_deg" not in one for one in stash["scraps"]):
        forget_sizes_on_grain(connection)
    if stash["version"] == Y_DOWN:
        turn_y_up(connection)
    _go_on_counting(connection)
    bump(connection)
    reseal(connection)


def _made(make: Callable[[Any], Any], key: str, place: int, one: Any) -> Any:
    try:
        return make(one)
    except (ValueError, MeasureError) as problem:
        raise refuse_entry(key, place, str(problem)) from problem


def _go_on_counting(connection: Connection) -> None:
    """Let new numbers follow the imported ones; SQLite does so by itself."""
    if connection.dialect.name != "postgresql":
        return
    for table in (photos, fabrics, scraps, documents, twin_answers, changes):
        most = connection.execute(select(func.max(table.c.number))).scalar_one()
        if most is not None:
            connection.execute(
                text(f"SELECT setval(pg_get_serial_sequence('{table.name}', 'number'), :most)"),
                {"most": most},
            )


def _same(row: Mapping[str, Any]) -> dict[str, Any]:
    return dict(row)


def _photo_out(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "number": row["number"],
        "sha256": row["sha256"],
        "file": f"photos/{row['sha256']}{row['suffix']}",
        "file_sha256": row["kept_sha256"],
        "file_name": row["file_name"],
        "card": {
            "kind": row["card_kind"],
            "error_de00": row["card_error_de00"],
            "error_worst_de00": row["card_error_worst_de00"],
            "absolute": row["card_absolute"],
        },
        "warnings": json.loads(row["warnings"]),
        "view": None if row["view"] is None else json.loads(row["view"]),
    }


def _photo_in(photo: Mapping[str, Any]) -> dict[str, Any]:
    card = photo["card"]
    return {
        "number": photo["number"],
        "sha256": photo["sha256"],
        "kept_sha256": photo["file_sha256"],
        "suffix": "." + photo["file"].rsplit(".", 1)[1],
        "file_name": photo["file_name"],
        "card_kind": card["kind"],
        "card_error_de00": card["error_de00"],
        "card_error_worst_de00": card["error_worst_de00"],
        "card_absolute": card["absolute"],
        "warnings": json.dumps(photo["warnings"], ensure_ascii=False),
        "view": None if photo["view"] is None else json.dumps(photo["view"]),
    }


def _scrap_out(row: Mapping[str, Any]) -> dict[str, Any]:
    outer, *holes = unpack_rings(row["outline"])
    picture = None
    if row["picture"] is not None:
        picture = {
            "file": f"pictures/{row['picture']}.jpg",
            "px_per_in": row["px_per_in"],
            "left_in": row["left_in"],
            "top_in": row["top_in"],
        }
    return {
        **{name: row[name] for name in _PLAIN},
        "selvage_deg": row["selvage_deg"],
        "bin": row["place"],
        "outline_in": [list(point) for point in outer],
        "holes_in": [[list(point) for point in ring] for ring in holes],
        "picture": picture,
        "reads_as_lab": [row["reads_as_l"], row["reads_as_a"], row["reads_as_b"]],
        "colours": [
            {"lab": list(colour.lab), "share": colour.share}
            for colour in unpack_colours(row["colours"])
        ],
    }


def _scrap_in(scrap: Mapping[str, Any]) -> dict[str, Any]:
    outline = outline_of(scrap["outline_in"], scrap["holes_in"], error_in=scrap["outline_error_in"])
    if scrap["kind"] not in KNOWN_KINDS or scrap["state"] not in KNOWN_STATES:
        raise ValueError("a kind or a state that is not known")
    picture = scrap["picture"]
    lightness, a, b = (float(value) for value in scrap["reads_as_lab"])
    colours = [ColourShare(tuple(one["lab"]), one["share"]) for one in scrap["colours"]]
    return {
        **{name: scrap[name] for name in _PLAIN},
        "selvage_deg": scrap.get("selvage_deg"),  # older exports lack it
        "place": scrap["bin"],
        "outline": pack_outline(outline),
        "area_sq_in": outline.area_sq_in,
        "picture": None if picture is None else picture["file"].split("/")[1].split(".")[0],
        "px_per_in": 0.0 if picture is None else picture["px_per_in"],
        "left_in": 0.0 if picture is None else picture["left_in"],
        "top_in": 0.0 if picture is None else picture["top_in"],
        "reads_as_l": lightness,
        "reads_as_a": a,
        "reads_as_b": b,
        "colours": pack_colours(colours),
    }


def _record_out(row: Mapping[str, Any]) -> dict[str, Any]:
    return {**row, "body": json.loads(row["body"])}


def _record_in(record: Mapping[str, Any]) -> dict[str, Any]:
    return {**record, "body": json.dumps(record["body"], ensure_ascii=False)}


def _edit_out(row: Mapping[str, Any]) -> dict[str, Any]:
    loaded = {
        key: None if row[key] is None else json.loads(row[key]) for key in ("before", "after")
    }
    return {**row, **loaded}


def _edit_in(edit: Mapping[str, Any]) -> dict[str, Any]:
    written = {
        key: None if edit[key] is None else json.dumps(edit[key], ensure_ascii=False)
        for key in ("before", "after")
    }
    return {**edit, **written}
