"""What each field of an exported stash may hold, looked at before anything is taken in."""

from __future__ import annotations

import base64
import json
import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

from sqlalchemy import Boolean, Column, Double, Integer, LargeBinary, Table

from stash.errors import StorageError
from stash.scrap import TwinWord
from stash.storage.checking import faults_of_scrap
from stash.storage.tables import documents, fabrics, photos, scraps, twin_answers

__all__ = ["FORMAT", "LISTS", "VERSION", "Y_DOWN", "check_export", "refuse_entry"]

FORMAT = "stash in the open"
VERSION = 2
Y_DOWN = 1  # the version whose inches ran down the photo

_MOST = 2**53  # whole numbers that every reader of JSON keeps exactly
_STATES = ("done", "undone", "final")
_TWIN_WORDS = [str(word) for word in TwinWord]
_TABLES = {table.name: table for table in (photos, fabrics, scraps, documents, twin_answers)}


@dataclass(frozen=True, slots=True)
class _Field:
    """What a value should be, and whether it is."""

    what: str
    holds: Callable[[Any], bool]


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < _MOST


def _is_number(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return abs(value) < _MOST if isinstance(value, int) else math.isfinite(value)


def _is_text(value: Any) -> bool:
    return (
        isinstance(value, str) and "\x00" not in value and not re.search(r"[\ud800-\udfff]", value)
    )


def _list_of(one: _Field, what: str, *, count: int | None = None) -> _Field:
    def holds(value: Any) -> bool:
        """Say whether a value is such a list."""
        right = isinstance(value, list) and (count is None or len(value) == count)
        return right and all(map(one.holds, value))

    return _Field(what, holds)


def _or_null(one: _Field) -> _Field:
    return _Field(f"{one.what} or null", lambda value: value is None or one.holds(value))


def _matching(pattern: str, what: str) -> _Field:
    found = re.compile(pattern)
    return _Field(what, lambda value: isinstance(value, str) and bool(found.fullmatch(value)))


def _record(**fields: _Field) -> _Field:
    def holds(value: Any) -> bool:
        """Say whether a value is such a record."""
        return isinstance(value, dict) and not any(_faults(value, fields))

    return _Field("a record of " + ", ".join(fields), holds)


_WHOLE = _Field("a whole number", _is_whole)
_NUMBER = _Field("a number", _is_number)
_TEXT = _Field("plain text", _is_text)
_YES = _Field("true or false", lambda value: isinstance(value, bool))
_HASH = _matching(r"[0-9a-f]{64}", "a sha256")
_LAB = _list_of(_NUMBER, "three numbers", count=3)
_RING = _list_of(_list_of(_NUMBER, "x, y", count=2), "corners [x, y]")
_JSON = _Field("a record", lambda value: isinstance(value, dict) and _is_text(_as_text(value)))

_VIEW = _record(
    image_from_inches=_list_of(_NUMBER, "nine numbers", count=9),
    middle_px=_list_of(_NUMBER, "two numbers", count=2),
    radius_px=_NUMBER,
    radial=_NUMBER,
)
_ENTRIES: dict[str, dict[str, _Field]] = {
    "photos": {
        "number": _WHOLE, "sha256": _HASH, "file_sha256": _HASH, "file_name": _TEXT,
        "file": _matching(r"photos/[0-9a-f]{64}\.[a-z0-9]{1,5}", "photos/ and a sha256"),
        "card": _record(
            kind=_TEXT, error_de00=_NUMBER, error_worst_de00=_NUMBER, absolute=_YES
        ),
        "warnings": _list_of(_TEXT, "a list of texts"), "view": _or_null(_VIEW),
    },
    "fabrics": {"number": _WHOLE, "name": _TEXT, "one_way": _YES, "notes": _TEXT},
    "scraps": {
        "number": _WHOLE, "fabric": _WHOLE, "photo": _or_null(_HASH), "deleted": _YES,
        "bin": _TEXT, "washed": _YES, "fibre": _TEXT, "notes": _TEXT,
        "grain_deg": _or_null(_NUMBER), "state": _TEXT, "outline_in": _RING,
        "holes_in": _list_of(_RING, "a list of rings"), "outline_error_in": _NUMBER,
        "picture": _or_null(_record(
            file=_matching(r"pictures/[0-9a-f]{64}\.jpg", "pictures/ and a sha256"),
            px_per_in=_NUMBER, left_in=_NUMBER, top_in=_NUMBER,
        )),
        "reads_as_lab": _LAB,
        "colours": _list_of(_record(lab=_LAB, share=_NUMBER), "a list of lab and share"),
        "kind": _TEXT, "value_contrast": _NUMBER, "mean_chroma": _NUMBER,
        "direction_deg": _or_null(_NUMBER), "repeat_in": _or_null(_NUMBER), "repeat_sure": _YES,
        "error_de00": _NUMBER, "absolute": _YES,
    },
    "records": {"number": _WHOLE, "kind": _TEXT, "name": _TEXT, "body": _JSON},
    "twin_answers": {
        "number": _WHOLE, "one": _WHOLE, "other": _WHOLE,
        "answer": _Field("same, different or not sure", lambda value: value in _TWIN_WORDS),
    },
    "largest_sizes": {"family": _TEXT, "rule": _TEXT, "scrap": _WHOLE, "size_in": _NUMBER},
    "history": {
        "number": _WHOLE, "at": _TEXT, "why": _TEXT,
        "state": _Field("done, undone or final", lambda value: value in _STATES),
    },
    "history_rows": {
        "change": _WHOLE, "step": _WHOLE, "row_number": _WHOLE,
        "on_table": _Field("a table of the stash", lambda value: value in list(_TABLES)),
        "before": _Field("a row or null", lambda value: value is None or isinstance(value, dict)),
        "after": _Field("a row or null", lambda value: value is None or isinstance(value, dict)),
    },
}  # fmt: skip
LISTS = tuple(_ENTRIES)
_LATER = ("twin_answers",)  # lists that older exports lack


def check_export(stash: Mapping[str, Any]) -> None:
    """Look at every field of an exported stash.

    Raises
    ------
    StorageError
        At the first entry that cannot be what ``dump`` writes; says which, and what is wrong.
    """
    if stash.get("format") != FORMAT or stash.get("version") not in (Y_DOWN, VERSION):
        raise StorageError(
            "This is not an exported stash, or it comes from a newer version of this program."
        )
    for key, fields in _ENTRIES.items():
        entries = stash.get(key, [] if key in _LATER else None)
        if not isinstance(entries, list):
            raise StorageError(f"“{key}” in stash.json is not a list. Nothing was imported.")
        for place, entry in enumerate(entries):
            if not isinstance(entry, dict):
                raise refuse_entry(key, place, "it is no record")
            for fault in _faults(entry, fields):
                raise refuse_entry(key, place, fault)
            if key == "photos" and not entry["file"].startswith(f"photos/{entry['sha256']}."):
                raise refuse_entry(key, place, "its “file” is not named by its “sha256”")
            if key == "history_rows":
                for fault in _faults_of_past(entry):
                    raise refuse_entry(key, place, fault)


def refuse_entry(key: str, place: int, said: str) -> StorageError:
    """Make the error that names an entry and what is wrong with it."""
    return StorageError(
        f"Number {place + 1} of “{key}” in stash.json cannot be read ({said}). Nothing was "
        "imported."
    )


def _faults(entry: Mapping[str, Any], fields: Mapping[str, _Field]) -> Iterator[str]:
    for name, field in fields.items():
        if name not in entry:
            yield f"it lacks “{name}”"
        elif not field.holds(entry[name]):
            yield f"its “{name}” is not {field.what}"


def _faults_of_past(entry: Mapping[str, Any]) -> Iterator[str]:
    """Look at the rows that an undo would put back."""
    table = _TABLES[entry["on_table"]]
    for when in ("before", "after"):
        row = entry[when]
        if row is None:
            continue
        columns = {column.name: column for column in table.columns}
        odd = [name for name in row if name not in columns or not _suits(columns[name], row[name])]
        lacking = [name for name in columns if name not in row and not columns[name].nullable]
        if odd or lacking or row["number"] != entry["row_number"]:
            yield f"the row in “{when}” is none of {table.name}"
        else:
            yield from (f"in “{when}” {fault}" for fault in _faults_of_row(table, row))


def _faults_of_row(table: Table, row: Mapping[str, Any]) -> Iterator[str]:
    if table is scraps:
        packed = {name: _unpacked(row[name]) for name in ("outline", "colours")}
        yield from faults_of_scrap(SimpleNamespace(**{**row, **packed}))
    for name in {"photos": ("warnings", "view"), "documents": ("body",)}.get(table.name, ()):
        if row.get(name) is not None and not _is_json(row[name]):
            yield f"“{name}” cannot be read"


def _suits(column: Column[Any], value: Any) -> bool:
    if value is None:
        return bool(column.nullable)
    for kind, holds in (
        (Boolean, _YES.holds), (Integer, _is_whole), (Double, _is_number),
        (LargeBinary, lambda one: _unpacked(one) is not None),
    ):  # fmt: skip
        if isinstance(column.type, kind):
            return holds(value)
    return _is_text(value)


def _unpacked(value: Any) -> bytes | None:
    try:
        return base64.b64decode(value["base64"], validate=True)
    except (ValueError, TypeError, KeyError):
        return None


def _is_json(text: str) -> bool:
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        return False
    return True


def _as_text(value: Any) -> str:
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    except (ValueError, RecursionError):
        return "\x00"
