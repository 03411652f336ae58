"""Which fabrics belong to a palette, which clash, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stash.colour.company import Company, company_of
from stash.colour.fabric_table import FabricColours, FabricTable, table_of
from stash.colour.naming import FAMILIES, bits_of
from stash.colour.palette import Palette
from stash.colour.palette_fit import Membership, membership
from stash.colour.spaces import FloatArray

__all__ = ["FabricVerdict", "Judgement", "Reason", "Verdict", "judge", "judge_table"]


class Verdict(StrEnum):
    """What the palette says to a fabric."""

    BELONGS = "belongs"
    BORDERLINE = "borderline"
    CLASHES = "clashes"


_VERDICTS = (Verdict.BELONGS, Verdict.BORDERLINE, Verdict.CLASHES)


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
class FabricVerdict:
    """The verdict on one fabric; ``outside_share`` (0..1) orders fabrics of one verdict."""

    fabric: int
    verdict: Verdict
    reasons: tuple[Reason, ...]
    outside_share: float = 0.0


@dataclass(frozen=True, slots=True)
class _Shares:
    """Shares of each fabric's area, (n,)."""

    outside: FloatArray
    ruled_out: FloatArray
    perhaps_ruled_out: FloatArray
    accent: FloatArray


@dataclass(frozen=True)
class Judgement:
    """Verdicts over a table; the words are made only for the fabrics asked about.

    Attributes
    ----------
    table : FabricTable
        The fabrics.
    palette : Palette
        What they were judged by.
    grade : int8, shape (n,)
        0 belongs, 1 borderline, 2 clashes.
    """

    table: FabricTable
    palette: Palette
    grade: NDArray[np.int8]
    softened: NDArray[np.bool_]
    shares: _Shares
    fit: Membership
    company: Company

    def __len__(self) -> int:
        """Count the fabrics."""
        return len(self.grade)

    @cached_property
    def order(self) -> NDArray[np.intp]:
        """Rows from what belongs best to what clashes most."""
        return np.lexsort(
            (self.table.fabric, self.company.loudness, self.shares.outside, self.grade)
        )

    def verdict(self, row: int) -> FabricVerdict:
        """Give one fabric's verdict with its reasons."""
        return FabricVerdict(
            fabric=int(self.table.fabric[row]),
            verdict=_VERDICTS[self.grade[row]],
            reasons=tuple(self._reasons(row)),
            outside_share=float(self.shares.outside[row]),
        )

    def _reasons(self, row: int) -> list[Reason]:
        limits = self.palette.thresholds
        found: list[Reason] = []
        ruled_out = float(self.shares.perhaps_ruled_out[row])
        if ruled_out >= limits.ruled_out_borderline:
            sure = float(self.shares.ruled_out[row]) >= limits.ruled_out_clash
            limit = limits.ruled_out_clash if sure else limits.ruled_out_borderline
            found.append(
                Reason("ruled out", self._ruled_out_text(row, ruled_out), ruled_out, limit)
            )
        outside = float(self.shares.outside[row])
        if outside > limits.outside_borderline:
            clash = outside > limits.outside_clash
            limit = limits.outside_clash if clash else limits.outside_borderline
            found.append(Reason("outside", self._outside_text(row, outside), outside, limit))
        accent = float(self.shares.accent[row])
        if accent > limits.touch_cap:
            found.append(Reason("touch", self._touch_text(row, accent), accent, limits.touch_cap))
        found.extend(
            Reason(what, text, value, limit, moves)
            for what, text, value, limit, moves in self.company.reasons(row)
        )
        if self.softened[row]:
            found.append(self._softening(row))
        return found

    def _outside_text(self, row: int, outside: float) -> str:
        weights = self.table.share[row] * (1 - self.fit.member[row])
        by_family = np.bincount(self.table.first[row], weights, minlength=len(FAMILIES))
        return (
            f"{_percent(outside)} of it is outside the palette, "
            f"mostly {FAMILIES[int(by_family.argmax())]}"
        )

    def _ruled_out_text(self, row: int, share: float) -> str:
        weights = self.table.share[row] * (1 - self.fit.target[row])
        by_family = np.bincount(self.table.first[row], weights, minlength=len(FAMILIES))
        barred = [family for family in FAMILIES if family in self.palette.without]
        name = max(barred, key=lambda family: by_family[FAMILIES.index(family)])
        part = float(by_family[FAMILIES.index(name)])
        near = (
            ""
            if self.shares.ruled_out[row] >= self.palette.thresholds.ruled_out_clash
            else (
                ", though near the border of another colour"
                if self.shares.ruled_out[row] < share - 1e-9
                else ""
            )
        )
        return f"{name} is ruled out; {_percent(part)} of it is {name}{near}"

    def _touch_text(self, row: int, share: float) -> str:
        weights = self.table.share[row] * self.fit.accent[row]
        colour = FAMILIES[int(self.table.first[row, int(weights.argmax())])]
        return f"{colour} is meant as a touch; {_percent(share)} of it is {colour}"

    def _softening(self, row: int) -> Reason:
        error = float(self.table.error[row])
        if not self.table.absolute[row]:
            text = (
                "its photo's card is not measured yet, so its colours agree among themselves "
                "only; not a sure clash"
            )
            return Reason("not absolute", text, error, 0.0, moves=False)
        text = f"its colours are sure to within {error:.1f} only, so this is not a sure clash"
        return Reason("colour error", text, error, 0.0, moves=False)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def judge(fabrics: Sequence[FabricColours], palette: Palette) -> tuple[FabricVerdict, ...]:
    """Say of each fabric whether it belongs, in the order given.

    Notes
    -----
    The company a fabric keeps counts too: the verdict on one can depend on which others are
    given, never on their order.

    References
    ----------
    The rules and their limits are a judgement, explained by ``Thresholds.explained``.
    """
    judged = judge_table(table_of(fabrics), palette)
    return tuple(judged.verdict(row) for row in range(len(judged)))


