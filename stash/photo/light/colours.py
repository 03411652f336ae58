"""What measuring scraps asks of their colours, whoever knows them: a card, or the file itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import FloatArray, lab_of_srgb

__all__ = ["Colours", "FileColours"]


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
        steps = np.linspace(0, 1, size, dtype=np.float32)
        blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")
        return np.stack([red, green, blue], axis=-1)
