"""Invented cloth: shirtings, ditsy prints, plaids, ginghams and solids as repeating tiles.

Every fabric is a recipe of a few words, so a scene can name it and its truth is known: the
kind of print, the colours, the length of the repeat. None of them exists.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

import cv2
import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import PrintKind
from stash.colour.spaces import linear_of_srgb

__all__ = [
    "FABRICS",
    "TILE_PX_PER_IN",
    "Float32Array",
    "InventedFabric",
    "weave",
]

Float32Array: TypeAlias = NDArray[np.float32]

# A 12-megapixel photo of a 17-inch board shows 237 pixels an inch; finer tiles would alias.
TILE_PX_PER_IN = 200
_PLAIN_TILE_IN = 2.0


@dataclass(frozen=True, slots=True)
class InventedFabric:
    """One invented fabric.

    Attributes
    ----------
    name : str
        What the scenes and the demo call it.
    kind : PrintKind
        How it is figured.
    inks : tuple of str
        The ground first, then the figures, as sRGB hex.
    repeat_in : float
        Length of the repeat, inches; 0 for plain cloth.
    grain : float
        Standard deviation of the weave's lightness, as a share of the reflectance.
    """

    name: str
    kind: PrintKind
    inks: tuple[str, ...]
    repeat_in: float = 0.0
    grain: float = 0.03

    @property
    def linear_inks(self) -> Float32Array:
        """The inks in linear sRGB, (n, 3)."""
        rows = [[int(ink[i : i + 2], 16) / 255 for i in (1, 3, 5)] for ink in self.inks]
        return np.asarray(linear_of_srgb(np.array(rows)), dtype=np.float32)


def weave(fabric: InventedFabric) -> Float32Array:
    """Paint one repeat of a fabric as linear reflectance (n, n, 3), ready to be tiled.

    The same fabric always gives the same tile: its name is the seed.
    """
    side_px = round((fabric.repeat_in or _PLAIN_TILE_IN) * TILE_PX_PER_IN)
    rng = np.random.default_rng(zlib.crc32(fabric.name.encode()))
    shares = _PAINTERS[fabric.kind](fabric, side_px, rng)
    figured = np.einsum("kyx,kc->yxc", shares, fabric.linear_inks, optimize=True)
    threads = _threads(side_px, rng) * fabric.grain
    return np.asarray(np.clip(figured * (1 + threads[..., None]), 0.0, 0.98), dtype=np.float32)


def _threads(side_px: int, rng: np.random.Generator) -> Float32Array:
    """Warp and weft: streaks along both directions plus fine noise, unit variance."""
    noise = [rng.standard_normal((side_px, side_px)).astype(np.float32) for _ in range(3)]
    along = [_wrapped_blur(noise[0], (1, 9)), _wrapped_blur(noise[1], (9, 1)), noise[2] * 0.6]
    mixed = sum((part / part.std() for part in along), np.zeros_like(noise[0]))
    return np.asarray(mixed / mixed.std(), dtype=np.float32)


def _wrapped_blur(tile: Float32Array, kernel: tuple[int, int]) -> Float32Array:
    pad = max(kernel)
    wide = np.pad(tile, pad, mode="wrap")
    return np.asarray(cv2.blur(wide, kernel)[pad:-pad, pad:-pad], dtype=np.float32)


def _plain(fabric: InventedFabric, side_px: int, rng: np.random.Generator) -> Float32Array:
    del fabric, rng
    return np.ones((1, side_px, side_px), dtype=np.float32)


def _stripe(fabric: InventedFabric, side_px: int, rng: np.random.Generator) -> Float32Array:
    """Stripes across one repeat: the ground takes half, the other inks share the rest."""
    del rng
    line = _bands(len(fabric.inks), side_px)
    return np.ascontiguousarray(np.broadcast_to(line[:, None, :], (len(line), side_px, side_px)))


def _bands(inks: int, side_px: int) -> Float32Array:
    width = side_px / (2 * (inks - 1))
    x = np.arange(side_px) + 0.5
    shares = np.zeros((inks, side_px), dtype=np.float32)
    for ink in range(1, inks):
        centre = (2 * ink - 1) * width
        shares[ink] = np.clip(width / 2 - np.abs(x - centre) + 0.5, 0, 1)
    shares[0] = 1 - shares[1:].sum(axis=0)
    return shares


def _plaid(fabric: InventedFabric, side_px: int, rng: np.random.Generator) -> Float32Array:
    """Stripes both ways, half and half where they cross, as woven checks are."""
    del rng
    line = _bands(len(fabric.inks), side_px)
    return ((line[:, None, :] + line[:, :, None]) / 2).astype(np.float32)


def _print(fabric: InventedFabric, side_px: int, rng: np.random.Generator) -> Float32Array:
    """Small flowers and leaves, strewn so that the tile repeats without a seam."""
    shares = np.zeros((len(fabric.inks), side_px, side_px), dtype=np.float32)
    shares[0] = 1
    spacing_px = round(0.24 * TILE_PX_PER_IN)
    for centre in _strewn(side_px, spacing_px, rng):
        ink = int(rng.integers(1, len(fabric.inks)))
        stamp = _MOTIFS[int(rng.integers(len(_MOTIFS)))](spacing_px, rng)
        rows = np.arange(round(centre[1]), round(centre[1]) + len(stamp)) % side_px
        columns = np.arange(round(centre[0]), round(centre[0]) + len(stamp)) % side_px
        at = np.ix_(rows, columns)
        for layer in range(len(shares)):
            shares[layer][at] *= 1 - stamp
        shares[ink][at] += stamp
    return shares


def _strewn(side_px: int, spacing_px: int, rng: np.random.Generator) -> list[NDArray[np.float64]]:
    points: list[NDArray[np.float64]] = []
    for _ in range(40 * (side_px // spacing_px) ** 2):
        point = rng.uniform(0, side_px, 2)
        gaps = [np.abs(point - other) for other in points]
        if all(np.hypot(*np.minimum(gap, side_px - gap)) > spacing_px for gap in gaps):
            points.append(point)
    return points


def _flower(spacing_px: int, rng: np.random.Generator) -> Float32Array:
    """Five petals round an open eye, as shares of ink (n, n)."""
    stamp = np.zeros((spacing_px, spacing_px), dtype=np.float32)
    middle, radius = spacing_px / 2, spacing_px * rng.uniform(0.3, 0.42)
    turn = rng.uniform(0, 2 * np.pi)
    for angle in turn + np.arange(5) * 2 * np.pi / 5:
        x, y = middle + 0.62 * radius * np.array([np.cos(angle), np.sin(angle)])
        _dot(stamp, x, y, radius * 0.42)
    eye = np.zeros_like(stamp)
    _dot(eye, middle, middle, radius * 0.2)
    return np.asarray(stamp * (1 - eye), dtype=np.float32)


def _leaf(spacing_px: int, rng: np.random.Generator) -> Float32Array:
    """Two leaves on a stem."""
    stamp = np.zeros((spacing_px, spacing_px), dtype=np.float32)
    middle, length = spacing_px / 2, spacing_px * rng.uniform(0.2, 0.28)
    turn = rng.uniform(0, 360)
    for side in (-35, 35):
        angle = np.deg2rad(turn + side)
        centre = middle + length * np.array([np.cos(angle), np.sin(angle)])
        spot, axes = (round(centre[0] * 16), round(centre[1] * 16)), (length * 14, length * 6)
        whole = (round(axes[0]), round(axes[1]))
        cv2.ellipse(stamp, spot, whole, turn + side, 0, 360, 1.0, -1, cv2.LINE_AA, shift=4)
    return stamp


def _dot(layer: Float32Array, x: float, y: float, radius: float) -> None:
    cv2.circle(layer, (round(x * 16), round(y * 16)), round(radius * 16), 1.0, -1, cv2.LINE_AA, 4)


_MOTIFS = (_flower, _leaf)


def _tone(fabric: InventedFabric, side_px: int, rng: np.random.Generator) -> Float32Array:
    """A dyed cloth of two close tones: soft clouds with a wrapped spectrum."""
    del fabric
    frequency = np.hypot(*np.meshgrid(np.fft.fftfreq(side_px), np.fft.fftfreq(side_px)))
    shape = np.exp(-((frequency * side_px / 6) ** 2)) * (frequency > 0)
    cloud = np.fft.ifft2(np.fft.fft2(rng.standard_normal((side_px, side_px))) * shape).real
    second = 0.5 + 0.5 * np.tanh(cloud / cloud.std())
    return np.stack([1 - second, second]).astype(np.float32)


_PAINTERS: Mapping[
    PrintKind, Callable[[InventedFabric, int, np.random.Generator], Float32Array]
] = MappingProxyType(
    {
        PrintKind.PLAIN: _plain,
        PrintKind.STRIPE: _stripe,
        PrintKind.PLAID: _plaid,
        PrintKind.PRINT: _print,
        PrintKind.TONE: _tone,
    }
)


def _book() -> Mapping[str, InventedFabric]:
    plain, tone, stripe, plaid, ditsy = (
        PrintKind.PLAIN,
        PrintKind.TONE,
        PrintKind.STRIPE,
        PrintKind.PLAID,
        PrintKind.PRINT,
    )
    swatches = (
        # deep blues and teals
        InventedFabric("deep water", plain, ("#16305c",)),
        InventedFabric("night watch", plain, ("#1b2340",)),
        InventedFabric("slack tide", plain, ("#1f6f78",)),
        InventedFabric("channel teal", plain, ("#2f8f8f",)),
        InventedFabric("harbour chambray", plain, ("#6f8fb8",), 0.0, 0.07),
        InventedFabric("storm cloud", tone, ("#24406e", "#33558a"), 2.0),
        InventedFabric("eelgrass", tone, ("#1d5f62", "#2b7d7a"), 2.0),
        InventedFabric("pilot stripe", stripe, ("#f2efe6", "#1f3f7a"), 0.24),
        InventedFabric("ferry stripe", stripe, ("#1f3f7a", "#e8e2d0", "#6f9fc4"), 0.5),
        InventedFabric("mooring ticking", stripe, ("#e9dfc6", "#24406e"), 0.36),
        InventedFabric("boathouse gingham", plaid, ("#f4f2ec", "#23508f"), 0.26),
        InventedFabric("keeper plaid", plaid, ("#1b2f57", "#2f8f8f", "#d9c9a3"), 1.0),
        InventedFabric("bay window check", plaid, ("#2a7f86", "#f0ead8"), 0.34),
        InventedFabric("forget-me-buoy", ditsy, ("#1f3f7a", "#f0e6cf", "#8fb7d9"), 1.6),
        InventedFabric("sea lettuce", ditsy, ("#2f7f7c", "#dfe9d2", "#16305c"), 1.6),
        InventedFabric("pale shoal", ditsy, ("#cfe0e6", "#2f6f9f", "#1d5f62"), 1.6),
        # sand and white
        InventedFabric("dry sand", plain, ("#d8c49a",)),
        InventedFabric("driftwood", plain, ("#b59f7a",), 0.0, 0.06),
        InventedFabric("dune grass", ditsy, ("#dccba4", "#a98f5e", "#f3ecd9"), 1.6),
        InventedFabric("oatmeal check", plaid, ("#e6d9ba", "#b79c6c"), 0.4),
        InventedFabric("foam", plain, ("#f1f0ea",)),
        InventedFabric("salt on salt", tone, ("#f2f0ea", "#e4e1d8"), 2.0),
        InventedFabric("shell shirting", stripe, ("#f5f2ea", "#c98f72"), 0.3),
        # a touch of coral
        InventedFabric("coral", plain, ("#e8735a",)),
        InventedFabric("coral sprig", ditsy, ("#f3e3d3", "#e2654f", "#2f8f8f"), 1.6),
        InventedFabric("lifeboat check", plaid, ("#f2ede4", "#e0664e"), 0.28),
        # strangers at this table: pinks, purples, acid greens, a loud yellow
        InventedFabric("raspberry ice", plain, ("#d43d7f",)),
        InventedFabric("sugared rose", ditsy, ("#f6cbd9", "#d24a83", "#8f3f6f"), 1.6),
        InventedFabric("plum stripe", stripe, ("#6a3a7d", "#d9c3e6"), 0.3),
        InventedFabric("violet fog", tone, ("#8a6aa8", "#a58bc2"), 2.0),
        InventedFabric("limeade", plain, ("#b6d432",)),
        InventedFabric("marigold plaid", plaid, ("#f0b429", "#c8442b", "#4f3b1f"), 0.8),
        # everyday others
        InventedFabric("coal", plain, ("#26262a",)),
        InventedFabric("slate flannel", plain, ("#6d7278",), 0.0, 0.06),
        InventedFabric("brick", plain, ("#8f3b2c",)),
        InventedFabric("moss", tone, ("#4c6b3a", "#668a4c"), 2.0),
        InventedFabric("pepper shirting", stripe, ("#eceae4", "#3a3a3f"), 0.16),
        InventedFabric("ink spots", ditsy, ("#f4f3ee", "#20222c"), 1.2),
    )
    return MappingProxyType({fabric.name: fabric for fabric in swatches})


FABRICS: Mapping[str, InventedFabric] = _book()
