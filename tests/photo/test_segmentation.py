"""Finding scraps: what counts as cloth, what as backing, shadow, thread or card."""

from functools import cache

import numpy as np
import pytest
from shapely.geometry import Polygon

from stash.demo.laying import Leftover
from stash.demo.lens import MadeLens
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from stash.errors import BackingError
from stash.photo.files.reading import read_photo
from stash.photo.table.backing_model import Float32Array, Mask
from stash.photo.table.segmentation import Segmentation, find_scraps
from stash.photo.table.touching import split_touching
from tests.shared_data import shared

PLAIN = (Leftover("coral", "square", 4.0), Leftover("deep water", "ell", 4.0))


@cache
def found(spec: SceneSpec, seed: int) -> tuple[RenderedScene, Segmentation]:
    """Segment with the card's true place, so that only the segmentation is tested."""
    scene = render_scene(spec, seed=seed)
    truth = scene.truth
    lens = MadeLens(truth.image_from_card, spec.size_px, truth.k1)
    half = np.array([3.25, 2.25]) * truth.pitch_in
    card = lens.to_pixels(np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half)
    px_per_in = float(np.linalg.norm(np.subtract(*lens.to_pixels(np.array([[0, 0], [1.0, 0]])))))
    return scene, find_scraps(scene.pixels_srgb, px_per_in=px_per_in, cards_px=(card,))


def true_shapes(scene: RenderedScene) -> list[Polygon]:
    """The scraps in pixels of the photo."""
    height, width = scene.pixels_srgb.shape[:2]
    lens = MadeLens(scene.truth.image_from_card, (width, height), scene.truth.k1)
    return [Polygon(lens.to_pixels(np.array(scrap.points))) for scrap in scene.truth.scraps]


def unseen(mask):
    """No backing to be seen: nothing tells of a shadow."""
    return np.full(mask.shape, -1, dtype=np.float32)


@pytest.mark.parametrize(
    "backing",
    ["white flannel", "grey flannel", "dark board", "blue sheet", "wood table", "cutting mat",
     "checked tablecloth"],
)  # fmt: skip
def test_two_bold_scraps_are_two_regions_on_any_backing(backing):
    _, seen = found(SceneSpec(PLAIN, backing), 21)
    assert (len(seen.regions), len(seen.cut_off)) == (2, 0)


@pytest.mark.parametrize("shadow", ["none", "soft", "hard"])
def test_a_shadow_is_no_part_of_a_scrap(shadow):
    """The region may be a shadow's width larger only where no shadow falls: 3 % of its area."""
    scene, seen = found(SceneSpec((Leftover("coral", "square", 4.0),), shadow=shadow), 22)
    (shape,) = true_shapes(scene)
    assert seen.regions[0].mask.sum() / seen.scale**2 == pytest.approx(shape.area, rel=0.03)


@pytest.mark.parametrize("shadow", ["contact", "deep"])
@pytest.mark.parametrize("backing", ["white flannel", "blue sheet"])
def test_a_thick_thing_s_soft_shadow_is_no_part_of_it(backing, shadow):
    """As broad as a finger and half as dark as the table: a tenth of these scraps' areas."""
    pair = (Leftover("slate flannel", "square", 4.0), Leftover("pilot stripe", "ell", 3.5))
    scene, seen = found(SceneSpec(pair, backing, shadow=shadow, size_px=(1200, 900)), 902)
    areas = sorted(region.mask.sum() / seen.scale**2 for region in seen.regions)
    rim_px = 0.03 * seen.step / seen.scale  # two pixels of the picture it works on
    for area, shape in zip(
        areas, sorted(true_shapes(scene), key=lambda one: one.area), strict=True
    ):
        assert abs(area - shape.area) < rim_px * shape.length


def test_folds_of_the_backing_are_no_scraps():
    for seed in (900, 901, 902):
        spec = SceneSpec(PLAIN, "white flannel", folds=4, size_px=(1200, 900))
        _, seen = found(spec, seed)
        assert (len(seen.regions), len(seen.cut_off)) == (2, 0)


def test_bare_glossy_table_between_things_is_no_scrap():
    """As on a blue table with beans round the lamp's mirror image, a real photo."""
    small = tuple(Leftover("coral", "square", 1.0) for _ in range(8))
    spec = SceneSpec(small, "blue sheet", gloss=0.07, size_px=(1200, 900), board_in=(11.0, 8.0))
    for seed in (31, 32, 33):
        scene, seen = found(spec, seed)
        true = sum(shape.area for shape in true_shapes(scene))
        assert len(seen.regions) == 8
        assert sum(one.mask.sum() for one in seen.regions) / seen.scale**2 < 1.15 * true


def test_a_lamp_mirrored_in_the_table_joins_no_scraps_where_a_phone_holds_the_lights():
    """There it adds little light and only pales the table; four of these eight were found."""
    small = tuple(Leftover("coral", "square", 1.0) for _ in range(8))
    spec = SceneSpec(
        small, "blue sheet", gloss=0.11, size_px=(1200, 900), board_in=(11.0, 8.0), phone="strong"
    )
    scene, seen = found(spec, 31)
    true = sum(shape.area for shape in true_shapes(scene))
    assert len(seen.regions) == 8
    assert sum(one.mask.sum() for one in seen.regions) / seen.scale**2 < 1.15 * true


