"""Outlines and colours as compact bytes: little-endian float64, so that nothing is rounded.

An outline is the number of rings, the length of each (uint32), then all x, y pairs, outer ring
first. Colours are rows of L, a, b, share.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from functools import cached_property

from shapely.geometry import Polygon

from stash.colour.appearance import ColourShare
from stash.errors import RecordDamagedError
from stash.shape.plane.outline import Outline, Ring

__all__ = [
    "COLOUR_BYTES",
    "PackedOutline",
    "pack_colours",
    "pack_outline",
    "unpack_colours",
    "unpack_rings",
]

COLOUR_BYTES = 32  # four float64


def pack_outline(outline: Outline) -> bytes:
    """Write an outline's rings as bytes."""
    rings = [outline.points, *outline.holes]
    head = struct.pack(f"<I{len(rings)}I", len(rings), *(len(ring) for ring in rings))
    return head + b"".join(struct.pack("<2d", *point) for ring in rings for point in ring)


def unpack_rings(packed: bytes) -> tuple[Ring, ...]:
    """Read an outline's rings, outer ring first.

    Raises
    ------
    ValueError
        If the bytes are not what ``pack_outline`` writes.
    """
    try:
        (count,) = struct.unpack_from("<I", packed)
        sizes = struct.unpack_from(f"<{count}I", packed, 4)
        points = list(struct.iter_unpack("<2d", packed[4 + 4 * count :]))
    except struct.error as problem:
        raise ValueError(f"not a packed outline: {problem}") from None
    if count < 1 or sum(sizes) != len(points):
        raise ValueError(f"not a packed outline: {sum(sizes)} points promised, {len(points)} there")
    return tuple(_take(points, sizes))


def _take(points: Sequence[tuple[float, ...]], sizes: Iterable[int]) -> Iterable[Ring]:
    start = 0
    for size in sizes:
        yield tuple((x, y) for x, y in points[start : start + size])
        start += size


class PackedOutline(Outline):
    """An outline that unpacks its points when they are first asked for.

    A list of ten thousand scraps is read a hundred times more often than its points.
    """

    @classmethod
    def of(cls, packed: bytes, error_in: float, area_sq_in: float) -> PackedOutline:
        """Make the outline of what ``pack_outline`` wrote, and of its area."""
        outline = cls.__new__(cls)
        outline.__dict__.update(packed=packed, error_in=error_in, area=area_sq_in)
        return outline

    @property
    def area_sq_in(self) -> float:
        """Area, square inches, holes taken out; known without the points."""
        area: float | None = self.__dict__.get("area")
        return float(self.polygon.area) if area is None else area

    @cached_property
    def _rings(self) -> tuple[Ring, ...]:
        try:
            return unpack_rings(self.__dict__["packed"])
        except ValueError:
            raise RecordDamagedError("The outline of a scrap") from None

    @cached_property
    def points(self) -> Ring:
        """The outer border, counter-clockwise, inches."""
        return self._rings[0]

    @cached_property
    def holes(self) -> tuple[Ring, ...]:
        """Holes and masked stains, clockwise, inches."""
        return self._rings[1:]

    @cached_property
    def polygon(self) -> Polygon:
        """The same shape for shapely."""
        return Polygon(self.points, self.holes)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Outline):
            return NotImplemented
        return (self.points, self.holes, self.error_in) == (
            other.points,
            other.holes,
            other.error_in,
        )

    def __hash__(self) -> int:
        return hash((self.points, self.holes, self.error_in))

    def __repr__(self) -> str:
        return f"Outline(points={self.points}, holes={self.holes}, error_in={self.error_in})"

    def __reduce__(self) -> tuple[type[Outline], tuple[Ring, tuple[Ring, ...], float]]:
        return Outline, (self.points, self.holes, self.error_in)


def pack_colours(colours: Iterable[ColourShare]) -> bytes:
    """Write dominant colours as bytes."""
    return b"".join(struct.pack("<4d", *colour.lab, colour.share) for colour in colours)


def unpack_colours(packed: bytes) -> tuple[ColourShare, ...]:
    """Read dominant colours."""
    return tuple(
        ColourShare((lightness, a, b), share)
        for lightness, a, b, share in struct.iter_unpack("<4d", packed)
    )
