"""The scene generator: photos whose truth can be trusted."""

import itertools

import numpy as np
import pytest
from shapely.geometry import Polygon

from stash.colour.appearance import PrintKind
from stash.colour.difference import colour_difference
from stash.colour.spaces import lab_of_linear, linear_of_srgb
from stash.demo.backing import BACKINGS
from stash.demo.fabrics import FABRICS, weave
from stash.demo.laying import Leftover
from stash.demo.leftovers import LEFTOVERS, cut_leftover
from stash.demo.lens import MadeLens, aim
from stash.demo.scene import SceneSpec, render_scene
from stash.demo.things import THINGS, strewn

SMALL = (640, 480)


def test_the_same_seed_gives_the_same_photo():
    spec = SceneSpec((Leftover("coral sprig"),), size_px=SMALL)
    first, second = render_scene(spec, seed=5), render_scene(spec, seed=5)
    assert (first.pixels_srgb == second.pixels_srgb).all()
    assert first.truth.as_json() == second.truth.as_json()


def test_another_seed_lays_the_scraps_elsewhere():
    spec = SceneSpec((Leftover("coral sprig"),), size_px=SMALL)
    first, second = (render_scene(spec, seed=seed).truth.scraps[0] for seed in (5, 6))
    assert first.polygon.centroid.distance(second.polygon.centroid) > 0.1


@pytest.mark.parametrize("k1", [0.0, 0.01, -0.008])
def test_pixels_lead_back_to_the_inches_they_came_from(k1):
    lens = aim((16, 12), (1600, 1200), tilt_deg=9, towards_deg=40, k1=k1)
    board = np.array([[1.0, 2.0], [15.0, 11.0], [8.0, 6.0], [3.3, 9.1]])
    assert np.allclose(lens.to_board(lens.to_pixels(board)), board, atol=1e-6)


def test_cloth_is_laid_down_to_a_hundredth_of_a_pixel():
    lens = aim((16, 12), (1601, 1202), tilt_deg=14, towards_deg=40, k1=0.01)
    x, y = lens.board_maps()
    column, row = np.meshgrid(np.arange(0, 1601, 7), np.arange(0, 1202, 7))
    seen = lens.to_pixels(np.stack([x[row, column], y[row, column]], axis=-1))
    assert np.abs(seen - np.stack([column, row], axis=-1).reshape(-1, 2)).max() < 0.01


def test_the_board_fits_the_photo():
    lens = aim((16, 12), (1600, 1200), tilt_deg=12, towards_deg=200, k1=0.004)
    seen = lens.to_pixels(np.array([[0, 0], [16, 0], [16, 12], [0, 12.0]]))
    assert (seen >= 0).all() and (seen <= [1599, 1199]).all()


def test_a_square_of_five_inches_is_five_inches_in_the_truth():
    spec = SceneSpec((Leftover("coral", "square", 5.0),), size_px=SMALL)
    scrap = render_scene(spec, seed=1).truth.scraps[0]
    assert scrap.polygon.area == pytest.approx(25, rel=1e-9)


def test_the_truth_lies_where_the_cloth_is_seen():
    """Dark cloth on white: pixels that give less than half the light, against the truth."""
    spec = SceneSpec(
        (Leftover("night watch", "ell", 4.0),), "white flannel", shadow="none", size_px=SMALL
    )
    scene = render_scene(spec, seed=8)
    lens = MadeLens(scene.truth.image_from_card, SMALL, scene.truth.k1)
    outline = Polygon(lens.to_pixels(np.array(scene.truth.scraps[0].points)))
    left, top, right, bottom = (round(value) for value in outline.bounds)
    near = scene.pixels_srgb[top - 4 : bottom + 5, left - 4 : right + 5, 1]
    light = linear_of_srgb(near / 255)
    dark = light < (np.percentile(light, 5) + np.percentile(light, 95)) / 2
    assert dark.sum() == pytest.approx(outline.area, rel=0.003)


def test_patch_centres_lie_on_their_patches():
    """Patch 16 is the only yellow, patch 1 is brown: looked up in the photo itself."""
    scene = render_scene(SceneSpec((), size_px=SMALL), seed=2)
    x, y = np.round(scene.truth.patches_px[15]).astype(int)
    red, green, blue = (int(value) for value in scene.pixels_srgb[y, x])
    assert red > 150 and green > 130 and blue < 90


