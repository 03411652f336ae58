"""The mid tones that two colours of one cloth mix to."""

import numpy as np
import pytest

from stash.colour.difference import large_difference
from stash.colour.mixtures import mixture_distances, pairs_of_colours
from stash.colour.spaces import lab_of_linear, lab_of_srgb, linear_of_lab


def distances_of(*srgb):
    lab = lab_of_srgb(np.array(srgb))[None]
    return mixture_distances(lab, np.full(lab.shape[:2], 1 / len(srgb)))[0]


def test_the_even_mixture_in_linear_light_of_two_colours_is_no_distance_from_them():
    red, white = np.array([0.7, 0.1, 0.1]), np.array([0.95, 0.95, 0.95])
    middle = lab_of_linear(
        (linear_of_lab(lab_of_srgb(red)) + linear_of_lab(lab_of_srgb(white))) / 2
    )
    lab = np.array([[lab_of_srgb(red), lab_of_srgb(white), middle]])
    found = mixture_distances(lab, np.full((1, 3), 1 / 3))
    pairs = list(zip(*pairs_of_colours(3), strict=True))
    assert found[0, pairs.index((0, 1)), 2] == pytest.approx(0, abs=1e-6)


def test_a_colour_is_no_mixture_of_itself_and_nothing_is_said_of_a_missing_one():
    found = distances_of((0.5, 0.5, 0.5), (0.52, 0.5, 0.5), (0.5, 0.52, 0.5))
    for pair, (one, other) in enumerate(zip(*pairs_of_colours(3), strict=True)):
        assert np.isinf(found[pair, [one, other]]).all()
        assert np.isfinite(found[pair]).sum() == 1
    lab = lab_of_srgb(np.array([[[0.5, 0.5, 0.5], [0.52, 0.5, 0.5], [0.5, 0.52, 0.5]]]))
    assert np.isinf(mixture_distances(lab, np.array([[0.5, 0.5, 0.0]]))).all()


def test_each_distance_is_that_to_the_nearest_of_three_mixtures_unless_all_are_far():
    rng = np.random.default_rng(4)
    lab = lab_of_srgb(rng.uniform(0, 1, (40, 4, 3)))
    found = mixture_distances(lab, np.full((40, 4), 0.25))
    linear = linear_of_lab(lab)
    for pair, (one, other) in enumerate(zip(*pairs_of_colours(4), strict=True)):
        first, second = linear[:, one], linear[:, other]
        mixes = np.stack([lab_of_linear(p * first + (1 - p) * second) for p in (0.25, 0.5, 0.75)])
        for colour in set(range(4)) - {one, other}:
            near = np.linalg.norm(lab[:, colour] - mixes, axis=2) < 30
            true = np.where(near, large_difference(lab[:, colour], mixes), np.inf).min(axis=0)
            assert found[:, pair, colour] == pytest.approx(true, abs=1e-4)
