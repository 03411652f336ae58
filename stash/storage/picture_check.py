"""Whether bytes that somebody else kept are a picture at all, before they are taken in."""

from __future__ import annotations

from io import BytesIO

__all__ = ["is_scrap_picture"]

_MOST_PIXELS = 100_000_000  # a scrap is a part of a photo, and phones take no larger ones


def is_scrap_picture(data: bytes) -> bool:
    """Say whether these bytes are a JPEG that can be drawn.

    Their hash says only that nothing happened to them since they were written, and a stranger
    writes hashes too. Every eighth pixel is decoded: that walks through all of the file.
    """
    from PIL import Image  # loaded only where something is brought back

    try:
        with Image.open(BytesIO(data), formats=["JPEG"]) as image:
            if image.width * image.height > _MOST_PIXELS:
                return False
            image.draft("RGB", (max(1, image.width // 8), max(1, image.height // 8)))
            image.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return False
    return True
