"""A 24-patch chart photographed by arithmetic: every pixel's place on the table is known."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.spaces import srgb_of_linear
from stash.photo.cards.card import CHART24_LINEAR

PITCH_IN = 0.55
_FRAME = (0.03, 0.03, 0.03)
_BACKING = (0.45, 0.46, 0.44)


@dataclass(frozen=True)
class Camera:
    """A camera above the table; the defaults are a phone held almost level.

    ``tilt_deg`` leans it, ``turn_deg`` turns the card, ``at_in`` is where the card's centre lies
    from the middle of the picture, ``radial`` bends the picture as `stash.photo.inches.plane` means
    it.
    """

    width: int = 1200
    height: int = 900
    px_per_in: float = 68.0
    tilt_deg: float = 8.0
    turn_deg: float = 20.0
    at_in: tuple[float, float] = (3.0, 1.5)
    focal_sides: float = 1.1
    radial: float = 0.0


def table_of(camera: Camera) -> tuple[np.ndarray, np.ndarray]:
    """Give the inches in the card's frame (height, width) x and y that each pixel shows."""
    columns, rows = np.meshgrid(np.arange(camera.width), np.arange(camera.height))
    px = np.column_stack([columns.ravel(), rows.ravel()]).astype(float)
    inches = inches_of(camera, px)
    return inches[:, 0].reshape(rows.shape), inches[:, 1].reshape(rows.shape)


def inches_of(camera: Camera, px: np.ndarray) -> np.ndarray:
    """Give the card-frame inches that pixels (n, 2) show."""
    middle = np.array([(camera.width - 1) / 2, (camera.height - 1) / 2])
    away = px - middle
    radius = max(camera.width, camera.height) / 2
    away = away * (1 + camera.radial * np.sum(away**2, axis=1, keepdims=True) / radius**2)
    focal = camera.focal_sides * max(camera.width, camera.height)
    height_in = focal / camera.px_per_in
    lean = np.radians(camera.tilt_deg)
    rays = np.column_stack([away / focal, np.ones(len(away))])
    # The table leans about the picture's x axis; its middle is `height_in` before the lens.
    depth = height_in / (rays[:, 2] - rays[:, 1] * np.tan(lean))
    table = np.column_stack([rays[:, 0] * depth, rays[:, 1] * depth / np.cos(lean)])
    turn = np.radians(camera.turn_deg)
    off = table - np.array(camera.at_in)
    # The picture's y runs down, the card's up.
    return off @ np.array([[np.cos(turn), np.sin(turn)], [np.sin(turn), -np.cos(turn)]])


def photo_of(
    camera: Camera | None = None,
    *,
    patches: np.ndarray = CHART24_LINEAR,
    exposure: float = 0.9,
    blur_px: float = 0.7,
    seed: int = 1,
    finer: int = 2,
) -> np.ndarray:
    """Photograph the chart: uint8 sRGB; drawn ``finer`` times finer, then averaged."""
    camera = camera or Camera()
    fine = Camera(
        **{
            **camera.__dict__,
            "width": camera.width * finer,
            "height": camera.height * finer,
            "px_per_in": camera.px_per_in * finer,
        }
    )
    light = np.empty((fine.height, fine.width, 3), dtype=np.float32)
    x, y = table_of(fine)
    light[:] = _BACKING
    light[(np.abs(x) < 3.4 * PITCH_IN) & (np.abs(y) < 2.4 * PITCH_IN)] = _FRAME
    column, row = np.rint(x / PITCH_IN + 2.5), np.rint(1.5 - y / PITCH_IN)
    on_patch = (
        (np.abs(x / PITCH_IN + 2.5 - column) < 0.43)
        & (np.abs(1.5 - y / PITCH_IN - row) < 0.43)
        & (column >= 0) & (column < 6) & (row >= 0) & (row < 4)
    )  # fmt: skip
    index = (row[on_patch] * 6 + column[on_patch]).astype(int)
    light[on_patch] = np.maximum(patches, 0)[index]
    small = cv2.resize(light, (camera.width, camera.height), interpolation=cv2.INTER_AREA)
    if blur_px:
        small = cv2.GaussianBlur(small, (0, 0), blur_px)
    noise = np.random.default_rng(seed).normal(0, 0.004, small.shape)
    return np.rint(255 * srgb_of_linear(small * exposure + noise)).astype(np.uint8)
