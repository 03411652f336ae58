"""Looks a stash over: database, links, outlines, colours, and every file against its checksum."""

from __future__ import annotations

import hashlib
import json
import math
import struct
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from shapely.validation import explain_validity
from sqlalchemy import Connection, Table, select
from sqlalchemy.exc import DatabaseError

from stash.errors import MeasureError
from stash.shape.plane.outline import outline_of
from stash.storage.change_log import rows_taken_back
from stash.storage.packing import unpack_colours, unpack_rings
from stash.storage.picture_files import PHOTOS, PICTURES, PictureFiles
from stash.storage.records import KNOWN_KINDS, KNOWN_STATES
from stash.storage.row_digests import changed_rows
from stash.storage.schema_check import schema_faults
from stash.storage.tables import documents, photos, scraps
from stash.usecases.ports import Finding

__all__ = [
    "check_files",
    "check_rows",
    "faults_of_row",
    "faults_of_scrap",
    "orphans",
    "wanted_files",
]


def check_rows(connection: Connection) -> Iterator[Finding]:
    """Check what the database holds, most serious first."""
    yield from _check_database(connection)
    try:
        for row in connection.execute(select(scraps).order_by(scraps.c.number)):
            for text in faults_of_scrap(row):
                yield Finding("scrap", str(row.number), f"Scrap {row.number}: {text}")
        for row in connection.execute(select(documents)):
            if not _is_record(row.body):
                text = f"The {row.kind} “{row.name}” cannot be read any more."
                yield Finding("record", f"{row.kind} {row.name}", text)
        for table, key in changed_rows(connection):
            text = f"Row {key} of {table} is not what was written there."
            yield Finding("row", f"{table} {key}", text)
    except (DatabaseError, ValueError, TypeError, AttributeError, struct.error) as problem:
        yield Finding("database", "", f"The database is damaged: rows cannot be read ({problem}).")


def _is_record(text: str) -> bool:
    try:
        return isinstance(json.loads(text), dict)
    except (ValueError, TypeError, RecursionError):
        return False


def faults_of_row(table: Table, row: Mapping[str, Any]) -> Iterator[str]:
    """Say what is wrong with a row of any table, by itself; its digest is looked at elsewhere."""
    try:
        if table is scraps:
            yield from faults_of_scrap(SimpleNamespace(**row))
        if table is documents and not _is_record(row["body"]):
            yield "its body is no record."
        if any(row[column.name] is None and not column.nullable for column in table.columns):
            yield "something is missing in it."
    except (ValueError, TypeError, KeyError, AttributeError, struct.error):
        yield "it cannot be read."


def _check_database(connection: Connection) -> Iterator[Finding]:
    if connection.dialect.name != "sqlite":
        return
    for (said,) in connection.exec_driver_sql("PRAGMA integrity_check"):
        if said != "ok":
            yield Finding("database", "", f"The database is damaged: {said}.")
    for text in schema_faults(connection):
        yield Finding("database", "", f"The database was tampered with: {text}.")
    for table, row, parent, _ in connection.exec_driver_sql("PRAGMA foreign_key_check"):
        text = f"Row {row} of {table} names one of {parent} that is not there."
        yield Finding("link", f"{table} {row}", text)


def faults_of_scrap(row: Any) -> Iterator[str]:
    """Say what is wrong with one row of the scraps, columns as attributes."""
    try:
        outer, *holes = unpack_rings(row.outline)
        outline = outline_of(outer, holes, error_in=row.outline_error_in)
    except (ValueError, MeasureError) as problem:
        yield f"its outline is no shape ({problem})."
    else:
        if not outline.polygon.is_valid:
            yield f"its outline is no shape ({explain_validity(outline.polygon)})."
        if not math.isclose(outline.area_sq_in, row.area_sq_in, rel_tol=1e-9):
            yield "the area noted beside its outline is not the outline's."
    yield from _faults_of_colours(row)


def _faults_of_colours(row: Any) -> Iterator[str]:
    numbers = [row.reads_as_l, row.reads_as_a, row.reads_as_b, row.value_contrast, row.mean_chroma]
    try:
        colours = unpack_colours(row.colours)
    except struct.error:
        yield "its colours cannot be read any more."
        return
    numbers += [value for colour in colours for value in (*colour.lab, colour.share)]
    if not all(map(math.isfinite, numbers)):
        yield "a colour is no number."
    if row.kind not in KNOWN_KINDS or row.state not in KNOWN_STATES:
        yield f"its kind “{row.kind}” or its state “{row.state}” is not known."


def wanted_files(connection: Connection, files: PictureFiles) -> dict[Path, tuple[str, str]]:
    """Give every file the database names: its checksum, and what it is for a person.

    What was taken back and can still be done again keeps its files.
    """
    wanted: dict[Path, tuple[str, str]] = {}

    def want(folder: str, row: Mapping[str, Any], column: str, kept: str, what: str) -> None:
        """Note a file that a row refers to."""
        # A name that is no hash names no file; the row's own digest tells it.
        with suppress(ValueError):
            path = files.path_of(folder, row[column], row.get("suffix", ".jpg"))
            wanted.setdefault(path, (kept, what))

    here = [dict(row) for row in connection.execute(select(photos)).mappings()]
    for row in [*here, *rows_taken_back(connection, photos)]:
        want(PHOTOS, row, "sha256", row["kept_sha256"], f"photo “{row['file_name']}”")
    for row in rows_taken_back(connection, scraps):
        if row["picture"] is not None:
            what = f"picture of scrap {row['number']}, taken back"
            want(PICTURES, row, "picture", row["picture"], what)
    shown = select(scraps.c.number, scraps.c.picture).where(scraps.c.picture.is_not(None))
    for row in map(dict, connection.execute(shown.order_by(scraps.c.number)).mappings()):
        want(PICTURES, row, "picture", row["picture"], f"picture of scrap {row['number']}")
    return wanted


def check_files(wanted: dict[Path, tuple[str, str]]) -> Iterator[Finding]:
    """Read every file and compare its checksum."""
    for path, (sha256, what) in wanted.items():
        try:
            with path.open("rb") as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
        except FileNotFoundError:
            yield Finding("missing", path.name, f"The {what} is missing ({path.name}).")
            continue
        except OSError as problem:
            text = f"The {what} cannot be read ({path.name}: {problem.strerror})."
            yield Finding("unreadable", path.name, text)
            continue
        if found != sha256:
            text = f"The {what} is not what was logged ({path.name} was changed)."
            yield Finding("changed", path.name, text)


def orphans(files: PictureFiles, wanted: dict[Path, tuple[str, str]]) -> list[Path]:
    """Give the files nothing refers to: left by a logging that was broken off, or emptied."""
    known = set(wanted)
    return [path for path in files.all_files() if path not in known]
