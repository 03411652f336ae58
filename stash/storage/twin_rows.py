"""Rows of what may be one cloth: imprints of scraps, pairs that look alike, answers of a person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import Connection, delete, insert, or_, select

from stash.errors import ChangedElsewhereError
from stash.scrap import Scrap
from stash.storage.change_log import Change
from stash.storage.scrap_rows import begin_fabric, one_scrap
from stash.storage.tables import alike, imprints, scraps, twin_answers
from stash.usecases.ports import Settlement

__all__ = ["imprints_of", "keep_imprints", "settle"]


def imprints_of(connection: Connection, recipe: int) -> dict[int, bytes]:
    """Give the kept imprints of scraps that are not deleted, made by this recipe."""
    living = select(scraps.c.number).where(~scraps.c.deleted)
    rows = connection.execute(
        select(imprints.c.scrap, imprints.c.features)
        .where(imprints.c.recipe == recipe, imprints.c.scrap.in_(living))
        .order_by(imprints.c.scrap)
    )
    return {row.scrap: bytes(row.features) for row in rows}


def keep_imprints(
    connection: Connection,
    recipe: int,
    features: Mapping[int, bytes],
    pairs: Sequence[tuple[int, int, float]],
) -> None:
    """Keep imprints and the pairs found with them, in place of older ones of the same scraps."""
    known = set(connection.execute(select(scraps.c.number)).scalars())
    fresh = {scrap: packed for scrap, packed in features.items() if scrap in known}
    for scrap in fresh:
        connection.execute(delete(imprints).where(imprints.c.scrap == scrap))
        of_it = or_(alike.c.one == scrap, alike.c.other == scrap)
        connection.execute(delete(alike).where(of_it))
    if fresh:
        rows = [
            {"scrap": scrap, "recipe": recipe, "features": packed}
            for scrap, packed in fresh.items()
        ]
        connection.execute(insert(imprints), rows)
    found = {
        (min(one, other), max(one, other)): apart
        for one, other, apart in pairs
        if one in known and other in known
    }
    if found:
        connection.execute(
            insert(alike),
            [{"one": one, "other": two, "apart": apart} for (one, two), apart in found.items()],
        )


def settle(connection: Connection, change: Change, settled: Settlement) -> None:
    """Write answers, and move scraps to the fabrics that follow from them.

    Raises
    ------
    ChangedElsewhereError
        If someone else has meanwhile joined, parted or answered otherwise.
    """
    for scrap in settled.seen:
        _need_as_seen(connection, scrap, settled.moved)
    wanted = dict(settled.moved)
    for apart in settled.parted:
        wanted.update(dict.fromkeys(apart, begin_fabric(change)))
    for number, fabric in wanted.items():
        change.update(scraps, number, {"fabric": fabric})
    for (one, other), (before, answer) in settled.answers.items():
        _answer(connection, change, (min(one, other), max(one, other)), before, answer)


def _need_as_seen(connection: Connection, seen: Scrap, moved: Mapping[int, int]) -> None:
    now = one_scrap(connection, seen.number)
    if now.fabric not in (seen.fabric, moved.get(seen.number, seen.fabric)):
        raise ChangedElsewhereError(f"the fabric of scrap {seen.number}")


def _answer(
    connection: Connection, change: Change, pair: tuple[int, int], before: str, answer: str
) -> None:
    one, other = pair
    row = connection.execute(
        select(twin_answers.c.number, twin_answers.c.answer).where(
            twin_answers.c.one == one, twin_answers.c.other == other
        )
    ).first()
    if row is None:
        change.insert(twin_answers, {"one": one, "other": other, "answer": answer})
    elif row.answer not in (before, answer):
        raise ChangedElsewhereError(f"the answer for scraps {one} and {other}")
    else:
        change.update(twin_answers, row.number, {"answer": answer})
