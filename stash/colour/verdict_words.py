"""The reasons of verdicts: a few words to see at a glance, and the numbers behind them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stash.colour.company import Company
from stash.colour.fabric_table import FabricTable
from stash.colour.naming import FAMILIES, families_of
from stash.colour.palette import Palette, Target
from stash.colour.palette_fit import Membership, barred_shades
from stash.colour.spaces import FloatArray
from stash.colour.verdict_rules import RULES, Measures, Rule

__all__ = ["Judged", "Reason", "company_words", "reasons_of"]

Rows = NDArray[np.intp]
# In the order of ``Company.beyond``; the second stands for darker.
_BEYOND_WORDS = (
    "its {colour} is louder than the rest",
    "lighter than all the rest",
    "more light and dark than the rest",
    "a larger print than the rest",
)
_MUCH = 0.5  # part of what one sees from which a colour is no small part; judgement
_SAID_FROM = 0.5  # of what counts as once more than the rest


@dataclass(frozen=True, slots=True)
class Reason:
    """Why: what was looked at, in words and in numbers.

    Attributes
    ----------
    what : str
        The rule: "outside", "ruled out", "company", "colour error" or "not absolute".
    text : str
        The reason for a quilter, in at most eight words.
    value, limit : float
        What was found, and the limit it passed.
    moves : bool
        False for a remark that does not change the verdict.
    detail : str
        The numbers behind it, in words.
    """

    what: str
    text: str
    value: float
    limit: float
    moves: bool = True
    detail: str = ""


class Judged(Protocol):
    """What the words are made of."""

    @property
    def table(self) -> FabricTable:
        """The fabrics."""

    @property
    def palette(self) -> Palette:
        """What they were judged by."""

    @property
    def grade(self) -> NDArray[np.int8]:
        """0 belongs, 1 borderline, 2 clashes."""

    @property
    def measures(self) -> Measures:
        """What the rules look at."""

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
    """Give the reasons of some fabrics, the gravest first, in the order of ``rows``.

    A fabric that belongs has none, and no colour is told twice.
    """
    found: list[tuple[Reason, ...]] = [() for _ in range(len(rows))]
    spoken_of = np.flatnonzero(judged.grade[rows] > 0)
    chosen = rows[spoken_of]
    barred = np.array([family in judged.palette.without for family in FAMILIES])
    seen = judged.table.weight[chosen]
    shades = barred_shades(judged.table.taken(chosen), judged.palette)[1]
    off = seen * (1 - judged.fit.member[chosen])
    outside = _by_family(judged.table, chosen, np.where(shades, 0.0, off))
    counted = shades | barred[judged.table.first[chosen]]
    against = _by_family(judged.table, chosen, seen * (1 - judged.fit.excused[chosen]) * counted)
    columns = [rule.measure(judged.measures)[chosen].tolist() for rule in RULES]
    for place, row, values, off, no in zip(
        spoken_of.tolist(),
        chosen.tolist(),
        zip(*columns, strict=True),
        np.where(barred, 0.0, outside),
        against,
        strict=True,
    ):
        ranked = sorted(_passed(judged, row, values, off, no), key=lambda pair: -pair[0])
        reasons = [reason for _, reason in ranked]
        found[place] = (*_once(reasons), *_softening(judged, row))
    return found


def _passed(
    judged: Judged, row: int, values: tuple[float, ...], off: FloatArray, no: FloatArray
) -> Iterator[tuple[int, Reason]]:
    """Give the rules a fabric fell under, each with what it came to."""
    soft = bool(judged.softened[row])
    for rule, value in zip(RULES, values, strict=True):
        level = rule.level(value, judged.palette.thresholds)
        if level is None:
            continue
        come_to, limit = level
        colour = _colour(rule, judged, row, off, no)
        if colour:
            sure = come_to == 2 and not soft
            words = rule.short_no if sure else _unsure_words(rule, judged, row, off, no)
            yield come_to, _reason(rule, value, limit, words.format(colour=colour), colour)


def _colour(rule: Rule, judged: Judged, row: int, off: FloatArray, no: FloatArray) -> str:
    """Give what a rule speaks of; nothing where another reason has said it already."""
    if rule.what == "company":
        return company_words(judged.company, judged.table, row)
    parts = no if rule.what == "ruled out" else off
    if not parts.max() > 0:
        return ""
    family = FAMILIES[int(parts.argmax())]
    return _shade(judged.palette, family) if rule.what == "ruled out" else family


def _shade(palette: Palette, family: str) -> str:
    """Name what is ruled out of a family: all of it, or a shade."""
    if family in palette.without:
        return family
    labs = np.array([one.lab for one in palette.avoided if isinstance(one, Target)])
    its = iter(families_of(labs).first.tolist()) if len(labs) else iter(())
    for shade in palette.avoided:
        if family == (FAMILIES[next(its)] if isinstance(shade, Target) else shade.family):
            return shade.called
    return palette.avoided[0].called


def _unsure_words(rule: Rule, judged: Judged, row: int, off: FloatArray, no: FloatArray) -> str:
    """Choose the words of a second look: a small part of it, or all of it nearly something."""
    parts = no if rule.what == "ruled out" else off
    there = judged.table.weight[row, judged.table.first[row] == parts.argmax()].sum()
    if rule.short_hardly and (there > _MUCH or judged.softened[row]):
        return rule.short_hardly
    return rule.short_maybe or rule.short_no


def _reason(rule: Rule, value: float, limit: float, text: str, colour: str) -> Reason:
    detail = rule.long.format(colour=colour, value=rule.figure(value), limit=rule.figure(limit))
    return Reason(rule.what, text, value, limit, detail=detail)


def _once(reasons: list[Reason]) -> Iterator[Reason]:
    """Give the gravest of each kind, but none of a family that a graver one has told."""
    told: set[str] = set()
    for reason in reasons:
        says = {reason.what, *(set(reason.text.replace(",", "").split()) & set(FAMILIES))}
        if not says & told:
            told |= says
            yield reason


def company_words(company: Company, table: FabricTable, row: int) -> str:
    """Say in what a fabric stands out most, in at most eight words."""
    beyond = company.beyond[row]
    # A loud colour is what one sees first, however light or dark the cloth.
    most = 0 if beyond[0] >= _SAID_FROM else int(beyond.argmax())
    colour = FAMILIES[int(table.first[row, company.loneliest[row]])]
    if beyond[most] >= _SAID_FROM:
        if most == 1 and not company.lightest[row]:
            return "darker than all the rest"
        return _BEYOND_WORDS[most].format(colour=colour)
    return f"nothing else here echoes its {colour}"


def _softening(judged: Judged, row: int) -> Iterator[Reason]:
    if not judged.softened[row]:
        return
    error = float(judged.table.error[row])
    if not judged.table.absolute[row]:
        text = "its card is not measured: perhaps no"
        detail = (
            "its photo's card is not measured yet: its colours may be off by "
            f"{error:.0f} or more, so this is not a sure clash"
        )
        yield Reason("not absolute", text, error, 0.0, moves=False, detail=detail)
        return
    text = "its colours are not sure enough"
    detail = f"its colours are sure to within {error:.1f} only, so this is not a sure clash"
    yield Reason("colour error", text, error, 0.0, moves=False, detail=detail)


def _by_family(table: FabricTable, rows: Rows, part: FloatArray) -> FloatArray:
    """Sum ``part`` (rows, k) by the family of each colour, (rows, families)."""
    cells = np.arange(len(rows))[:, None] * len(FAMILIES) + table.first[rows]
    sums = np.bincount(cells.ravel(), part.ravel(), minlength=len(rows) * len(FAMILIES))
    return sums.astype(np.float64).reshape(len(rows), len(FAMILIES))
