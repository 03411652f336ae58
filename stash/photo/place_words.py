"""Where in a photo something lies, in words."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["place_words"]


def place_words(at_px: Sequence[float], size_px: tuple[int, int]) -> str:
    """Say in which ninth of a photo of that width and height a point lies.

    >>> place_words((1500, 100), (1600, 1200)), place_words((800, 600), (1600, 1200))
    ('top right', 'middle')
    """
    across, down = (
        min(2, max(0, int(3 * at / side))) for at, side in zip(at_px, size_px, strict=True)
    )
    words = (("top", "", "bottom")[down], ("left", "", "right")[across])
    return " ".join(word for word in words if word) or "middle"
