"""Amounts drawn to the middle of their ranges: "mostly blue" is not whatever corner is cheapest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stash.errors import PlanUndecidedError
from stash.quilt.possible import Choices, hold_shares
from stash.quilt.supply import Wish

__all__ = ["towards_the_middle"]

_RELUCTANT = 1_000.0  # pieces off the middle that are better than one of a cloth to look at twice
_SMALL = 0.02
_FIRST = 0.01  # by which being off costs more for the first share than for the last


def towards_the_middle(choices: Choices, wish: Wish) -> Wish:
    """Give the wish with the counts its shares come to, as near to their usual as can be.

    Pieces off the middle count by the share they are off of; cloth to look at twice is not taken
    for it. Of choices equally near, the share that is named first has its middle: which of them
    the solver comes upon first hangs on its version.
    """
    drawn = [share for share in wish.shares if share.usual is not None]
    if not drawn or not wish.to_choose:
        return wish
    program, chosen = choices.program(wish)
    program.add_row(dict.fromkeys(chosen.values(), 1.0), wish.to_choose, wish.to_choose)
    hold_shares(program, chosen, wish)
    for place, share in enumerate(drawn):
        row = {at: 1.0 for (kind, _), at in chosen.items() if kind.has(share)}
        wanted = (share.usual or 0.0) * wish.pieces - wish.done_of(share)
        # A piece too few of a small part is missed more than one of a large part.
        cost = (1 - _FIRST * place / len(drawn)) / max(share.usual or 0.0, _SMALL)
        off = program.add_variable(float(wish.pieces), cost=cost)
        program.add_row({**row, off: 1.0}, np.floor(wanted + 0.5), np.inf)
        program.add_row({**row, off: -1.0}, -np.inf, np.floor(wanted + 0.5))
    for (kind, _), at in chosen.items():
        if kind.reluctant:
            extra = program.add_variable(wish.pieces, cost=_RELUCTANT)
            program.add_row({extra: 1.0, at: -1.0}, 0, 0)
    try:
        answer, _ = program.solve()
    except PlanUndecidedError:
        return wish
    if answer is None:
        return wish
    settled = []
    for share in wish.shares:
        of_it = [place for (kind, _), place in chosen.items() if kind.has(share)]
        count = round(float(answer[of_it].sum())) + wish.done_of(share)
        part = count / wish.pieces
        settled.append(share if share.usual is None else replace(share, least=part, most=part))
    return replace(wish, shares=tuple(settled))
