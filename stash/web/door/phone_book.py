"""Which phones were let in: a small file of this user's, so that a restart asks none again."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from stash.usecases.user_files import write_beside

__all__ = ["Phone", "PhoneBook"]

_MOST = 40  # the oldest make room


@dataclass(frozen=True, slots=True)
class Phone:
    """One device that was let in.

    Attributes
    ----------
    mark : str
        Digest of its cookie, hex; the cookie itself is nowhere kept.
    name : str
        What it calls itself.
    since : str
        The day, ISO 8601.
    """

    mark: str
    name: str
    since: str


class PhoneBook:
    """The phones let in, and whether phones are let in at all; kept in a file if one is named."""

    def __init__(self, file: Path | None = None) -> None:
        self._file = file
        self.open, self.phones = _read(file)

    def add(self, phone: Phone) -> None:
        """Remember a phone."""
        self.phones = (*self.phones, phone)[-_MOST:]
        self._write()

    def forget(self, mark: str) -> None:
        """Let a phone in no more."""
        self.phones = tuple(phone for phone in self.phones if phone.mark != mark)
        self._write()

    def note_open(self, *, opened: bool) -> None:
        """Remember whether phones are let in."""
        self.open = opened
        self._write()

    def _write(self) -> None:
        if self._file is None:
            return
        kept = {"open": self.open, "phones": [asdict(phone) for phone in self.phones]}
        write_beside(self._file, json.dumps(kept, indent=1).encode())


def _read(file: Path | None) -> tuple[bool, tuple[Phone, ...]]:
    """Read what was kept; a file that cannot be understood lets nobody in."""
    if file is None:
        return False, ()
    try:
        kept = json.loads(file.read_bytes())
        phones = tuple(
            Phone(str(p["mark"]), str(p["name"]), str(p["since"])) for p in kept["phones"]
        )
        return bool(kept["open"]), phones
    except (OSError, ValueError, KeyError, TypeError):
        return False, ()
