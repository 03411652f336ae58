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
from stash.photo.table.faint_seam import parted_at_faint_seam
from stash.shape.plane.outline import outline_of


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
    scene = render_scene(SceneSpec((*pair, Leftover("coral", "ell", 3.0)), shadow="none"), seed=605)
    photo = measure_photo(read_photo(scene.jpeg(), name="pair"), [chart24("chart", 0.55)])
    said = {round(scrap.outline.area_sq_in): scrap.notes for scrap in photo.scraps}
    assert "two scraps" in said[max(said)] and not said[min(said)]


def test_a_faint_line_between_two_notches_parts_a_scrap_and_a_line_of_a_stripe_does_not():
    mask = np.zeros((200, 340), dtype=bool)
    mask[20:180, 20:160] = mask[50:150, 160:320] = True
    columns = np.arange(340)[None, :]
    lab = np.zeros((200, 340, 3), dtype=np.float32)
    lab[..., 0] = 90 + np.random.default_rng(1).normal(0, 1, mask.shape)
    assert parted_at_faint_seam(mask, lab, 40) is None
    striped = lab - 6.0 * (columns % 10 < 3)[..., None]
    assert parted_at_faint_seam(mask, striped, 40) is None
    lab[..., 0] -= 6.0 * (abs(columns - 160) < 2)
    parts = parted_at_faint_seam(mask, lab, 40)
    assert parts is not None
    assert sorted(int(part.sum()) for part in parts) == pytest.approx([16000, 22400], rel=0.03)
