"""Keeps pictures drawn lately, so that a wall looked at twice is drawn once."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

__all__ = ["PictureShelf"]


class PictureShelf:
    """Pictures drawn lately, up to so many bytes."""

    def __init__(self, room_bytes: int = 24_000_000) -> None:
        self._room = room_bytes
        self._held = 0
        self._pictures: OrderedDict[str, bytes] = OrderedDict()
        self._lock = Lock()

    def get(self, key: str) -> bytes | None:
        """Give a picture if it lies here."""
        with self._lock:
            if key in self._pictures:
                self._pictures.move_to_end(key)
            return self._pictures.get(key)

    def put(self, key: str, data: bytes) -> None:
        """Lay a picture down; those not asked for longest make room."""
        with self._lock:
            self._held += len(data) - len(self._pictures.pop(key, b""))
            self._pictures[key] = data
            while self._held > self._room and len(self._pictures) > 1:
                self._held -= len(self._pictures.popitem(last=False)[1])
