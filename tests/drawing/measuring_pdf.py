"""Render PDF pages and measure what is drawn on them, in inches."""

from __future__ import annotations

import numpy as np
import pypdfium2

DPI = 300  # a pixel is 0.085 mm


def pages_of(data: bytes) -> int:
    """Count the pages."""
    document = pypdfium2.PdfDocument(data)
    try:
        return len(document)
    finally:
        document.close()


def page_text(data: bytes, page: int = 0) -> str:
    """Read the words of a page as a reader would copy them."""
    document = pypdfium2.PdfDocument(data)
    try:
        return document[page].get_textpage().get_text_bounded()
    finally:
        document.close()


def page_with(data: bytes, words: str) -> int:
    """Find the first page that says so."""
    return next(page for page in range(pages_of(data)) if words in page_text(data, page))


def page_pixels(data: bytes, page: int = 0, *, dpi: int = DPI):
    """Render a page in grey, uint8; 0 is black."""
    document = pypdfium2.PdfDocument(data)
    try:
        bitmap = document[page].render(scale=dpi / 72, grayscale=True)
        return np.array(bitmap.to_numpy()).squeeze()
    finally:
        document.close()


def dark_shapes(pixels, *, dark: int = 90):
    """Give the boxes of connected dark lines: left, top, right, bottom, inches, largest first.

    A box ends in the middle of its lines, so it is as large as the shape that was drawn.
    """
    import cv2

    mask = (pixels < dark).astype(np.uint8)
    _, _, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    boxes = [(x, y, x + w, y + h) for x, y, w, h, _ in stats[1:]]
    return sorted(
        (tuple(side / DPI for side in box) for box in boxes),
        key=lambda box: (box[0] - box[2]) * (box[3] - box[1]),
    )
