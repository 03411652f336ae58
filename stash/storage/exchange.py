"""A stash as a folder of open files: JSON, CSV, photos and pictures; written and read whole."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

from stash.colour.spaces import hex_of_lab
from stash.errors import NotEmptyError, StorageError
from stash.photo.files.private_details import without_details
from stash.shape.plane.outline import Outline
from stash.storage.faults import faults_told
from stash.storage.open_fields import check_export
from stash.storage.open_format import dump, load
from stash.storage.picture_check import is_scrap_picture
from stash.storage.picture_files import PHOTOS, PICTURES, PictureFiles, sha256_of, write_whole
from stash.storage.record_bodies import unreadable_as_missing
from stash.usecases.ports import BackupReport

__all__ = ["JSON_FILE", "TABLE_FILE", "export_to", "import_from", "read_export"]

JSON_FILE = "stash.json"
TABLE_FILE = "scraps.csv"
_HEADS = (
    "scrap", "fabric", "fabric_name", "bin", "state", "washed", "kind", "colour_hex", "lightness",
    "a", "b", "area_sq_in", "outline_error_in", "outline_wkt", "notes",
)  # fmt: skip


def export_to(
    connection: Connection, files: PictureFiles, folder: Path, *, with_details: bool
) -> BackupReport:
    """Write everything into a new folder.

    Parameters
    ----------
    connection : Connection
        Seeing one moment of the stash.
    files : PictureFiles
        Where its photos lie.
    folder : Path
        Made; refused if it holds anything.
    with_details : bool
        Keep place, time and device inside the photos; otherwise they are taken off, and photos
        of a kind from which they cannot be taken are left out and named.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise NotEmptyError(folder, remedy="Name a new folder for the export.")
    stash = dump(connection)
    with faults_told(folder, waited_s=0.0), _whole_or_nothing(folder):
        for place in (PHOTOS, PICTURES):
            (folder / place).mkdir(parents=True, exist_ok=True)
        left_out = [_export_photo(files, folder, one, with_details) for one in stash["photos"]]
        left_out += [_export_picture(files, folder, one) for one in stash["scraps"]]
        names = {one["number"]: one["name"] for one in stash["fabrics"]}
        table = _table_of([one for one in stash["scraps"] if not one["deleted"]], names)
        write_whole(folder / TABLE_FILE, table.encode("utf-8-sig"))
        text = json.dumps(stash, ensure_ascii=False, indent=1)
        write_whole(folder / JSON_FILE, text.encode())
    count = sum(1 for _ in folder.glob("p*/*"))
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    return BackupReport(str(folder), count, tuple(filter(None, left_out)), size)


@contextmanager
def _whole_or_nothing(folder: Path) -> Iterator[None]:
    """Take away what was written into the folder, which held nothing, if the export fails."""
    was_there = folder.exists()
    try:
        yield
    except BaseException:
        for place in (PHOTOS, PICTURES):
            shutil.rmtree(folder / place, ignore_errors=True)
        with suppress(OSError):
            (folder / TABLE_FILE).unlink(missing_ok=True)
            (folder / JSON_FILE).unlink(missing_ok=True)
            if not was_there:
                folder.rmdir()
        raise


def _export_photo(
    files: PictureFiles, folder: Path, photo: dict[str, Any], with_details: bool
) -> str:
    """Write one photo and note its checksum; say why if it was left out."""
    path = files.home / photo["file"]
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return f"photo “{photo['file_name']}”: the stash has lost it"
    plain = data if with_details else without_details(data)
    if plain is None:
        return (
            f"photo “{photo['file_name']}”: place and device cannot be taken off a file of this "
            "kind; --with-details exports it as it is"
        )
    photo["file_sha256"] = sha256_of(plain)
    write_whole(folder / photo["file"], plain)
    return ""


def _export_picture(files: PictureFiles, folder: Path, scrap: Mapping[str, Any]) -> str:
    if scrap["picture"] is None:
        return ""
    name = scrap["picture"]["file"]
    try:
        write_whole(folder / name, (files.home / name).read_bytes())
    except FileNotFoundError:
        return f"picture of scrap {scrap['number']}: the stash has lost it"
    return ""


