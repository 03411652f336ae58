"""The reasons of verdicts in words and numbers, worded column by column for many fabrics."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stash.colour.company import Company
from stash.colour.difference import paired_difference
from stash.colour.fabric_table import FabricTable
from stash.colour.naming import FAMILIES, bits_of
from stash.colour.palette import Amount, Palette
from stash.colour.palette_fit import Membership
from stash.colour.spaces import FloatArray

__all__ = ["Judged", "Reason", "Shares", "reasons_of"]

Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why: what was looked at, in words and in numbers.

    Attributes
    ----------
    what : str
        The rule: "outside", "ruled out", "touch", "chroma", "contrast", "scale", "value",
        "colour error" or "not absolute".
    text : str
        The reason for a quilter.
    value, limit : float
        What was found, and the limit it passed.
    moves : bool
        False for a remark that does not change the verdict.
    """

    what: str
    text: str
    value: float
    limit: float
    moves: bool = True


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares of each fabric's area, (n,)."""

    outside: FloatArray
    ruled_out: FloatArray
    perhaps_ruled_out: FloatArray
    accent: FloatArray


class Judged(Protocol):
    """What the words are made of."""

    @property
    def table(self) -> FabricTable:
        """The fabrics."""

    @property
    def palette(self) -> Palette:
        """What they were judged by."""

    @property
    def shares(self) -> Shares:
        """How much of each is outside, ruled out, an accent."""

    @property
    def fit(self) -> Membership:
        """How far each colour belongs."""

    @property
    def company(self) -> Company:
        """How each stands out from the rest."""

    @property
    def softened(self) -> NDArray[np.bool_]:
        """Where the colour error made a no a borderline."""


def reasons_of(judged: Judged, rows: Rows) -> list[tuple[Reason, ...]]:
    """Give the reasons of some fabrics, the gravest first, in the order of ``rows``."""
    found: list[list[Reason]] = [[] for _ in range(len(rows))]
    for rule in (_ruled_out, _outside, _touch, _company, _softening):
        for place, reason in rule(judged, rows):
            found[place].append(reason)
    return [tuple(reasons) for reasons in found]


def _ruled_out(judged: Judged, rows: Rows) -> Iterator[tuple[int, Reason]]:
    limits, shares = judged.palette.thresholds, judged.shares
    perhaps = shares.perhaps_ruled_out[rows]
    places = np.flatnonzero(perhaps >= limits.ruled_out_borderline)
    if not len(places):
        return
    by_family = _by_family(judged.table, rows[places], 1 - judged.fit.target[rows[places]])
    barred = [number for number, family in enumerate(FAMILIES) if family in judged.palette.without]
    worst = by_family[:, barred].argmax(axis=1)
    names = [FAMILIES[barred[number]] for number in worst.tolist()]
    parts = by_family[:, barred].max(axis=1).tolist()
    sure_share = shares.ruled_out[rows[places]]
    sure = sure_share >= limits.ruled_out_clash
    near = (~sure & (sure_share < perhaps[places] - 1e-9)).tolist()
    for place, value, name, part, is_sure, is_near in zip(
        places.tolist(), perhaps[places].tolist(), names, parts, sure.tolist(), near, strict=True
    ):
        limit = limits.ruled_out_clash if is_sure else limits.ruled_out_borderline
        border = ", though near the border of another colour" if is_near else ""
        text = f"{name} is ruled out; {_percent(part)} of it is {name}{border}"
        yield place, Reason("ruled out", text, value, limit)


def _outside(judged: Judged, rows: Rows) -> Iterator[tuple[int, Reason]]:
    limits = judged.palette.thresholds
    outside = judged.shares.outside[rows]
    places = np.flatnonzero(outside > limits.outside_borderline)
    by_family = _by_family(judged.table, rows[places], 1 - judged.fit.member[rows[places]])
    mostly = by_family.argmax(axis=1).tolist()
    for place, value, family in zip(places.tolist(), outside[places].tolist(), mostly, strict=True):
        clash = value > limits.outside_clash
        text = f"{_percent(value)} of it is outside the palette, mostly {FAMILIES[family]}"
        limit = limits.outside_clash if clash else limits.outside_borderline
        yield place, Reason("outside", text, value, limit)


def _touch(judged: Judged, rows: Rows) -> Iterator[tuple[int, Reason]]:
    cap = judged.palette.thresholds.touch_cap
    accent = judged.shares.accent[rows]
    places = np.flatnonzero(accent > cap)
    chosen = rows[places]
    largest = (judged.table.share[chosen] * judged.fit.accent[chosen]).argmax(axis=1)
    touches = _touch_names(judged, chosen, largest)
    families = judged.table.first[chosen, largest].tolist()
    shares = accent[places].tolist()
    for place, value, touch, family in zip(places.tolist(), shares, touches, families, strict=True):
        nearly = "is" if touch == FAMILIES[family] else "comes near"
        text = f"{touch} is meant as a touch; {_percent(value)} of it {nearly} {touch}"
        yield place, Reason("touch", text, value, cap)


def _touch_names(judged: Judged, rows: Rows, colour: Rows) -> list[str]:
    """Give what the palette calls the touch that one ``colour`` of each of some fabrics is."""
    lab, near = judged.table.lab[rows, colour], judged.table.near[rows, colour]
    first = judged.table.first[rows, colour]
    names = np.full(len(rows), "", dtype=object)
    touches = [target for target in judged.palette.targets if target.amount is Amount.TOUCH]
    if touches:
        distance = [paired_difference(touch.lab, lab, lightness_weight=2.0) for touch in touches]
        names[:] = np.array([touch.label for touch in touches])[np.argmin(distance, axis=0)]
    families = [w.family for w in judged.palette.families if w.amount is Amount.TOUCH]
    for family in families:
        names[(near & np.uint16(bits_of([family]))) != 0] = family
    for family in families:
        names[first == FAMILIES.index(family)] = family
    return [str(name) for name in names]


def _company(judged: Judged, rows: Rows) -> Iterator[tuple[int, Reason]]:
    for remark in judged.company.remarks():
        values = remark.values[rows]
        places = np.flatnonzero(values > remark.limit)
        for place, value in zip(places.tolist(), values[places].tolist(), strict=True):
            yield place, Reason(remark.what, remark.text, value, remark.limit, remark.moves)


def _softening(judged: Judged, rows: Rows) -> Iterator[tuple[int, Reason]]:
    for place in np.flatnonzero(judged.softened[rows]).tolist():
        error = float(judged.table.error[rows[place]])
        if not judged.table.absolute[rows[place]]:
            text = (
                "its photo's card is not measured yet, so its colours agree among themselves "
                "only; not a sure clash"
            )
            yield place, Reason("not absolute", text, error, 0.0, moves=False)
            continue
        text = f"its colours are sure to within {error:.1f} only, so this is not a sure clash"
        yield place, Reason("colour error", text, error, 0.0, moves=False)


def _by_family(table: FabricTable, rows: Rows, part: FloatArray) -> FloatArray:
    """Give the share of each family in some fabrics, of which ``part`` (n, k) counts."""
    weights = table.share[rows] * part
    cells = np.arange(len(rows))[:, None] * len(FAMILIES) + table.first[rows]
    sums = np.bincount(cells.ravel(), weights.ravel(), minlength=len(rows) * len(FAMILIES))
    return sums.astype(np.float64).reshape(len(rows), len(FAMILIES))


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
