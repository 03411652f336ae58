"""How many pieces a quilt has at other numbers of rows, or of pieces across."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

from stash.errors import SettingError
from stash.quilt.plan import Plan
from stash.quilt.setting import setting_named
from stash.usecases.quilts.plan_quilt import pattern_of

__all__ = ["across_counter", "next_count", "row_counter"]

_ROWS_REPEAT = 2  # staggered and turned settings come round every second row


def row_counter(plan: Plan) -> Callable[[int], int | None]:
    """Give the pieces of the plan by its number of rows; None where the setting has no such."""
    return _counter(lambda rows: _pieces(replace(plan, rows=rows)), _ROWS_REPEAT)


def across_counter(plan: Plan) -> Callable[[int], int | None]:
    """Give the pieces of the plan by its number across; None where the setting has no such."""
    group = setting_named(plan.template, plan.setting).group
    return _counter(lambda across: _pieces(replace(plan, across=across)), 2 * group)


def next_count(pieces_in: Callable[[int], int | None], now: int, *, within: int = 24) -> int | None:
    """Give the next larger count that the setting has, if any is near."""
    larger = range(now + 1, now + within + 1)
    return next((count for count in larger if pieces_in(count) is not None), None)


def _counter(exact: Callable[[int], int | None], repeat: int) -> Callable[[int], int | None]:
    """Count small quilts exactly and go on from them: further rows are as those before."""
    known = cache(exact)

    def pieces_in(count: int) -> int | None:
        """Give the pieces of so many rows; past three repeats by the steps of the last two."""
        if count <= 3 * repeat:
            return known(count)
        last = 2 * repeat + 1 + (count - 1) % repeat
        larger, smaller = known(last), known(last - repeat)
        if larger is None or smaller is None:
            return None
        return larger + (count - last) // repeat * (larger - smaller)

    return pieces_in


def _pieces(plan: Plan) -> int | None:
    try:
        return len(pattern_of(plan).places)
    except SettingError:
        return None
