"""CIELAB, linear light and sRGB, for arrays and for single colours.

CIELAB here always means white D65, 2 degree observer. The formulas in NumPy, tested against
colormath's conversions, which load networkx: too long a wait for a command that names a colour.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from stash.errors import PaletteError

__all__ = [
    "D65_WHITE",
    "FloatArray",
    "Lab",
    "chroma_of",
    "hex_of_lab",
    "lab_of_hex",
    "lab_of_linear",
    "lab_of_srgb",
    "lab_of_xyz",
    "linear_of_lab",
    "linear_of_srgb",
    "srgb_of_lab",
    "srgb_of_linear",
    "xyz_of_lab",
]

FloatArray: TypeAlias = NDArray[np.float64]
Lab: TypeAlias = tuple[float, float, float]

# White D65, 2 degree observer, as used with sRGB (IEC 61966-2-1).
D65_WHITE = np.array([0.95047, 1.0, 1.08883])

# Linear sRGB to CIE XYZ, IEC 61966-2-1 (four decimals are the standard's; these are the
# usual seven-decimal ones derived from the same primaries, so that white maps to D65_WHITE).
_XYZ_OF_RGB = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
_RGB_OF_XYZ = np.linalg.inv(_XYZ_OF_RGB)
# Oklab: cones of linear sRGB, and the two colour axes of their cube roots.
_CONES_OF_RGB = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_OPPONENTS_OF_CONES = np.array(
    [
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)
_EPSILON = 216 / 24389  # ISO/CIE 11664-4
_KAPPA = 24389 / 27


def linear_of_srgb(srgb: FloatArray) -> FloatArray:
    """Decode sRGB values (0..1, any shape) to linear light; source IEC 61966-2-1."""
    v = np.asarray(srgb, dtype=np.float64)
    return np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.04045) + 0.055) / 1.055) ** 2.4)


def srgb_of_linear(linear: FloatArray) -> FloatArray:
    """Encode linear light (any shape) as sRGB, clipped to 0..1; source IEC 61966-2-1."""
    v = np.clip(np.asarray(linear, dtype=np.float64), 0.0, 1.0)
    low = np.maximum(v, 0.0031308)
    return np.where(v <= 0.0031308, v * 12.92, 1.055 * low ** (1 / 2.4) - 0.055)


def lab_of_linear(linear: FloatArray) -> FloatArray:
    """Turn linear sRGB (..., 3) into CIELAB, white D65; source ISO/CIE 11664-4.

    Values outside 0..1 are allowed: real cyans lie outside sRGB.
    """
    return lab_of_xyz(np.asarray(linear, dtype=np.float64) @ _XYZ_OF_RGB.T)


def lab_of_xyz(xyz: FloatArray) -> FloatArray:
    """Turn XYZ (..., 3), Y of white 1, into CIELAB, white D65; source ISO/CIE 11664-4."""
    xyz = np.asarray(xyz, dtype=np.float64) / D65_WHITE
    f, dark = np.cbrt(xyz), xyz <= _EPSILON
    f[dark] = (_KAPPA * xyz[dark] + 16) / 116
    lab = np.empty_like(f)
    lab[..., 0] = 116 * f[..., 1] - 16
    lab[..., 1] = 500 * (f[..., 0] - f[..., 1])
    lab[..., 2] = 200 * (f[..., 1] - f[..., 2])
    return np.asarray(lab)


def linear_of_lab(lab: FloatArray) -> FloatArray:
    """Turn CIELAB, white D65 (..., 3) into linear sRGB, not clipped; source ISO/CIE 11664-4."""
    return np.asarray(xyz_of_lab(lab) @ _RGB_OF_XYZ.T, dtype=np.float64)


def xyz_of_lab(lab: FloatArray, *, white: FloatArray = D65_WHITE) -> FloatArray:
    """Turn CIELAB (..., 3) under a white into XYZ, Y of white 1; source ISO/CIE 11664-4."""
    values = np.asarray(lab, dtype=np.float64)
    fy = (values[..., 0] + 16) / 116
    f = np.stack([fy + values[..., 1] / 500, fy, fy - values[..., 2] / 200], axis=-1)
    xyz = np.where(f**3 > _EPSILON, f**3, (116 * f - 16) / _KAPPA) * white
    return np.asarray(xyz, dtype=np.float64)


def lab_of_srgb(srgb: FloatArray) -> FloatArray:
    """Turn sRGB values 0..1 (..., 3) into CIELAB, white D65."""
    return lab_of_linear(linear_of_srgb(srgb))


def srgb_of_lab(lab: FloatArray) -> FloatArray:
    """Turn CIELAB, white D65 (..., 3) into sRGB 0..1, clipped to what a screen shows."""
    return srgb_of_linear(linear_of_lab(lab))


def chroma_of(lab: FloatArray) -> FloatArray:
    """Give the chroma C*ab of CIELAB colours (..., 3)."""
    values = np.asarray(lab, dtype=np.float64)
    return np.hypot(values[..., 1], values[..., 2])


def even_hues(lab: FloatArray) -> FloatArray:
    """Give the hue, radians, of CIELAB colours, white D65 (..., 3), as it looks at any strength.

    CIELAB's own turns blues to purple as they grow stronger; the angle in Oklab does not.

    References
    ----------
    Björn Ottosson, "A perceptual color space for image processing" (2020), public domain.
    """
    cones = np.cbrt(linear_of_lab(lab) @ _CONES_OF_RGB.T)
    opponents = cones @ _OPPONENTS_OF_CONES.T
    return np.asarray(np.arctan2(opponents[..., 1], opponents[..., 0]), dtype=np.float64)


def lab_of_hex(text: str) -> Lab:
    """Read a hex colour such as ``#1f3f7a`` (sRGB) as CIELAB, white D65.

    Raises
    ------
    PaletteError
        If the text is not six hex digits.

    Examples
    --------
    >>> [round(v, 1) for v in lab_of_hex("#ffffff")][0]
    100.0
    """
    digits = text.strip().lstrip("#")
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    if len(digits) != 6 or any(digit not in "0123456789abcdefABCDEF" for digit in digits):
        raise PaletteError(f"“{text}” is not a hex colour; write six digits such as #1f3f7a.")
    lightness, a, b = lab_of_srgb(np.array(list(bytes.fromhex(digits))) / 255).tolist()
    return (lightness, a, b)


def hex_of_lab(lab: Lab) -> str:
    """Write a CIELAB colour, white D65, as the nearest sRGB hex colour, ``#rrggbb``."""
    return "#" + bytes(np.rint(255 * srgb_of_lab(np.array(lab))).astype(np.uint8)).hex()
