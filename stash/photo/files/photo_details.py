"""The few photo details (EXIF) that change what is measured: the turn and the colour space.

Own reader with bounds, because hostile details claim billions of entries and because nothing
else of them (place, device, time) may travel on.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, replace

from PIL import Image

__all__ = ["PhotoDetails", "read_details"]

_ORIENTATION, _EXIF_IFD, _INTEROP_IFD, _INTEROP_INDEX = 0x0112, 0x8769, 0xA005, 0x0001
_FOCAL_35MM = 0xA405
_SHORT, _LONG, _ASCII = 3, 4, 2
_MOST_ENTRIES = 500
_ODD = (
    "The photo details (EXIF) of this file are broken; if the picture lies on its side, turn it "
    "and save it again.",
)


@dataclass(frozen=True, slots=True)
class PhotoDetails:
    """What the details say.

    Attributes
    ----------
    orientation : int
        EXIF tag 274: 1 upright, 2 to 8 turned or mirrored.
    adobe_rgb : bool
        Whether the camera says it wrote the wide colour space without adding a profile.
    warnings : tuple of str
        One sentence if the details are broken.
    focal_35mm : float or None
        Tag 0xA405: focal length as if on 35 mm film, which tells the angle of view.
    """

    orientation: int = 1
    adobe_rgb: bool = False
    warnings: tuple[str, ...] = ()
    focal_35mm: float | None = None


def read_details(image: Image.Image) -> PhotoDetails:
    """Read turn and colour space; broken details read as upright, with a warning."""
    if image.format == "TIFF":
        return PhotoDetails(_known_turn(getattr(image, "tag_v2", {}).get(_ORIENTATION, 1)))
    block = image.info.get("exif")
    if not isinstance(block, bytes) or not block:
        return PhotoDetails()
    block = block.removeprefix(b"Exif\x00\x00")
    if not block.strip(b"\x00"):
        return PhotoDetails()  # room for details, and none written
    try:
        details = _parsed(block)
    except (struct.error, ValueError):
        return PhotoDetails(warnings=_ODD)
    # The turn in a HEIF container was already applied; the one in its EXIF is a copy.
    return replace(details, orientation=1) if image.info.get("turn_is_applied") else details


def _parsed(block: bytes) -> PhotoDetails:
    order = {b"II": "<", b"MM": ">"}.get(block[:2])
    if order is None:
        raise ValueError("no byte order mark")
    _, first = struct.unpack_from(order + "HI", block, 2)
    entries = _entries(block, first, order)
    turn = _known_turn(entries.get(_ORIENTATION, 1))
    photo = _entries(block, entries[_EXIF_IFD], order) if entries.get(_EXIF_IFD) else {}
    other = _entries(block, photo[_INTEROP_IFD], order) if photo.get(_INTEROP_IFD) else {}
    index = other.get(_INTEROP_INDEX, 0)
    focal = photo.get(_FOCAL_35MM, 0)
    # EXIF 2.32, 4.6.5.D: interoperability index "R03" is the optional wide space.
    return PhotoDetails(
        turn,
        adobe_rgb=index == int.from_bytes(b"R03\x00", "big"),
        focal_35mm=float(focal) if 8 <= focal <= 300 else None,
    )


def _entries(block: bytes, offset: int, order: str) -> dict[int, int]:
    (count,) = struct.unpack_from(order + "H", block, offset)
    if count > _MOST_ENTRIES or offset + 2 + 12 * count > len(block):
        raise ValueError("more entries than the block holds")
    found = {}
    for at in range(offset + 2, offset + 2 + 12 * count, 12):
        tag, kind, amount = struct.unpack_from(order + "HHI", block, at)
        if amount > len(block):
            raise ValueError("an entry larger than the block")
        if kind == _SHORT and amount == 1:
            (found[tag],) = struct.unpack_from(order + "H", block, at + 8)
        elif kind == _LONG and amount == 1:
            (found[tag],) = struct.unpack_from(order + "I", block, at + 8)
        elif kind == _ASCII and amount == 4:
            (found[tag],) = struct.unpack_from(">I", block, at + 8)
    return found


def _known_turn(value: object) -> int:
    return value if isinstance(value, int) and 1 <= value <= 8 else 1
