"""Pictures too large, too small or packed like a trap, told from the header before decoding."""

from __future__ import annotations

import struct

from PIL import Image

from stash.errors import TooLargePhotoError, TooSmallPhotoError
from stash.photo.files.file_kind import progressive_scans

__all__ = ["MAX_MEGAPIXELS", "check_size", "too_large"]

MAX_MEGAPIXELS = 178  # Pillow's own refusal limit; the largest common phone mode below it is 108
_WEBP_MEGAPIXELS = 80  # its decoder needs twice the memory of the others (measured)
_MIN_SIDE_PX = 64
# Opening so many megapixels costs less than 100 MB (7 bytes a pixel, measured; WebP 15).
_HARMLESS_MEGAPIXELS, _HARMLESS_WEBP = 10, 6
# Bytes a pixel of the emptiest picture, between what a one-coloured file and what a plain drawing
# takes (measured: HEIC 0.0006 and 0.0017, AVIF 0.00005 and 0.0011, WebP 0.0027 and 0.0036; a JPEG
# takes 0.006 when one-coloured and is never a trap).
_LEAST_BYTES = {"JPEG": 0.004, "MPO": 0.004, "HEIF": 0.001, "AVIF": 0.0005, "WEBP": 0.003}
# Zip-like packing: at most 1032:1 (RFC 1951), 840:1 for a plain drawing. Above a phone's usual
# size no photo comes near 80:1.
_MOST_PACKED, _LARGE_MEGAPIXELS, _LARGE_PACKED = 960, 36, 80
_SCANS_MEGAPIXELS = 2000  # a progressive file may cost as much as 2000 megapixels in one scan
_PNG_CHANNELS = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}  # PNG (ISO/IEC 15948), 11.2.2


def check_size(image: Image.Image, data: bytes, name: str) -> None:
    """Refuse a picture that memory, measuring or time would suffer from.

    Raises
    ------
    TooLargePhotoError
        Too many pixels, far more pixels than the file can hold, or too many layers of them.
    TooSmallPhotoError
        Too few pixels to show cloth.
    """
    width, height = image.size
    megapixels = width * height / 1e6
    if megapixels > (_WEBP_MEGAPIXELS if image.format == "WEBP" else MAX_MEGAPIXELS):
        raise too_large(name, f"{megapixels:.0f}")
    if _is_trap(image, data, megapixels):
        raise TooLargePhotoError(
            name,
            f"This file claims {megapixels:.0f} million pixels but is far too small to hold such a "
            "photo; it is too large to open safely.",
        )
    if min(width, height) < _MIN_SIDE_PX:
        raise TooSmallPhotoError(
            name,
            f"This picture is too small ({width} × {height} pixels) to show cloth. "
            "Use the photo as the phone took it.",
        )
    _check_scans(image, data, name)


def _is_trap(image: Image.Image, data: bytes, megapixels: float) -> bool:
    kind = image.format or ""
    if megapixels <= (_HARMLESS_WEBP if kind == "WEBP" else _HARMLESS_MEGAPIXELS):
        return False
    if kind in _LEAST_BYTES:
        return len(data) < _LEAST_BYTES[kind] * megapixels * 1e6
    packed = _unpacked_bytes(image, data) / len(data)
    return packed > (_LARGE_PACKED if megapixels > _LARGE_MEGAPIXELS else _MOST_PACKED)


def _unpacked_bytes(image: Image.Image, data: bytes) -> float:
    pixels = image.width * image.height
    if image.format == "PNG":
        bits, colours = struct.unpack_from("BB", data, 24)
        return float(pixels * bits * _PNG_CHANNELS.get(colours, 4) / 8)
    return float(pixels * len(image.getbands()))


def _check_scans(image: Image.Image, data: bytes, name: str) -> None:
    if image.format not in {"JPEG", "MPO"} or not image.info.get("progressive"):
        return
    work = progressive_scans(data) * image.width * image.height / 1e6
    if work > _SCANS_MEGAPIXELS:
        raise TooLargePhotoError(
            name,
            "This JPEG holds so many layers of so many pixels that it is too large to open. "
            "Save it again as a plain JPEG.",
        )


def too_large(name: str, megapixels: str) -> TooLargePhotoError:
    """Give the refusal of a picture of so many millions of pixels."""
    return TooLargePhotoError(
        name,
        f"This picture is too large ({megapixels} million pixels). Take the photo in the phone's "
        "normal mode; 12 million pixels are plenty.",
    )
