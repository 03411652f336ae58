"""Scraps as columns, read past their outlines: ten thousand in a few hundredths of a second."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import WOVEN_KINDS
from stash.colour.fabric_table import LookColumns
from stash.storage.packing import PackedOutline
from stash.usecases.ports import ScrapColumns, ScrapOutline

__all__ = ["OUTLINES_IN_USE", "SCRAPS_IN_USE", "columns_of_rows", "outlines_of_rows"]

# Plain SQL that SQLite and PostgreSQL read alike, so that it also runs without SQLAlchemy.
SCRAPS_IN_USE = (
    "SELECT number, fabric, area_sq_in, place, reads_as_l, reads_as_a, reads_as_b, colours, "
    "value_contrast, CASE WHEN repeat_sure THEN repeat_in END, error_de00, absolute, kind "
    "FROM scraps WHERE NOT deleted AND state <> 'cut up' ORDER BY number"
)
OUTLINES_IN_USE = (
    "SELECT number, outline, outline_error_in, area_sq_in, washed "
    "FROM scraps WHERE NOT deleted AND state <> 'cut up' ORDER BY number"
)
_COLOUR_BYTES = 32  # four float64, as in packing.COLOUR_BYTES


def columns_of_rows(rows: Sequence[Sequence[Any]]) -> ScrapColumns:
    """Lay the rows of ``SCRAPS_IN_USE`` out as columns."""
    columns = list(zip(*rows, strict=True)) or [()] * 13
    number, fabric, area, places, lightness, a, b, colours, contrast = columns[:9]
    repeat, error, absolute, kinds = columns[9:]
    return ScrapColumns(
        number=np.array(number, dtype=np.int64),
        fabric=np.array(fabric, dtype=np.int64),
        area=_floats(area),
        places=tuple(places),
        looks=LookColumns(
            reads_as=np.column_stack([_floats(lightness), _floats(a), _floats(b)]),
            counts=np.array([len(packed) for packed in colours], dtype=np.intp) // _COLOUR_BYTES,
            colours=np.frombuffer(b"".join(colours), dtype="<f8").reshape(-1, 4),
            contrast=_floats(contrast),
            repeat=_lengths(repeat),
            error=_floats(error),
            absolute=np.array(absolute, dtype=bool),
            woven=np.array([kind in WOVEN_KINDS for kind in kinds], dtype=bool),
        ),
    )


def outlines_of_rows(rows: Sequence[Sequence[Any]]) -> dict[int, ScrapOutline]:
    """Give the rows of ``OUTLINES_IN_USE`` by scrap number; points are unpacked when asked for."""
    return {
        number: ScrapOutline(
            PackedOutline.of(bytes(packed), error_in, area),
            bool(washed),
            hashlib.blake2b(bytes(packed) + repr((error_in, bool(washed))).encode()).digest()[:16],
        )
        for number, packed, error_in, area, washed in rows
    }


def _floats(values: Sequence[float]) -> NDArray[np.float64]:
    return np.array(values, dtype=np.float64)


def _lengths(values: Sequence[float | None]) -> NDArray[np.float64]:
    """Give lengths in inches, nan where there is none."""
    known = np.array(values, dtype=np.float64)  # None becomes nan
    return np.where(known > 0, known, np.nan)
