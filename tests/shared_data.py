"""Data for development that is not part of the project: tests that need it skip without it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

_REPO = Path(__file__).resolve().parents[1]


def shared(name: str) -> Path:
    """Give a file or folder of the shared data, or skip the test."""
    root = Path(os.environ.get("STASH_SHARED", _REPO.parent / "shared"))
    path = root / name
    if not path.exists():
        pytest.skip(f"the shared data {name} is not on this machine")
    return path
