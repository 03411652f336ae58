"""Whether an outline tells that it may hold two scraps."""

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from stash.demo.laying import Leftover
from stash.demo.leftovers import cut_leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.maybe_two import two_note
from stash.photo.measuring import measure_photo
from stash.shape.outline import outline_of


def note(shape: Polygon) -> str:
    return two_note(outline_of(list(shape.exterior.coords), [], error_in=0.03))


@pytest.mark.parametrize("turn_deg", [10, 30, 45, 70])
@pytest.mark.parametrize("over_in", [0.1, 0.4])
def test_a_square_laid_askew_against_another_may_be_two(turn_deg, over_in):
    other = affinity.rotate(box(0, 0, 3, 3), turn_deg)
    low = other.bounds[0]
    both = box(0, 0, 4, 4).union(affinity.translate(other, 4 - over_in - low, 0.3))
    assert "two scraps" in note(both)


def test_one_of_two_that_touch_may_have_a_notch_or_touch_a_third():
    ell = Polygon([(0, 0), (4, 0), (4, 1.5), (1.5, 1.5), (1.5, 4), (0, 4)])
    upper = affinity.translate(affinity.rotate(box(0, 0, 2, 2), 30), 3.5, -0.5)
    assert "two scraps" in note(ell.union(upper))
    first = affinity.rotate(box(0, 0, 2, 2), 20)
    row = [first, affinity.translate(box(0, 0, 2, 2), 2, 0.2), affinity.translate(first, 4.2, 0.3)]
    assert "two scraps" in note(unary_union(row))


@pytest.mark.parametrize("kind", ["ell", "bite", "square", "strip", "triangle", "chopped"])
def test_one_leftover_alone_is_never_called_two(kind):
    shapes = [cut_leftover(kind, 4.0, rng=np.random.default_rng(seed)) for seed in range(10)]
    assert not any(note(shape) for shape in shapes)


def test_two_scraps_of_one_cloth_without_a_seam_are_called_so_and_an_ell_is_not():
    pair = (Leftover("foam", "square", 3.0), Leftover("foam", "square", 2.5, over_last_in=0.3))
    scene = render_scene(SceneSpec((*pair, Leftover("coral", "ell", 3.0))), seed=605)
    photo = measure_photo(read_photo(scene.jpeg(), name="pair"), [chart24("chart", 0.55)])
    said = {round(scrap.outline.area_sq_in): scrap.notes for scrap in photo.scraps}
    assert "two scraps" in said[max(said)] and not said[min(said)]
