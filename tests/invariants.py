"""What must hold of every layout, whoever made it: inside, apart, facing as allowed, counted."""

from itertools import combinations

from shapely.geometry import Polygon

from tests.shape.containment import lies_inside

__all__ = ["assert_layout_holds"]


def assert_layout_holds(outline, template, layout, turning):
    """Check a layout from its placements alone.

    Tolerances: 0.000002 in for flush edges (rounding of turned coordinates, twice the nesting's
    own), and the same times a piece's outline for overlaps.
    """
    pieces = [placement.ring(template) for placement in layout.placements]
    assert layout.pieces == len(pieces) <= layout.upper_bound
    for placement, ring in zip(layout.placements, pieces, strict=True):
        assert template.may_turn_over or not placement.turned_over
        assert lies_inside(ring, outline, slack=2e-6)
        assert Polygon(ring).exterior.is_ccw
        period = template.rotation_period_deg
        turns = [placement.angle_deg + k * period for k in range(round(360 / period))]
        assert any(turning.allows(turn, slack_deg=1e-5) for turn in turns)
    shapes = [Polygon(ring) for ring in pieces]
    overlaps = [one.intersection(other).area for one, other in combinations(shapes, 2)]
    assert max(overlaps, default=0.0) <= 2e-6 * template.cut_polygon().length
