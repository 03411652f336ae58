"""What scraps are laid on to be photographed: flannel, board, wood, cutting mat, tablecloth."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

import cv2
import numpy as np

from stash.demo.fabrics import FABRICS, TILE_PX_PER_IN, Float32Array, weave

__all__ = ["BACKINGS", "lay_backing"]

_TILE_IN = 4  # longer than any scrap's neighbourhood, so that no repeat shows

# Linear reflectance of the plain ones and the grain of their surface (share of it).
_PLAIN: Mapping[str, tuple[tuple[float, float, float], float]] = MappingProxyType(
    {
        "white flannel": ((0.80, 0.79, 0.77), 0.025),
        "grey flannel": ((0.46, 0.46, 0.45), 0.035),
        "dark board": ((0.045, 0.047, 0.052), 0.04),
        "blue sheet": ((0.12, 0.22, 0.42), 0.03),
        "pink blanket": ((0.62, 0.36, 0.38), 0.06),
        "cream paper": ((0.82, 0.76, 0.62), 0.008),
    }
)


def lay_backing(name: str, *, rng: np.random.Generator) -> tuple[Float32Array, float]:
    """Give a backing as a repeating tile of linear reflectance and the tile's side in inches.

    Raises
    ------
    ValueError
        If the name is none of ``BACKINGS``.
    """
    if name not in BACKINGS:
        raise ValueError(f"backing must be one of {sorted(BACKINGS)}, got {name!r}")
    return BACKINGS[name](rng)


def _plain(name: str) -> Callable[[np.random.Generator], tuple[Float32Array, float]]:
    def lay(rng: np.random.Generator) -> tuple[Float32Array, float]:
        """Lay plain cloth, linear light, and say how wide a tile of it is, inches."""
        colour, grain = _PLAIN[name]
        return _grained(np.array(colour, dtype=np.float32), grain, rng), _TILE_IN

    return lay


def _grained(colour: Float32Array, grain: float, rng: np.random.Generator) -> Float32Array:
    side_px = _TILE_IN * TILE_PX_PER_IN
    fine = rng.standard_normal((side_px, side_px)).astype(np.float32)
    nap = cv2.GaussianBlur(np.pad(fine, 16, mode="wrap"), (0, 0), 2.5)[16:-16, 16:-16]
    mixed = 0.6 * fine + 0.8 * nap / nap.std()
    return np.asarray(np.clip(colour * (1 + grain * mixed[..., None]), 0, 0.98), dtype=np.float32)


def _wood(rng: np.random.Generator) -> tuple[Float32Array, float]:
    """A table top: fine and broad streaks along x, as planks have."""
    tile = _grained(np.array([0.42, 0.30, 0.19], dtype=np.float32), 0.03, rng)
    side_px = len(tile)
    for width_px, strength in ((2.0, 0.10), (14.0, 0.09)):
        lines = rng.standard_normal((side_px, side_px)).astype(np.float32)
        wide = np.pad(lines, 240, mode="wrap")
        streaks = cv2.GaussianBlur(wide, (0, 0), sigmaX=70, sigmaY=width_px)[240:-240, 240:-240]
        tile = tile * (1 + strength * (streaks / streaks.std())[..., None])
    return np.clip(tile, 0.01, 0.98).astype(np.float32), _TILE_IN


def _mat(rng: np.random.Generator) -> tuple[Float32Array, float]:
    """A self-healing mat: a grid every inch, ticks every quarter."""
    tile = _grained(np.array([0.035, 0.10, 0.085], dtype=np.float32), 0.03, rng)
    ink = np.array([0.50, 0.55, 0.42], dtype=np.float32)
    step = TILE_PX_PER_IN
    for line in range(0, len(tile), step):
        tile[line : line + 4], tile[:, line : line + 4] = ink, ink
    for tick in range(0, len(tile), step // 4):
        for line in range(0, len(tile), step):
            tile[tick : tick + 2, line : line + step // 10] = ink
            tile[line : line + step // 10, tick : tick + 2] = ink
    return tile, _TILE_IN


def _tablecloth(fabric: str) -> Callable[[np.random.Generator], tuple[Float32Array, float]]:
    def lay(rng: np.random.Generator) -> tuple[Float32Array, float]:
        """Lay printed cloth, linear light, and say how wide its repeat is, inches."""
        del rng
        return weave(FABRICS[fabric]), FABRICS[fabric].repeat_in

    return lay


BACKINGS: Mapping[str, Callable[[np.random.Generator], tuple[Float32Array, float]]] = (
    MappingProxyType(
        {
            **{name: _plain(name) for name in _PLAIN},
            "wood table": _wood,
            "cutting mat": _mat,
            "checked tablecloth": _tablecloth("oatmeal check"),
            "flowered tablecloth": _tablecloth("dune grass"),
        }
    )
)
