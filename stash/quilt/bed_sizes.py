"""Mattresses, the drop over their sides, and the sizes quilts usually have."""

from __future__ import annotations

from dataclasses import dataclass

from stash.errors import PlanError

__all__ = ["MATTRESSES", "QUILT_SIZES", "BedSize", "nearest_quilt_size", "quilt_for_bed"]


@dataclass(frozen=True, slots=True)
class BedSize:
    """A width and a length in inches, with where they were printed."""

    name: str
    width_in: float
    length_in: float
    source: str


# Makers differ by an inch.
MATTRESSES = (
    BedSize("crib", 27, 52, "Better Sleep Council"),
    BedSize("twin", 38, 75, "Better Sleep Council"),
    BedSize("full", 53, 75, "reference.com, Mattress Sizes"),
    BedSize("queen", 60, 80, "reference.com, Mattress Sizes"),
    BedSize("king", 76, 80, "reference.com, Mattress Sizes"),
    BedSize("california king", 72, 84, "Dover's Mattress, Mattress 101"),
)
QUILT_SIZES = (
    BedSize("crib", 40, 55, "Christa Watson, Quilty Math"),
    BedSize("lap", 50, 65, "Cia's Palette, Standard mattress sizes"),
    BedSize("twin", 65, 88, "Christa Watson, Quilty Math"),
    BedSize("queen", 86, 95, "Christa Watson, Quilty Math"),
    BedSize("king", 105, 95, "Christa Watson, Quilty Math"),
)


def quilt_for_bed(
    width_in: float, length_in: float, *, drop_in: float, pillow_in: float = 0.0
) -> tuple[float, float]:
    """Give the quilt that hangs ``drop_in`` over both sides and the foot of a mattress, inches.

    About 15 in more in length cover the pillows.

    Examples
    --------
    >>> quilt_for_bed(39, 75, drop_in=12)
    (63, 87.0)
    """
    if not (width_in > 0 and length_in > 0 and drop_in >= 0 and pillow_in >= 0):
        raise PlanError("A mattress has a width and a length, and the drop is not negative.")
    return width_in + 2 * drop_in, length_in + drop_in + pillow_in


def nearest_quilt_size(width_in: float, length_in: float) -> BedSize:
    """Name the usual quilt size that differs least in width and length."""
    return min(
        QUILT_SIZES,
        key=lambda size: abs(size.width_in - width_in) + abs(size.length_in - length_in),
    )
