"""A shadow on the table darkens no fabric in the stash."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from stash.colour.difference import colour_difference
from stash.demo.laying import Leftover
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.measuring import MeasuredPhoto, measure_photo
from tests.photo.scoring import match_scraps

LAID = tuple(
    Leftover(name, "square", 3.0) for name in ("harbour chambray", "dry sand", "coal", "deep water")
)


def seen(scene: RenderedScene) -> MeasuredPhoto:
    return measure_photo(read_photo(scene.jpeg(), name="table"), [chart24("chart", 0.55)])


def errors(scene: RenderedScene, photo: MeasuredPhoto) -> list[tuple[float, float]]:
    """Difference and stated error of every scrap's colour, CIEDE2000."""
    matches, _ = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    found = []
    for match in matches:
        assert match.index is not None
        looks = photo.scraps[match.index].appearance
        off = float(colour_difference(looks.reads_as, [match.truth.reads_as])[0])
        found.append((off, looks.error_de00))
    return found


@pytest.fixture(scope="module", params=[3, 4])
def shaded(request: pytest.FixtureRequest) -> tuple[RenderedScene, MeasuredPhoto]:
    scene = render_scene(SceneSpec(LAID, arm_shadow=True), seed=request.param)
    return scene, seen(scene)


def test_an_arms_shadow_is_taken_off_and_told(
    shaded: tuple[RenderedScene, MeasuredPhoto],
) -> None:
    scene, photo = shaded
    assert any("shadow lies on" in warning for warning in photo.warnings)
    assert np.median([off for off, _ in errors(scene, photo)]) < 1.5


def test_colours_from_a_shadow_are_less_sure(shaded: tuple[RenderedScene, MeasuredPhoto]) -> None:
    _, photo = shaded
    doubts = [scrap.appearance.error_de00 for scrap in photo.scraps]
    plain = seen(render_scene(SceneSpec(LAID), seed=3))
    assert max(doubts) > max(scrap.appearance.error_de00 for scrap in plain.scraps) + 0.1


def test_even_light_leaves_no_shadow_to_tell_of() -> None:
    scene = render_scene(SceneSpec(LAID), seed=3)
    photo = seen(scene)
    assert not any("shadow" in warning for warning in photo.warnings)
    doubts = [scrap.appearance.error_de00 for scrap in photo.scraps]
    assert max(doubts) < 3  # the card's own squares, and 8 % of light from side to side


def test_a_shadow_too_deep_to_see_into_is_told() -> None:
    scene = render_scene(SceneSpec(LAID), seed=3)
    dark = scene.pixels_srgb.astype(np.float32)
    dark[:, : dark.shape[1] // 4] *= 0.3
    buffer = io.BytesIO()
    Image.fromarray(dark.astype(np.uint8)).save(buffer, "JPEG", quality=90)
    photo = measure_photo(read_photo(buffer.getvalue(), name="table"), [chart24("chart", 0.55)])
    (note,) = [note for note in photo.notes if "deep shadow" in note]
    assert "left" in note and "right" not in note
