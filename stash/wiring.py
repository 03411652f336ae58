"""Opens the stash folder and hands it to a face."""

from __future__ import annotations

from pathlib import Path

from stash.usecases.ports import Store

__all__ = ["home_folder", "open_store"]


def home_folder(home: Path | None) -> Path:
    """Give the stash folder: the one named, or this user's data folder."""
    if home is not None:
        return home
    import platformdirs  # noqa: PLC0415 - only when no folder is named

    return Path(platformdirs.user_data_dir("stash", appauthor=False))


def open_store(home: Path | None) -> Store:
    """Open the stash kept in a folder, or begin one there.

    Raises
    ------
    StorageError
        If the folder cannot be read, written or understood.
    """
    raise NotImplementedError
