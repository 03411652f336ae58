"""Where a point of the table lies in a logged photo."""

from __future__ import annotations

import numpy as np

from stash.colour.spaces import FloatArray
from stash.scrap import PhotoView

__all__ = ["to_inches", "to_pixels"]

_ROUNDS = 8  # Newton steps; three suffice for the lenses of phones


def to_pixels(view: PhotoView, points_in: FloatArray) -> FloatArray:
    """Map points of the table (n, 2), inches in the card's frame, to pixels of the photo.

    The inverse of "an undistorted pixel lies at 1 + radial * r^2 times its distance".
    """
    matrix = np.array(view.image_from_inches).reshape(3, 3)
    points = np.asarray(points_in, dtype=np.float64)
    straight = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    away = straight[:, :2] / straight[:, 2:] - np.array(view.middle_px)
    far = np.hypot(away[:, 0], away[:, 1]) / view.radius_px
    near = far.copy()
    for _ in range(_ROUNDS):
        near -= (near + view.radial * near**3 - far) / (1 + 3 * view.radial * near**2)
    share = np.divide(near, far, out=np.ones_like(far), where=far > 1e-12)
    return np.asarray(np.array(view.middle_px) + away * share[:, None])


def to_inches(view: PhotoView, points_px: FloatArray) -> FloatArray:
    """Map pixels of the photo (n, 2) to points of the table, inches in the card's frame."""
    away = np.asarray(points_px, dtype=np.float64) - np.array(view.middle_px)
    far = np.hypot(away[:, 0], away[:, 1]) / view.radius_px
    straight = np.array(view.middle_px) + away * (1 + view.radial * far**2)[:, None]
    back = np.linalg.inv(np.array(view.image_from_inches).reshape(3, 3))
    flat = np.column_stack([straight, np.ones(len(straight))]) @ back.T
    return np.asarray(flat[:, :2] / flat[:, 2:])
