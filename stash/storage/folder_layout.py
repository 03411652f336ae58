"""What a stash folder holds and the number of its newest schema, known without SQLAlchemy."""

from __future__ import annotations

__all__ = ["DATABASE", "NEWEST_SCHEMA", "SERVER_NOTE"]

DATABASE = "stash.db"
SERVER_NOTE = "server.json"
NEWEST_SCHEMA = 6  # the number of steps in ``migrations``; a test holds them equal
