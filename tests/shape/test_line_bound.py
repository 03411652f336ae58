"""The bound from lines of edges: no pose of a range may have more room than it says."""

import numpy as np
import pytest

from stash.shape.containment.edge_depth import Behind
from stash.shape.containment.field import field_of
from stash.shape.containment.line_bound import Spans, lines_of_piece, lines_of_scrap, most_room
from stash.shape.containment.pose_room import clearance_of, nearest_corners
from stash.shape.containment.probe import probe_of
from stash.shape.plane.border import with_edge
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from tests.shape.scraps import offcuts

SLIT = [(0, 0), (6, 0), (6, 2.9), (1, 2.95), (6, 3.0), (6, 6), (0, 6)]
BLUNT = [(0, 0), (6, 0), (6, 2.9), (1, 2.9), (1, 3.0), (6, 3.0), (6, 6), (0, 6)]
COMB = [(0, 0), (6, 0), (6, 5), (5, 5), (5, 1), (4.8, 5), (3, 5), (2.9, 1.2), (2.8, 5), (0, 5)]
HOLED = [[(2, 2), (2.1, 4), (2.3, 2.2)], [(3.4, 3.0), (3.5, 3.1), (3.6, 3.0)]]
WITHIN = 1e-5  # single precision


def scraps_of(seed):
    own = [
        outline_of(SLIT, error_in=0.03),
        outline_of(BLUNT, error_in=0.03),
        outline_of(COMB, error_in=0.03),
        outline_of([(0, 0), (6, 0), (6, 6), (0, 6)], HOLED, error_in=0.03),
    ]
    return [*own, *offcuts(15, seed, most_in=8)]


@pytest.mark.parametrize(
    ("family", "size", "seed"),
    [("square", 1.5, 1), ("rectangle", 1.0, 2), ("clamshell", 2.0, 3), ("hexagon", 1.0, 4)],
)
def test_no_pose_of_a_range_has_more_room_than_its_lines_allow(family, size, seed):
    random = np.random.default_rng(seed)
    scraps = scraps_of(seed)
    area = field_of(scraps, [((0.0, 360.0),)] * len(scraps))
    probe = probe_of(make_template(family, size).cut)
    scrap = np.repeat(np.arange(len(scraps)), 150)
    pose = random.uniform((-2.9, -2.9, 0), (2.9, 2.9, 6.3), (len(scrap), 3))
    possible = clearance_of(area, probe, scrap, pose) > -0.4
    scrap, pose = scrap[possible], pose[possible]
    half, turn = random.uniform((0.01, 0.005), (0.5, 0.3), (len(scrap), 2)).T
    most = area.need[scrap] + 0.05
    spans = Spans(pose, half, turn, most)
    placed = probe.placed(pose, scrap, probe.rim)
    inside, edge = with_edge(area.border, scrap, placed)
    ours = lines_of_scrap(Behind(area.border), scrap, spans, (placed, edge, inside))
    corners = nearest_corners(area, probe, scrap, pose, 4)
    outside = Behind(probe.edge, outside=True)
    theirs = lines_of_piece(outside, probe.number(scrap), spans, corners)
    bounds = [most_room(lines, most) for lines in (ours, theirs, ours.joined(theirs))]
    assert np.isfinite(bounds[2]).sum() > 100
    for _ in range(60):
        share = np.clip(random.uniform(-1.6, 1.6, (len(scrap), 3)), -1, 1)  # often at the ends
        moved = pose + share * np.column_stack([half, half, turn])
        room = clearance_of(area, probe, scrap, moved)
        for bound in bounds:
            told = np.isfinite(bound) & (room > 0)
            assert (np.minimum(room, most)[told] <= bound[told] + WITHIN).all()


@pytest.mark.parametrize("slit", [SLIT, BLUNT])
def test_cloth_behind_an_edge_is_told(slit):
    # A slit 0.1 in wide at its mouth: behind its lower edge lies cloth again, beyond the slit.
    # Below the bottom edge of the same scrap there is none at any distance.
    area = field_of([outline_of(slit)], [((0.0, 360.0),)])
    behind = Behind(area.border)
    middle = area.middle[0]
    points = np.array([(3.0, 2.8), (3.0, 0.1)]) - middle
    inside, edge = with_edge(area.border, np.zeros(1, dtype=int), points[None])
    line, normal = behind.before(np.zeros(1, dtype=int), edge, points[None], inside + 0.3)
    assert np.isinf(line[0, 0])
    assert line[0, 1] == pytest.approx(0.1)
    assert normal[0, 1] == pytest.approx([0, 1])


def test_a_neighbour_that_bends_back_counts_by_its_depth():
    # The border bends back by a slope of 1 in 10 after (3, 0): a point above the bend moving 0.5
    # sees at most 0.5 x sin of the bend behind the line of the first edge.
    bent = outline_of([(0, 0), (3, 0), (6, -0.3), (6, 4), (0, 4)])
    area = field_of([bent], [((0.0, 360.0),)])
    points = np.array([[(2.99, 0.05)]]) - area.middle[0]
    scrap = np.zeros(1, dtype=int)
    _, edge = with_edge(area.border, scrap, points)
    line, _ = Behind(area.border).before(scrap, edge, points, np.full((1, 1), 0.5))
    wedge = line[0, 0] - 0.05
    assert 0.04 < wedge < 0.5 * 0.0996
