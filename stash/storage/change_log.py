"""Every change with the rows before and after it, so that it can be read and taken back."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, ScalarSelect, Table, delete, func, insert, or_, select, update

from stash.errors import TooLongError
from stash.storage.row_digests import reseal, touch
from stash.storage.tables import (
    alike,
    changes,
    documents,
    edits,
    fabrics,
    imprints,
    largest_sizes,
    photos,
    scraps,
    stamp,
    twin_answers,
)
from stash.wording import counted

__all__ = [
    "Change",
    "bump",
    "do_again",
    "empty_bin",
    "last_taken_back",
    "newest_change",
    "row_as_json",
    "row_from_json",
    "rows_taken_back",
    "scraps_once_of",
    "take_back",
]

_TABLES = {table.name: table for table in (photos, fabrics, scraps, documents, twin_answers)}
# What a stored largest size depends on.
_SHAPE_COLUMNS = ("outline", "outline_error_in", "washed", "grain_deg")
# What tells one cloth from another: where one of these is measured anew, so is the question.
_CLOTH_COLUMNS = ("outline", "picture", "px_per_in", "reads_as_l", "reads_as_a", "reads_as_b")


# What people call a column, where that is another word.
_CALLED = {"place": "bin", "notes": "note"}


class Change:
    """One thing a person did, while it is being written.

    Parameters
    ----------
    connection : Connection
        In a write transaction.
    why : str
        What was done, in the words of the history.
    at : str
        When, ISO 8601.
    """

    def __init__(self, connection: Connection, *, why: str, at: str) -> None:
        self._connection = connection
        self._step = 0
        _close_the_way_forward(connection)
        result = connection.execute(insert(changes).values(at=at, why=why, state="done"))
        self.number = _new_number(result)
        touch(connection, changes, self.number)
        bump(connection)

    def insert(self, table: Table, values: Mapping[str, object]) -> int:
        """Begin a row and give its number; raises TooLongError."""
        _refuse_too_long(table, values)
        number = _new_number(self._connection.execute(insert(table).values(**values)))
        self.begun(table, number)
        return number

    def begun(self, table: Table, number: int) -> None:
        """Record that a row began."""
        touch(self._connection, table, number)
        self._record(table, number, None, None)

    def update(self, table: Table, number: int, values: Mapping[str, object]) -> bool:
        """Change a row where it differs, and say whether it did; raises TooLongError."""
        before = read_row(self._connection, table, number)
        if before is None:
            raise KeyError(number)
        different = {key: value for key, value in values.items() if before[key] != value}
        if not different:
            return False
        _refuse_too_long(table, different)
        _write_row(self._connection, table, number, {**before, **different}, before)
        after = {**before, **different}
        self._record(table, number, row_as_json(before), row_as_json(after))
        if table is scraps and not different.keys().isdisjoint(_CLOTH_COLUMNS):
            self._ask_anew(number)
        return True

    def _ask_anew(self, scrap: int) -> None:
        """Drop what was answered of a scrap that is no longer measured as it was."""
        of_it = or_(twin_answers.c.one == scrap, twin_answers.c.other == scrap)
        rows = self._connection.execute(select(twin_answers.c.number).where(of_it)).scalars()
        for number in rows.all():
            self.delete(twin_answers, number)

    def delete(self, table: Table, number: int) -> None:
        """End a row."""
        before = read_row(self._connection, table, number)
        if before is None:
            raise KeyError(number)
        self._record(table, number, row_as_json(before), None)
        self._connection.execute(delete(table).where(table.c.number == number))
        touch(self._connection, table, number)

    def _record(self, table: Table, number: int, before: str | None, after: str | None) -> None:
        self._connection.execute(
            insert(edits).values(
                change=self.number,
                step=self._step,
                on_table=table.name,
                row_number=number,
                before=before,
                after=after,
            )
        )
        touch(self._connection, edits, self.number, self._step)
        self._step += 1


def _close_the_way_forward(connection: Connection) -> None:
    """Forget how to do again what was taken back: something else is done from here.

    Otherwise it would come up again once what is done now is taken back in its turn.
    """
    taken_back = (
        select(edits.c.change, edits.c.step)
        .join(changes, changes.c.number == edits.c.change)
        .where(changes.c.state == "undone")
    )
    steps = connection.execute(taken_back).all()
    for step in steps:
        touch(connection, edits, *step)
    for number in {step.change for step in steps}:
        connection.execute(delete(edits).where(edits.c.change == number))


def _refuse_too_long(table: Table, values: Mapping[str, object]) -> None:
    """Refuse what a person gave if it has more letters than its column takes."""
    for name, value in values.items():
        most = table.c[name].info.get("longest")
        if most is not None and isinstance(value, str) and len(value) > most:
            raise TooLongError(_CALLED.get(name, name), len(value), most)


def bump(connection: Connection) -> None:
    """Tell readers that what they remember is old."""
    connection.execute(update(stamp).values(changes=stamp.c.changes + 1))
    touch(connection, stamp, 1)


def scraps_once_of(connection: Connection, fabric: int) -> set[int]:
    """Give the scraps that a change which still holds has taken from a fabric."""
    rows = connection.execute(
        select(edits.c.row_number, edits.c.before)
        .join(changes, changes.c.number == edits.c.change)
        .where(
            edits.c.on_table == scraps.name,
            changes.c.state != "undone",
            edits.c.before.contains(f'"fabric": {fabric},'),
        )
    )
    return {number for number, before in rows if json.loads(before)["fabric"] == fabric}


def newest_change(connection: Connection) -> tuple[int, str] | None:
    """Give number and words of the newest change that can still be taken back."""
    newest = select(func.max(changes.c.number)).where(changes.c.state == "done").scalar_subquery()
    row = connection.execute(
        select(changes.c.number, changes.c.why).where(changes.c.number == newest)
    ).first()
    return None if row is None else (row.number, row.why)


def take_back(connection: Connection, number: int) -> None:
    """Put every row a change touched back as it was before, newest step first."""
    steps = connection.execute(
        select(edits).where(edits.c.change == number).order_by(edits.c.step.desc())
    ).all()
    for step in steps:
        table = _TABLES[step.on_table]
        now = read_row(connection, table, step.row_number)
        if step.before is None:
            _remember_begun(connection, step, now)
            connection.execute(delete(table).where(table.c.number == step.row_number))
        elif now is None:
            connection.execute(insert(table).values(**row_from_json(step.before)))
        else:
            _write_row(connection, table, step.row_number, row_from_json(step.before), now)
        touch(connection, table, step.row_number)
    connection.execute(update(changes).where(changes.c.number == number).values(state="undone"))
    touch(connection, changes, number)
    bump(connection)


def _remember_begun(connection: Connection, step: Any, now: Mapping[str, Any] | None) -> None:
    """Note how a row began, so that it can begin again."""
    if step.after is None and now is not None:
        connection.execute(
            update(edits)
            .where(edits.c.change == step.change, edits.c.step == step.step)
            .values(after=row_as_json(now))
        )
        touch(connection, edits, step.change, step.step)


def last_taken_back(connection: Connection) -> tuple[int, str] | None:
    """Give number and words of the change taken back last, if nothing was changed since."""
    row = connection.execute(
        select(changes.c.number, changes.c.why)
        .where(changes.c.number > _settled(), changes.c.number.in_(select(edits.c.change)))
        .order_by(changes.c.number)
    ).first()
    if row is None or not _can_be_done_again(connection, row.number):
        return None
    return row.number, row.why


def _settled() -> ScalarSelect[int]:
    newest = func.coalesce(func.max(changes.c.number), 0)
    # What can neither be taken back nor done again stands in nobody's way.
    return select(newest).where(changes.c.state == "done").scalar_subquery()


def _can_be_done_again(connection: Connection, number: int) -> bool:
    # Until rows were remembered when taken back, one that began left no trace of how it was.
    steps = connection.execute(select(edits).where(edits.c.change == number)).all()
    return all(step.before or step.after for step in steps)


def do_again(connection: Connection, number: int) -> None:
    """Do again what a change that was taken back had done, oldest step first."""
    steps = connection.execute(
        select(edits).where(edits.c.change == number).order_by(edits.c.step)
    ).all()
    for step in steps:
        table = _TABLES[step.on_table]
        now = read_row(connection, table, step.row_number)
        if step.after is None:
            connection.execute(delete(table).where(table.c.number == step.row_number))
        elif now is None:
            connection.execute(insert(table).values(**row_from_json(step.after)))
        else:
            _write_row(connection, table, step.row_number, row_from_json(step.after), now)
        touch(connection, table, step.row_number)
    connection.execute(update(changes).where(changes.c.number == number).values(state="done"))
    touch(connection, changes, number)
    bump(connection)


def rows_taken_back(connection: Connection, table: Table) -> list[dict[str, Any]]:
    """Give a table's rows that can still begin again, as they were."""
    begun = select(edits.c.after).where(
        edits.c.change > _settled(),
        edits.c.on_table == table.name,
        edits.c.before.is_(None),
        edits.c.after.is_not(None),
    )
    return [row_from_json(after) for after in connection.execute(begun).scalars()]


