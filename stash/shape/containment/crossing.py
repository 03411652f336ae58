"""Where a piece's edges run out of the cloth although all its corners lie on it.

Room is measured at points. A notch, a slit or the gap beside a lobe may run right through a piece
between two of them; the stretch of its border out there says how deep.
"""

from __future__ import annotations

import numpy as np
import shapely

from stash.shape.plane.border import Borders, FloatArray, IndexArray

__all__ = ["Crossings"]

_TOUCH_IN = 1e-6  # stretches this little off the cloth are rounding


class Crossings:
    """Shapes and pieces as exact polygons, made when they are asked for."""

    def __init__(self, cloth: Borders, pieces: Borders) -> None:
        self._cloth, self._pieces = cloth, pieces
        self._areas: dict[int, shapely.Geometry] = {}
        self._rings: dict[int, FloatArray] = {}

    def depth(
        self, scrap: IndexArray, piece: IndexArray, poses: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Give the room at the worst stretch outside, and that spot's distance from the pose.

        Returns
        -------
        (m,) and (m,)
            Negative where edges cross, else inf; and the arm by which a turn moves that spot.
        """
        room, arm = np.full(len(scrap), np.inf), np.zeros(len(scrap))
        if not len(scrap):
            return room, arm
        lines = np.array(
            [
                shapely.LinearRing(_placed(self._ring(int(k)), pose))
                for k, pose in zip(piece, poses, strict=True)
            ]
        )
        areas = np.array([self._area(int(k)) for k in scrap])
        crossing = np.flatnonzero(~shapely.covers(areas, lines))
        for row in crossing.tolist():
            outside = shapely.get_parts(shapely.difference(lines[row], areas[row]))
            spots = shapely.line_interpolate_point(outside, 0.5, normalized=True)
            deep = shapely.distance(spots, areas[row])
            worst = int(np.argmax(deep))
            if deep[worst] > _TOUCH_IN:
                room[row] = -float(deep[worst])
                spot = shapely.get_coordinates(spots[worst])[0]
                arm[row] = float(np.hypot(*(spot - poses[row, :2])))
        return room, arm

    def _area(self, shape: int) -> shapely.Geometry:
        if shape not in self._areas:
            parts = [shapely.Polygon(ring) for ring in _rings_of(self._cloth, shape)]
            area = parts[0]
            for part in parts[1:]:  # a hole lies in its cloth, another part of cloth outside it
                area = shapely.symmetric_difference(area, part)
            area = shapely.buffer(area, _TOUCH_IN, join_style="mitre")
            shapely.prepare(area)
            self._areas[shape] = area
        return self._areas[shape]

    def _ring(self, shape: int) -> FloatArray:
        if shape not in self._rings:
            self._rings[shape] = _rings_of(self._pieces, shape)[0]
        return self._rings[shape]


def _rings_of(borders: Borders, shape: int) -> list[FloatArray]:
    """Collect a shape's rings, following each edge to the next."""
    low, high = int(borders.first[shape]), int(borders.first[shape + 1])
    after = borders.after[low:high].tolist()
    left = set(range(low, high))
    rings = []
    while left:
        edge = min(left)
        ring = []
        while edge in left:
            left.remove(edge)
            ring.append(edge)
            edge = after[edge - low]
        rings.append(borders.starts[ring])
    return rings


def _placed(ring: FloatArray, pose: FloatArray) -> FloatArray:
    cos, sin = np.cos(pose[2]), np.sin(pose[2])
    x, y = ring[:, 0], ring[:, 1]
    return np.column_stack([x * cos - y * sin + pose[0], x * sin + y * cos + pose[1]])
