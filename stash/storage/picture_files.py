"""Photos and pictures as files named by the sha256 of their bytes, written whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import time
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import IO

__all__ = [
    "PHOTOS",
    "PICTURES",
    "PictureFiles",
    "draft_beside",
    "holds",
    "holds_hash",
    "make_folder",
    "move_in_once",
    "nameless_draft",
    "plain_suffix",
    "sha256_of",
    "sweep_left_in",
    "sync_folder",
    "write_whole",
]

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


def make_folder(folder: Path) -> None:
    """Make a folder for its owner alone, and let its name survive a power cut too."""
    missing = [one for one in (folder, *folder.parents) if not one.exists()]
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    for one in missing:
        sync_folder(one.parent)


@contextlib.contextmanager
def draft_beside(path: Path) -> Iterator[Path]:
    """Give a name for a draft in the same folder; what is left of it is taken away.

    The name tells who writes, so that a later start can sweep what a killed writer left.
    """
    draft = path.with_name(f"{_UNFINISHED}{os.getpid()}-{uuid.uuid4().hex}")
    try:
        yield draft
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that its name never stands for half of it; only its owner may read it."""
    with draft_beside(path) as draft:
        with open(draft, "wb", opener=_private) as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)


class Draft:
    """A file being written: where it can be read, and how it gets its name."""

    def __init__(self, file: IO[bytes], path: Path, target: Path, *, named: bool) -> None:
        self.file = file
        self.path = path
        self._target = target
        self._named = named

    def take_name(self) -> None:
        """Let the finished file take the place of whatever has its name."""
        os.fsync(self.file.fileno())
        if self._named:
            self.path.replace(self._target)
            return
        with draft_beside(self._target) as link:
            # With a folder given, Python follows the link that stands for the open file.
            os.link(self.path, link, src_dir_fd=self.file.fileno())
            link.replace(self._target)


@contextlib.contextmanager
def nameless_draft(target: Path) -> Iterator[Draft]:
    """Give a draft that has no name where the system can: a kill leaves nothing of it."""
    with contextlib.ExitStack() as stack:
        draft = _without_name(stack, target)
        if draft is None:
            path = stack.enter_context(draft_beside(target))
            file = stack.enter_context(open(path, "w+b", opener=_private))
            draft = Draft(file, path, target, named=True)
        yield draft


def _without_name(stack: contextlib.ExitStack, target: Path) -> Draft | None:
    flag = getattr(os, "O_TMPFILE", None)
    if flag is None:
        return None
    try:
        handle = os.open(target.parent, flag | os.O_RDWR, 0o600)
    except OSError:  # not on this kind of disk
        return None
    file = stack.enter_context(os.fdopen(handle, "w+b"))
    path = Path(f"/proc/self/fd/{handle}")
    return Draft(file, path, target, named=False) if path.exists() else None


def _private(name: str, flags: int) -> int:
    return os.open(name, flags, 0o600)


def move_in_once(draft: Path, path: Path) -> bool:
    """Give a finished draft its name unless the name is taken; says whether it was free."""
    with draft.open("rb+") as file:
        os.fsync(file.fileno())
    try:
        os.link(draft, path)
    except FileExistsError:
        return False
    except OSError:  # a disk without links, such as a memory card
        if path.exists():
            return False
        draft.replace(path)
    sync_folder(path.parent)
    return True


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
        make_folder(place)
        for sha256, (suffix, data) in files.items():
            path = self.path_of(folder, sha256, suffix)
            if not holds(path, data):
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


def sweep_left_in(folder: Path) -> None:
    """Remove drafts in a folder whose writers were killed."""
    for path in folder.glob(f"{_UNFINISHED}*"):
        if _is_left_behind(path):
            with contextlib.suppress(OSError):
                path.unlink()


def plain_suffix(suffix: str) -> str:
    """Reduce a file name's ending to a dot and up to five letters or digits."""
    letters = "".join(c for c in suffix.lower() if c.isascii() and c.isalnum())
    return f".{letters[:5] or 'bin'}"


def holds(path: Path, data: bytes) -> bool:
    """Whether a file holds these very bytes."""
    try:
        return path.stat().st_size == len(data) and path.read_bytes() == data
    except FileNotFoundError:
        return False


def holds_hash(path: Path, sha256: str) -> bool:
    """Whether a file's bytes have this sha256; a file that cannot be read holds nothing."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() == sha256
    except OSError:
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
