"""Work out largest sizes and piece counts ahead of the question, a few scraps at a time.

A stash of thousands takes minutes the first time a shape is asked for; done in small portions,
each kept as soon as it is there, it may be stopped at any point and goes on where it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stash.scrap import Scrap, ScrapState
from stash.shape.template import Template
from stash.usecases.match_palette import has_stored_sizes
from stash.usecases.piece_counts import (
    CutRule,
    count_key,
    kept_sizes,
    largest_sizes,
    piece_counts,
)
from stash.usecases.ports import AskedStore, SizeKey

__all__ = ["in_portions", "not_worked_out", "sizes_known", "work_out"]

_PORTION = 40  # scraps between two words on how far it is; fewer at once take longer each


def sizes_known(store: AskedStore, template: Template, rule: CutRule) -> dict[int, float]:
    """Give the largest finished sizes kept so far, inches, by scrap number."""
    return kept_sizes(store, SizeKey(template.family, rule.word()), rule)


def not_worked_out(
    store: AskedStore, template: Template, rule: CutRule, *, counts: bool = True
) -> Sequence[Scrap]:
    """Give the scraps of which a question about this piece would have to be worked out.

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
    scraps = [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]
    sizes = sizes_known(store, template, rule) if has_stored_sizes(template) else None
    missing = [] if sizes is None else [one for one in scraps if one.number not in sizes]
    if not counts:
        return missing
    counted = kept_sizes(store, count_key(template, rule), rule)
    to_count = [
        scrap
        for scrap in scraps
        if scrap.number not in counted
        and (sizes is None or sizes.get(scrap.number, 0.0) >= template.size_in)
    ]
    return [*missing, *to_count]


def work_out(
    store: AskedStore, template: Template, rule: CutRule, *, most: int, counts: bool = True
) -> bool:
    """Work out so many of the scraps that are missing; says whether some are left.

    Sizes come first: a scrap too small for a piece is never counted.
    """
    missing = not_worked_out(store, template, rule, counts=counts)[:most]
    if not missing:
        return False
    sizes = sizes_known(store, template, rule) if has_stored_sizes(template) else None
    to_size = [] if sizes is None else [one for one in missing if one.number not in sizes]
    if to_size:
        largest_sizes(store, to_size, family=template.family, rule=rule)
    to_count = [scrap for scrap in missing if scrap not in to_size]
    if to_count:
        piece_counts(store, to_count, template=template, rule=rule)
    return True


def in_portions(store: AskedStore, template: Template, rule: CutRule) -> Iterator[tuple[int, int]]:
    """Work out all that a question about this piece needs; gives done, of how many, as it goes.

    Where nearly nothing is missing it gives nothing at all, and the question does it by itself.
    """
    missing = _numbers_missing(store, template, rule)
    if missing <= _PORTION:
        return
    numbers = _to_do(store, template, rule)
    total, before = len(numbers), None
    # A scrap that was sized may wait for its count next: so many are left, but not the same ones.
    while numbers and numbers != before:
        work_out(store, template, rule, most=_PORTION)
        before, numbers = numbers, _to_do(store, template, rule)
        yield max(0, total - len(numbers)), total


def _to_do(store: AskedStore, template: Template, rule: CutRule) -> list[int]:
    return [scrap.number for scrap in not_worked_out(store, template, rule)]


def _numbers_missing(store: AskedStore, template: Template, rule: CutRule) -> int:
    """Count the scraps that would have to be looked at, without reading their outlines."""
    stored = has_stored_sizes(template)
    sizes = sizes_known(store, template, rule) if stored else {}
    counted = kept_sizes(store, count_key(template, rule), rule)
    return sum(
        number not in counted and sizes.get(number, template.size_in) >= template.size_in
        for number in store.columns().number.tolist()
    )
