"""The company a fabric keeps: too loud, too dark or too light beside the rest."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stash.colour.fabric_table import FabricTable
from stash.colour.palette import Palette
from stash.colour.spaces import FloatArray

__all__ = ["Company", "Remark", "company_of"]

_SPREAD_OF_MAD = 1.4826  # median absolute deviation to standard deviation, normal distribution
# Above this many fabrics leaving one out moves a median by less than any threshold sees.
_LEAVE_ONE_OUT_UP_TO = 200
_FEWEST = 2  # without another fabric there is no rest, whatever the palette's limit says


@dataclass(frozen=True, slots=True)
class Remark:
    """One rule: said of the fabrics whose value (n,) is above the limit."""

    what: str
    text: str
    values: FloatArray
    limit: float
    moves: bool = True


@dataclass(frozen=True, slots=True)
class Company:
    """How each fabric stands out from those that belong, all arrays (n,).

    Attributes
    ----------
    chroma_z, contrast_z, scale_z : float64
        Times the usual spread above the rest; 0 where nothing can be said.
    darker_by, lighter_by : float64
        L* beyond the darkest and lightest of the rest.
    """

    palette: Palette
    chroma_z: FloatArray
    contrast_z: FloatArray
    scale_z: FloatArray
    darker_by: FloatArray
    lighter_by: FloatArray

    @property
    def loudness(self) -> FloatArray:
        """The largest z of each fabric."""
        loudest: FloatArray = np.maximum.reduce([self.chroma_z, self.contrast_z, self.scale_z])
        return loudest

    @property
    def value_gap(self) -> FloatArray:
        """L* beyond the rest, darker or lighter."""
        gap: FloatArray = np.maximum(self.darker_by, self.lighter_by)
        return gap

    def excused(self, rows: NDArray[np.intp]) -> Company:
        """Say nothing of the value of these fabrics: the palette names it."""
        darker, lighter = self.darker_by.copy(), self.lighter_by.copy()
        darker[rows] = lighter[rows] = 0.0
        return replace(self, darker_by=darker, lighter_by=lighter)

    @property
    def borderlines(self) -> NDArray[np.int8]:
        """Count the reasons that make a fabric borderline."""
        limits = self.palette.thresholds
        loud = (self.chroma_z > limits.loud_z).astype(np.int8) + (self.scale_z > limits.loud_z)
        if limits.contrast_counts:
            loud = loud + (self.contrast_z > limits.loud_z)
        return np.asarray(loud + (self.value_gap > limits.value_gap), dtype=np.int8)

    def remarks(self) -> tuple[Remark, ...]:
        """Give what can be said of the fabrics, rule by rule."""
        limits = self.palette.thresholds
        return (
            Remark(
                "chroma",
                "its colours are much stronger than the rest",
                self.chroma_z,
                limits.loud_z,
            ),
            Remark("scale", "its print is much larger than the rest", self.scale_z, limits.loud_z),
            Remark(
                "contrast",
                "its light and dark differ much more than in the rest",
                self.contrast_z,
                limits.loud_z,
                moves=bool(limits.contrast_counts),
            ),
            Remark("value", "it is darker than all the rest", self.darker_by, limits.value_gap),
            Remark("value", "it is lighter than all the rest", self.lighter_by, limits.value_gap),
        )


def company_of(table: FabricTable, palette: Palette, joins: NDArray[np.bool_]) -> Company:
    """Compare every fabric with the rest of those that ``joins`` marks.

    Parameters
    ----------
    joins : bool, shape (n,)
        Which fabrics make the company; each is compared with the others of it.
    """
    limits = palette.thresholds
    enough = int(joins.sum()) >= max(limits.company_from, _FEWEST)
    nothing = np.zeros(len(table))
    if not enough:
        return Company(palette, nothing, nothing, nothing, nothing, nothing)
    darker, lighter = _beyond(table.lightness, joins)
    return Company(
        palette,
        _loudness(table.chroma, joins, limits.chroma_floor, limits.company_from),
        _loudness(table.contrast, joins, limits.contrast_floor, limits.company_from),
        _loudness(table.scale, joins, limits.scale_floor, limits.company_from),
        darker,
        lighter,
    )


def _loudness(
    x: FloatArray, joins: NDArray[np.bool_], floor: float, company_from: float
) -> FloatArray:
    """How many times the usual spread of the rest each value lies above their median."""
    known = joins & np.isfinite(x)
    z = np.zeros(len(x))
    if known.sum() < max(company_from, _FEWEST):
        return z
    rest = x[known]
    centre = np.median(rest)
    spread = max(_SPREAD_OF_MAD * float(np.median(np.abs(rest - centre))), floor)
    z = np.nan_to_num((x - centre) / max(spread, 1e-9))
    if len(rest) <= _LEAVE_ONE_OUT_UP_TO:
        others = np.broadcast_to(rest, (len(rest), len(rest)))[~np.eye(len(rest), dtype=bool)]
        others = others.reshape(len(rest), len(rest) - 1)
        middle = np.median(others, axis=1)
        spreads = _SPREAD_OF_MAD * np.median(np.abs(others - middle[:, None]), axis=1)
        z[known] = (rest - middle) / np.maximum(spreads, max(floor, 1e-9))
    return np.maximum(z, 0.0)


def _beyond(lightness: FloatArray, joins: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """L* below the darkest and above the lightest of the rest."""
    sorted_rest = np.sort(lightness[joins])
    darkest = np.full(len(lightness), sorted_rest[0])
    lightest = np.full(len(lightness), sorted_rest[-1])
    darkest[joins & (lightness <= sorted_rest[0])] = sorted_rest[1]
    lightest[joins & (lightness >= sorted_rest[-1])] = sorted_rest[-2]
    return np.maximum(darkest - lightness, 0.0), np.maximum(lightness - lightest, 0.0)
