"""The edge of a hard shadow over the card: told, taken off, and never taken for another reason."""

from __future__ import annotations

import numpy as np
import pytest

from stash.colour.difference import colour_difference
from stash.colour.spaces import linear_of_srgb, srgb_of_linear
from stash.demo.scene import Leftover, SceneSpec, render_scene
from stash.photo.cards.card import CHART24_LINEAR, chart24
from stash.photo.cards.card_shade import shade_across
from stash.photo.files.reading import Photo
from stash.photo.measuring import measure_photo
from tests.photo.scoring import match_scraps

REFERENCE = srgb_of_linear(CHART24_LINEAR)
PLACES = np.array([(column, row) for row in range(4) for column in range(6)])
CAMERA = np.array([[0.8, 0.15, 0.02], [0.1, 0.75, 0.1], [0.02, 0.2, 0.6]])


def seen(light: np.ndarray, order: np.ndarray | None = None) -> np.ndarray:
    """Photograph the chart's squares with a camera that mixes channels, under so much light."""
    squares = CHART24_LINEAR if order is None else CHART24_LINEAR[order]
    return srgb_of_linear(np.clip(squares @ CAMERA.T, 0, 1) * light)


@pytest.mark.parametrize("left", [0.3, 0.55])
@pytest.mark.parametrize("columns", [2, 3, 4])
def test_squares_in_a_shadow_and_the_light_left_there_are_told(columns: int, left: float) -> None:
    light = np.where(PLACES[:, :1] < columns, left * np.array([0.95, 1.0, 1.08]), 1.0)
    shade = shade_across(seen(light), REFERENCE, PLACES)
    assert shade is not None
    right = shade.shaded == (PLACES[:, 0] < columns)
    assert right.sum() >= 23  # a square that looks like none of them may go with either side
    assert np.abs(np.log(shade.light / light))[right].max() < 0.25


def test_no_shadow_is_told_where_none_lies() -> None:
    assert shade_across(seen(np.ones((24, 1))), REFERENCE, PLACES) is None
    falling_off = np.linspace(1.0, 0.75, 6)[PLACES[:, 0]][:, None]
    assert shade_across(seen(falling_off), REFERENCE, PLACES) is None


def test_squares_in_another_order_are_no_chart_in_a_shadow() -> None:
    rng = np.random.default_rng(4)
    orders = [rng.permutation(24) for _ in range(40)]
    told = [shade_across(seen(np.ones((24, 1)), order), REFERENCE, PLACES) for order in orders]
    assert not any(told)


@pytest.mark.parametrize("left", [0.3, 0.55])
def test_colours_hold_where_a_shadow_lies_over_half_the_card(left: float) -> None:
    """Before, such photos were refused as another kind of card, covered or in glare."""
    fabrics = ("coral", "deep water", "ink spots", "keeper plaid")
    spec = SceneSpec(tuple(Leftover(name, "square", 3.5) for name in fabrics), "grey flannel")
    scene = render_scene(spec, seed=31)
    _, width = scene.pixels_srgb.shape[:2]
    across = (
        np.arange(width) - scene.truth.image_from_card[0, 2] / scene.truth.image_from_card[2, 2]
    )
    light = 1 - (1 - left) * np.clip(across / 6 + 0.5, 0, 1)
    shaded = srgb_of_linear(linear_of_srgb(scene.pixels_srgb / 255) * light[None, :, None])
    photo = Photo(np.rint(shaded * 255).astype(np.uint8), "half in a shadow")
    measured = measure_photo(photo, [chart24("chart", 0.55)])
    assert any("edge of a shadow runs over the card" in one for one in measured.warnings)
    assert measured.card.absolute and measured.card.error_de00 < 3
    matches, _ = match_scraps(scene.truth, [scrap.outline for scrap in measured.scraps])
    found = [match for match in matches if match.index is not None]
    assert len(found) >= 2  # the deeper one hides some of the cloth
    offs = []
    for match in found:
        looks = measured.scraps[match.index].appearance
        offs.append(float(colour_difference(looks.reads_as, [match.truth.reads_as])[0]))
        assert offs[-1] <= looks.error_de00
    assert np.median(offs) < 3
