"""A scrap too bright for the camera is less sure, and the photo says so."""

from __future__ import annotations

import pytest

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.measuring import MeasuredPhoto, measure_photo

LAID = (Leftover("foam", "square", 3.0), Leftover("deep water", "square", 3.0))


def seen(exposure: float) -> MeasuredPhoto:
    spec = SceneSpec(LAID, exposure=exposure, unevenness=0.0, light="evening lamp")
    photo = read_photo(render_scene(spec, seed=2).jpeg(), name="table")
    return measure_photo(photo, [chart24("chart", 0.55)])


@pytest.mark.parametrize(("exposure", "told"), [(0.85, False), (1.06, True)])
def test_only_a_burnt_out_scrap_is_less_sure_than_its_card(exposure: float, told: bool) -> None:
    photo = seen(exposure)
    light, dark = sorted(photo.scraps, key=lambda scrap: -scrap.appearance.reads_as[0])
    assert dark.appearance.error_de00 == photo.card.error_de00
    assert (light.appearance.error_de00 > photo.card.error_de00 + 0.5) is told
    assert any("burnt out in this photo" in warning for warning in photo.warnings) is told
