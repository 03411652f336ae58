"""The table told by scraps with parallel sides: truer, still honest, and no say for crumbs."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from stash.photo.cards.card import FoundCard, chart24
from stash.photo.cards.card_finding import find_card
from stash.photo.inches.parallel_sides import ParallelSides, angles_off, own_spread, parallel_sides
from stash.photo.inches.plane import Plane, fit_again, fit_plane
from stash.shape.plane.outline import Outline, outline_of
from tests.photo.made_chart import PITCH_IN, Camera, inches_of, photo_of

CAMERA = Camera(at_in=(4.0, 2.5))
FAR = np.array([[40, 40], [1160, 40], [40, 860], [300, 500]], dtype=float)
SHAPES = (
    [(-9, -8), (-5, -9), (-4, -5), (-8, -4)],  # lies askew, sides parallel
    [(-10, -2), (-9, -2), (-9, 2), (-10, 2)],
    [(-6, 1), (-2, 2), (-2.3, 3.2), (-6.3, 2.2)],
    [(-3, -8), (0, -8), (0, -4), (-1.5, -4), (-1.5, -6), (-3, -6)],
)


@lru_cache(maxsize=1)
def found_card() -> FoundCard:
    return find_card(photo_of(CAMERA), [chart24("made", PITCH_IN)])


def plane_of(seed: int) -> Plane:
    """A plane from patch centres that are a tenth of a pixel off, as print and JPEG leave them."""
    found = found_card()
    off = np.random.default_rng(seed).normal(0, 0.1, found.edges.centres_px.shape)
    edges = replace(found.edges, centres_px=found.edges.centres_px + off)
    return fit_plane(replace(found, edges=edges), (CAMERA.height, CAMERA.width))


def as_seen(plane: Plane, ring: np.ndarray) -> Outline:
    """Give what a wrong plane makes of a ring that truly lies on the table."""
    px = plane.to_pixels(ring)
    for _ in range(20):
        px = plane.to_pixels(plane.to_inches(px) + ring - inches_of(CAMERA, px))
    return outline_of(plane.to_inches(px))


def errors(seed: int, crooked_deg: float) -> tuple[float, float, bool]:
    """Mean error far from the card without and with the sides' word; whether the latter holds."""
    plane, rng = plane_of(seed), np.random.default_rng([7, seed])
    rings = [np.array(shape, dtype=float) for shape in SHAPES]
    crooked = [ring + rng.normal(0, np.deg2rad(crooked_deg) * 1.5, ring.shape) for ring in rings]
    sides = parallel_sides([as_seen(plane, ring) for ring in crooked], plane.to_pixels)
    truer, true = fit_again(plane, sides), inches_of(CAMERA, FAR)
    off = [np.hypot(*(each.to_inches(FAR) - true).T) for each in (plane, truer)]
    holds = bool((off[1] <= truer.error_in(true)).all())
    return float(off[0].mean()), float(off[1].mean()), holds


@pytest.mark.parametrize("crooked_deg", [0.0, 0.2])
def test_parallel_sides_make_the_table_truer_and_its_error_stays_honest(crooked_deg: float) -> None:
    told = [errors(seed, crooked_deg) for seed in range(6)]
    before, after = (np.mean([each[index] for each in told]) for index in (0, 1))
    assert after < (0.6 if crooked_deg == 0 else 0.85) * before
    assert sum(each[2] for each in told) >= 5  # stated for 95 in 100


def test_a_crumb_with_two_sides_that_happen_to_be_parallel_has_no_say() -> None:
    crumb = outline_of([(0, 0), (3, 0), (4, 1.4), (2.6, 2.5), (1, 2.5), (-0.9, 1.2)])
    assert len(parallel_sides([crumb], lambda points: points)) == 0


def test_a_parallelogram_has_two_families_whose_angles_are_off_by_nothing() -> None:
    strip = outline_of([(0, 0), (6, 1), (7, 3), (1, 2)])
    sides = parallel_sides([strip], lambda points: points)
    assert list(np.bincount(sides.family)) == [2, 2]
    assert np.abs(angles_off(sides.ends_px, sides.family, np.ones(4))).max() < 1e-12


def test_sides_that_disagree_are_judged_as_crooked_as_they_are() -> None:
    rng = np.random.default_rng(3)
    off = rng.normal(0, np.deg2rad(1.0), 400)
    sides = ParallelSides(np.zeros((400, 2, 2)), np.repeat(np.arange(40), 10), np.zeros(400))
    inside = off - np.bincount(sides.family, off)[sides.family] / 10  # off their families' mean
    assert np.rad2deg(own_spread(inside, np.ones(400), sides)) == pytest.approx(1.0, abs=0.1)


def test_without_parallel_sides_the_plane_is_as_the_card_tells_it() -> None:
    plane = plane_of(0)
    nothing = parallel_sides([], plane.to_pixels)
    assert fit_again(plane, nothing) is plane
