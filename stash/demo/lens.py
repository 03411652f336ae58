"""A phone held over a table: where each inch of the board falls in the photo."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from stash.colour.spaces import FloatArray
from stash.demo.fabrics import Float32Array

__all__ = ["MadeLens", "aim"]

_FOCAL_WIDTHS = (
    0.75  # a phone's main lens: focal length over the picture's long side (26 mm equiv.)
)

_CELL_PX = 8  # a lens bends so little over a cell that straight lines do


@dataclass(frozen=True)
class MadeLens:
    """Perspective and one radial term.

    Attributes
    ----------
    image_from_board : float64, shape (3, 3)
        Homography from board inches to pixels, before the lens bends them.
    size_px : tuple of int
        Width, height.
    k1 : float
        Radial term: a point at radius r (in half diagonals) moves to r (1 + k1 r^2).
    """

    image_from_board: FloatArray
    size_px: tuple[int, int]
    k1: float = 0.0

    @property
    def _frame(self) -> tuple[FloatArray, float]:
        width, height = self.size_px
        return np.array([(width - 1) / 2, (height - 1) / 2]), float(np.hypot(width, height) / 2)

    def to_pixels(self, board_in: FloatArray) -> FloatArray:
        """Project board points (n, 2) in inches to pixels (pixel centres at whole numbers)."""
        points = np.asarray(board_in, dtype=np.float64).reshape(-1, 2)
        flat = np.c_[points, np.ones(len(points))] @ self.image_from_board.T
        centre, half = self._frame
        straight = (flat[:, :2] / flat[:, 2:] - centre) / half
        bent = straight * (1 + self.k1 * (straight**2).sum(axis=1, keepdims=True))
        return np.asarray(bent * half + centre, dtype=np.float64)

    def to_board(self, pixels: FloatArray) -> FloatArray:
        """Give the board inches (n, 2) seen at pixels (n, 2)."""
        centre, half = self._frame
        bent = (np.asarray(pixels, dtype=np.float64).reshape(-1, 2) - centre) / half
        straight = bent
        for _ in range(6):  # converges by a factor k1 each time
            straight = bent / (1 + self.k1 * (straight**2).sum(axis=1, keepdims=True))
        flat = np.c_[straight * half + centre, np.ones(len(bent))]
        flat = flat @ np.linalg.inv(self.image_from_board).T
        return np.asarray(flat[:, :2] / flat[:, 2:], dtype=np.float64)

    def board_maps(self) -> tuple[Float32Array, Float32Array]:
        """Give board x and board y in inches at every pixel, each (height, width).

        Exact on a coarse grid, linear in between. Enlarged as a picture is: sampling it with
        ``cv2.remap``, which counts in 1/32 of a cell, would lay all down by steps of 1/4 pixel.
        """
        width, height = self.size_px
        across, down = (np.arange(-1, side // _CELL_PX + 2) for side in (width, height))
        grid = np.stack(np.meshgrid(across, down), axis=-1).astype(np.float64)
        grid = grid * _CELL_PX + (_CELL_PX - 1) / 2
        board = self.to_board(grid.reshape(-1, 2)).reshape(grid.shape).astype(np.float32)
        size = (len(across) * _CELL_PX, len(down) * _CELL_PX)
        fine = cv2.resize(board, size, interpolation=cv2.INTER_LINEAR)
        both = fine[_CELL_PX : _CELL_PX + height, _CELL_PX : _CELL_PX + width]
        return np.ascontiguousarray(both[..., 0]), np.ascontiguousarray(both[..., 1])


def aim(
    board_in: tuple[float, float],
    size_px: tuple[int, int],
    *,
    tilt_deg: float,
    towards_deg: float,
    k1: float,
) -> MadeLens:
    """Hold the phone so that the whole board just fits the picture.

    Parameters
    ----------
    board_in : tuple of float
        Width, height of what must be seen, inches; its corner is the board's origin.
    size_px : tuple of int
        The photo's width, height.
    tilt_deg, towards_deg : float
        How far the phone is from flat above the board, and in which direction it leans.
    k1 : float
        See ``Lens``.
    """
    turn, lean = np.deg2rad(towards_deg), np.deg2rad(tilt_deg)
    axis = np.array([np.cos(turn), np.sin(turn), 0.0]) * lean
    rotation = np.asarray(cv2.Rodrigues(axis)[0], dtype=np.float64)
    focal = _FOCAL_WIDTHS * max(size_px)
    centre = np.array([(size_px[0] - 1) / 2, (size_px[1] - 1) / 2])
    intrinsic = np.array([[focal, 0, centre[0]], [0, focal, centre[1]], [0, 0, 1]])
    to_middle = np.array([[1, 0, -board_in[0] / 2], [0, 1, -board_in[1] / 2], [0, 0, 1.0]])
    corners = np.array([[0, 0], [board_in[0], 0], list(board_in), [0, board_in[1]]])
    distance = 0.5 * max(board_in)
    while True:
        place = np.column_stack([rotation[:, 0], rotation[:, 1], [0, 0, distance]])
        lens = MadeLens(intrinsic @ place @ to_middle, size_px, k1)
        seen = lens.to_pixels(corners)
        if (seen >= 0).all() and (seen <= np.array(size_px) - 1).all():
            return lens
        distance *= 1.01
