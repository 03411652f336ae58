"""Many fabrics as columns, so that ten thousand are judged in one sweep."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import WOVEN_KINDS, Appearance
from stash.colour.eye import eye_weights
from stash.colour.mixtures import mixture_distances
from stash.colour.naming import families_of
from stash.colour.spaces import FloatArray

__all__ = [
    "FabricColours",
    "FabricTable",
    "LookColumns",
    "columns_of",
    "table_of",
    "table_of_columns",
]

_MOST_COLOURS = 6
# A card whose inks nobody has measured: home prints of one file differ by about so much, CIEDE2000
# (judgement). What such a photo says of its own error is how well its colours agree.
_UNMEASURED_DE00 = 5.0


@dataclass(frozen=True, slots=True)
class FabricColours:
    """A fabric's number and what it looks like."""

    fabric: int
    appearance: Appearance


@dataclass(frozen=True, slots=True)
class FabricTable:
    """Fabrics as columns; n fabrics of at most k colours, absent colours with share 0.

    Attributes
    ----------
    fabric : int64, shape (n,)
        Numbers.
    lab : float64, shape (n, k, 3)
        Dominant colours, CIELAB, white D65.
    share : float64, shape (n, k)
        Shares of the area; each row adds up to 1.
    weight : float64, shape (n, k)
        What each colour counts to the eye; each row adds up to 1.
    mixed : float32, shape (n, pairs, k)
        How far each colour is from what two others mix to, as ``mixture_distances`` gives it.
    first, near, possible : shape (n, k)
        Families of the colours, as in ``naming.FamilyColumns``.
    lightness, contrast : float64, shape (n,)
        L* it reads as, value contrast.
    scale : float64, shape (n,)
        Logarithm to base 2 of the repeat in inches; nan where it is not sure.
    error : float64, shape (n,)
        Colour error, CIEDE2000; larger than stated where the card is not measured.
    absolute : bool, shape (n,)
        False where colours only agree among themselves.
    woven : bool, shape (n,)
        True for stripes and plaids, whose threads mix to tones between.
    """

    fabric: NDArray[np.int64]
    lab: FloatArray
    share: FloatArray
    weight: FloatArray
    mixed: NDArray[np.float32]
    first: NDArray[np.int8]
    near: NDArray[np.uint16]
    possible: NDArray[np.uint16]
    lightness: FloatArray
    contrast: FloatArray
    scale: FloatArray
    error: FloatArray
    absolute: NDArray[np.bool_]
    woven: NDArray[np.bool_]

    def __len__(self) -> int:
        """Count the fabrics."""
        return len(self.fabric)

    def taken(self, rows: NDArray[np.intp]) -> FabricTable:
        """Give some of the fabrics, in the order of ``rows``."""
        return FabricTable(*(getattr(self, column.name)[rows] for column in fields(self)))


@dataclass(frozen=True, slots=True)
class LookColumns:
    """The looks of n cloths as columns.

    Attributes
    ----------
    reads_as : float64, shape (n, 3)
        CIELAB, white D65.
    counts : intp, shape (n,)
        How many dominant colours each has.
    colours : float64, shape (sum of counts, 4)
        L*, a*, b* and share, one cloth after the other.
    contrast : float64, shape (n,)
        Value contrast.
    repeat : float64, shape (n,)
        Repeat, inches; nan where it is not sure.
    error : float64, shape (n,)
        Colour error, CIEDE2000.
    absolute : bool, shape (n,)
        False where colours only agree among themselves.
    woven : bool, shape (n,)
        True for stripes and plaids.
    """

    reads_as: FloatArray
    counts: NDArray[np.intp]
    colours: FloatArray
    contrast: FloatArray
    repeat: FloatArray
    error: FloatArray
    absolute: NDArray[np.bool_]
    woven: NDArray[np.bool_]

    def taken(self, rows: NDArray[np.intp]) -> LookColumns:
        """Give the looks of some cloths, in the order of ``rows``."""
        ends = np.cumsum(self.counts)
        counts = self.counts[rows]
        ahead = np.cumsum(counts) - counts
        places = np.arange(counts.sum()) + np.repeat(ends[rows] - counts - ahead, counts)
        return LookColumns(
            self.reads_as[rows],
            counts,
            self.colours[places],
            self.contrast[rows],
            self.repeat[rows],
            self.error[rows],
            self.absolute[rows],
            self.woven[rows],
        )


def columns_of(looks: Sequence[Appearance]) -> LookColumns:
    """Lay looks out as columns."""
    colours = [(*one.lab, one.share) for look in looks for one in look.colours]
    repeats = [look.repeat_in if look.repeat_sure and look.repeat_in else np.nan for look in looks]
    return LookColumns(
        reads_as=_floats(chain.from_iterable(look.reads_as for look in looks)).reshape(-1, 3),
        counts=np.array([len(look.colours) for look in looks], dtype=np.intp),
        colours=np.array(colours, dtype=np.float64).reshape(-1, 4),
        contrast=_floats(look.value_contrast for look in looks),
        repeat=_floats(repeats),
        error=_floats(look.error_de00 for look in looks),
        absolute=np.array([look.absolute for look in looks], dtype=bool),
        woven=np.array([look.kind in WOVEN_KINDS for look in looks], dtype=bool),
    )


def _floats(values: Iterable[float]) -> FloatArray:
    return np.fromiter(values, dtype=np.float64)


def table_of(fabrics: Sequence[FabricColours]) -> FabricTable:
    """Lay fabrics out as columns and name the family of every colour."""
    numbers = np.array([entry.fabric for entry in fabrics], dtype=np.int64)
    return table_of_columns(numbers, columns_of([entry.appearance for entry in fabrics]))


def table_of_columns(numbers: NDArray[np.int64], looks: LookColumns) -> FabricTable:
    """Lay fabrics, numbers of shape (n,), out of columns of their looks."""
    width = max(_MOST_COLOURS, int(looks.counts.max(initial=0)))
    error = np.where(looks.absolute, looks.error, np.maximum(looks.error, _UNMEASURED_DE00))
    present = np.arange(width) < looks.counts[:, None]
    lab, share = np.zeros((*present.shape, 3)), np.zeros(present.shape)
    lab[present], share[present] = looks.colours[:, :3], looks.colours[:, 3]
    total = share.sum(axis=1, keepdims=True)
    share = np.divide(share, total, out=np.zeros_like(share), where=total > 0)
    present = share > 0
    first = np.zeros(share.shape, dtype=np.int8)
    near, possible = (np.zeros(share.shape, dtype=np.uint16) for _ in range(2))
    if present.any():
        columns = families_of(lab[present], np.repeat(error, present.sum(axis=1)))
        first[present], near[present] = columns.first, columns.near
        possible[present] = columns.possible
    return FabricTable(
        fabric=numbers,
        lab=lab,
        share=share,
        weight=eye_weights(lab, share),
        mixed=mixture_distances(lab, share),
        first=first,
        near=near,
        possible=possible,
        lightness=looks.reads_as[:, 0],
        contrast=looks.contrast,
        scale=np.log2(looks.repeat),
        error=error,
        absolute=looks.absolute,
        woven=looks.woven,
    )
