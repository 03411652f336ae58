"""A flatbed scan: what its file says of inches and colours, and whether that can be believed."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.errors import NotAPhotoError
from stash.photo.files.reading import Photo, PixelsU8

__all__ = ["Plate", "plate_of"]

_DOTS_PER_IN = (100.0, 4800.0)  # screens' 72 and 96 are what a program puts that knows nothing
_LARGEST_IN = 40.0  # a sheet of A1 is 33 in long
_UNEVEN = 1.002  # resolutions across and along that are one
# What is said of a scan's colours, CIEDE2000, judgement: with a profile about what is left of a
# scanner after one was made for it, without one about what two scanners' own settings differ by.
_WITH_PROFILE_DE00, _WITHOUT_DE00 = 4.0, 6.0


@dataclass(frozen=True, eq=False)
class Plate:
    """What lay on the glass.

    Attributes
    ----------
    pixels_srgb : uint8, shape (height, width, 3)
        The scan, as wide as it is high in pixels an inch.
    px_per_in : float
        Its resolution.
    has_profile : bool
        Whether the file says what its colours mean.
    """

    pixels_srgb: PixelsU8
    px_per_in: float
    has_profile: bool

    @property
    def size_px(self) -> tuple[int, int]:
        """Height and width."""
        height, width = self.pixels_srgb.shape[:2]
        return height, width

    @property
    def error_de00(self) -> float:
        """What is said of its colours, CIEDE2000."""
        return _WITH_PROFILE_DE00 if self.has_profile else _WITHOUT_DE00

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a quilter should know."""
        if self.has_profile:
            return ()
        return (
            "This scan has no colour profile: its colours agree with each other but may all be off "
            "together. Let the scanner's program add the profile to the file.",
        )


def plate_of(photo: Photo) -> Plate:
    """Read a scan's resolution and say how far its colours can be believed.

    Raises
    ------
    NotAPhotoError
        If it was taken by a camera, or its resolution is missing or no scanner's.
    """
    if photo.focal_35mm is not None:
        raise NotAPhotoError(
            photo.name,
            "This was taken by a camera and is no flatbed scan. Log it as a photo, with a "
            "reference card beside the scraps.",
        )
    across, along = photo.dots_per_in or (0.0, 0.0)
    low, high = _DOTS_PER_IN
    if not low <= min(across, along) <= max(across, along) <= high:
        said = f"says {across:.0f} dots to the inch" if across else "does not tell its resolution"
        raise NotAPhotoError(
            photo.name,
            f"This file {said}, so inches cannot be known. Scan again at 300 dots to the inch and "
            "log the file as the scanner wrote it.",
        )
    height, width = photo.pixels_srgb.shape[:2]
    if max(width / across, height / along) > _LARGEST_IN:
        raise NotAPhotoError(
            photo.name,
            f"By its resolution of {across:.0f} dots to the inch this file is "
            f"{max(width / across, height / along):.0f} in long, which no flatbed scans. Log the "
            "file as the scanner wrote it.",
        )
    pixels = photo.pixels_srgb
    if max(across, along) > _UNEVEN * min(across, along):
        least = min(across, along)
        size = (round(width * least / across), round(height * least / along))
        pixels = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    return Plate(pixels, min(across, along), photo.has_profile)
