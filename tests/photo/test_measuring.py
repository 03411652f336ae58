"""The whole way from a photo to measured scraps, on scenes whose truth is known."""

import io
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from PIL import Image

from stash.colour.difference import colour_difference
from stash.demo.laying import Leftover
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from stash.demo.tidewater import demo_photos
from stash.errors import CalibrationError, CardNotFoundError
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.measuring import MeasuredPhoto, measure_photo
from tests.photo.scoring import match_scraps

CARDS = [chart24("practice", 0.55)]
EVERYDAY = SceneSpec(
    (
        Leftover("coral", "square", 4.0),
        Leftover("pilot stripe", "ell", 4.0),
        Leftover("night watch", "triangle", 4.0),
        Leftover("lifeboat check", "rectangle", 4.0),
        Leftover("moss", "chopped", 4.0),
    )
)


@cache
def measured(spec: SceneSpec, seed: int) -> tuple[RenderedScene, MeasuredPhoto]:
    scene = render_scene(spec, seed=seed)
    return scene, measure_photo(read_photo(scene.jpeg(), name="scene.jpg"), CARDS)


def test_every_scrap_is_found_and_nothing_else():
    scene, photo = measured(EVERYDAY, 11)
    matches, false = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    assert [match.truth.fabric for match in matches if match.index is None] == []
    assert false == 0


def test_areas_are_right_within_two_percent():
    """A 1600 px photo of 16 inches: a pixel along every edge of a 4-inch square is 1 %."""
    scene, photo = measured(EVERYDAY, 11)
    matches, _ = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    assert max(abs(match.area_percent) for match in matches) < 2


def test_true_outlines_lie_within_the_stated_error():
    scene, photo = measured(EVERYDAY, 11)
    matches, _ = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    assert [match.truth.fabric for match in matches if match.edge_in > match.stated_in] == []


def test_scraps_read_as_the_colour_of_their_cloth():
    """Design goal in good light: CIEDE2000 4 at the 95th percentile."""
    scene, photo = measured(EVERYDAY, 11)
    matches, _ = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    for match in matches:
        assert match.index is not None
        seen = photo.scraps[match.index].appearance.reads_as
        assert colour_difference(seen, [match.truth.reads_as])[0] < 4


def test_beside_a_card_it_does_not_matter_what_a_file_calls_its_colours():
    """The same numbers said to be wider: what sRGB would have cut off of them is still there."""
    leftovers = tuple(Leftover(name, "square", 3.0) for name in ("coral", "deep water", "moss"))
    scene = render_scene(SceneSpec(leftovers, size_px=(1000, 750)), seed=4)
    plain, wide = io.BytesIO(), io.BytesIO()
    image = Image.fromarray(scene.pixels_srgb)
    image.save(plain, "PNG")
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA005] = {1: "R03"}  # DCF 2.0: the file's colours are Adobe RGB's
    image.save(wide, "PNG", exif=exif.tobytes())
    seen, called = (measure_photo(read_photo(f.getvalue(), name="a"), CARDS) for f in (plain, wide))
    assert len(seen.scraps) == 3
    looks = [[scrap.appearance.reads_as for scrap in photo.scraps] for photo in (seen, called)]
    assert looks[0] == looks[1]


def test_light_that_falls_off_over_a_cutting_mat_is_taken_off_the_colours():
    leftovers = tuple(Leftover(name, "square", 2.5) for name in ("coral", "deep water", "foam"))
    spec = SceneSpec(leftovers, "cutting mat", unevenness=0.5, size_px=(1200, 900))
    scene = render_scene(spec, seed=8)
    measured = measure_photo(read_photo(scene.jpeg(), name="mat"), [chart24("chart", 0.55)])
    matches, false = match_scraps(scene.truth, [scrap.outline for scrap in measured.scraps])
    assert false == 0 and all(match.index is not None for match in matches)
    for match in matches:
        seen = measured.scraps[match.index].appearance.reads_as
        assert colour_difference(seen, [match.truth.reads_as])[0] < 1.5


def test_a_picture_shows_the_scrap_where_its_numbers_say():
    """The middle of the coral square is coral in its picture, and its margin is grey flannel."""
    scene, photo = measured(EVERYDAY, 11)
    matches, _ = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    coral = next(match for match in matches if match.truth.fabric == "coral")
    assert coral.index is not None
    scrap = photo.scraps[coral.index]
    picture = read_photo(scrap.picture_jpeg, name="swatch.jpg").pixels_srgb
    assert max(picture.shape) <= 512
    for point, is_coral in (
        (scrap.outline.polygon.centroid.coords[0], True),
        (scrap.outline.points[0], None),
        ((scrap.left_in + 0.02, scrap.top_in - 0.02), False),
    ):
        column = round((point[0] - scrap.left_in) * scrap.px_per_in - 0.5)
        row = round((scrap.top_in - point[1]) * scrap.px_per_in - 0.5)
        assert 0 <= row < picture.shape[0] and 0 <= column < picture.shape[1]
        red, _, blue = (int(value) for value in picture[row, column])
        if is_coral is not None:
            assert (red - blue > 60) is is_coral


