"""The numbered steps lead to the tables the statements are written for."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, inspect

from stash.storage.migrations import NEWEST, migrate, version_of
from stash.storage.sqlite_file import file_engine
from stash.storage.tables import metadata


def _plain_type(kind: object) -> str:
    """Name a type; SQLite reports one eight-byte float under three names."""
    return "float" if str(kind).split()[0] in ("REAL", "DOUBLE", "DOUBLE_PRECISION") else str(kind)


def _shape_of(engine: Engine) -> dict[str, Any]:
    look = inspect(engine)
    return {
        table: {
            "columns": {
                (column["name"], _plain_type(column["type"]), column["nullable"])
                for column in look.get_columns(table)
            },
            "key": sorted(look.get_pk_constraint(table)["constrained_columns"]),
            "unique": sorted(u["column_names"] for u in look.get_unique_constraints(table)),
            "foreign": sorted(
                (f["constrained_columns"], f["referred_table"], f["options"])
                for f in look.get_foreign_keys(table)
            ),
            "indexes": sorted((i["name"], i["column_names"]) for i in look.get_indexes(table)),
        }
        for table in look.get_table_names()
    }


def test_an_empty_file_migrated_equals_the_tables(tmp_path: Path) -> None:
    stepped, made = (file_engine(tmp_path / name, mode="rwc") for name in ("steps.db", "tables.db"))
    with stepped.begin() as connection:
        migrate(connection)
    metadata.create_all(made)
    assert _shape_of(stepped) == _shape_of(made)
    stepped.dispose()
    made.dispose()


def test_a_step_that_fails_leaves_nothing(tmp_path: Path) -> None:
    engine = file_engine(tmp_path / "x.db", mode="rwc")

    def migrate_then_fail() -> None:
        with engine.execution_options(stash_writes=True).begin() as connection:
            migrate(connection)
            raise RuntimeError("power cut")

    with pytest.raises(RuntimeError):
        migrate_then_fail()
    assert inspect(engine).get_table_names() == []
    with engine.begin() as connection:
        assert version_of(connection) == 0
    engine.dispose()


def test_migrating_twice_changes_nothing(tmp_path: Path) -> None:
    engine = file_engine(tmp_path / "x.db", mode="rwc")
    for _ in range(2):
        with engine.execution_options(stash_writes=True).begin() as connection:
            migrate(connection)
            assert version_of(connection) == NEWEST
    engine.dispose()
