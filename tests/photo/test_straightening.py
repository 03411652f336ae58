"""Which chains of edge points are taken for edges that were cut straight."""

import itertools

import numpy as np
import pytest

from stash.photo.outlines import straightening
from stash.photo.outlines.straightening import Blemishes, straighten


def chain(*corners, spacing_in=0.025, noise_in=0.002):
    """Points along the legs between corners, a little astray."""
    rng = np.random.default_rng(3)
    legs = []
    for start, end in itertools.pairwise(corners):
        count = round(np.hypot(*np.subtract(end, start)) / spacing_in)
        legs.append(np.linspace(start, end, count, endpoint=False))
    points = np.vstack(legs)
    return points + rng.normal(0, noise_in, points.shape)


ZIGZAGS = {
    "one tooth": [(0, 0), (2, 0.9), (4, 0)],
    "a step": [(0, 0), (2, 0), (2, 1.2), (4, 1.2)],
    "a long edge with a flap": [(0, 0), (3, 0), (3.05, 0.7), (3.1, 0), (6, 0)],
}


@pytest.mark.parametrize("corners", ZIGZAGS.values(), ids=ZIGZAGS)
def test_a_chain_that_bends_far_is_no_line_and_trying_one_would_say_the_same(corners):
    points = chain(*corners)
    allowed = straightening._Allowed(0.014, Blemishes())
    length = float(np.hypot(*(points[-1] - points[0])))
    assert straightening._off_chord(points).max() > straightening._BENT_IN
    assert not straightening._piece(points, allowed).straight
    assert not straightening._line(points, length, allowed).straight


def test_a_long_straight_chain_stays_one_line():
    points = chain((0, 0), (7, 2))
    assert straightening._piece(points, straightening._Allowed(0.014, Blemishes())).straight


def test_a_square_keeps_its_four_corners():
    ring = straighten(chain((0, 0), (3, 0), (3, 3), (0, 3), (0, 0)))
    near = np.linalg.norm(ring[:, None] - np.array([(0, 0), (3, 0), (3, 3), (0, 3)]), axis=2)
    assert len(ring) == 4
    assert near.min(axis=0).max() < 0.01


NOTCHED = [
    (0, 0),
    (1.4, 0),
    (1.5, 0.15),
    (1.6, 0),
    (3, 0.1),
    (3.1, 1.2),
    (1.6, 2.9),
    (0, 2.2),
    (0, 0),
]
ROUND = [(2 * np.cos(turn), 1.3 * np.sin(turn)) for turn in np.linspace(0, 2 * np.pi, 60)]


@pytest.mark.parametrize("corners", [NOTCHED, ROUND], ids=["notched", "round"])
@pytest.mark.parametrize("noise_in", [0.001, 0.006])
@pytest.mark.parametrize("astray_in", [0.02, 0.09])
def test_lines_that_are_not_tried_would_not_have_been_found(
    corners, noise_in, astray_in, monkeypatch
):
    points = chain(*(2 * np.array(corners)), noise_in=noise_in)
    blemishes = Blemishes(astray_in=astray_in)
    said = []
    look = straightening._leaves_its_chord
    monkeypatch.setattr(
        straightening, "_leaves_its_chord", lambda *chain: said.append(look(*chain)) or said[-1]
    )
    quick = straighten(points, blemishes)
    monkeypatch.setattr(straightening, "_leaves_its_chord", lambda *_: False)
    assert any(said)
    np.testing.assert_array_equal(quick, straighten(points, blemishes))
