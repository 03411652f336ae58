"""What may be one cloth, read in plain SQL: pairs that look alike, and what was answered."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from stash.usecases.ports import AlikeScraps, TwinAnswer

__all__ = ["ALIKE", "ANSWERS", "alike_of_rows", "answers_of_rows"]

# Plain SQL that SQLite and PostgreSQL read alike, so that it also runs without SQLAlchemy.
_OF_LIVING = (
    " JOIN scraps a ON a.number = t.one JOIN scraps b ON b.number = t.other "
    "WHERE NOT a.deleted AND NOT b.deleted ORDER BY t.one, t.other"
)
ALIKE = f"SELECT t.one, t.other, a.fabric, b.fabric, t.apart FROM alike t{_OF_LIVING}"
ANSWERS = f"SELECT t.one, t.other, a.fabric, b.fabric, t.answer FROM twin_answers t{_OF_LIVING}"


def alike_of_rows(rows: Iterable[Sequence[Any]]) -> tuple[AlikeScraps, ...]:
    """Read the rows of ``ALIKE``."""
    return tuple(AlikeScraps(*row) for row in rows)


def answers_of_rows(rows: Iterable[Sequence[Any]]) -> tuple[TwinAnswer, ...]:
    """Read the rows of ``ANSWERS``."""
    return tuple(TwinAnswer(*row) for row in rows)
