"""Files of an answer, written where the user asked for them."""

from __future__ import annotations

from pathlib import Path

from stash.errors import StorageError

__all__ = ["write_beside"]

_JPEG_SUFFIXES = (".jpg", ".jpeg")
_PNG_HEAD = b"\x89PNG"


def write_beside(path: Path, data: bytes) -> None:
    """Write an answer's file, making its folder; a picture becomes JPEG where its name says so.

    Raises
    ------
    StorageError
        If it cannot be written; says where and why.
    """
    if path.suffix.lower() in _JPEG_SUFFIXES and data.startswith(_PNG_HEAD):
        data = _as_jpeg(data)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as problem:
        raise StorageError(
            f"{path} cannot be written: {problem.strerror}. Choose another folder."
        ) from problem


def _as_jpeg(png: bytes) -> bytes:
    from io import BytesIO  # noqa: PLC0415

    from PIL import Image  # noqa: PLC0415 - only for this kind of file

    out = BytesIO()
    Image.open(BytesIO(png)).convert("RGB").save(out, "JPEG", quality=90)
    return out.getvalue()
