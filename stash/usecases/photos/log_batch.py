"""Log many photos: measured side by side, stored one by one, resumable at any point."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stash.colour.appearance import Appearance
from stash.errors import NotAPhotoError, PhotoError
from stash.usecases.photos.add_photo import (
    LogOptions,
    PhotoOutcome,
    already_logged,
    cards_to_use,
    identity_of,
    keep_measured,
    measure,
    measure_to_keep,
)
from stash.usecases.photos.measuring_crew import Job, Lost, crew_results
from stash.usecases.ports import Store
from stash.usecases.user_files import plain_name, read_photo_file, write_beside

if TYPE_CHECKING:
    from stash.photo.cards.card import Card

__all__ = ["Batch", "log_batch", "looks_on"]

# What phones and cameras write; inside a named folder other files are passed over.
PHOTO_SUFFIXES = frozenset(
    {".jpg", ".jpeg", ".png", ".heic", ".heif", ".avif", ".webp", ".tif", ".tiff", ".bmp", ".mpo"}
)
_NEXT = "Check the name and the disk."


@dataclass(frozen=True, slots=True)
class Batch:
    """Photos to log and what is said about them.

    Attributes
    ----------
    paths : tuple of Path
        Photos, or folders of photos.
    card : str or None
        Name of the reference card; None takes the newest.
    options : LogOptions
    pictures : Path or None
        Folder for drawings of each photo with its outlines.
    unit : str
        They tell sizes in ``in`` or ``cm``.
    """

    paths: tuple[Path, ...]
    card: str | None
    options: LogOptions
    pictures: Path | None = None
    unit: str = "in"


def log_batch(store: Store, batch: Batch) -> Iterator[tuple[int, int, PhotoOutcome]]:
    """Log photo after photo; gives how many are done, of how many, and what became of each.

    A photo that cannot be used never stops the others. Work may stop between two photos at any
    time: what was given out is kept, and the same call later does only what is missing.

    Raises
    ------
    NotFoundError
        If no card is registered.
    StorageError
        If the stash cannot be written.
    """
    cards = () if batch.options.scan else cards_to_use(store, batch.card)
    paths = _photos_in(batch.paths)
    ready: dict[Path, PhotoOutcome] = {}
    jobs = _jobs(store, paths, ready, cards, batch)
    workers = min(len(paths), os.cpu_count() or 1) or 1
    with closing(crew_results(jobs, workers=workers)) as measured:
        for done, (path, found) in enumerate(zip(paths, measured, strict=True), start=1):
            outcome = ready.pop(path, None) or _kept(store, path, found)
            if batch.pictures is not None:
                _draw(store, path, outcome, batch.pictures, unit=batch.unit)
            yield done, len(paths), outcome


def looks_on(path: Path, cards: Sequence[Card]) -> tuple[Appearance, ...]:
    """Give what each cloth on a photo looks like; nothing is kept.

    Raises
    ------
    PhotoError
        If the photo cannot be opened or measured.
    """
    try:
        data = read_photo_file(path)
    except OSError as problem:
        raise PhotoError(_unread(path, problem).reason) from problem
    measured = measure(data, file_name=str(path), cards=cards, options=LogOptions())
    if isinstance(measured, PhotoOutcome):
        raise PhotoError(measured.reason)
    return tuple(scrap.appearance for scrap in measured.scraps)


def _photos_in(paths: Sequence[Path]) -> list[Path]:
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = sorted(one for one in path.iterdir() if not one.name.startswith("._"))
            found.extend(one for one in inside if one.suffix.lower() in PHOTO_SUFFIXES)
        else:
            found.append(path)
    return list(dict.fromkeys(found))


def _unread(path: Path, problem: OSError) -> PhotoOutcome:
    why = problem.strerror or "it cannot be read"
    return PhotoOutcome(
        str(path),
        "refused",
        reason=f"{plain_name(str(path))} cannot be opened: {why}. {_NEXT}",
        cause=NotAPhotoError.cause,
    )


def _jobs(
    store: Store,
    paths: Sequence[Path],
    ready: dict[Path, PhotoOutcome],
    cards: Sequence[Card],
    batch: Batch,
) -> Iterator[Job | None]:
    """Give the work on each photo just before it begins; None where it is known by then.

    A photo's bytes are read here, once, and their hash goes with them.
    """
    for path in paths:
        try:
            data = read_photo_file(path)
        except OSError as problem:
            ready[path] = _unread(path, problem)
            yield None
            continue
        sha256 = identity_of(data)
        known = already_logged(store, data, sha256, file_name=str(path))
        if known is None:
            yield measure_to_keep, (data, sha256, str(path), cards, batch.options)
        else:
            ready[path] = known
            yield None


def _kept(store: Store, path: Path, found: Any) -> PhotoOutcome:
    """Keep a measured photo unless someone else has logged it meanwhile."""
    if isinstance(found, Lost):
        return PhotoOutcome(str(path), "refused", reason=_why_lost(path, found))
    if isinstance(found, PhotoOutcome):
        return found
    photo = found.photo
    known = already_logged(store, photo.data, photo.sha256, file_name=str(path))
    return known or keep_measured(store, found, file_name=str(path))


def _why_lost(path: Path, lost: Lost) -> str:
    name = plain_name(path.name)
    why = {
        "died": "measuring it ended without a word, twice; the system may be short of memory",
        "too long": "measuring it took longer than five minutes",
        "too large": "measuring it takes more memory than a photo may",
        "failed": f"it holds something this program stumbles over ({plain_name(lost.said)})",
    }[lost.how]
    return f"{name} was not measured: {why}. Photograph the scraps again, or make it smaller."


def _draw(store: Store, path: Path, outcome: PhotoOutcome, folder: Path, *, unit: str) -> None:
    from stash.usecases.photos.draw_photo import photo_with_outlines, refused_photo

    try:
        if outcome.status == "refused":
            picture = refused_photo(read_photo_file(path), name=path.name, reason=outcome.reason)
        else:
            picture = photo_with_outlines(store, outcome.sha256, unit=unit)
    except (PhotoError, OSError):
        return  # no picture at all to draw on; the log says so
    write_beside(folder / f"{path.stem}.jpg", picture)
