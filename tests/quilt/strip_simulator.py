"""Cuts cloth by strip orders as a person would, at the widths that are told, with shapely alone."""

import itertools
import math

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

__all__ = ["faults_of"]

_CLOSE_IN = 1e-5


def faults_of(outline, template, cuts, orders):
    """Say what goes wrong when the orders are carried out where the layout has its strips."""
    faults = []
    told = [(order.width_in, order.apart_in, order.angle_deg) for order in orders]
    widths = sorted(one.width_in for one in orders for _ in range(one.strips))
    if len(widths) != len(cuts.strips):
        faults.append("another number of strips")
    cloth = affinity.rotate(outline.sure(), -cuts.strips[0].direction_deg, origin=(0, 0))
    cloth = cloth.buffer(_CLOSE_IN, join_style="mitre")
    first, bands = 0, []
    for strip in cuts.strips:
        width, apart, _ = min(told, key=lambda one: abs(one[0] - strip.width_in))
        laid = cuts.placements[first : first + strip.pieces]
        first += strip.pieces
        rings = [
            np.array(
                affinity.rotate(
                    Polygon(one.ring(template)), -strip.direction_deg, origin=(0, 0)
                ).exterior.coords
            )[:-1]
            for one in laid
        ]
        bottom = min(ring[:, 1].min() for ring in rings)
        bands.append((bottom, bottom + width))
        # along the strip a parallelogram is as long as its area says
        slant = _slant(rings[0])
        starts = sorted((ring[:, 0] - slant * ring[:, 1]).min() for ring in rings)
        own = Polygon(rings[0]).area / (rings[0][:, 1].max() - rings[0][:, 1].min())
        step = own if apart is None else apart * math.hypot(1, slant)
        if step < own - _CLOSE_IN:
            faults.append("cross-cuts too close for the piece")
        for start in starts:
            corners = [(start, 0), (start + step, 0), (start + step, 1), (start, 1)]
            cell = [(x + slant * (bottom + y * width), bottom + y * width) for x, y in corners]
            if not cloth.covers(Polygon(cell)):
                faults.append("a cell runs off the cloth")
        if any(b - a < step - _CLOSE_IN for a, b in itertools.pairwise(starts)):
            faults.append("pieces overlap along the strip")
    bands.sort()
    if any(a[1] > b[0] + _CLOSE_IN for a, b in itertools.pairwise(bands)):
        faults.append("strips overlap")
    return faults


def _slant(ring):
    """How far a side that is not level leans to the right for each inch up."""
    steps = np.roll(ring, -1, axis=0) - ring
    up = steps[np.abs(steps[:, 1]) > 1e-6]
    return float(up[0, 0] / up[0, 1])
