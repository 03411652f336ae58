"""Whether a database holds the tables of its version and nothing besides.

A trigger or a view that somebody planted would run with the next harmless change.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType

from sqlalchemy import Connection, create_engine
from sqlalchemy.pool import StaticPool

from stash.storage.migrations import STEPS, version_of

__all__ = ["schema_faults"]


def schema_faults(connection: Connection) -> Iterator[str]:
    """Say in what a database's schema differs from the one its migrations make."""
    if connection.dialect.name != "sqlite":
        return
    found, made = _schema_of(connection), _schema_made(version_of(connection))
    for (kind, name), text in found.items():
        if (kind, name) not in made:
            yield f"it holds a {kind} “{name}” that does not belong there"
        elif made[kind, name] != text:
            yield f"its {kind} “{name}” is not as this program makes it"
    for kind, name in made.keys() - found.keys():
        yield f"its {kind} “{name}” is gone"


@cache
def _schema_made(version: int) -> Mapping[tuple[str, str], str]:
    engine = create_engine("sqlite://", poolclass=StaticPool)
    with engine.begin() as connection:
        for step in STEPS[:version]:
            step(connection)
        made = _schema_of(connection)
    engine.dispose()
    return MappingProxyType(made)


def _schema_of(connection: Connection) -> dict[tuple[str, str], str]:
    # Names that begin with sqlite_ are the library's own; nobody can make one.
    rows = connection.exec_driver_sql(
        "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
    )
    return {(str(kind), str(name)): _plain(str(text)) for kind, name, text in rows}


def _plain(statement: str) -> str:
    """Leave out what says nothing: blanks, and marks around a name that needs none."""
    return "".join(statement.replace('"', "").split()).lower()
