"""Work out largest sizes and piece counts beside a question, a few scraps at a time.

Whether a piece fits is said at once; the rest takes minutes in a stash of thousands the first time
a shape is asked for. Done in small portions, each kept as soon as it is there, it may be stopped
at any point and goes on where it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stash.shape.templates.template import Template
from stash.usecases.pieces.piece_counts import CutRule, has_stored_sizes
from stash.usecases.pieces.what_scraps_give import (
    count_scraps,
    known_sizes,
    size_scraps,
    what_scraps_give,
)
from stash.usecases.ports import AskedStore

__all__ = ["in_portions", "not_worked_out", "sizes_known", "work_out"]

_PORTION = 40  # scraps between two words on how far it is; fewer at once take longer each


def sizes_known(store: AskedStore, template: Template, rule: CutRule) -> dict[int, float]:
    """Give the largest finished sizes kept so far, inches, by scrap number."""
    return dict(known_sizes(store, template, rule)) if has_stored_sizes(template) else {}


def not_worked_out(
    store: AskedStore, template: Template, rule: CutRule, *, counts: bool = True
) -> Sequence[int]:
    """Give the scraps of which an answer about this piece could yet say more.

    Parameters
    ----------
    store : AskedStore
    template : Template
        The piece asked for.
    rule : CutRule
        How it may be cut.
    counts : bool
        Whether the number of pieces is asked for too, or the largest size alone.
    """
    given = what_scraps_give(store, template, rule, at_once=0)
    uncounted = given.uncounted if counts else []
    return [*uncounted, *given.unsized]


def work_out(
    store: AskedStore, template: Template, rule: CutRule, *, most: int, counts: bool = True
) -> bool:
    """Work out so many of the scraps that are missing; says whether there were any.

    Pieces come first, and are counted only where one fits.
    """
    given = what_scraps_give(store, template, rule, at_once=0)
    uncounted = given.uncounted[:most] if counts else []
    count_scraps(store, template, rule, uncounted)
    unsized = given.unsized[: most - len(uncounted)]
    size_scraps(store, template, rule, unsized)
    return bool(uncounted or unsized)


def in_portions(
    store: AskedStore, template: Template, rule: CutRule, *, counts: bool = True
) -> Iterator[tuple[int, int]]:
    """Work out all that an answer about this piece can say; gives done, of how many, as it goes."""
    left: Sequence[int] = not_worked_out(store, template, rule, counts=counts)
    total, before = len(left), None
    while left and left != before:
        work_out(store, template, rule, most=_PORTION, counts=counts)
        before, left = left, not_worked_out(store, template, rule, counts=counts)
        yield max(0, total - len(left)), total
