"""From reflectance to an 8-bit photo: the lamp, the sensor's colour filters, tone and noise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.spaces import srgb_of_linear
from stash.demo.fabrics import Float32Array

__all__ = ["LIGHTS", "Light", "develop"]


@dataclass(frozen=True, slots=True)
class Light:
    """A light as the camera's white balance leaves it.

    Attributes
    ----------
    gains : tuple of float
        Red, green, blue; 1, 1, 1 is a perfect white balance.
    crosstalk : float
        How much each colour filter lets through of the others' light, 0..0.2.
    """

    gains: tuple[float, float, float]
    crosstalk: float


LIGHTS: Mapping[str, Light] = MappingProxyType(
    {
        "daylight": Light((1.0, 1.0, 1.0), 0.03),
        "overcast": Light((0.95, 1.0, 1.06), 0.04),
        "shade": Light((0.90, 1.0, 1.14), 0.05),
        "kitchen led": Light((1.06, 1.0, 0.90), 0.07),
        "evening lamp": Light((1.16, 1.0, 0.74), 0.09),
    }
)


def develop(
    scene: Float32Array,
    light: Light,
    *,
    exposure: float,
    noise: float,
    rng: np.random.Generator,
) -> NDArray[np.uint8]:
    """Turn the light that reaches the camera into pixels, sRGB-coded as phones do.

    Parameters
    ----------
    scene : float32, shape (height, width, 3)
        Linear sRGB reflectance times illumination, 1 = a white board in full light; overwritten.
    light : Light
        Colour of the lamp and the sensor's crosstalk.
    exposure : float
        1 puts a white board at 92 % of full scale in linear light.
    noise : float
        Standard deviation of sensor noise in mid-grey, as a share of full scale.
    rng : numpy.random.Generator
        Noise.
    """
    mix = np.full((3, 3), light.crosstalk) + (1 - 3 * light.crosstalk) * np.eye(3)
    matrix = (np.diag(light.gains) @ mix * exposure * 0.92).astype(np.float32)
    sensor = cv2.transform(scene, matrix)
    cv2.GaussianBlur(sensor, (0, 0), 0.6, dst=sensor)  # lens and demosaicing
    photo = np.empty(scene.shape, dtype=np.uint8)
    table = _tone_table()
    for top in range(0, len(sensor), 256):  # in bands: noise for 12 megapixels is 300 MB
        band = sensor[top : top + 256]
        grain = rng.standard_normal(band.shape, dtype=np.float32)
        band = band + grain * noise * np.sqrt(0.02 + np.maximum(band, 0)) / np.sqrt(0.2)
        coded = table[np.clip(band * 4095, 0, 4095).astype(np.int32)]
        dither = rng.random(band.shape, dtype=np.float32)
        photo[top : top + 256] = np.clip(coded + dither, 0, 255).astype(np.uint8)
    return photo


def _tone_table() -> Float32Array:
    """Code light as sRGB with a gentle S on top, the way phones deepen shadows; 0..255."""
    coded = srgb_of_linear(np.arange(4096) / 4095)
    s_curve = coded * coded * (3 - 2 * coded)
    return (255 * (0.8 * coded + 0.2 * s_curve)).astype(np.float32)
