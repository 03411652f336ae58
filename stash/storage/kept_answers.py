"""Answers worth keeping between runs: files beside the stash that may be lost at any time.

Each file begins with the key its bytes follow from and with their checksum, so that a file which
is stale, torn or changed is taken for none.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import uuid
from collections.abc import Callable
from pathlib import Path

__all__ = ["kept_answer"]

_FOLDER = "kept_answers"


def kept_answer(home: Path, name: str, key: str, make: Callable[[], bytes]) -> bytes:
    """Give the bytes kept under a name if they were made of this very key, or make and keep them.

    What cannot be kept (no room, no permission) is made anew every time; nothing is told, for
    nothing is lost.
    """
    path = home / _FOLDER / name
    head = hashlib.sha256(key.encode()).digest()
    with contextlib.suppress(OSError):
        kept = path.read_bytes()
        data = kept[64:]
        if kept[:32] == head and kept[32:64] == hashlib.sha256(data).digest():
            return data
    data = make()
    with contextlib.suppress(OSError):
        _keep(path, head + hashlib.sha256(data).digest() + data)
    return data


def _keep(path: Path, data: bytes) -> None:
    path.parent.mkdir(exist_ok=True)
    draft = path.with_name(f"{path.name}-{os.getpid()}-{uuid.uuid4().hex}")
    try:
        draft.write_bytes(data)
        draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)
