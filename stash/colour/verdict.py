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
from stash.colour.naming import bits_of
from stash.colour.palette import Palette
from stash.colour.palette_fit import (
    Membership,
    kindest_membership,
    membership,
    value_is_asked_for,
)
from stash.colour.verdict_words import Reason, Shares, reasons_of

__all__ = ["FabricVerdict", "Judgement", "Reason", "Verdict", "judge", "judge_table"]


class Verdict(StrEnum):
    """What the palette says to a fabric."""

    BELONGS = "belongs"
    BORDERLINE = "borderline"
    CLASHES = "clashes"


_VERDICTS = (Verdict.BELONGS, Verdict.BORDERLINE, Verdict.CLASHES)


@dataclass(frozen=True, slots=True)
class FabricVerdict:
    """The verdict on one fabric; ``outside_share`` (0..1) orders fabrics of one verdict."""

    fabric: int
    verdict: Verdict
    reasons: tuple[Reason, ...]
    outside_share: float = 0.0


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
    shares: Shares
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
        return self.verdicts(np.array([row]))[0]

    def verdicts(self, rows: NDArray[np.intp]) -> list[FabricVerdict]:
        """Give the verdicts of some fabrics with their reasons, in the order of ``rows``."""
        return [
            FabricVerdict(fabric, _VERDICTS[grade], reasons, outside)
            for fabric, grade, reasons, outside in zip(
                self.table.fabric[rows].tolist(),
                self.grade[rows].tolist(),
                reasons_of(self, rows),
                self.shares.outside[rows].tolist(),
                strict=True,
            )
        ]


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
    return tuple(judged.verdicts(np.arange(len(judged))))


def judge_table(table: FabricTable, palette: Palette) -> Judgement:
    """Judge fabrics laid out as columns; the reasons are worded on demand."""
    fit = membership(table, palette)
    shares = _shares(table, palette, fit.member, table.near)
    company = company_of(table, palette, _joins_company(table, palette, fit.freely))
    standing_out = np.flatnonzero(company.value_gap > palette.thresholds.value_gap)
    asked_for = value_is_asked_for(table.taken(standing_out), palette)
    company = company.excused(standing_out[asked_for])
    grade = _grade(shares, company.borderlines, palette)
    softened = np.zeros(len(table), dtype=bool)
    unsure = np.flatnonzero((grade == 2) & ((table.error > 0) | ~table.absolute))
    if len(unsure):
        # Only these are looked at again, with the benefit of their colour error.
        those = table.taken(unsure)
        kindest = kindest_membership(those, palette, fit.distances[:, unsure])
        kind_shares = _shares(those, palette, kindest, those.possible)
        kind_grade = _grade(kind_shares, company.borderlines[unsure], palette)
        softened[unsure] = (kind_grade < 2) | ~those.absolute
        grade[softened] = 1
    return Judgement(table, palette, grade, softened, shares, fit.member, company)


def _shares(
    table: FabricTable, palette: Palette, fit: Membership, bits: NDArray[np.uint16]
) -> Shares:
    barred = np.uint16(bits_of(palette.without))
    counted = table.share * (1 - fit.target)
    wholly = (bits & ~barred) == 0
    first = (np.uint16(1) << table.first.astype(np.uint16)) & barred != 0
    return Shares(
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


def _grade(shares: Shares, of_company: NDArray[np.int8], palette: Palette) -> NDArray[np.int8]:
    limits = palette.thresholds
    clash = (shares.outside > limits.outside_clash) | (shares.ruled_out >= limits.ruled_out_clash)
    borderlines = (
        (shares.outside > limits.outside_borderline).astype(np.int8)
        + (shares.perhaps_ruled_out >= limits.ruled_out_borderline)
        + (shares.accent > limits.touch_cap)
        + of_company
    )
    clash |= borderlines >= max(limits.borderlines_to_clash, 1)
    return np.where(clash, 2, np.minimum(borderlines, 1)).astype(np.int8)
