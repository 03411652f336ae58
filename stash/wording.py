"""Numbers with their nouns, as sentences say them everywhere."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["counted", "numbered"]


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


def numbered(one: str, numbers: Sequence[int]) -> str:
    """Name things by their numbers.

    Parameters
    ----------
    one : str
        The noun for one; the others take an s.
    numbers : sequence of int
        At least one.

    Examples
    --------
    >>> numbered("row", [3]), numbered("scrap", [4, 7])
    ('row 3', 'scraps 4, 7')
    """
    return f"{one}{'' if len(numbers) == 1 else 's'} {', '.join(map(str, numbers))}"
