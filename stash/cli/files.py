"""Files a face writes where the user asked for them."""

from __future__ import annotations

from pathlib import Path

from stash.errors import StorageError

__all__ = ["write_file"]


def write_file(path: Path, data: bytes) -> None:
    """Write an answer's file, making its folder.

    Raises
    ------
    StorageError
        If it cannot be written; says where and why.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as problem:
        raise StorageError(
            f"{path} cannot be written: {problem.strerror}. Choose another folder."
        ) from problem
