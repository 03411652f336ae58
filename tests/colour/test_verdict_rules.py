"""Each rule of the verdicts at its limit and just above it; the strictest counts."""

from __future__ import annotations

import numpy as np
import pytest

from stash.colour.palette import Thresholds
from stash.colour.verdict_rules import RULES, Measures, grades

LIMITS = Thresholds(
    outside_borderline=0.25, outside_clash=0.5, ruled_out_borderline=0.0625, ruled_out_clash=0.125,
    wild_from=0.75,
)  # fmt: skip


def measured(**parts: float) -> Measures:
    whole = {"outside": 0.0, "ruled_out": 0.0, "perhaps_ruled_out": 0.0, "wildness": 0.0} | parts
    return Measures(**{name: np.array([part]) for name, part in whole.items()})


@pytest.mark.parametrize(
    ("parts", "grade"),
    [
        ({}, 0),
        ({"outside": 0.25}, 0),
        ({"outside": 0.26}, 1),
        ({"outside": 0.5}, 1),
        ({"outside": 0.51}, 2),
        ({"ruled_out": 0.125}, 0),
        ({"ruled_out": 0.126}, 2),
        ({"perhaps_ruled_out": 0.0625}, 0),
        ({"perhaps_ruled_out": 0.063}, 1),
        ({"perhaps_ruled_out": 1.0}, 1),
        ({"wildness": 0.75}, 0),
        ({"wildness": 0.76}, 1),
        ({"wildness": 9.0}, 1),
        ({"outside": 0.3, "ruled_out": 0.2}, 2),
        ({"outside": 0.6, "wildness": 0.8}, 2),
        ({"outside": 0.3, "wildness": 0.8}, 1),
    ],
)
def test_what_is_above_a_limit_counts_and_the_strictest_most(
    parts: dict[str, float], grade: int
) -> None:
    assert grades(measured(**parts), LIMITS).tolist() == [grade]


def test_fabrics_are_graded_each_by_itself() -> None:
    both = Measures(*(np.array([0.0, part]) for part in (0.6, 0.0, 0.0, 0.0)))
    assert grades(both, LIMITS).tolist() == [0, 2]


def test_a_rule_says_which_limit_was_passed_as_the_grade_has_it() -> None:
    for rule in RULES:
        for value in (0.0, 0.0625, 0.07, 0.125, 0.13, 0.25, 0.3, 0.5, 0.6, 0.75, 0.8):
            level = rule.level(value, LIMITS)
            parts = {"outside": 0.0, "ruled_out": 0.0, "perhaps_ruled_out": 0.0, "wildness": 0.0}
            found = next(
                name for name in parts if rule.measure(measured(**{name: 0.5})).tolist() == [0.5]
            )
            assert grades(measured(**{found: value}), LIMITS).tolist() == [level[0] if level else 0]
            if level is not None:
                assert value > level[1]
                assert level[1] in (0.25, 0.5, 0.0625, 0.125, 0.75)


def test_a_part_is_told_in_per_cent() -> None:
    assert RULES[0].figure(0.126) == "13 %"
    assert RULES[-1].figure(0.126) == "0.13"
