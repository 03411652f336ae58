"""One scrap and one template on the cutting table: which turns are allowed, what lies soundly.

The search works on poses (x, y, turn in radians) of the template's inscribed circle, about the
middle of the scrap; a layout is told in placements of the template's origin.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from stash.shape.containment.field import field_of_cloth
from stash.shape.containment.piece_fit import Placement
from stash.shape.containment.probe import probe_of
from stash.shape.nesting.layout import is_sound
from stash.shape.nesting.rows import rings_of
from stash.shape.plane.border import FloatArray
from stash.shape.templates.template import Template
from stash.shape.templates.turning import Turning

__all__ = ["CuttingTable"]


class CuttingTable:
    """A scrap's sure cloth, which is not empty, and the template to cut from it."""

    def __init__(self, sure: Polygon | MultiPolygon, template: Template, turning: Turning) -> None:
        self.sure, self.template, self.turning = sure, template, turning
        self.probe = probe_of(template.cut)
        self.windows = turning.within(template.rotation_period_deg)
        self.area = field_of_cloth(rings_of(sure), self.windows)

    def allows(self, angle_deg: float) -> bool:
        """Say whether a piece may lie so, in one of the turns that look the same."""
        period_deg = self.template.rotation_period_deg
        return any(
            self.turning.allows(angle_deg + k * period_deg) for k in range(round(360 / period_deg))
        )

    def checked(self, placements: Sequence[Placement]) -> tuple[Placement, ...]:
        """Give the placements back if they are allowed and sound, else none."""
        turned = all(self.allows(one.angle_deg) for one in placements)
        if turned and is_sound(self.sure, self.template, placements):
            return tuple(placements)
        return ()

    def placements(self, poses: FloatArray) -> tuple[Placement, ...]:
        """Turn poses into placements."""
        (cx, cy), (mx, my) = self.probe.centre, self.area.middle[0]
        made = []
        for x, y, turn in poses.tolist():
            cos, sin = math.cos(turn), math.sin(turn)
            made.append(
                Placement(
                    float(x + mx - cx * cos + cy * sin),
                    float(y + my - cx * sin - cy * cos),
                    math.degrees(turn) % 360,
                )
            )
        return tuple(made)

    def poses_of(self, placements: tuple[Placement, ...]) -> FloatArray:
        """Turn placements into poses."""
        origin = np.array(
            [
                (
                    one.x - self.area.middle[0, 0],
                    one.y - self.area.middle[0, 1],
                    math.radians(one.angle_deg),
                )
                for one in placements
            ]
        )
        return self.about_inner_centre(origin)

    def about_inner_centre(self, poses: FloatArray) -> FloatArray:
        """Move poses of the template's origin to poses of its inscribed circle's centre.

        The lattice's box is centred on the field's middle already.
        """
        x, y = self.probe.centre
        cos, sin = np.cos(poses[:, 2]), np.sin(poses[:, 2])
        return np.column_stack(
            [poses[:, 0] + x * cos - y * sin, poses[:, 1] + x * sin + y * cos, poses[:, 2]]
        )