def empty_bin(connection: Connection, *, at: str) -> int:
    """Remove deleted scraps, their photos and fabrics if nothing is left of them, and the past.

    Sweeping the files is left to the caller.
    """
    binned = connection.execute(select(scraps.c.photo).where(scraps.c.deleted)).scalars().all()
    count = len(binned)
    if not count:
        return 0
    connection.execute(delete(scraps).where(scraps.c.deleted))
    connection.execute(delete(fabrics).where(fabrics.c.number.not_in(select(scraps.c.fabric))))
    left = select(scraps.c.photo).where(scraps.c.photo.is_not(None))
    for photo in {sha256 for sha256 in binned if sha256 is not None}:
        connection.execute(
            delete(photos).where(photos.c.sha256 == photo, photos.c.sha256.not_in(left))
        )
    connection.execute(delete(edits))
    connection.execute(update(changes).where(changes.c.state == "done").values(state="final"))
    what = f"emptied the bin of {counted(count, 'scrap')}"
    connection.execute(insert(changes).values(at=at, why=what, state="final"))
    bump(connection)
    reseal(connection)
    return count


def read_row(connection: Connection, table: Table, number: int) -> dict[str, Any] | None:
    """Read one row by number."""
    row = connection.execute(select(table).where(table.c.number == number)).mappings().first()
    return None if row is None else dict(row)


