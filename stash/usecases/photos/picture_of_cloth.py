"""Cloth added by a picture of it instead of a photo with a card."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from stash.errors import UserFileError
from stash.usecases.ruler_sizes import RulerSize
from stash.usecases.user_files import plain_name, read_photo_file

if TYPE_CHECKING:
    from stash.photo.cloth_picture import PicturedCloth

__all__ = ["cloth_in_picture"]


def cloth_in_picture(
    path: Path, size: RulerSize, *, px_per_in: float | None = None
) -> tuple[PicturedCloth, tuple[str, ...]]:
    """Read the looks of cloth from a picture of it; gives them and what was odd about the file.

    Raises
    ------
    UserFileError, PhotoError
        If the file cannot be read or shows no picture.
    MeasureError
        If no picture of cloth has that scale.
    """
    from stash.photo.cloth_picture import pictured_cloth  # the picture libraries
    from stash.photo.files.reading import read_photo

    name = plain_name(path.name)
    try:
        data = read_photo_file(path)
    except OSError as problem:
        why = problem.strerror or "it cannot be read"
        raise UserFileError(path, f"{name} cannot be opened: {why}. Check its name.") from problem
    photo = read_photo(data, name=name)
    cloth = pictured_cloth(photo, (size.width_in, size.height_in), px_per_in=px_per_in)
    return cloth, photo.warnings
