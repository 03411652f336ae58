"""What a file is, told by its first bytes."""

from __future__ import annotations

__all__ = [
    "begins_as_photo",
    "jpeg_has_its_end",
    "kind_that_is_no_photo",
    "looks_like_heif",
    "progressive_scans",
]

_RAW = "This is a camera raw file; it cannot be measured. Export it as JPEG or HEIC and log that."
_VIDEO = "This is a video, not a photo. Take a still photo of the scraps and the card."
_JPEG_XL = "This is a JPEG XL picture, which cannot be read here. Save it as JPEG, HEIC or PNG."
_DRAWING = "This file is a drawing (SVG), not a photo."
_STARTS = (
    (b"%PDF", "This file is a PDF document, not a photo."),
    (b"%!PS", "This file is a printed document (PostScript), not a photo."),
    (b"PK\x03\x04", "This file is a packed folder (zip), not a photo. Unpack it first."),
    (b"GIMP", "This file is a palette or drawing, not a photo."),
    (b"gimp xcf", "This file is a layered drawing, not a photo. Export it as JPEG or PNG."),
    (b"8BPS", "This file is a layered drawing, not a photo. Export it as JPEG or PNG."),
    (b"FUJIFILMCCD-RAW", _RAW),
    (b"IIRO", _RAW),
    (b"IIRS", _RAW),
    (b"IIU\x00", _RAW),
    (b"MMOR", _RAW),
    (b"FOVb", _RAW),
    (b"\x00MRM", _RAW),
    (b"\xff\x0a", _JPEG_XL),
    (b"\x00\x00\x00\x0cJXL \x0d\x0a", _JPEG_XL),
    (b"\x00\x00\x00\x0cjP  \x0d\x0a", "This is a JPEG 2000 picture. Save it as plain JPEG or PNG."),
    (b"\xff\x4f\xff\x51", "This is a JPEG 2000 picture. Save it as plain JPEG or PNG."),
    (b"\x1aE\xdf\xa3", _VIDEO),
)
_PICTURES = (b"\xff\xd8", b"\x89PNG", b"GIF8", b"RIFF", b"II", b"MM", b"BM", b"\x00\x00")
_HEIF = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"heif"}
_VIDEO_BRANDS = {b"qt  ", b"mp41", b"mp42", b"isom", b"M4V ", b"3gp4", b"3gp5", b"iso2"}


def kind_that_is_no_photo(data: bytes) -> str | None:
    """Say in one sentence what a file is when it is surely no photo, else None."""
    for start, text in _STARTS:
        if data.startswith(start):
            return text
    if b"%PDF-" in data[:1024] and not data.startswith(_PICTURES):
        return _STARTS[0][1]  # ISO 32000-1, annex H: readers take the mark anywhere there
    return _kind_by_container(data) or _text_kind(data[:4096])


def _kind_by_container(data: bytes) -> str | None:
    brand = data[8:12] if data[4:8] == b"ftyp" else b""
    if brand == b"crx " or (data[8:10] == b"CR" and data[:2] == b"II"):
        return _RAW
    if brand in _VIDEO_BRANDS or (data[:4] == b"RIFF" and data[8:12] == b"AVI "):
        return _VIDEO
    return None


def _text_kind(head: bytes) -> str | None:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")) or head[1:2] == b"\x00" or head[:1] == b"\x00":
        head = head.removeprefix(b"\xff\xfe").removeprefix(b"\xfe\xff").replace(b"\x00", b"")
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if text.startswith(b"<") and b"<svg" in text:
        return _DRAWING
    if text.startswith((b"<", b"{", b"[")):
        return "This file is a text document, not a photo."
    return None


def begins_as_photo(data: bytes) -> bool:
    """Whether the file begins as a JPEG, PNG, GIF or WebP does, however it goes on."""
    starts = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"GIF87a", b"GIF89a")
    return data.startswith(starts) or (data[:4] == b"RIFF" and data[8:12] == b"WEBP")


def looks_like_heif(data: bytes) -> bool:
    """Whether the file is of the HEIC family (ISO/IEC 23008-12), AVIF left aside."""
    if data[4:8] != b"ftyp":
        return False
    length = min(int.from_bytes(data[:4], "big"), 512)
    brands = {data[8:12], *(data[at : at + 4] for at in range(16, length, 4))}
    return bool(brands & _HEIF) and not brands & {b"avif", b"avis"}


def jpeg_has_its_end(data: bytes) -> bool:
    """Whether an end mark (ISO/IEC 10918-1, 0xFFD9) follows the first scan.

    A copy that was broken off may have its full length, filled up with zeros; these decode to
    something, so the picture library says nothing. A preview in the details has an end of its own
    and is passed over.
    """
    at = 2
    while data[at : at + 1] == b"\xff" and at + 4 <= len(data):
        mark = data[at + 1]
        if mark == 0xDA:
            return data.find(b"\xff\xd9", at) >= 0
        if mark == 0xFF:  # a fill byte
            at += 1
        else:
            at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return True  # laid out in another way; the decoder decides


def progressive_scans(data: bytes) -> int:
    """Count the start-of-scan marks (ISO/IEC 10918-1, 0xFFDA) of a JPEG."""
    return data.count(b"\xff\xda")
