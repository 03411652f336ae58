"""Photos and pictures as files named by the sha256 of their bytes, written whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

__all__ = ["PHOTOS", "PICTURES", "PictureFiles", "sha256_of", "sync_folder", "write_whole"]

PHOTOS = "photos"
PICTURES = "pictures"
_UNFINISHED = ".unfinished-"
_OLD_S = 3600.0  # an unfinished file this old has no writer any more


def sha256_of(data: bytes) -> str:
    """Name bytes by what they are."""
    return hashlib.sha256(data).hexdigest()


def sync_folder(folder: Path) -> None:
    """Make renames in a folder survive a power cut, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that its name never stands for half of it."""
    draft = path.with_name(f"{_UNFINISHED}{os.getpid()}-{uuid.uuid4().hex}")
    try:
        with draft.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)
        raise


class PictureFiles:
    """The photo and picture files of one stash folder.

    Parameters
    ----------
    home : Path
        The stash folder; nothing outside it is ever touched.
    """

    def __init__(self, home: Path) -> None:
        self.home = home

    def path_of(self, folder: str, sha256: str, suffix: str) -> Path:
        """Say where a file is kept; the name comes from the hash, never from the user."""
        if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
            raise ValueError(f"not a sha256: {sha256!r}")
        return self.home / folder / f"{sha256}{plain_suffix(suffix)}"

    def keep(self, folder: str, files: dict[str, tuple[str, bytes]]) -> None:
        """Write the files that are not there yet (by sha256: suffix and bytes), then flush."""
        place = self.home / folder
        place.mkdir(parents=True, exist_ok=True)
        for sha256, (suffix, data) in files.items():
            path = self.path_of(folder, sha256, suffix)
            if not _holds(path, data):
                write_whole(path, data)
        if files:
            sync_folder(place)
            sync_folder(self.home)

    def keep_missing(self, folder: str, files: dict[str, tuple[str, bytes]]) -> None:
        """Write those files that went away since they were kept."""
        gone = {
            sha256: (suffix, data)
            for sha256, (suffix, data) in files.items()
            if not self.path_of(folder, sha256, suffix).is_file()
        }
        if gone:
            self.keep(folder, gone)

    def find(self, sha256: str) -> Path | None:
        """Find a kept picture or photo."""
        picture = self.path_of(PICTURES, sha256, ".jpg")
        if picture.is_file():
            return picture
        return next(iter(sorted((self.home / PHOTOS).glob(f"{sha256}.*"))), None)

    def all_files(self) -> Iterator[Path]:
        """Give every kept file, unfinished ones left out."""
        for folder in (PHOTOS, PICTURES):
            place = self.home / folder
            if place.is_dir():
                for path in sorted(place.iterdir()):
                    if path.is_file() and not path.name.startswith(_UNFINISHED):
                        yield path

    def unfinished(self) -> Iterator[Path]:
        """Give the files that a writer left behind when it was killed."""
        for folder in (self.home, self.home / PHOTOS, self.home / PICTURES):
            if folder.is_dir():
                for path in folder.glob(f"{_UNFINISHED}*"):
                    if _is_left_behind(path):
                        yield path

    def sweep_unfinished(self) -> int:
        """Remove what killed writers left behind, and say how many."""
        count = 0
        for path in self.unfinished():
            with contextlib.suppress(OSError):
                path.unlink()
                count += 1
        return count


def plain_suffix(suffix: str) -> str:
    """Reduce a file name's ending to a dot and up to five letters or digits."""
    letters = "".join(c for c in suffix.lower() if c.isascii() and c.isalnum())
    return f".{letters[:5] or 'bin'}"


def _holds(path: Path, data: bytes) -> bool:
    try:
        return path.stat().st_size == len(data) and path.read_bytes() == data
    except FileNotFoundError:
        return False


def _is_left_behind(path: Path) -> bool:
    try:
        writer = int(path.name.removeprefix(_UNFINISHED).split("-")[0])
        age_s = time.time() - path.stat().st_mtime
    except (ValueError, FileNotFoundError):
        return False
    if age_s > _OLD_S:
        return True
    # Signal 0 only asks whether a process lives; on Windows it would end it.
    if os.name != "posix" or writer == os.getpid():
        return False
    try:
        os.kill(writer, 0)
    except ProcessLookupError:
        return True
    except PermissionError:
        return False
    return False
