"""A flat table seen through a lens, as eight numbers.

Two for the place of the card's centre, log scale, turn, two for how nearness (1 / depth) changes
over the photo, log focal length, and the radial term of the lens. A card's patches tell them almost
independently of each other. Lengths are counted in half the photo's long side.
"""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np

from stash.colour.spaces import FloatArray
from stash.photo.cards.patch_edges import project

__all__ = ["Frame", "homography_of", "inches_of", "numbers_of", "straightened"]

# Where the lens' axis meets the photo (2,), and half the long side, pixels.
Frame: TypeAlias = tuple[FloatArray, float]


def numbers_of(image_from_card: FloatArray, frame: Frame, focal_sides: float) -> FloatArray:
    """Give the eight numbers for a homography, as far as it tells them."""
    middle, radius = frame
    centred = np.array([[1, 0, -middle[0]], [0, 1, -middle[1]], [0, 0, 1.0]]) @ image_from_card
    here, right, up = project(centred, np.array([[0, 0], [0.01, 0], [0, 0.01]]))
    right, up = (right - here) / 0.01, (up - here) / 0.01
    area = abs(right[0] * up[1] - right[1] * up[0])
    nearness = np.linalg.inv(centred)[2]  # 1 / depth, linear over the photo
    at_card = nearness @ np.array([*here, 1.0])
    turn = np.arctan2(right[1] + up[0], right[0] - up[1])
    return np.array(
        [
            *(here / radius),
            0.5 * np.log(area) - np.log(radius),
            turn,
            *(nearness[:2] * radius / at_card),
            np.log(focal_sides),
            0.0,
        ]
    )


def homography_of(numbers: FloatArray, frame: Frame) -> FloatArray:
    """Build the homography (3, 3) from inches to pixels of a photo without lens distortion.

    Depth is counted in that of the card's centre. The table's y runs up, the photo's down.
    """
    middle, radius = frame
    u, v, log_scale, turn, slope_u, slope_v, log_focal, _ = numbers
    focal = 2 * np.exp(log_focal)
    normal = np.array([slope_u * focal, slope_v * focal, 1 - slope_u * u - slope_v * v])
    x, y, z = normal / math.sqrt(normal @ normal)
    flat = math.hypot(y, z)
    across = np.array([flat, -x * y / flat, -x * z / flat])
    down = np.array([0.0, z / flat, -y / flat])  # at right angles to both
    size = np.exp(log_scale) / focal
    cos, sin = size * np.cos(turn), size * np.sin(turn)
    pose = np.column_stack(
        [cos * across + sin * down, sin * across - cos * down, [u / focal, v / focal, 1.0]]
    )
    lens = np.array([[radius * focal, 0, middle[0]], [0, radius * focal, middle[1]], [0, 0, 1.0]])
    return np.asarray(lens @ pose)


def inches_of(numbers: FloatArray, px: FloatArray, frame: Frame) -> FloatArray:
    """Map pixels (n, 2) to inches."""
    inverse = np.asarray(np.linalg.inv(homography_of(numbers, frame)), dtype=np.float64)
    return project(inverse, straightened(px, numbers[7], frame))


def straightened(px: FloatArray, radial: float, frame: Frame) -> FloatArray:
    """Give where pixels (n, 2) would lie without lens distortion."""
    middle, radius = frame
    away = px - middle
    far = np.einsum("ni,ni->n", away, away) / radius**2
    return np.asarray(middle + away * (1 + radial * far)[:, None])
