"""What the store needs of a database, whichever it is."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Protocol

from sqlalchemy import Connection

__all__ = ["Database"]


class Database(Protocol):
    """Where connections come from."""

    def reading(self) -> AbstractContextManager[Connection]:
        """Give a connection that sees one moment."""

    def writing(self, *, needed_bytes: int = 0) -> AbstractContextManager[Connection]:
        """Give a connection in one write transaction."""
