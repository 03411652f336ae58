"""What every problem a quilter can mend has in common."""

from __future__ import annotations

__all__ = ["StashError"]

_JOINERS = "\u200c\u200d"  # inside emoji and some scripts; harmless
_LONGEST = 1500


class StashError(Exception):
    """Any problem a quilter can mend; its text is one plain sentence.

    What it repeats of a name or a file is shown without control characters, and not endlessly.

    Attributes
    ----------
    at_terminal : str
        Which command or option helps; of no use to who reads a page.

    Examples
    --------
    >>> problem = StashError("Nothing is laid out yet.", at_terminal="First: stash quilt layout.")
    >>> str(problem), problem.plain
    ('Nothing is laid out yet. First: stash quilt layout.', 'Nothing is laid out yet.')
    """

    def __init__(self, text: str = "", *, at_terminal: str = "") -> None:
        self.at_terminal = at_terminal
        super().__init__(text)

    def __str__(self) -> str:
        return _shown(f"{super().__str__()} {self.at_terminal}".strip())

    @property
    def plain(self) -> str:
        """The sentence as a page shows it: no words to be typed."""
        return _shown(super().__str__())


def _shown(told: str) -> str:
    text = "".join(sign if sign.isprintable() or sign in _JOINERS else " " for sign in told)
    return text if len(text) <= _LONGEST else f"{text[:800]} … {text[-400:]}"
