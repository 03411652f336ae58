"""Colour codes beside a picture without a profile: in PNG (cICP) and in AVIF and HEIC (nclx)."""

from __future__ import annotations

from PIL import Image

from stash.errors import NotAPhotoError

__all__ = ["check_no_hdr", "note_colour_codes"]

_LOOKED_AT = 65_536  # bytes at the beginning; both lie before the picture
_HDR = {16, 18}  # ISO/IEC 23091-2, transfer characteristics: PQ and HLG


def note_colour_codes(image: Image.Image, data: bytes) -> None:
    """Write the codes of a PNG or AVIF into its ``info``, as HEIC files already have them."""
    if image.format == "PNG":
        codes = _after(data, b"\x00\x00\x00\x04cICP", 2, width=1)
    elif image.format == "AVIF":
        codes = _after(data, b"colrnclx", 2, width=2)
    else:
        return
    if codes:
        image.info["nclx_profile"] = {
            "color_primaries": codes[0],
            "transfer_characteristics": codes[1],
        }


def check_no_hdr(image: Image.Image, name: str) -> None:
    """Refuse what is coded for very bright screens: read as usual, every colour would be wrong."""
    codes = image.info.get("nclx_profile")
    if isinstance(codes, dict) and codes.get("transfer_characteristics") in _HDR:
        raise NotAPhotoError(
            name,
            "This picture is stored for very bright (HDR) screens, so its colours cannot be "
            "measured. Turn HDR off in the camera, or save the photo as an ordinary JPEG.",
        )


def _after(data: bytes, mark: bytes, count: int, *, width: int) -> list[int]:
    """Give the numbers that follow a mark near the beginning, if it is there."""
    at = data[:_LOOKED_AT].find(mark)
    body = data[at + len(mark) : at + len(mark) + count * width]
    if at < 0 or len(body) < count * width:
        return []
    return [int.from_bytes(body[i : i + width], "big") for i in range(0, count * width, width)]
