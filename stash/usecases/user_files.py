"""Files of the user's own: read where a command names them, written where an answer should go."""

from __future__ import annotations

from pathlib import Path

from stash.errors import UserFileError

__all__ = ["read_file", "write_beside"]

_JPEG_SUFFIXES = (".jpg", ".jpeg")
_PNG_HEAD = b"\x89PNG"


def read_file(path: Path) -> bytes:
    """Read a file that the user has named.

    Raises
    ------
    UserFileError
        If it cannot be read; says which and why.
    """
    try:
        return path.read_bytes()
    except OSError as problem:
        raise UserFileError(
            path, f"{path} cannot be read: {_cause(problem)}. Check its name."
        ) from problem


def write_beside(path: Path, data: bytes) -> None:
    """Write an answer's file, making its folder; a picture becomes JPEG where its name says so.

    Raises
    ------
    UserFileError
        If it cannot be written; says where and why.
    """
    if path.suffix.lower() in _JPEG_SUFFIXES and data.startswith(_PNG_HEAD):
        data = _as_jpeg(data)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as problem:
        raise UserFileError(
            path, f"{path} cannot be written: {_cause(problem)}. Choose another place."
        ) from problem


def _cause(problem: OSError) -> str:
    return (problem.strerror or str(problem)).lower()


def _as_jpeg(png: bytes) -> bytes:
    from io import BytesIO  # noqa: PLC0415

    from PIL import Image  # noqa: PLC0415 - only for this kind of file

    out = BytesIO()
    Image.open(BytesIO(png)).convert("RGB").save(out, "JPEG", quality=90)
    return out.getvalue()
