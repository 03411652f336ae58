"""The details inside a HEIC or AVIF file, blanked where they lie.

Moving them would mean rewriting every offset of the file; writing over them does not touch the
picture. Source of the layout: ISO/IEC 14496-12 (boxes, item location), ISO/IEC 23008-12 (Exif).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["blank_heif_details"]

# Four bytes of offset, then a TIFF block with no entry.
_EMPTY_EXIF = b"\x00\x00\x00\x00" + b"MM\x00*\x00\x00\x00\x08" + b"\x00\x00" + b"\x00\x00\x00\x00"
_MOST_ITEMS = 10_000


@dataclass(frozen=True, slots=True)
class _Box:
    kind: bytes
    start: int
    body: int
    end: int


def blank_heif_details(data: bytes) -> bytes:
    """Blank Exif and XMP items and vendor boxes; the picture's own bytes stay.

    Raises
    ------
    ValueError
        If the file's structure is broken, or a detail lies where it cannot be reached.
    """
    out = bytearray(data)
    for box in _boxes(data, 0, len(data)):
        if box.kind == b"meta":
            _blank_items(out, data, box)
        elif box.kind in (b"uuid", b"udta"):
            out[box.body : box.end] = bytes(box.end - box.body)
            out[box.start + 4 : box.start + 8] = b"free"
    return bytes(out)


def _boxes(data: bytes, at: int, end: int) -> Iterator[_Box]:
    while at + 8 <= end:
        size, kind = struct.unpack_from(">I4s", data, at)
        body = at + 8
        if size == 1:
            (size,) = struct.unpack_from(">Q", data, body)
            body += 8
        elif size == 0:
            size = end - at
        if size < body - at or at + size > end:
            raise ValueError("a box runs past the end")
        yield _Box(kind, at, body, at + size)
        at += size


def _blank_items(out: bytearray, data: bytes, meta: _Box) -> None:
    parts = {box.kind: box for box in _boxes(data, meta.body + 4, meta.end)}
    if b"iinf" not in parts or b"iloc" not in parts:
        return
    private = _private_items(data, parts[b"iinf"])
    base_of_items = parts[b"idat"].body if b"idat" in parts else None
    kept: list[tuple[int, int]] = []
    blanked: list[tuple[int, int]] = []
    for item, method, extents in _locations(data, parts[b"iloc"]):
        base = base_of_items or 0 if method == 1 else 0
        reached = [(offset + base, length) for offset, length in extents]
        if item not in private:
            kept += reached
            continue
        if method not in (0, 1) or (method == 1 and base_of_items is None):
            raise ValueError("a detail lies where it cannot be reached")
        _blank(out, reached, _EMPTY_EXIF if private[item] == b"Exif" else b"")
        blanked += reached
    if any(_overlap(detail, part) for detail in blanked for part in kept):
        raise ValueError("a detail lies inside the picture")


def _overlap(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] < other[0] + other[1] and other[0] < one[0] + one[1]


def _blank(out: bytearray, extents: list[tuple[int, int]], start: bytes) -> None:
    for offset, length in extents:
        if offset + length > len(out) or length == 0:
            raise ValueError("a detail runs past the end")
        fill = start if len(start) <= length else b""
        out[offset : offset + length] = fill + bytes(length - len(fill))
        start = b""


def _private_items(data: bytes, iinf: _Box) -> dict[int, bytes]:
    version = data[iinf.body]
    first = iinf.body + 4 + (2 if version == 0 else 4)
    items: dict[int, bytes] = {}
    for box in _boxes(data, first, iinf.end):
        entry = data[box.body]
        if box.kind != b"infe" or entry < 2:
            continue
        form = ">HH4s" if entry == 2 else ">IH4s"
        item, _, kind = struct.unpack_from(form, data, box.body + 4)
        if kind in (b"Exif", b"mime", b"uri "):
            items[item] = kind
    return items


def _locations(data: bytes, iloc: _Box) -> Iterator[tuple[int, int, list[tuple[int, int]]]]:
    """Give item number, construction method and extents (offset, length) of each item."""
    version = data[iloc.body]
    sizes, bases = data[iloc.body + 4], data[iloc.body + 5]
    offset_size, length_size, base_size = sizes >> 4, sizes & 15, bases >> 4
    index_size = bases & 15 if version in (1, 2) else 0
    reader = _Reader(data, iloc.body + 6, iloc.end)
    count = reader.number(2 if version < 2 else 4)
    if count > _MOST_ITEMS:
        raise ValueError("more items than a photo has")
    for _ in range(count):
        item = reader.number(2 if version < 2 else 4)
        method = reader.number(2) & 15 if version in (1, 2) else 0
        reader.number(2)
        base = reader.number(base_size)
        extents = []
        for _ in range(reader.number(2)):
            reader.number(index_size)
            offset = reader.number(offset_size)
            extents.append((base + offset, reader.number(length_size)))
        yield item, method, extents


class _Reader:
    """Big-endian numbers one after another, inside bounds."""

    def __init__(self, data: bytes, at: int, end: int) -> None:
        self._data, self._at, self._end = data, at, end

    def number(self, size: int) -> int:
        """Read the next bytes as a whole number; raises ValueError past the end of the box."""
        if self._at + size > self._end:
            raise ValueError("a table runs past its box")
        value = int.from_bytes(self._data[self._at : self._at + size], "big")
        self._at += size
        return value
