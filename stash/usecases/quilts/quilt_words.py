"""Words about quilts as a person writes them: shares, amounts, lists of names."""

from __future__ import annotations

from stash.errors import PlanError

__all__ = ["amount_range", "names_in", "three_shares"]


def three_shares(text: str) -> dict[str, float] | None:
    """Read shares of light, medium and dark; None where nothing is said; raises PlanError."""
    if not text:
        return None
    parts = text.replace("%", "").split(",")
    try:
        numbers = [float(part) / 100 for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) != 3 or min(numbers) < 0 or abs(sum(numbers) - 1) > 0.02:
        raise PlanError(
            f"“{text}” are not three shares; write light, medium and dark in per cent that make "
            "100, such as 30,40,30."
        )
    return dict(zip(("light", "medium", "dark"), numbers, strict=True))


def names_in(text: str | None) -> tuple[str, ...] | None:
    """Read names parted by commas; none of them for “any”, None where nothing is said."""
    if text is None:
        return None
    names = tuple(name.strip() for name in text.split(",") if name.strip())
    return () if [name.lower() for name in names] == ["any"] else names


def amount_range(text: str) -> tuple[str, tuple[float, float] | None]:
    """Read an amount such as ``teal 20-30``: a name and shares in per cent; raises PlanError.

    ``teal any`` takes the wish back.

    Examples
    --------
    >>> amount_range("dark blue 20-30")
    ('dark blue', (0.2, 0.3))
    """
    name, _, share = text.strip().rpartition(" ")
    if name and share.lower() == "any":
        return name.strip(), None
    low, _, high = share.replace("%", "").partition("-")
    try:
        found = float(low) / 100, float(high or low) / 100
    except ValueError:
        found = (-1.0, -1.0)
    if not name or not 0 <= found[0] <= found[1] <= 1:
        raise PlanError(
            f"“{text}” is no amount; write a part of the palette and shares in per cent, such as "
            "“teal 20-30”, or “teal any”."
        )
    return name.strip(), found
