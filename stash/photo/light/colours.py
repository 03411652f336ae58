"""What measuring scraps asks of their colours, whoever knows them: a card, or the file itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import (
    FloatArray,
    lab_of_linear,
    lab_of_srgb,
    linear_of_srgb,
    srgb_of_linear,
)

__all__ = ["Colours", "FileColours", "WhiteBalanced"]

_PAPER_Y = 0.86  # luminance of copy paper, L* 94; common practice, no source
_DARKEST = 0.02
# What colours by paper lie within, 95 in 100 (docs/measurements.md): greys and, a phone having made
# them vivid, strong colours; on 22 real photos of charts all lay within about as much as greys.
_GREY_DE00, _STRONG_DE00, _STRONG_CHROMA = 10.0, 20.0, 30.0


class Colours(Protocol):
    """True colours of a photo."""

    @property
    def error_de00(self) -> float:
        """Expected error, CIEDE2000."""

    @property
    def absolute(self) -> bool:
        """Whether colours are true and not only consistent."""

    def lab_of(self, srgb: FloatArray, at_px: FloatArray | None = None) -> FloatArray:
        """Give CIELAB, white D65 (n, 3) of encoded colours (n, 3), 0..1, seen at some pixels."""

    def sure_to(self, lab: FloatArray, at_px: FloatArray) -> float:
        """Give what a colour (3,) seen at a pixel (2,) is off by at most, 19 times in 20."""

    def lut3d(self, size: int = 33) -> NDArray[np.float32]:
        """Tabulate encoded colour to true colour, indexed blue, green, red; see Calibration."""


@dataclass(frozen=True, slots=True)
class FileColours:
    """Colours taken as the file says, by its profile.

    Attributes
    ----------
    error_de00 : float
        What is said of them, CIEDE2000.
    absolute : bool
        Whether they may stand beside measured ones.
    """

    error_de00: float
    absolute: bool = True

    def lab_of(self, srgb: FloatArray, at_px: FloatArray | None = None) -> FloatArray:
        """Give CIELAB, white D65; every place of the picture is lit alike."""
        del at_px
        return lab_of_srgb(srgb)

    def sure_to(self, lab: FloatArray, at_px: FloatArray) -> float:
        """Give what is said of them all."""
        del lab, at_px
        return self.error_de00

    def lut3d(self, size: int = 33) -> NDArray[np.float32]:
        """Give the table that changes nothing."""
        return _every_colour(size)


@dataclass(frozen=True, eq=False)
class WhiteBalanced:
    """Colours of a photo without a card, by something white in it. They are never absolute.

    Attributes
    ----------
    gains : float64, shape (3,)
        What linear light of each channel is multiplied by.
    error_de00 : float
        What is said of the photo as a whole, CIEDE2000; of one colour `sure_to` says it.
    """

    gains: FloatArray
    error_de00: float
    absolute: bool = False

    @classmethod
    def by_paper(cls, srgb: FloatArray, error_de00: float) -> WhiteBalanced:
        """Take an encoded colour (3,) for that of white paper in the photo's light."""
        return cls(_PAPER_Y / np.maximum(linear_of_srgb(srgb), _DARKEST), error_de00)

    def lab_of(self, srgb: FloatArray, at_px: FloatArray | None = None) -> FloatArray:
        """Give CIELAB, white D65; every place of the photo is taken to be lit alike."""
        del at_px
        return lab_of_linear(linear_of_srgb(np.asarray(srgb)) * self.gains)

    def sure_to(self, lab: FloatArray, at_px: FloatArray) -> float:
        """Say that strong colours are less sure than greys: nothing shows how vivid they are."""
        del at_px
        strong = min(float(np.hypot(lab[1], lab[2])) / _STRONG_CHROMA, 1.0)
        return _GREY_DE00 + strong * (_STRONG_DE00 - _GREY_DE00)

    def lut3d(self, size: int = 33) -> NDArray[np.float32]:
        """Give the table for whole pictures."""
        balanced = srgb_of_linear(
            linear_of_srgb(_every_colour(size).astype(np.float64)) * self.gains
        )
        return np.asarray(balanced, dtype=np.float32)


def _every_colour(size: int) -> NDArray[np.float32]:
    steps = np.linspace(0, 1, size, dtype=np.float32)
    blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")
    return np.stack([red, green, blue], axis=-1)
