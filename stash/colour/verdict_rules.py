"""The rules of the verdicts as one table: what is measured, its limits, the words it is told in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stash.colour.palette import Thresholds
from stash.colour.spaces import FloatArray

__all__ = ["RULES", "Measures", "Rule", "grades"]


@dataclass(frozen=True, slots=True)
class Measures:
    """What is measured of each fabric, (n,).

    Attributes
    ----------
    outside : float64
        Part of what the eye sees that is outside the palette, 0..1.
    ruled_out, perhaps_ruled_out : float64
        Part of a ruled-out family: by every name that applies, and by one of them.
    wildness : float64
        How wild it is in the company of what belongs (``company.Company``).
    """

    outside: FloatArray
    ruled_out: FloatArray
    perhaps_ruled_out: FloatArray
    wildness: FloatArray


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule.

    Attributes
    ----------
    what : str
        What it is called in reasons.
    measure : callable
        What it looks at.
    borderline, clash : callable or None
        Its limits, above which it says look twice, or no.
    short_no, short_maybe, short_hardly : str
        The reason in at most eight words; ``{colour}`` is the colour it speaks of, of which
        there is too much, a little, or too little in common with what is asked for.
    long : str
        The reason with its numbers; ``{value}`` and ``{limit}`` as well.
    figure : callable
        Writes its numbers.
    """

    what: str
    measure: Callable[[Measures], FloatArray]
    borderline: Callable[[Thresholds], float] | None
    clash: Callable[[Thresholds], float] | None
    short_no: str
    short_maybe: str
    short_hardly: str
    long: str
    figure: Callable[[float], str] = "{:.2f}".format

    def level(self, value: float, limits: Thresholds) -> tuple[int, float] | None:
        """Say what a value comes to, 1 look twice or 2 clash, and the limit it passed."""
        if self.clash is not None and value > self.clash(limits):
            return 2, self.clash(limits)
        if self.borderline is not None and value > self.borderline(limits):
            return 1, self.borderline(limits)
        return None


def _percent(part: float) -> str:
    return f"{100 * part:.0f} %"


RULES = (
    Rule(
        "ruled out",
        lambda measures: measures.ruled_out,
        None,
        lambda limits: limits.ruled_out_clash,
        "{colour} is ruled out",
        "",
        "",
        "{colour} is ruled out; {value} of what one sees is {colour} (limit {limit})",
        _percent,
    ),
    Rule(
        "ruled out",
        lambda measures: measures.perhaps_ruled_out,
        lambda limits: limits.ruled_out_borderline,
        None,
        "",
        "a little {colour}, which is ruled out",
        "perhaps {colour}, which is ruled out",
        "{colour} is ruled out; {value} of what one sees is, or comes near, {colour} "
        "(limit {limit})",
        _percent,
    ),
    Rule(
        "outside",
        lambda measures: measures.outside,
        lambda limits: limits.outside_borderline,
        lambda limits: limits.outside_clash,
        "{colour} is not in the palette",
        "some {colour}, not in the palette",
        "its {colour} is hardly in the palette",
        "{value} of what one sees is outside the palette, mostly {colour} (limit {limit})",
        _percent,
    ),
    Rule(
        "company",
        lambda measures: measures.wildness,
        lambda limits: limits.wild_from,
        None,
        "",
        "{colour}",
        "",
        "wild among what belongs: {value} (limit {limit})",
    ),
)  # fmt: skip


def grades(measures: Measures, limits: Thresholds) -> NDArray[np.int8]:
    """Grade fabrics by every rule, the strictest counts: 0 belongs, 1 look twice, 2 clashes."""
    grade = np.zeros(len(measures.outside), dtype=np.int8)
    for rule in RULES:
        value = rule.measure(measures)
        for limit, reached in ((rule.borderline, 1), (rule.clash, 2)):
            if limit is not None:
                np.maximum(grade, np.where(value > limit(limits), reached, 0), out=grade)
    return grade
