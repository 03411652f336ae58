"""Many fabrics as columns, so that ten thousand are judged in one sweep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import Appearance
from stash.colour.naming import families_of
from stash.colour.spaces import FloatArray

__all__ = ["FabricColours", "FabricTable", "table_of"]

_MOST_COLOURS = 6


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
    first, near, possible : shape (n, k)
        Families of the colours, as in ``naming.FamilyColumns``.
    lightness, chroma, contrast : float64, shape (n,)
        L* it reads as, mean C*ab, value contrast.
    scale : float64, shape (n,)
        Logarithm to base 2 of the repeat in inches; nan where it is not sure.
    error : float64, shape (n,)
        Colour error, CIEDE2000.
    absolute : bool, shape (n,)
        False where colours only agree among themselves.
    """

    fabric: NDArray[np.int64]
    lab: FloatArray
    share: FloatArray
    first: NDArray[np.int8]
    near: NDArray[np.uint16]
    possible: NDArray[np.uint16]
    lightness: FloatArray
    chroma: FloatArray
    contrast: FloatArray
    scale: FloatArray
    error: FloatArray
    absolute: NDArray[np.bool_]

    def __len__(self) -> int:
        """Count the fabrics."""
        return len(self.fabric)


def table_of(fabrics: Sequence[FabricColours]) -> FabricTable:
    """Lay fabrics out as columns and name the family of every colour."""
    looks = [entry.appearance for entry in fabrics]
    lab, share = _padded(looks)
    error = np.array([look.error_de00 for look in looks], dtype=np.float64)
    present = share > 0
    first = np.zeros(share.shape, dtype=np.int8)
    near, possible = (np.zeros(share.shape, dtype=np.uint16) for _ in range(2))
    if present.any():
        columns = families_of(lab[present], np.repeat(error, present.sum(axis=1)))
        first[present], near[present] = columns.first, columns.near
        possible[present] = columns.possible
    repeats = np.array(
        [look.repeat_in if look.repeat_sure and look.repeat_in else np.nan for look in looks],
        dtype=np.float64,
    )
    return FabricTable(
        fabric=np.array([entry.fabric for entry in fabrics], dtype=np.int64),
        lab=lab,
        share=share,
        first=first,
        near=near,
        possible=possible,
        lightness=np.array([look.reads_as[0] for look in looks], dtype=np.float64),
        chroma=np.array([look.mean_chroma for look in looks], dtype=np.float64),
        contrast=np.array([look.value_contrast for look in looks], dtype=np.float64),
        scale=np.log2(repeats),
        error=error,
        absolute=np.array([look.absolute for look in looks], dtype=bool),
    )


def _padded(looks: Sequence[Appearance]) -> tuple[FloatArray, FloatArray]:
    """Colours and shares of every fabric, filled up with colours of share 0."""
    counts = np.array([len(look.colours) for look in looks], dtype=np.intp)
    width = max(_MOST_COLOURS, int(counts.max(initial=0)))
    present = np.arange(width) < counts[:, None]
    lab, share = np.zeros((len(looks), width, 3)), np.zeros((len(looks), width))
    lab[present] = np.array([c.lab for look in looks for c in look.colours]).reshape(-1, 3)
    share[present] = np.array([c.share for look in looks for c in look.colours])
    total = share.sum(axis=1, keepdims=True)
    return lab, np.divide(share, total, out=np.zeros_like(share), where=total > 0)
