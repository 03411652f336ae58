"""The main job on a stored photo: what was measured last year must be measured today."""

import json
from pathlib import Path

import pytest
from shapely.geometry import Polygon

from stash.colour.difference import colour_difference
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.measuring import measure_photo

SCENES = Path(__file__).parents[2] / "fixtures" / "scenes"


@pytest.mark.parametrize("name", ["four_scraps"])
def test_a_stored_photo_still_gives_its_truth(name):
    """Limits: area 2.5 % and 0.08 in are the project's goals; colour in good light 4 CIEDE2000."""
    truth = json.loads((SCENES / f"{name}.json").read_text())
    photo = read_photo((SCENES / f"{name}.jpg").read_bytes(), name=name)
    cards = [chart24("chart", truth["card"]["pitch_in"])]
    scraps = list(measure_photo(photo, cards).scraps)
    assert len(scraps) == len(truth["scraps"])
    for true in truth["scraps"]:
        shape = Polygon(true["outline_in"])
        scrap = min(scraps, key=lambda s: s.outline.polygon.symmetric_difference(shape).area)
        assert scrap.outline.area_sq_in == pytest.approx(true["area_sq_in"], rel=0.025)
        assert scrap.outline.polygon.hausdorff_distance(shape) < 0.08
        assert colour_difference(scrap.appearance.reads_as, [true["reads_as_lab"]])[0] < 4
