"""Numbers with their nouns, as sentences say them everywhere."""

from __future__ import annotations

__all__ = ["counted"]


def counted(number: int, one: str, many: str = "") -> str:
    """Write a number with its noun.

    Parameters
    ----------
    number : int
        How many.
    one, many : str
        The noun for one, and for any other number if that is not ``one`` with an s.

    Examples
    --------
    >>> counted(1, "piece"), counted(2, "piece"), counted(0, "box", "boxes")
    ('1 piece', '2 pieces', '0 boxes')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
