"""Files taken out of the stash without being deleted: kept a while, listed, brought back.

They lie in ``aside/``, in a folder named by the moment (UTC), under the names they had. Nothing
is removed by the command that takes it out; a later one may, when 30 days are over.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

from stash.errors import NotFoundError
from stash.storage.faults import faults_told
from stash.storage.picture_files import sync_folder
from stash.usecases.ports import AsideFolder

__all__ = ["ASIDE", "bring_back_aside", "drop_outdated", "put_aside", "what_is_aside"]

ASIDE = "aside"
_KEPT_DAYS = 30
_STAMP = "%Y-%m-%dT%H%M%SZ"


def put_aside(home: Path, paths: Iterable[Path]) -> Path | None:
    """Move files of the stash folder into a new folder of its ``aside``; gives that folder.

    A file that is gone meanwhile is passed over; None if nothing was moved. Each has its new name
    for certain before it loses the old one: a power cut leaves it both, never none.
    """
    place: Path | None = None
    moved = []
    with faults_told(home, waited_s=0.0):
        for path in paths:
            if place is None:
                place = _new_folder(home)
            target = place / path.relative_to(home)
            target.parent.mkdir(mode=0o700, exist_ok=True)
            with suppress(FileNotFoundError):
                _name_also(path, target)
                moved.append(path)
        if place is not None:
            for folder in (place, *filter(Path.is_dir, place.iterdir()), home / ASIDE, home):
                sync_folder(folder)
            _drop_names(moved)
    return place


def _name_also(path: Path, target: Path) -> None:
    try:
        os.link(path, target)
    except FileNotFoundError:
        raise
    except OSError:  # a disk without links: there a move has to do
        path.replace(target)


def _drop_names(paths: Iterable[Path]) -> None:
    folders = set()
    for path in paths:
        path.unlink(missing_ok=True)
        folders.add(path.parent)
    for folder in folders:
        sync_folder(folder)


def _new_folder(home: Path) -> Path:
    (home / ASIDE).mkdir(mode=0o700, exist_ok=True)
    stamp = datetime.now(UTC).strftime(_STAMP)
    for turn in range(1, 10_000):
        place = home / ASIDE / (stamp if turn == 1 else f"{stamp}-{turn}")
        with suppress(FileExistsError):
            place.mkdir(mode=0o700)
            return place
    raise FileExistsError(f"{home / ASIDE} is full of folders of one second")


def what_is_aside(home: Path) -> tuple[AsideFolder, ...]:
    """Give what was put aside, oldest first."""
    return tuple(
        AsideFolder(place.name, _files_in(place), f"{since + timedelta(days=_KEPT_DAYS):%Y-%m-%d}")
        for place, since in _folders(home)
    )


def bring_back_aside(home: Path, name: str) -> int:
    """Move the files of one folder back to where they were; gives how many.

    A file whose place is taken again stays aside.

    Raises
    ------
    NotFoundError
        If nothing of that name is aside.
    """
    for place, _ in _folders(home):
        if place.name == name:
            with faults_told(home, waited_s=0.0):
                return sum(_moved_back(home, place, one) for one in _files_in(place))
    names = ", ".join(place.name for place, _ in _folders(home))
    raise NotFoundError("folder put aside", name, hint=f"There are: {names}." if names else "")


def _moved_back(home: Path, place: Path, name: str) -> bool:
    target = home / name
    if target.exists():
        return False
    target.parent.mkdir(mode=0o700, exist_ok=True)
    _name_also(place / name, target)
    sync_folder(target.parent)
    sync_folder(home)
    _drop_names([place / name])
    for folder in (place / Path(name).parent, place):
        with suppress(OSError):  # not empty yet
            folder.rmdir()
    return True


def drop_outdated(home: Path) -> int:
    """Remove what was put aside more than 30 days ago; gives how many folders.

    Both the folder's name and the time its disk notes must say so: a clock that was wrong once
    removes nothing.
    """
    now = datetime.now(UTC)
    count = 0
    for place, since in _folders(home):
        touched = datetime.fromtimestamp(place.stat().st_mtime, UTC)
        if now - max(since, touched) > timedelta(days=_KEPT_DAYS):
            shutil.rmtree(place, ignore_errors=True)
            count += 1
    return count


def _folders(home: Path) -> Iterator[tuple[Path, datetime]]:
    if not (home / ASIDE).is_dir():
        return
    for place in sorted((home / ASIDE).iterdir()):
        with suppress(ValueError):
            yield place, datetime.strptime(place.name[:18], _STAMP).replace(tzinfo=UTC)


def _files_in(place: Path) -> tuple[str, ...]:
    inside = (path for path in place.rglob("*") if path.is_file())
    return tuple(sorted(path.relative_to(place).as_posix() for path in inside))
