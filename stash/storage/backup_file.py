"""A backup looked into: nothing in it is believed before it was checked.

A ZIP archive of any kind may be offered as a backup. Members that are not named in its manifest,
sizes that no backup has, a digest that does not fit: all are refused before they take room.
"""

from __future__ import annotations

import errno
import hashlib
import json
import lzma
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO, Any

from stash.errors import StorageError
from stash.storage.backup_folder import newest_of, path_beside
from stash.storage.folder_layout import DATABASE
from stash.storage.picture_files import PHOTOS, PICTURES

__all__ = [
    "BESIDE_FORMAT",
    "MANIFEST",
    "SEALED_FORMAT",
    "BackupFile",
    "open_backup",
    "says_complete",
]

MANIFEST = "manifest.json"
_OLD_FORMAT = "stash backup 1"
SEALED_FORMAT = "stash backup 2"  # ends with the digest of all that comes before it
BESIDE_FORMAT = "stash backup 3"  # the same, photos and pictures beside it in a folder
_SHA256 = re.compile(r"[0-9a-f]{64}")

_MEMBER = re.compile(rf"({PHOTOS}|{PICTURES})/([0-9a-f]{{64}})(\.[a-z0-9]{{1,5}})")
_MOST_MANIFEST_BYTES = 64_000_000
# Rows of outlines and colours pack to a third; 200 is far from any stash, 1,000 is a bomb.
_MOST_TIMES_PACKED = 200
_PIECE_BYTES = 1 << 20
# All that reading an odd archive was seen to raise.
_ZIP_FAULTS = (
    zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError,
    KeyError, IndexError, ValueError, TypeError, AttributeError, OverflowError, RuntimeError,
)  # fmt: skip

_BEFORE_THE_START = errno.EINVAL  # said of a place in the file that an archive names wrongly


def _is_member(name: str) -> bool:
    return name == DATABASE or _MEMBER.fullmatch(name) is not None


class BackupFile:
    """An open backup.

    Attributes
    ----------
    source : Path
        The file.
    sha256 : mapping
        The digest of each member but the manifest.
    complete : bool
        Whether all was there when it was made.
    is_beside : bool
        Whether photos and pictures lie beside the archive; what happened to one of them says
        nothing of the rest.
    """

    def __init__(self, source: Path, archive: zipfile.ZipFile, manifest: Mapping[str, Any]) -> None:
        self.source = source
        self._archive = archive
        self.sha256: dict[str, str] = dict(manifest["sha256"])
        self.complete = not manifest.get("missing")
        self.is_beside = manifest["format"] == BESIDE_FORMAT
        named = {DATABASE, MANIFEST} if self.is_beside else {*self.sha256, MANIFEST}
        infos = archive.infolist()
        if not all(map(_is_member, self.sha256)) or sorted(i.filename for i in infos) != sorted(
            named
        ):
            raise ValueError("members that are not named")
        if DATABASE not in self.sha256 or not all(map(_is_plausible, infos)):
            raise ValueError("sizes that no backup has")
        if not all(map(_SHA256.fullmatch, self.sha256.values())):
            raise ValueError("digests that are none")

    @property
    def size_bytes(self) -> int:
        """What all of it takes unpacked."""
        inside = sum(info.file_size for info in self._archive.infolist())
        return inside + sum(path.stat().st_size for path in self.beside() if path.exists())

    def beside(self) -> set[Path]:
        """Give the files that lie beside the archive."""
        if not self.is_beside:
            return set()
        names = self.sha256.keys() - {DATABASE}
        return {path_beside(self.source, name, self.sha256[name]) for name in names}

    def pieces(self, name: str) -> Iterator[bytes]:
        """Give a member piece by piece; the last one only comes if the digest is right.

        Raises
        ------
        StorageError
            If the member is not what the manifest says.
        """
        digest = hashlib.sha256()
        held = b""
        try:
            with self._opened(name) as member:
                while piece := member.read(_PIECE_BYTES):
                    digest.update(piece)
                    if held:
                        yield held
                    held = piece
        except _ZIP_FAULTS as problem:
            raise _no_backup(self.source) from problem
        except OSError as problem:
            if not self.is_beside and problem.errno != _BEFORE_THE_START:
                raise
            raise self._spoilt(name) from problem
        if digest.hexdigest() != self.sha256[name]:
            raise self._spoilt(name)
        yield held

    def _opened(self, name: str) -> IO[bytes]:
        if self.is_beside and name != DATABASE:
            return path_beside(self.source, name, self.sha256[name]).open("rb")
        return self._archive.open(name)

    def _spoilt(self, name: str) -> StorageError:
        if not self.is_beside or name == DATABASE:
            return _no_backup(self.source)
        path = path_beside(self.source, name, self.sha256[name])
        return StorageError(
            f"{path} in the backup is missing or was changed. Back the stash up there once more.",
            folder=self.source.parent,
        )

    def read(self, name: str) -> bytes:
        """Give a member whole."""
        return b"".join(self.pieces(name))

    def check(self) -> None:
        """Read every member against its digest; raises StorageError at the first that differs."""
        for name in self.sha256:
            for _ in self.pieces(name):
                pass


