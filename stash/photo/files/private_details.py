"""Photos without place, time, device and owner: the pixels stay as they are, bit for bit.

Only the containers are rewritten, so that nothing is decoded or lost. What changes how the pixels
read (turn, colour space, colour profile) is kept.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from collections.abc import Iterator

from PIL import Image, UnidentifiedImageError

from stash.photo.files.heif_items import blank_heif_details
from stash.photo.files.photo_details import PhotoDetails, read_details

__all__ = ["tells_more", "without_details"]

_PNG = b"\x89PNG\r\n\x1a\n"
# PNG 3rd edition, 11: chunks that say what the pixels are.
_PNG_KEPT = {
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"iCCP", b"sRGB", b"gAMA", b"cHRM", b"cICP", b"tRNS",
    b"sBIT", b"bKGD", b"pHYs",
}  # fmt: skip
_WEBP_KEPT = {b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP"}
_WEBP_EXIF, _WEBP_XMP = 0x08, 0x04  # bits of the VP8X flags


def without_details(data: bytes) -> bytes | None:
    """Take a photo's private details away.

    Parameters
    ----------
    data : bytes
        A JPEG, PNG, WebP, HEIC or AVIF file.

    Returns
    -------
    bytes or None
        The same pixels without the details; None where this cannot be done safely (another kind
        of file, or a broken one).
    """
    try:
        if data.startswith(b"\xff\xd8"):
            return _plain_jpeg(data, _kept_details(data))
        if data.startswith(_PNG):
            return _plain_png(data, _kept_details(data))
        if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
            return _plain_webp(data, _kept_details(data))
        if data[4:8] == b"ftyp":
            return blank_heif_details(data)
    except (struct.error, ValueError, IndexError):
        return None
    return None


def tells_more(data: bytes) -> bool:
    """Say whether a photo's file holds something of place, time or device that could come off."""
    plain = without_details(data)
    return plain is not None and plain != data


def _kept_details(data: bytes) -> bytes:
    """Give a new details block with turn and colour space only; empty if both are the usual."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            with Image.open(io.BytesIO(data)) as image:
                details = read_details(image)
        except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError):
            raise ValueError("not a picture") from None
    return _details_block(details)


def _details_block(details: PhotoDetails) -> bytes:
    """Write a TIFF block as EXIF 2.32, 4.6 lays it out, big-endian."""
    if not details.adobe_rgb:
        if details.orientation == 1:
            return b""
        return b"MM\x00*\x00\x00\x00\x08" + _directory([_short(0x0112, details.orientation)])
    # Three directories behind each other: picture, photo, interoperability.
    first = 8
    second = first + 2 + 2 * 12 + 4
    third = second + 2 + 12 + 4
    return (
        b"MM\x00*\x00\x00\x00\x08"
        + _directory([_short(0x0112, details.orientation), _long(0x8769, second)])
        + _directory([_long(0xA005, third)])
        + _directory([struct.pack(">HHI4s", 0x0001, 2, 4, b"R03\x00")])
    )


def _short(tag: int, value: int) -> bytes:
    return struct.pack(">HHIHH", tag, 3, 1, value, 0)


def _long(tag: int, value: int) -> bytes:
    return struct.pack(">HHII", tag, 4, 1, value)


def _directory(entries: list[bytes]) -> bytes:
    return struct.pack(">H", len(entries)) + b"".join(entries) + b"\x00\x00\x00\x00"


def _plain_jpeg(data: bytes, block: bytes) -> bytes:
    """Keep tables, scans, colour profile and Adobe mark; ISO/IEC 10918-1 annex B."""
    out = [b"\xff\xd8"]
    if block:
        body = b"Exif\x00\x00" + block
        out.append(b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body)
    for marker, segment in _jpeg_segments(data):
        if _is_kept(marker, segment):
            out.append(segment)
    out.append(b"\xff\xd9")
    return b"".join(out)


def _is_kept(marker: int, segment: bytes) -> bool:
    if marker == 0xE0:
        return segment[4:9] == b"JFIF\x00"
    if marker == 0xE2:
        return segment[4:16] == b"ICC_PROFILE\x00"
    if marker == 0xEE:
        return segment[4:9] == b"Adobe"
    return not (0xE0 <= marker <= 0xEF or marker == 0xFE)


def _jpeg_segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Give marker and bytes of each segment up to the end mark; a scan with its picture data."""
    at = 2
    while True:
        if data[at] != 0xFF:
            raise ValueError("no marker where one must be")
        while data[at + 1] == 0xFF:
            at += 1
        marker = data[at + 1]
        if marker == 0xD9:
            return
        (length,) = struct.unpack_from(">H", data, at + 2)
        end = at + 2 + length
        if length < 2 or end > len(data):
            raise ValueError("a segment runs past the end")
        if marker == 0xDA:
            end = _end_of_scan(data, end)
        yield marker, data[at:end]
        at = end


def _end_of_scan(data: bytes, at: int) -> int:
    """Find the marker after a scan: not a stuffed 0xFF00, not a restart mark."""
    while True:
        at = data.index(b"\xff", at)
        follows = data[at + 1]
        if follows != 0x00 and not 0xD0 <= follows <= 0xD7:
            return at
        at += 2


def _plain_png(data: bytes, block: bytes) -> bytes:
    out = [_PNG]
    at = len(_PNG)
    while at < len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        end = at + 12 + length
        if end > len(data):
            raise ValueError("a chunk runs past the end")
        if kind == b"IDAT" and block:
            out.append(_png_chunk(b"eXIf", block))
            block = b""
        if kind in _PNG_KEPT:
            out.append(data[at:end])
        if kind == b"IEND":
            return b"".join(out)
        at = end
    raise ValueError("no end chunk")


def _png_chunk(kind: bytes, body: bytes) -> bytes:

    check = zlib.crc32(kind + body)
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", check)


def _plain_webp(data: bytes, block: bytes) -> bytes:
    """Source: RFC 9649, section 2."""
    chunks: list[tuple[bytes, bytes]] = []
    at = 12
    while at + 8 <= len(data):
        kind, length = struct.unpack_from("<4sI", data, at)
        body = data[at + 8 : at + 8 + length]
        if len(body) != length:
            raise ValueError("a chunk runs past the end")
        if kind in _WEBP_KEPT:
            chunks.append((kind, body))
        at += 8 + length + length % 2
    if chunks and chunks[0][0] == b"VP8X":
        flags = chunks[0][1][0] & ~(_WEBP_EXIF | _WEBP_XMP)
        flags |= _WEBP_EXIF if block else 0
        chunks[0] = (b"VP8X", bytes([flags]) + chunks[0][1][1:])
        chunks += [(b"EXIF", block)] if block else []
    body = b"".join(
        struct.pack("<4sI", kind, len(part)) + part + b"\x00" * (len(part) % 2)
        for kind, part in chunks
    )
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body
