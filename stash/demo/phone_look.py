"""What phones do to a picture before they save it: vivid colours, deep shadows, soft highlights.

How phones render is not published; the two looks are our own judgement of what real photos of
charts show: strong squares at the end of a channel, light greys pressed together, bright rims
along edges and fine weave wiped away.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["PHONE_LOOKS", "PhoneLook", "rendered"]

_LUMA = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)  # IEC 61966-2-1
_BAND_ROWS = 512
_RIM_PX = 1.4


@dataclass(frozen=True, slots=True)
class PhoneLook:
    """How far a phone goes; all in encoded values, 0 is nothing.

    Attributes
    ----------
    vivid : float
        Colours are so much farther from their own grey.
    contrast : float
        Share of a smooth S laid over the tones.
    shoulder : float
        From 1 minus this on, light tones are pressed together.
    rim : float
        Share of the fine detail that is added once more along edges.
    wiped : float
        Share of noise and fine weave that is taken away.
    """

    vivid: float
    contrast: float
    shoulder: float
    rim: float
    wiped: float


PHONE_LOOKS: Mapping[str, PhoneLook] = MappingProxyType(
    {
        "none": PhoneLook(0.0, 0.0, 0.0, 0.0, 0.0),
        "mild": PhoneLook(0.2, 0.25, 0.2, 0.3, 0.4),
        "strong": PhoneLook(0.45, 0.8, 0.4, 0.7, 0.9),
    }
)


def rendered(pixels_srgb: NDArray[np.uint8], look: PhoneLook) -> NDArray[np.uint8]:
    """Give a picture (height, width, 3) as a phone would save it."""
    if look == PHONE_LOOKS["none"]:
        return pixels_srgb
    wiped = cv2.bilateralFilter(pixels_srgb, 5, 12, 2) if look.wiped else pixels_srgb
    calm = cv2.addWeighted(pixels_srgb, 1 - look.wiped, wiped, look.wiped, 0)
    bent = np.empty_like(calm)
    for top in range(0, len(calm), _BAND_ROWS):  # a whole photo in floats would take 150 MB
        band = calm[top : top + _BAND_ROWS].astype(np.float32) / np.float32(255)
        bent[top : top + _BAND_ROWS] = np.rint(255 * _bent(band, look))
    soft = cv2.GaussianBlur(bent, (0, 0), _RIM_PX)
    return np.asarray(cv2.addWeighted(bent, 1 + look.rim, soft, -look.rim, 0), dtype=np.uint8)


def _bent(tones: NDArray[np.floating], look: PhoneLook) -> NDArray[np.floating]:
    grey = (tones @ _LUMA)[..., None]
    vivid = np.clip(grey + (tones - grey) * (1 + look.vivid), 0, 1)
    steep = vivid + look.contrast * (np.sin((vivid - 0.5) * np.pi) / 2 + 0.5 - vivid)
    if not look.shoulder:
        return steep
    knee = 1 - look.shoulder
    over = np.maximum(steep - knee, 0) / look.shoulder
    return np.where(steep > knee, knee + look.shoulder * 0.95 * np.tanh(1.1 * over), steep)
