"""Sheets of paper and further cards that lie on the table beside the scraps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from stash.colour.spaces import FloatArray
from stash.demo.fabrics import Float32Array

__all__ = ["PrintedSheet"]


@dataclass(frozen=True, eq=False)
class PrintedSheet:
    """A rectangle with something printed on it.

    Attributes
    ----------
    tile : float32, shape (height, width, 3)
        Linear reflectance of all of it.
    side_in : tuple of float
        Its width and height.
    at_in : tuple of float
        Its middle, from the board's upper left corner.
    turn_deg : float
        How it is turned.
    on_scraps : bool
        It was laid down without looking: scraps may lie under it.
    """

    tile: Float32Array
    side_in: tuple[float, float]
    at_in: tuple[float, float]
    turn_deg: float = 0.0
    on_scraps: bool = False

    @property
    def corners_in(self) -> FloatArray:
        """Its corners (4, 2) on the board, from the tile's upper left one on."""
        turn = np.deg2rad(self.turn_deg)
        across = np.array([np.cos(turn), np.sin(turn)]) * self.side_in[0] / 2
        down = np.array([-np.sin(turn), np.cos(turn)]) * self.side_in[1] / 2
        signs = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
        return np.asarray(signs @ np.array([across, down]) + self.at_in)

    @property
    def shape(self) -> Polygon:
        """Its outline on the board."""
        return Polygon(self.corners_in)
