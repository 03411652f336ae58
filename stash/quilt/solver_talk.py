"""Keeps what the solver's library prints of its own out of a command's answer."""

from __future__ import annotations

import ctypes
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress

__all__ = ["solver_talk_aside"]

_OUT, _ERR = 1, 2


@contextmanager
def solver_talk_aside() -> Iterator[None]:
    """Let what is printed by compiled code meanwhile go to standard error.

    HiGHS prints a line past its own settings now and then; among JSON it would spoil the answer.
    """
    try:
        kept = os.dup(_OUT)
    except OSError:  # nothing listens
        yield
        return
    try:
        _flush()
        with suppress(OSError):
            os.dup2(_ERR, _OUT)
        yield
    finally:
        _flush()
        os.dup2(kept, _OUT)
        os.close(kept)


def _flush() -> None:
    """Write out what the C library still holds back."""
    with suppress(AttributeError, OSError, TypeError):  # where it cannot be reached by this name
        ctypes.CDLL(None).fflush(None)
