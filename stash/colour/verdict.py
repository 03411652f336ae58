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
    asked_for,
    barred_shades,
    kindest_membership,
    membership,
)
from stash.colour.spaces import FloatArray
from stash.colour.verdict_rules import Measures, grades
from stash.colour.verdict_words import Reason, reasons_of

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
    softened : bool, shape (n,)
        Where only the colour error keeps a borderline from being a clash.
    """

    table: FabricTable
    palette: Palette
    grade: NDArray[np.int8]
    softened: NDArray[np.bool_]
    measures: Measures
    fit: Membership
    company: Company

    def __len__(self) -> int:
        """Count the fabrics."""
        return len(self.grade)

    @cached_property
    def order(self) -> NDArray[np.intp]:
        """Rows from what belongs best to what clashes most."""
        measures = self.measures
        return np.lexsort(
            (self.table.fabric, measures.wildness, measures.outside, self.softened, self.grade)
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
                self.measures.outside[rows].tolist(),
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
    The rules stand in ``verdict_rules.RULES``; their limits are a judgement, explained by
    ``Thresholds.explained``.
    """
    judged = judge_table(table_of(fabrics), palette)
    return tuple(judged.verdicts(np.arange(len(judged))))


def judge_table(table: FabricTable, palette: Palette) -> Judgement:
    """Judge fabrics laid out as columns; the reasons are worded on demand."""
    fit = membership(table, palette)
    company = _company(table, palette, fit.freely)
    measures = _measures(table, palette, fit.member, table.near, company.wildness)
    grade = grades(measures, palette.thresholds)
    softened = np.zeros(len(table), dtype=bool)
    unsure = np.flatnonzero((grade == 2) & (table.error > 0))
    if len(unsure):
        # Only these are looked at again, with the benefit of their colour error.
        those = table.taken(unsure)
        kindest = kindest_membership(those, palette, fit.distances[:, unsure])
        kind = _measures(
            those, palette, kindest, those.possible, company.wildness[unsure], kindly=True
        )
        softened[unsure] = grades(kind, palette.thresholds) < 2
        grade[softened] = 1
    return Judgement(table, palette, grade, softened, measures, fit.member, company)


def _measures(
    table: FabricTable,
    palette: Palette,
    fit: Membership,
    bits: NDArray[np.uint16],
    wildness: FloatArray,
    *,
    kindly: bool = False,
) -> Measures:
    barred = np.uint16(bits_of(palette.without))
    counted = table.weight * (1 - fit.excused)
    wholly = (bits & ~barred) == 0
    perhaps = wholly | ((np.uint16(1) << table.first.astype(np.uint16)) & barred != 0)
    if palette.avoided:
        shade, near_it = barred_shades(table, palette, kindly=kindly)
        wholly, perhaps = wholly | shade, perhaps | near_it
    return Measures(
        outside=(table.weight * (1 - fit.member)).sum(axis=1),
        ruled_out=(counted * wholly).sum(axis=1),
        perhaps_ruled_out=(counted * perhaps).sum(axis=1),
        wildness=wildness,
    )


def _company(table: FabricTable, palette: Palette, freely: Membership) -> Company:
    """Compare those that belong when nothing is ruled out; who was asked for is excused.

    Ruled-out families are left out of this on purpose: otherwise ruling one out could change the
    company and so improve the verdict on another fabric.
    """
    limits = palette.thresholds
    outside = (table.weight * (1 - freely.member)).sum(axis=1)
    joins = np.flatnonzero(outside <= limits.outside_borderline)
    if len(joins) < limits.company_from:
        return Company.nobody(len(table))
    those = table.taken(joins)
    company = company_of(those)
    wild = np.flatnonzero(company.wildness > limits.wild_from)
    if len(wild):
        company.wildness[wild[asked_for(those.taken(wild), palette)]] = 0.0
    return company.spread(joins, len(table))