@contextmanager
def open_backup(source: Path, *, named: Path | None = None) -> Iterator[BackupFile]:
    """Open a backup whose manifest, members, sizes and own digest are as they should be.

    Parameters
    ----------
    source : Path
        The file, or the folder of a backup.
    named : Path, optional
        The name a draft will have, for what lies beside it.

    Raises
    ------
    StorageError
        If there is no such file, or it is no backup or damaged.
    """
    source = newest_of(source)
    if not source.is_file():
        raise StorageError(f"There is no backup file {source}.", folder=source)
    with ExitStack() as opened:
        try:
            archive = opened.enter_context(zipfile.ZipFile(source))
            manifest = _manifest_of(archive)
            if manifest["format"] not in (_OLD_FORMAT, SEALED_FORMAT, BESIDE_FORMAT):
                raise ValueError("another format")
            if manifest["format"] != _OLD_FORMAT and not _is_as_sealed(source, archive):
                raise ValueError("not as it was written")
            backup = BackupFile(named or source, archive, manifest)
        except _ZIP_FAULTS as problem:
            raise _no_backup(source) from problem
        except OSError as problem:
            if problem.errno != _BEFORE_THE_START:
                raise
            raise _no_backup(source) from problem
        yield backup


def says_complete(source: Path) -> bool:
    """Whether a file says of itself that it is a backup of all there was."""
    try:
        with zipfile.ZipFile(newest_of(source)) as archive:
            return not _manifest_of(archive).get("missing")
    except (OSError, *_ZIP_FAULTS):
        return False


def _manifest_of(archive: zipfile.ZipFile) -> Mapping[str, Any]:
    info = archive.getinfo(MANIFEST)
    if info.file_size > _MOST_MANIFEST_BYTES or not _is_plausible(info):
        raise ValueError("a manifest that no backup has")
    manifest = json.loads(archive.read(info))
    if not isinstance(manifest, dict):
        raise TypeError("no manifest")
    return manifest


def _is_plausible(info: zipfile.ZipInfo) -> bool:
    if info.flag_bits & 1:  # encrypted
        return False
    if info.compress_type == zipfile.ZIP_STORED:
        return info.file_size == info.compress_size
    packed_by_us = info.compress_type == zipfile.ZIP_DEFLATED
    small = info.file_size <= _MOST_TIMES_PACKED * (info.compress_size + 1_000)
    return packed_by_us and small and info.filename in (DATABASE, MANIFEST)


def _is_as_sealed(source: Path, archive: zipfile.ZipFile) -> bool:
    digest, told = hashlib.sha256(), archive.comment
    left = source.stat().st_size - len(told)
    with source.open("rb") as file:
        while left > 0 and (piece := file.read(min(left, _PIECE_BYTES))):
            digest.update(piece)
            left -= len(piece)
    return told == digest.hexdigest().encode()


def _no_backup(source: Path) -> StorageError:
    return StorageError(
        f"{source} is not a backup of a stash, or is damaged. Nothing was brought back from it; "
        "try an older backup.",
        folder=source,
    )