def _write_row(
    connection: Connection,
    table: Table,
    number: int,
    row: Mapping[str, Any],
    before: Mapping[str, Any],
) -> None:
    connection.execute(update(table).where(table.c.number == number).values(**row))
    touch(connection, table, number)
    if table is scraps and any(row[key] != before[key] for key in _SHAPE_COLUMNS):
        connection.execute(delete(largest_sizes).where(largest_sizes.c.scrap == number))
    if table is scraps and any(row[key] != before[key] for key in _CLOTH_COLUMNS):
        connection.execute(delete(imprints).where(imprints.c.scrap == number))
        of_it = or_(alike.c.one == number, alike.c.other == number)
        connection.execute(delete(alike).where(of_it))


def row_as_json(row: Mapping[str, Any]) -> str:
    """Write a row as JSON, bytes as base64."""
    return json.dumps(dict(row), ensure_ascii=False, default=_plain)


def _plain(value: object) -> object:
    if isinstance(value, bytes | bytearray | memoryview):
        return {"base64": base64.b64encode(value).decode("ascii")}
    raise TypeError(f"no column holds a {type(value).__name__}")


def row_from_json(text: str) -> dict[str, Any]:
    """Read what ``row_as_json`` wrote."""
    row: dict[str, Any] = json.loads(text)
    return {
        key: base64.b64decode(value["base64"]) if isinstance(value, dict) else value
        for key, value in row.items()
    }


def _new_number(result: Any) -> int:
    (number,) = result.inserted_primary_key
    return int(number)
