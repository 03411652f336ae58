"""What is fed with hostile bytes, and what must hold whatever they are.

Each target either answers or raises a ``StashError`` of one or two sentences; anything else is a
finding. Beyond that, what it answers must be usable: no shape without cloth, no colour that is no
number, no export accepted that ``stash verify`` would call broken.
"""

from __future__ import annotations

import atexit
import errno
import io
import json
import math
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from contextlib import chdir, contextmanager, redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path
from shutil import rmtree
from tempfile import TemporaryDirectory, mkdtemp
from typing import Any

import numpy as np
import typer
from shapely.geometry import Polygon
from sqlalchemy import Connection, create_engine, event, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.pool import StaticPool

from stash.cli.app import in_command_order, make_app
from stash.colour.palette import palette_of_hex
from stash.colour.palette_files import gpl_of_palette, palette_of_gpl
from stash.colour.palette_words import palette_of_words
from stash.errors import StashError
from stash.photo.files.private_details import without_details
from stash.photo.files.reading import read_photo
from stash.shape.containment.piece_fit import find_placement
from stash.shape.templates.own_shape import read_own_shape
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning
from stash.storage.backup import bring_back, look_at_backup
from stash.storage.change_log import newest_change, take_back
from stash.storage.checking import check_rows
from stash.storage.exchange import JSON_FILE
from stash.storage.faults import faults_told
from stash.storage.folder_layout import DATABASE
from stash.storage.migrations import migrate
from stash.storage.open_format import dump
from stash.storage.picture_files import PictureFiles, sha256_of
from stash.storage.records import SCRAP_COLUMNS, scraps_of
from stash.storage.row_digests import forget_touched, write_digests
from stash.storage.sqlite_file import SqliteFile
from stash.storage.sqlite_store import FolderStore
from stash.units import parse_length
from stash.usecases.pieces.fit_pieces import read_outlines
from stash.usecases.scraps.correct_scraps import corners_from_words
from tests.running import REPO

__all__ = ["TARGETS", "command_words", "feed"]

_MOST_POINTS = 60  # a piece is tried in outlines up to this; longer ones are only read


class BrokenPromiseError(AssertionError):
    """An answer that nobody could use."""


def _demand(holds: bool, what: str) -> None:
    if not holds:
        raise BrokenPromiseError(what)


def _photo(data: bytes) -> None:
    photo = read_photo(data, name="photo.jpg")
    height, width, layers = photo.pixels_srgb.shape
    _demand(layers == 3 and min(height, width) >= 64, "a picture of an impossible size")
    _demand(photo.pixels_srgb.dtype == np.uint8, "pixels that are no bytes")
    plain = without_details(data)
    if plain is not None:
        again = read_photo(plain, name="photo.jpg").pixels_srgb
        _demand(np.array_equal(again, photo.pixels_srgb), "taking details off changed the pixels")


def _drawing(data: bytes) -> None:
    _shape(data, ".svg")


def _template(data: bytes) -> None:
    _shape(data, ".json")


def _shape(data: bytes, suffix: str) -> None:
    ring = read_own_shape(data, suffix).ring
    _demand(all(math.isfinite(value) for point in ring for value in point), "a corner nowhere")
    polygon = Polygon(ring)
    _demand(polygon.is_valid and polygon.area > 0, "a template that is no shape")


def _palette_file(data: bytes) -> None:
    palette = palette_of_gpl("fuzzed", data.decode("utf-8", errors="replace"))
    again = palette_of_gpl("fuzzed", gpl_of_palette(palette))
    _demand(len(again.targets) == len(palette.targets), "a palette that changes when written")


def _words(data: bytes) -> None:
    text = data.decode("utf-8", errors="replace")
    for read in (
        lambda: palette_of_words("fuzzed", text),
        lambda: palette_of_hex("fuzzed", text.split(",")),
        lambda: [_finite(value) for corner in corners_from_words(text) for value in corner],
        lambda: _finite(parse_length(text)),
    ):
        try:
            read()
        except StashError as problem:
            _say(problem)


def _finite(value: float) -> None:
    _demand(math.isfinite(value), "a length that is no number")


def _outlines(data: bytes) -> None:
    for scrap in read_outlines(data)[:3]:
        if scrap.outline is None:
            _demand(bool(scrap.problem), "an outline refused without a reason")
            continue
        _demand(scrap.outline.polygon.is_valid, "an outline that is no shape")
        _demand(scrap.outline.area_sq_in > 0, "an outline without cloth")
        if len(scrap.outline.points) <= _MOST_POINTS:
            find_placement(scrap.outline, make_template("square", 2.0), turning=Turning.free())


class _Trial:
    """A database in memory that looks at what was written and takes all of it back."""

    def __init__(self, home: Path) -> None:
        self.home = home
        self.engine = create_engine("sqlite://", poolclass=StaticPool)
        event.listen(self.engine, "connect", lambda raw, _: setattr(raw, "isolation_level", None))
        with self.engine.begin() as connection:
            migrate(connection)

    @contextmanager
    def writing(self, *, needed_bytes: int = 0) -> Iterator[Connection]:
        with faults_told(self.home, waited_s=0.0), self.engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA foreign_keys = ON")
            connection.exec_driver_sql("BEGIN")
            try:
                yield connection
                write_digests(connection)
                found = [one.text for one in check_rows(connection)]
                _demand(not found, f"accepted, but {found[:1]}")
                list(scraps_of(connection.execute(select(*SCRAP_COLUMNS)).all()))
                json.dumps(dump(connection))
                _undo_all(connection)
            finally:
                forget_touched(connection)
                connection.exec_driver_sql("ROLLBACK")

    reading = writing