def test_a_scrap_cut_off_by_the_border_is_told_and_not_measured():
    spec = SceneSpec(
        (Leftover("coral", "square", 4.0), Leftover("moss", "square", 4.0, cut_off=True))
    )
    scene, photo = measured(spec, 3)
    _, false = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    assert (len(photo.scraps), false, photo.cut_off) == (1, 0, 1)
    assert "cut off" in photo.notes[0]


def test_a_hole_shows_where_the_backing_shows():
    scene, photo = measured(SceneSpec((Leftover("deep water", "window", 4.0),)), 5)
    hole = scene.truth.scraps[0].polygon.interiors[0]
    assert len(photo.scraps[0].outline.holes) == 1
    assert photo.scraps[0].outline.polygon.interiors[0].hausdorff_distance(hole) < 0.08


def test_a_print_with_backing_coloured_flowers_has_no_holes():
    spec = SceneSpec((Leftover("forget-me-buoy", "square", 4.0),), "white flannel")
    _, photo = measured(spec, 6)
    assert photo.scraps[0].outline.holes == ()


def test_a_photo_without_a_card_is_refused():
    """A sharp, grainy photo of a blue square: nothing but the card is missing."""
    grain = np.random.default_rng(1).normal(140, 12, (600, 800, 1)).clip(0, 255)
    pixels = grain.astype(np.uint8).repeat(3, axis=2)
    pixels[200:400, 300:500] = (30, 60, 120)
    buffer = io.BytesIO()
    Image.fromarray(pixels).save(buffer, "PNG")
    with pytest.raises(CardNotFoundError):
        measure_photo(read_photo(buffer.getvalue(), name="plain.png"), CARDS)


def test_a_black_and_white_photo_says_so_and_not_that_something_lies_on_the_card():
    scene = render_scene(SceneSpec((), size_px=(1000, 750)), seed=5)
    grey = Image.fromarray(scene.pixels_srgb).convert("L")
    file = io.BytesIO()
    grey.save(file, "JPEG", quality=90)
    with pytest.raises(CalibrationError, match="black-and-white") as refused:
        measure_photo(read_photo(file.getvalue(), name="grey.jpg"), CARDS)
    assert refused.value.cause == "card colours"


def test_a_negative_is_refused_though_its_squares_stand_in_their_order():
    scene = render_scene(SceneSpec((), size_px=(1000, 750)), seed=5)
    file = io.BytesIO()
    Image.fromarray(255 - scene.pixels_srgb).save(file, "JPEG", quality=90)
    with pytest.raises(CalibrationError, match="negative"):
        measure_photo(read_photo(file.getvalue(), name="negative.jpg"), CARDS)


def test_the_soft_rim_of_a_bitten_scrap_is_no_second_cloth():
    # The pale bitten scrap on dark board once came out as two: its cloth, and its mixed rim.
    photo = next(photo for photo in demo_photos() if photo.name == "sand-basket.jpg")
    scene = render_scene(photo.spec, seed=photo.seed)
    card = chart24("demo", photo.spec.pitch_in)
    measured = measure_photo(read_photo(scene.jpeg(), name=photo.name), [card])
    assert len(measured.scraps) == len(photo.spec.leftovers)


def test_the_rim_of_a_hard_shadow_is_no_edge():
    """The shadow is 0.09 in wide; an outline that follows its rim anywhere is off by so much."""
    leftovers = (Leftover("harbour chambray", "square", 3.0), Leftover("moss", "square", 3.0))
    spec = SceneSpec(
        leftovers, "cream paper", shadow="hard", board_in=(11.0, 8.25), size_px=(1000, 750)
    )
    scene = render_scene(spec, seed=4)
    photo = measure_photo(read_photo(scene.jpeg(), name="s"), [chart24("chart", 0.55)])
    matches, _ = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    assert max(match.edge_in for match in matches) < 0.05


@pytest.mark.parametrize("phone", ["mild", "strong"])
def test_a_phones_own_rendering_of_colours_refuses_no_photo_and_is_taken_back(phone):
    scene = render_scene(replace(EVERYDAY, phone=phone), seed=3)
    photo = measure_photo(read_photo(scene.jpeg(), name="phone"), CARDS)
    matches, more = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    assert more == 0
    looks = [photo.scraps[match.index].appearance for match in matches if match.index is not None]
    assert len(looks) == len(matches)
    off = [
        float(colour_difference(look.reads_as, [match.truth.reads_as])[0])
        for look, match in zip(looks, matches, strict=True)
    ]
    assert np.median(off) < 2.8  # the goal for strongly rendered photos
    assert all(one <= look.error_de00 for one, look in zip(off, looks, strict=True))