def test_the_upper_of_two_overlapping_scraps_hides_the_lower():
    lower, upper = Leftover("coal", "square", 4.0), Leftover("coral", "square", 3.0)
    covering = Leftover(upper.fabric, upper.kind, upper.size_in, over_last_in=0.5)
    truth = render_scene(SceneSpec((lower, covering), size_px=SMALL), seed=3).truth
    below, above = truth.scraps
    assert below.polygon.intersection(above.polygon).area == pytest.approx(0, abs=1e-9)
    assert above.polygon.area == pytest.approx(9)
    assert below.polygon.area < 16


def test_a_cut_off_scrap_is_marked():
    spec = SceneSpec((Leftover("moss", "square", 3.0, cut_off=True), Leftover("coral")))
    flags = {scrap.fabric: scrap.cut_off for scrap in render_scene(spec, seed=4).truth.scraps}
    assert flags == {"moss": True, "coral": False}


def test_a_crowded_board_grows_until_thirty_scraps_fit():
    crowd = tuple(Leftover(name, "crumb", 2.0) for name in list(FABRICS)[:30])
    truth = render_scene(SceneSpec(crowd, size_px=SMALL, board_in=(9, 7)), seed=1).truth
    shapes = [scrap.polygon for scrap in truth.scraps]
    assert len(shapes) == 30
    apart = [a.distance(b) for i, a in enumerate(shapes) for b in shapes[:i]]
    assert min(apart) > 0.29


@pytest.mark.parametrize("name", sorted(BACKINGS))
def test_every_backing_can_be_photographed(name):
    scene = render_scene(SceneSpec((Leftover("deep water"),), name, size_px=(320, 240)), seed=1)
    assert scene.pixels_srgb.shape == (240, 320, 3)
    assert scene.pixels_srgb.std() > 2


@pytest.mark.parametrize("kind", sorted(LEFTOVERS))
def test_every_leftover_is_one_sound_shape_of_about_its_size(kind):
    shape = cut_leftover(kind, 4.0, rng=np.random.default_rng(3))
    width = max(shape.bounds[2] - shape.bounds[0], shape.bounds[3] - shape.bounds[1])
    assert shape.is_valid
    assert 2.4 < width < 5.0


@pytest.mark.parametrize("name", sorted(FABRICS))
def test_a_fabric_reads_as_a_mix_of_its_inks(name):
    """The mean in linear light lies inside the box its inks span (arithmetic of averaging)."""
    fabric = FABRICS[name]
    mean = weave(fabric).mean(axis=(0, 1))
    inks = fabric.linear_inks
    assert (mean >= inks.min(axis=0) * 0.97 - 1e-3).all()
    assert (mean <= inks.max(axis=0) * 1.03 + 1e-3).all()


def test_plain_cloth_reads_as_its_dye():
    tile = weave(FABRICS["coral"]).reshape(-1, 3).mean(axis=0)
    dye = lab_of_linear(FABRICS["coral"].linear_inks[0])
    assert colour_difference(lab_of_linear(tile), dye[None])[0] < 0.5
    assert FABRICS["coral"].kind is PrintKind.PLAIN


def test_no_two_fabrics_share_a_name_or_look_the_same():
    means = np.array([lab_of_linear(weave(f).mean(axis=(0, 1))) for f in FABRICS.values()])
    for index, mean in enumerate(means[1:], start=1):
        assert colour_difference(mean, means[:index]).min() > 1.0


@pytest.mark.parametrize(
    "spec",
    [
        SceneSpec((Leftover("no such cloth"),)),
        SceneSpec((), backing="lava"),
        SceneSpec((), light="moon"),
        SceneSpec((Leftover("coral", "spiral"),)),
    ],
)
def test_an_unknown_word_is_named(spec):
    with pytest.raises(ValueError, match=r"lava|moon|spiral|no such cloth"):
        render_scene(spec, seed=1)


def test_things_lie_clear_of_each_other_and_of_the_scraps():
    things = strewn(tuple(THINGS), (20.0, 15.0), np.random.default_rng([3, 1]))
    shapes = [thing.shape for thing in things]
    assert all(one.distance(two) > 0.3 for one, two in itertools.combinations(shapes, 2))
    leftovers = (Leftover("coral", "square", 3.0), Leftover("moss", "square", 3.0))
    spec = SceneSpec(leftovers, size_px=SMALL, board_in=(20.0, 15.0), things=tuple(THINGS))
    scraps = [scrap.polygon.area for scrap in render_scene(spec, seed=3).truth.scraps]
    assert scraps == pytest.approx([9.0, 9.0])


def test_a_thing_that_is_not_known_is_refused():
    with pytest.raises(ValueError, match="things"):
        strewn(("hammer",), (16.0, 12.0), np.random.default_rng(0))
