"""Files of the user's own: read where a command names them, written where an answer should go."""

from __future__ import annotations

from errno import EFBIG, EINVAL, EISDIR
from pathlib import Path
from stat import S_ISDIR, S_ISREG

from stash.errors import UserFileError

__all__ = ["plain_name", "read_file", "read_photo_file", "write_beside"]

_MOST_PHOTO_MB = 500  # far above any photo; read whole into memory
_JPEG_SUFFIXES = (".jpg", ".jpeg")
_PNG_HEAD = b"\x89PNG"
# How the kinds of file begin that are drawn here, and the endings each may have.
_ENDINGS = {
    _PNG_HEAD: (".png", *_JPEG_SUFFIXES),
    b"\xff\xd8": _JPEG_SUFFIXES,
    b"<svg": (".svg",),
    b"%PDF": (".pdf",),
}


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


def read_photo_file(path: Path) -> bytes:
    """Read a photo; what is no ordinary file is never opened, for it may never end.

    Raises
    ------
    OSError
        With the reason in words.
    """
    found = path.stat()
    if S_ISDIR(found.st_mode):
        raise OSError(EISDIR, "it is a folder")
    if not S_ISREG(found.st_mode):
        raise OSError(EINVAL, "it is a pipe or a device, not a photo")
    if found.st_size > _MOST_PHOTO_MB * 1_000_000:
        raise OSError(EFBIG, f"it is larger than {_MOST_PHOTO_MB} MB, too large for a photo")
    return path.read_bytes()


def plain_name(text: str) -> str:
    """Give a name as one line of letters: what moves a screen's cursor is shown as �."""
    joiners = "\u200c\u200d"  # they make letters and pictures of several signs
    return "".join(one if one.isprintable() or one in joiners else "\ufffd" for one in text)


def write_beside(path: Path, data: bytes) -> None:
    """Write an answer's file, making its folder; a picture becomes JPEG where its name says so.

    Raises
    ------
    UserFileError
        If it cannot be written, or its name ends as another kind of file; says where and why.
    """
    for head, endings in _ENDINGS.items():
        if data.startswith(head) and path.suffix.lower() not in ("", *endings):
            known = " or ".join(endings)
            raise UserFileError(
                path,
                f"{path} is not written, for this answer is no {path.suffix} file. Let its "
                f"name end in {known}.",
            )
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
    from io import BytesIO

    from PIL import Image  # only for this kind of file

    out = BytesIO()
    Image.open(BytesIO(png)).convert("RGB").save(out, "JPEG", quality=90)
    return out.getvalue()
