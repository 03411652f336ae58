"""A scrap too bright for the camera is less sure, and the photo says so."""

from __future__ import annotations

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


def lightest_and_darkest(photo: MeasuredPhoto) -> tuple[float, float]:
    """Give the colour errors stated for the two scraps."""
    light, dark = sorted(photo.scraps, key=lambda scrap: -scrap.appearance.reads_as[0])
    return light.appearance.error_de00, dark.appearance.error_de00


def test_only_a_burnt_out_scrap_is_less_sure_than_in_a_photo_well_exposed() -> None:
    well, bright = seen(0.85), seen(1.06)
    light, dark = lightest_and_darkest(well)
    burnt, still_dark = lightest_and_darkest(bright)
    assert burnt > light + 0.5
    assert still_dark < dark + 0.5
    told = [any("burnt out" in warning for warning in one.warnings) for one in (well, bright)]
    assert told == [False, True]