@pytest.mark.parametrize(
    ("name", "card_px", "px_per_in", "things"),
    [
        ("bean_tut.jpg", [(685, 89), (1988, 69), (1996, 956), (698, 968)], 351, 10),
        ("potato_FY3Rd19_4_31.jpg", [(4987, 2867), (5668, 2862), (5657, 3890), (4975, 3901)], 274,
         10),
    ],
)  # fmt: skip
def test_real_things_are_found_and_the_bare_table_between_them_is_none(
    name, card_px, px_per_in, things
):
    """Ten beans round a lamp's mirror image on a blue table; ten potatoes that cast shadows."""
    photo = read_photo(shared(f"data/real_photos/{name}").read_bytes(), name=name)
    card = (np.array(card_px, dtype=float),)
    seen = find_scraps(photo.pixels_srgb, px_per_in=px_per_in, cards_px=card)
    assert len(seen.regions) == things


def test_white_cloth_on_folded_white_flannel_is_found():
    spec = SceneSpec((Leftover("salt on salt", "square", 4.0),), "white flannel", folds=3)
    _, seen = found(spec, 24)
    assert len(seen.regions) == 1


def test_threads_and_pins_are_no_scraps():
    _, seen = found(SceneSpec(PLAIN, threads=12, pins=6), 23)
    assert len(seen.regions) == 2


def test_white_cloth_on_white_flannel_is_found():
    spec = SceneSpec((Leftover("salt on salt", "square", 4.0),), "white flannel")
    _, seen = found(spec, 24)
    assert len(seen.regions) == 1


def test_the_photographers_shadow_is_no_scrap():
    _, seen = found(SceneSpec(PLAIN, arm_shadow=True), 25)
    assert len(seen.regions) == 2


def test_overlapping_scraps_of_unlike_cloth_are_told_apart_and_told_to_overlap():
    pair = (Leftover("coral", "square", 3.5), Leftover("deep water", "square", 3.0,
            over_last_in=0.4))  # fmt: skip
    _, seen = found(SceneSpec(pair), 26)
    assert [region.seam for region in seen.regions] == [True, True]
    assert any("overlap" in note for note in seen.notes)


def test_a_two_coloured_rectangle_is_one_scrap():
    """Half red, half blue, no inward corner: a print, not two scraps."""
    mask = np.zeros((240, 300), dtype=bool)
    mask[20:220, 20:280] = True
    lab = np.zeros((240, 300, 3), dtype=np.float32)
    lab[:, :150], lab[:, 150:] = (50, 60, 30), (40, 0, -50)
    assert len(split_touching(mask, lab, unseen(mask), 60.0)) == 1


def test_two_unlike_squares_corner_on_corner_are_two_scraps():
    mask = np.zeros((340, 340), dtype=bool)
    mask[20:180, 20:180] = True
    mask[150:320, 150:320] = True
    lab = np.full((340, 340, 3), (50, 60, 30), dtype=np.float32)
    lab[150:320, 150:320] = (40, 0, -50)
    parts = split_touching(mask, lab, unseen(mask), 60.0)
    assert [int(part.sum()) for part in parts].count(0) == 0
    assert len(parts) == 2
    assert sum(int(part.sum()) for part in parts) == mask.sum()


def checked_on_dotted() -> tuple[Mask, Mask, Float32Array]:
    """A checked rectangle laid over a corner of a dotted square; both white and blue."""
    rows, columns = np.mgrid[:300, :360]
    square, over = np.zeros((2, 300, 360), dtype=bool)
    square[20:200, 20:200] = True
    over[130:280, 150:340] = True
    checks = (rows // 6 % 2 == 0) | (columns // 6 % 2 == 0)
    dots = (rows % 20 < 9) & (columns % 20 < 9)
    blue = np.where(over, checks, dots)
    white, ink = np.array([90, 0, 2], np.float32), np.array([35, 5, -35], np.float32)
    return square, over, np.where(blue[..., None], ink, white)


def test_overlapping_prints_in_the_same_colours_are_parted_at_the_upper_ones_edge():
    square, over, lab = checked_on_dotted()
    parts = split_touching(square | over, lab, unseen(square), 60.0)
    assert len(parts) == 2
    shared = [[(part & true).sum() / (part | true).sum() for part in parts]
              for true in (over, square & ~over)]  # fmt: skip
    # A seam of 1.6 in, off by 0.05 in all along, is 0.08 of at least 6.9 square inches.
    assert min(max(one) for one in shared) > 0.985


def test_one_print_in_the_outline_of_two_scraps_is_one_scrap():
    square, over, lab = checked_on_dotted()
    one = np.tile(lab[140:200, 160:220], (5, 6, 1))
    assert len(split_touching(square | over, one, unseen(square), 60.0)) == 1


def test_a_backing_of_many_colours_is_refused():
    rng = np.random.default_rng(5)
    blocks = rng.integers(20, 235, (6, 8, 3), dtype=np.uint8)
    pixels = blocks.repeat(100, axis=0).repeat(100, axis=1)
    with pytest.raises(BackingError, match="plain cloth"):
        find_scraps(pixels, px_per_in=50.0, cards_px=())