def _undo_all(connection: Connection) -> None:
    """Take back what the export says was done, as far as its rows hold together."""
    for _ in range(20):
        newest = newest_change(connection)
        if newest is None:
            break
        try:
            take_back(connection, newest[0])
            write_digests(connection)
        except IntegrityError:
            return
    broken = [one.text for one in check_rows(connection) if one.kind != "link"]
    _demand(not broken, f"accepted, but undo gives {broken[:1]}")


@cache
def _store() -> FolderStore:
    home = Path(mkdtemp(prefix="stash-fuzzing-"))
    atexit.register(rmtree, home, ignore_errors=True)
    return FolderStore(_Trial(home), PictureFiles(home))


def _import(data: bytes) -> None:
    store = _store()
    (store.home / JSON_FILE).write_bytes(data)
    store.take_in(str(store.home))


def _backup(data: bytes) -> None:
    """Bring back a ZIP archive, or a database wrapped into a backup whose digests are right."""
    with TemporaryDirectory(prefix="stash-fuzzing-") as place:
        file, home = Path(place) / "kept.zip", Path(place) / "home"
        if not data.startswith(b"PK"):
            manifest = {"format": "stash backup 1", "sha256": {DATABASE: sha256_of(data)}}
            with zipfile.ZipFile(file, "w") as archive:
                archive.writestr(DATABASE, data)
                archive.writestr("manifest.json", json.dumps(manifest))
        else:
            file.write_bytes(data)
        look_at_backup(file)
        bring_back(file, home)
        store = FolderStore(SqliteFile(home, must_exist=True), PictureFiles(home))
        try:
            found = [one for one in store.check() if one.kind not in ("missing", "record")]
            _demand(not found, f"brought back, but {found[:1]}")
            store.scraps(), store.photos(), store.history()
        finally:
            store.database.close()


@cache
def _commands() -> tuple[Callable[..., None], Path]:
    place = Path(mkdtemp(prefix="stash-fuzzing-"))
    atexit.register(rmtree, place, ignore_errors=True)
    os.environ |= {"STASH_HOME": str(place / "home"), "STASH_SETTINGS": str(place / "s.toml")}
    for words in (
        ("card", "add", "desk", "--kind", "chart24", "--pitch", "0.55"),
        ("log", str(REPO / "fixtures/scenes/four_scraps.jpg")),
        ("palette", "make", "sea", "--colours", "#1f3f7a,#2f8f8f"),
        ("quilt", "make", "lap", "--template", "square", "--size", "2", "--rows", "2",
         "--across", "2", "--palette", "sea"),
    ):  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "stash", *words], cwd=REPO, capture_output=True, check=False,
            env={**os.environ, "PYTHONPATH": os.pathsep.join([str(REPO), *sys.path])},
        )  # fmt: skip
        _demand(done.returncode == 0, done.stderr.decode())
    return typer.main.get_command(make_app()), place


def command_words() -> list[list[str]]:
    """Give every command with the options it has, as somebody may type them."""
    found: list[list[str]] = []

    def walk(command: Any, path: list[str]) -> None:
        """Note a command, or go into a group of them."""
        for name, inner in getattr(command, "commands", {}).items():
            walk(inner, [*path, name])
        if path and not getattr(command, "commands", {}):
            found.append([*path, *(one for x in command.params for one in x.opts if one[0] == "-")])

    walk(typer.main.get_command(make_app()), [])
    return [words for words in found if not _NOT_TYPED & set(words)]


# They run for long, or until stopped.
_NOT_TYPED = {"demo", "web", "--install-completion", "--show-completion"}


def _arguments(data: bytes) -> None:
    """Run a command line: words parted by zero bytes, in a folder of its own."""
    words = [os.fsdecode(word) for word in data.split(b"\x00")]
    if _NOT_TYPED & set(words) or any(".." in word or word.startswith(("/", "-")) for word in words
                                     if "/" in word or word.startswith("--home")):  # fmt: skip
        return
    command, place = _commands()
    with chdir(place), redirect_stdout(io.StringIO()) as said, redirect_stderr(said):
        try:
            command(in_command_order(words), prog_name="stash")
        except SystemExit:
            return
        except OSError as problem:  # the face tells these in a sentence
            if problem.errno not in (errno.ENAMETOOLONG, errno.EILSEQ, errno.ELOOP):
                raise


TARGETS: dict[str, Callable[[bytes], None]] = {
    "photo": _photo,
    "drawing": _drawing,
    "template": _template,
    "palette_file": _palette_file,
    "words": _words,
    "outlines": _outlines,
    "import": _import,
    "backup": _backup,
    "arguments": _arguments,
}


def feed(name: str, data: bytes) -> bool:
    """Feed one target; gives whether it answered, raises whatever is a finding."""
    try:
        TARGETS[name](data)
    except StashError as problem:
        _say(problem)
        return False
    return True


def _say(problem: StashError) -> None:
    text = str(problem)
    _demand(bool(text.strip()) and "Traceback" not in text, "a refusal without words")
    _demand(len(text) < 2_000, f"a refusal of {len(text)} letters")
    _demand(re.sub("[\u200c\u200d]", "", text).isprintable(), "a refusal that no screen shows")
