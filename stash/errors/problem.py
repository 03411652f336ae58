"""What every problem a quilter can mend has in common."""

from __future__ import annotations

__all__ = ["StashError"]

_JOINERS = "\u200c\u200d"  # inside emoji and some scripts; harmless
_LONGEST = 1500


class StashError(Exception):
    """Any problem a quilter can mend; its text is one plain sentence.

    What it repeats of a name or a file is shown without control characters, and not endlessly.
    """

    def __str__(self) -> str:
        told = super().__str__()
        text = "".join(sign if sign.isprintable() or sign in _JOINERS else " " for sign in told)
        return text if len(text) <= _LONGEST else f"{text[:800]} … {text[-400:]}"
