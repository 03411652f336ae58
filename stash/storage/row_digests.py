"""A digest beside every row, and a chain through the history: a changed bit is seen.

Every writer says which rows it touched; before its transaction ends their digests are written.
The chain binds each change to all before it, so that none can drop out unseen.
"""

from __future__ import annotations

import hashlib
import json
import struct
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeAlias

from sqlalchemy import (
    Column,
    Connection,
    Double,
    Select,
    Table,
    delete,
    func,
    insert,
    inspect,
    select,
    tuple_,
)

from stash.storage.tables import (
    changes,
    digests,
    documents,
    edits,
    fabrics,
    largest_sizes,
    photos,
    scraps,
    stamp,
    twin_answers,
)

__all__ = [
    "changed_rows",
    "forget_touched",
    "reseal",
    "touch",
    "write_digests",
]

Key: TypeAlias = tuple[Any, ...]

_COVERED = (photos, fabrics, scraps, documents, twin_answers, changes, edits, largest_sizes, stamp)
_CHAIN = "history"
_TOUCHED = "stash_touched"
_AT_ONCE = 200  # keys in one question; SQLite allows 999 values


def touch(connection: Connection, table: Table, *key: Any) -> None:
    """Note that a row was written or removed in this transaction."""
    connection.info.setdefault(_TOUCHED, {}).setdefault(table, {})[key] = None


def write_digests(connection: Connection) -> None:
    """Write the digests of all rows touched; the last thing before a transaction is kept."""
    for table, keys in connection.info.pop(_TOUCHED, {}).items():
        known = list(keys)
        for start in range(0, len(known), _AT_ONCE):
            _write_some(connection, table, known[start : start + _AT_ONCE])


def forget_touched(connection: Connection) -> None:
    """Begin without what a transaction that was given up has touched."""
    connection.info.pop(_TOUCHED, None)


def _write_some(connection: Connection, table: Table, keys: list[Key]) -> None:
    columns = list(table.primary_key)
    wanted = (
        tuple_(*columns).in_(keys) if len(columns) > 1 else columns[0].in_([k[0] for k in keys])
    )
    rows = _rows(connection, select(table).where(wanted))
    names = [_name_of(key) for key in keys]
    gone = digests.c.row_key.in_(names)
    connection.execute(delete(digests).where(digests.c.on_table == table.name, gone))
    made = [_entry(table.name, _key_of(table, row), _digest_of(table, row)) for row in rows]
    if made:
        connection.execute(insert(digests), made)
    if table is changes:
        _chain_on(connection, rows)


def _chain_on(connection: Connection, rows: Iterable[Mapping[str, Any]]) -> None:
    """Bind changes that are new to those before them."""
    for row in sorted(rows, key=lambda one: one["number"]):
        earlier = select(func.max(changes.c.number)).where(changes.c.number < row["number"])
        before = _chained(connection, connection.execute(earlier).scalar_one() or 0)
        if not _chained(connection, row["number"]):
            entry = _entry(_CHAIN, (row["number"],), _link(before, row))
            connection.execute(insert(digests), [entry])


def _chained(connection: Connection, number: int) -> str:
    asked = select(digests.c.digest).where(
        digests.c.on_table == _CHAIN, digests.c.row_key == _name_of((number,))
    )
    return connection.execute(asked).scalar_one_or_none() or ""


def _link(before: str, row: Mapping[str, Any]) -> str:
    """Bind a change to the one before it; its state may still change and is left out."""
    text = json.dumps([before, row["number"], row["at"], row["why"]])
    return hashlib.blake2b(text.encode(), digest_size=16).hexdigest()


def reseal(connection: Connection, *, but: Iterable[tuple[str, str]] = ()) -> None:
    """Write all digests anew, for rows written in bulk.

    The rows are believed, except those given by table and key as ``changed_rows`` does.
    """
    forget_touched(connection)
    connection.execute(delete(digests))
    for table in _COVERED:
        rows = _rows(connection, select(table))
        made = [_entry(table.name, _key_of(table, row), _digest_of(table, row)) for row in rows]
        if made:
            connection.execute(insert(digests), made)
        if table is changes:
            before, links = "", []
            for row in sorted(rows, key=lambda one: one["number"]):
                before = _link(before, row)
                links.append(_entry(_CHAIN, (row["number"],), before))
            if links:
                connection.execute(insert(digests), links)
    for table_name, name in but:
        connection.execute(
            delete(digests).where(digests.c.on_table == table_name, digests.c.row_key == name)
        )


def changed_rows(connection: Connection) -> Iterator[tuple[str, str]]:
    """Give table and key of every row that is not as it was written, lost or come from nowhere.

    A database that is to be upgraded still lacks the newest columns; its digests were made so.
    """
    noted: dict[tuple[str, str], str] = {
        (row.on_table, row.row_key): row.digest for row in connection.execute(select(digests))
    }
    for table in _COVERED:
        for row in _rows(connection, select(*_columns_there(connection, table))):
            name = _name_of(_key_of(table, row))
            if noted.pop((table.name, name), None) != _digest_of(table, row):
                yield table.name, name
    before = ""
    for row in _rows(connection, select(changes).order_by(changes.c.number)):
        before = _link(before, row)
        name = _name_of((row["number"],))
        if noted.pop((_CHAIN, name), None) != before:
            yield _CHAIN, name
            break  # what comes after it is bound to it
    else:
        yield from ((_CHAIN, name) for table, name in noted if table == _CHAIN)
    # Sizes go with the outline they were worked out for; nothing is lost with them.
    of_sizes = (_CHAIN, largest_sizes.name)
    yield from ((table, name) for table, name in noted if table not in of_sizes)


def _columns_there(connection: Connection, table: Table) -> list[Column[Any]]:
    found = inspect(connection)
    names = found.get_columns(table.name) if found.has_table(table.name) else []
    there = {column["name"] for column in names}
    if not {column.name for column in table.primary_key} <= there:
        return list(table.columns)  # reading them then tells of the damage
    return [column for column in table.columns if column.name in there]


def _digest_of(table: Table, row: Mapping[str, Any]) -> str:
    """Give the digest of a row: of every column's name and value, and of the table's name."""
    digest = hashlib.blake2b(table.name.encode(), digest_size=16)
    for column in (one for one in table.columns if one.name in row):
        digest.update(
            b"\x00" + column.name.encode() + b"\x00" + _bytes_of(column, row[column.name])
        )
    return digest.hexdigest()


def _rows(connection: Connection, statement: Select[Any]) -> list[dict[str, Any]]:
    return [dict(row) for row in connection.execute(statement).mappings()]


def _bytes_of(column: Column[Any], value: Any) -> bytes:
    if value is None:
        return b"n"
    if isinstance(value, bytes | bytearray | memoryview):
        return b"x" + bytes(value)
    if isinstance(value, str):
        return b"t" + value.encode("utf-8", "surrogatepass")
    if isinstance(column.type, Double):
        return b"d" + struct.pack("<d", value)
    return b"i%d" % int(value)


def _entry(table: str, key: Key, digest: str) -> dict[str, str]:
    return {"on_table": table, "row_key": _name_of(key), "digest": digest}


def _key_of(table: Table, row: Mapping[str, Any]) -> Key:
    return tuple(row[column.name] for column in table.primary_key)


def _name_of(key: Key) -> str:
    return json.dumps(list(key), ensure_ascii=False)
