"""Rows of largest sizes that were worked out; a change of an outline forgets its own."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import Connection, bindparam, delete, insert, select

from stash.storage.row_digests import touch
from stash.storage.tables import largest_sizes, scraps
from stash.usecases.ports import SizeKey

__all__ = ["forget_sizes_on_grain", "keep_sizes", "sizes_of"]


def sizes_of(connection: Connection, key: SizeKey) -> dict[int, float]:
    """Give stored largest finished sizes in inches by scrap number."""
    rows = connection.execute(
        select(largest_sizes.c.scrap, largest_sizes.c.size_in).where(
            largest_sizes.c.family == key.family, largest_sizes.c.rule == key.rule
        )
    )
    return {row.scrap: row.size_in for row in rows}


def keep_sizes(connection: Connection, key: SizeKey, sizes: Mapping[int, float]) -> None:
    """Store largest sizes in place of older ones; those of scraps that are gone are left out."""
    known = set(connection.execute(select(scraps.c.number)).scalars())
    rows = [
        {"family": key.family, "rule": key.rule, "scrap": scrap, "size_in": float(size)}
        for scrap, size in sizes.items()
        if scrap in known
    ]
    if not rows:
        return
    gone = delete(largest_sizes).where(
        largest_sizes.c.family == key.family,
        largest_sizes.c.rule == key.rule,
        largest_sizes.c.scrap == bindparam("of_scrap"),
    )
    connection.execute(gone, [{"of_scrap": row["scrap"]} for row in rows])
    connection.execute(insert(largest_sizes), rows)
    for row in rows:
        touch(connection, largest_sizes, row["family"], row["rule"], row["scrap"])


def forget_sizes_on_grain(connection: Connection) -> None:
    """Leave out the sizes that hang on which way the grain was guessed to run."""
    connection.execute(delete(largest_sizes).where(largest_sizes.c.rule.contains("grain")))
