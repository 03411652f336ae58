"""An empty stash for every test that asks for one."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.storage.sqlite_store import FolderStore
from stash.wiring import open_store


@pytest.fixture
def store(tmp_path: Path) -> FolderStore:
    """A stash of its own, nothing in it."""
    return open_store(tmp_path / "stash")
