"""Things that lie about in a sewing room and are no scraps: ruler, scissors, coins, an arm."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

__all__ = ["THINGS", "Thing", "strewn"]

_Piece = tuple[Polygon, tuple[float, float, float]]  # shape in inches, linear reflectance
_METAL, _GLINT, _INK = (0.42, 0.43, 0.45), (0.97, 0.97, 0.97), (0.04, 0.04, 0.05)
_GAP_IN = 0.4
_TRIES = 400


@dataclass(frozen=True)
class Thing:
    """One thing on the board: its pieces from the lowest up, inches."""

    name: str
    pieces: tuple[_Piece, ...]

    @property
    def shape(self) -> Polygon:
        """All of it."""
        return unary_union([piece for piece, _ in self.pieces])

    def moved(self, x_in: float, y_in: float, turn_deg: float) -> Thing:
        """Turn it about its origin and lay it there."""
        turned = (
            (affinity.translate(affinity.rotate(shape, turn_deg, origin=(0, 0)), x_in, y_in), ink)
            for shape, ink in self.pieces
        )
        return Thing(self.name, tuple(turned))


def strewn(
    names: tuple[str, ...], board_in: tuple[float, float], rng: np.random.Generator
) -> tuple[Thing, ...]:
    """Lay things about without looking, clear of each other; an arm and a cable reach in.

    Raises
    ------
    ValueError
        If a name is none of ``THINGS``, or there is no room.
    """
    unknown = set(names) - set(THINGS)
    if unknown:
        raise ValueError(f"expected things of {sorted(THINGS)}, got {sorted(unknown)}")
    laid = list[Thing]()
    for name in names:
        laid.append(_free(Thing(name, THINGS[name]()), laid, board_in, rng))
    return tuple(laid)


def _free(
    thing: Thing, laid: list[Thing], board_in: tuple[float, float], rng: np.random.Generator
) -> Thing:
    taken = unary_union([other.shape.buffer(_GAP_IN) for other in laid])
    room = box(0, 0, *board_in).buffer(-_GAP_IN)
    for _ in range(_TRIES):
        across, down = (float(rng.uniform(0, side)) for side in board_in)
        if thing.name in _FROM_BORDER:
            moved = thing.moved(0, down, float(rng.uniform(-15, 15)))
        else:
            moved = thing.moved(across, down, float(rng.uniform(0, 360)))
        inside = thing.name in _FROM_BORDER or room.contains(moved.shape)
        if inside and not moved.shape.intersects(taken):
            return moved
    raise ValueError(f"no room for the {thing.name} on a board of {board_in} inches")


def _ruler() -> tuple[_Piece, ...]:
    """A wooden foot rule, a tick every eighth of an inch."""
    ticks = (box(-6 + n / 8 - 0.008, 0.25, -6 + n / 8 + 0.008, 0.5) for n in range(97))
    return ((box(-6.15, -0.5, 6.15, 0.5), (0.62, 0.45, 0.24)), *((tick, _INK) for tick in ticks))


def _scissors() -> tuple[_Piece, ...]:
    blades = [Polygon([(0, 0.02), (4, lean), (0.3, -0.25)]) for lean in (0.9, 0.2)]
    glints = [Polygon([(0.5, 0.02), (3, 0.8 * lean), (0.6, -0.04)]) for lean in (0.9, 0.2)]
    rings = [
        Point(-1.7, y).buffer(0.75).difference(Point(-1.7, y).buffer(0.5)) for y in (-0.85, 0.85)
    ]
    arms = [LineString([(0.3, -0.1), (-1.1, y)]).buffer(0.16) for y in (-0.6, 0.6)]
    plastic = (0.60, 0.16, 0.03)
    return (
        *((blade, _METAL) for blade in blades),
        *((glint, _GLINT) for glint in glints),
        *((part, plastic) for part in (*rings, *arms)),
    )


def _coins() -> tuple[_Piece, ...]:
    copper, silver = (0.38, 0.17, 0.09), (0.45, 0.45, 0.43)
    small, large = Point(0, 0).buffer(0.375), Point(1.3, 0.3).buffer(0.48)
    return (small, copper), (large, silver), (Point(1.2, 0.2).buffer(0.15), _GLINT)


def _spool() -> tuple[_Piece, ...]:
    """A spool of thread that stands upright."""
    rims = ((0.65, (0.75, 0.72, 0.66)), (0.55, (0.05, 0.28, 0.30)), (0.22, (0.7, 0.68, 0.6)))
    return tuple((Point(0, 0).buffer(radius), ink) for radius, ink in rims)


def _seam_ripper() -> tuple[_Piece, ...]:
    return (box(-1.6, -0.16, 1.2, 0.16), (0.05, 0.10, 0.45)), (box(1.2, -0.05, 2.6, 0.05), _METAL)


def _label() -> tuple[_Piece, ...]:
    """A slip of paper with a few lines of writing."""
    lines = (box(-0.9, y, 0.9 - 0.4 * n, y + 0.06) for n, y in enumerate((-0.35, -0.1, 0.15)))
    return ((box(-1.1, -0.6, 1.1, 0.6), (0.86, 0.86, 0.85)), *((line, _INK) for line in lines))


def _cable() -> tuple[_Piece, ...]:
    along = np.linspace(-1, 6, 60)
    return ((LineString(np.stack([along, 0.5 * np.sin(along)], 1)).buffer(0.07), (0.8, 0.8, 0.8)),)


def _arm() -> tuple[_Piece, ...]:
    hand = unary_union(
        [box(-4, -1.1, 1.2, 1.1), *(box(1, y, 3.2, y + 0.5).buffer(0.05) for y in (-1, -0.3, 0.4))]
    )
    return ((hand, (0.50, 0.30, 0.22)),)


_FROM_BORDER = ("cable", "arm")
THINGS: Mapping[str, Callable[[], tuple[_Piece, ...]]] = MappingProxyType(
    {
        "ruler": _ruler,
        "scissors": _scissors,
        "coins": _coins,
        "spool": _spool,
        "seam ripper": _seam_ripper,
        "label": _label,
        "cable": _cable,
        "arm": _arm,
    }
)