def judge_table(table: FabricTable, palette: Palette) -> Judgement:
    """Judge fabrics laid out as columns; the reasons are worded on demand."""
    fit, freely = membership(table, palette)
    shares = _shares(table, palette, fit, table.near)
    company = company_of(table, palette, _joins_company(table, palette, freely))
    grade = _grade(shares, company, palette)
    softened = np.zeros(len(table), dtype=bool)
    unsure = (grade == 2) & ((table.error > 0) | ~table.absolute)
    if unsure.any():
        kindest, _ = membership(table, palette, with_error=True)
        kind_shares = _shares(table, palette, kindest, table.possible)
        kind_grade = _grade(kind_shares, company, palette)
        softened = unsure & ((kind_grade < 2) | ~table.absolute)
        grade = np.where(softened, 1, grade).astype(np.int8)
    return Judgement(table, palette, grade, softened, shares, fit, company)


def _shares(
    table: FabricTable, palette: Palette, fit: Membership, bits: NDArray[np.uint16]
) -> _Shares:
    barred = np.uint16(bits_of(palette.without))
    counted = table.share * (1 - fit.target)
    wholly = (bits & ~barred) == 0
    first = (np.uint16(1) << table.first.astype(np.uint16)) & barred != 0
    return _Shares(
        outside=(table.share * (1 - fit.member)).sum(axis=1),
        ruled_out=(counted * wholly).sum(axis=1),
        perhaps_ruled_out=(counted * (first | wholly)).sum(axis=1),
        accent=(table.share * fit.accent).sum(axis=1),
    )


def _joins_company(table: FabricTable, palette: Palette, freely: Membership) -> NDArray[np.bool_]:
    """Which fabrics make the company: those that belong when nothing is ruled out.

    Ruled-out families are left out of this on purpose: otherwise ruling one out could change the
    company and so improve the verdict on another fabric.
    """
    limits = palette.thresholds
    outside = (table.share * (1 - freely.member)).sum(axis=1)
    accent = (table.share * freely.accent).sum(axis=1)
    joins = (outside <= limits.outside_borderline) & (accent <= limits.touch_cap)
    return np.asarray(joins, dtype=bool)


def _grade(shares: _Shares, company: Company, palette: Palette) -> NDArray[np.int8]:
    limits = palette.thresholds
    clash = (shares.outside > limits.outside_clash) | (shares.ruled_out >= limits.ruled_out_clash)
    borderlines = (
        (shares.outside > limits.outside_borderline).astype(np.int8)
        + (shares.perhaps_ruled_out >= limits.ruled_out_borderline)
        + (shares.accent > limits.touch_cap)
        + company.borderlines
    )
    clash |= borderlines >= max(limits.borderlines_to_clash, 1)
    return np.where(clash, 2, np.minimum(borderlines, 1)).astype(np.int8)
