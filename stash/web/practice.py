"""An invented stash to try things out in: in a folder of its own, thrown away with one tap."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock

from stash.errors import StashError
from stash.usecases.ports import Store

__all__ = ["Practice"]


@dataclass(slots=True)
class Practice:
    """Where the invented stash lies, and the own stash that waits meanwhile.

    Attributes
    ----------
    make : callable, optional
        Opens a stash in a new folder; without it nothing can be tried out.
    own : Store or None
        The stash that waits; None while nothing is tried out.
    """

    make: Callable[[Path], Store] | None = None
    own: Store | None = None
    _folder: Path | None = None
    _lock: Lock = field(default_factory=Lock)

    @property
    def going(self) -> bool:
        """Whether the page shows the invented stash now."""
        return self.own is not None

    def begin(self, own: Store) -> Store:
        """Make an empty stash in a new folder and remember the own one.

        Raises
        ------
        StashError
            If one is tried out already, or none can be made here.
        """
        with self._lock:
            if self.make is None or self.own is not None:
                raise StashError("An invented stash is open already; throw it away first.")
            self._folder = Path(tempfile.mkdtemp(prefix="stash-practice-"))
            made = self.make(self._folder)
            self.own = own
            return made

    def end(self) -> Store | None:
        """Throw the invented stash away and give the own one back, if one was being tried out."""
        with self._lock:
            own, self.own = self.own, None
            if self._folder is not None:
                # What is still being written there goes with it.
                shutil.rmtree(self._folder, ignore_errors=True)
                self._folder = None
            return own
