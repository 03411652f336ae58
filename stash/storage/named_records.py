"""Rows of named records: palettes, templates, quilts, cards."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from sqlalchemy import Connection, select

from stash.errors import ChangedElsewhereError, NotFoundError
from stash.storage.change_log import Change
from stash.storage.tables import documents
from stash.usecases.ports import Document

__all__ = ["delete_document", "document_named", "documents_of", "keep_document"]


def documents_of(connection: Connection, kind: str) -> tuple[Document, ...]:
    """Give all named records of a kind, oldest first."""
    rows = connection.execute(
        select(documents).where(documents.c.kind == kind).order_by(documents.c.number)
    )
    return tuple(Document(row.kind, row.name, json.loads(row.body)) for row in rows)


def document_named(connection: Connection, kind: str, name: str) -> Document:
    """Give one named record; raises NotFoundError that lists the names there are."""
    there = documents_of(connection, kind)
    for document in there:
        if document.name == name:
            return document
    raise NotFoundError(kind, name, hint=_hint(kind, there))


def delete_document(connection: Connection, change: Change, kind: str, name: str) -> None:
    """Take a named record away; raises NotFoundError."""
    number = _number(connection, kind, name)
    if number is None:
        raise NotFoundError(kind, name)
    change.delete(documents, number)


def keep_document(
    connection: Connection, change: Change, document: Document, *, seen: Sequence[Document] = ()
) -> None:
    """Insert a named record, or replace its body.

    Raises
    ------
    ChangedElsewhereError
        If one of those it was thought out with is not as it was seen.
    """
    for one in seen:
        if one not in documents_of(connection, one.kind):
            raise ChangedElsewhereError(f"the {one.kind} “{one.name}”")
    body = json.dumps(document.body, ensure_ascii=False)
    number = _number(connection, document.kind, document.name)
    if number is None:
        change.insert(documents, {"kind": document.kind, "name": document.name, "body": body})
    else:
        change.update(documents, number, {"body": body})


def _number(connection: Connection, kind: str, name: str) -> int | None:
    return connection.execute(
        select(documents.c.number).where(documents.c.kind == kind, documents.c.name == name)
    ).scalar_one_or_none()


def _hint(kind: str, there: Iterable[Document]) -> str:
    names = ", ".join(document.name for document in there)
    return f"There are: {names}." if names else f"There is no {kind} yet."