def _table_of(scraps: list[dict[str, Any]], names: Mapping[int, str]) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(_HEADS)
    for scrap in scraps:
        outline = Outline(
            tuple((x, y) for x, y in scrap["outline_in"]),
            tuple(tuple((x, y) for x, y in ring) for ring in scrap["holes_in"]),
        )
        lab = tuple(scrap["reads_as_lab"])
        row = (
            scrap["number"], scrap["fabric"], names[scrap["fabric"]], scrap["bin"],
            scrap["state"], scrap["washed"], scrap["kind"], hex_of_lab(lab), *lab,
            outline.area_sq_in, scrap["outline_error_in"], _wkt_of(outline), scrap["notes"],
        )  # fmt: skip
        writer.writerow([_cell(value) for value in row])
    return out.getvalue()


def _wkt_of(outline: Outline) -> str:
    """Write a polygon in OGC well-known text, every digit kept."""
    rings = (
        ", ".join(f"{x!r} {y!r}" for x, y in (*ring, ring[0]))
        for ring in (outline.points, *outline.holes)
    )
    return f"POLYGON ({', '.join(f'({ring})' for ring in rings)})"


def _cell(value: object) -> object:
    """Keep a spreadsheet from taking typed text for a formula."""
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")):
        return f"'{value}"
    return value


def read_export(folder: Path) -> dict[str, Any]:
    """Read the JSON of an exported folder, every field looked at.

    Raises
    ------
    StorageError
        If it is not there, or is not what an export writes; says what is wrong where.
    """
    path = folder / JSON_FILE
    if not path.is_file():
        raise StorageError(f"There is no exported stash in {folder} ({JSON_FILE} is not there).")
    with faults_told(folder, waited_s=0.0):
        data = path.read_bytes()
    try:
        stash = json.loads(data.decode("utf-8"), parse_constant=_no_number)
    except RecursionError:
        raise StorageError(f"{path} cannot be read as JSON: lists in lists without end.") from None
    except ValueError as problem:
        raise StorageError(f"{path} cannot be read as JSON: {problem}.") from problem
    if not isinstance(stash, dict):
        raise StorageError(f"{path} cannot be read as JSON: not an object.")
    check_export(stash)
    return stash


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


def import_from(
    connection: Connection, files: PictureFiles, folder: Path, stash: Mapping[str, Any]
) -> BackupReport:
    """Bring an exported folder into a stash that holds nothing, inside the caller's transaction.

    The files go in first, each under its own checksum, then all rows at once.
    """
    missing = []
    count = 0
    for photo in stash["photos"]:
        data = _bytes_of(folder, photo["file"], photo["file_sha256"])
        if data is None:
            missing.append(f"photo “{photo['file_name']}”")
        else:
            files.keep(PHOTOS, {photo["sha256"]: (photo["file"].rsplit(".", 1)[1], data)})
            count += 1
    for scrap in stash["scraps"]:
        if scrap["picture"] is None:
            continue
        name = scrap["picture"]["file"]
        sha256 = Path(name).stem
        data = _bytes_of(folder, name, sha256)
        if data is None or not is_scrap_picture(data):
            missing.append(f"picture of scrap {scrap['number']}")
        else:
            files.keep(PICTURES, {sha256: (".jpg", data)})
            count += 1
    try:
        load(connection, stash)
    except DatabaseError as problem:
        raise StorageError(
            f"The export in {folder} does not hold together ({problem.orig}). Nothing was imported."
        ) from problem
    missing += unreadable_as_missing(connection)
    return BackupReport(str(folder), count, tuple(missing), 0)


def _bytes_of(folder: Path, name: str, sha256: str) -> bytes | None:
    path = folder / name
    if path.resolve().parent.parent != folder.resolve() or not path.is_file():
        return None
    data = path.read_bytes()
    return data if sha256_of(data) == sha256 else None
