"""Numbers of scraps as a person writes them: 12, 1,3,7-9 or 1-10."""

from __future__ import annotations

from collections.abc import Iterable

from stash.errors import ScrapNumbersError

__all__ = ["scrap_numbers"]

_MOST = 100_000  # more than any stash holds; a typing mistake fills no memory
_MOST_DIGITS = 9  # no stash counts further


def scrap_numbers(words: str | Iterable[str]) -> tuple[int, ...]:
    """Read numbers and ranges, each number once, in the order in which they are written.

    Raises
    ------
    ScrapNumbersError
        If a part is neither a number nor a range; repeats it.

    Examples
    --------
    >>> scrap_numbers("1,3,7-9"), scrap_numbers(["4-5", "2 5"])
    ((1, 3, 7, 8, 9), (4, 5, 2))
    """
    text = words if isinstance(words, str) else ",".join(words)
    numbers: dict[int, None] = {}
    for part in text.replace(",", " ").replace("–", "-").replace("#", "").split():
        first, dash, last = part.partition("-")
        digits = first.isdecimal() and (last.isdecimal() or not dash)
        if not digits or max(len(first), len(last)) > _MOST_DIGITS:
            raise ScrapNumbersError(part)
        low, high = int(first), int(last or first)
        if low > high or high - low + 1 + len(numbers) > _MOST:
            raise ScrapNumbersError(part)
        numbers.update(dict.fromkeys(range(low, high + 1)))
    if not numbers:
        raise ScrapNumbersError(text)
    return tuple(numbers)
