"""Things of a sewing room and guesses are left out of the log, and said so with their place."""

from __future__ import annotations

from functools import cache
from typing import cast

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.polygon import orient

from stash.demo.laying import Leftover
from stash.demo.leftovers import LEFTOVERS, cut_leftover
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from stash.demo.things import THINGS
from stash.photo.cards.card import chart24
from stash.photo.files.reading import read_photo
from stash.photo.left_out import sort_out
from stash.photo.light.calibration import Calibration
from stash.photo.measuring import MeasuredPhoto, measure_photo
from stash.photo.outlines.outlining import MeasuredOutline
from stash.photo.place_words import place_words
from stash.photo.sewing_things import odd_note
from stash.shape.plane.outline import outline_of
from tests.photo.scoring import match_scraps

CLOTH = (
    Leftover("ink spots", "rectangle", 2.5),  # white with dark print, as a label
    Leftover("ferry stripe", "strip", 6.0),  # slim with even stripes, as a ruler
    Leftover("coral", "crumb", 2.0),
)


@cache
def cluttered() -> tuple[RenderedScene, MeasuredPhoto]:
    spec = SceneSpec(CLOTH, things=tuple(THINGS), board_in=(20.0, 15.0))
    scene = render_scene(spec, seed=41)
    return scene, measure_photo(read_photo(scene.jpeg(), name="s"), [chart24("chart", 0.55)])


def test_only_cloth_is_logged_of_a_cluttered_table() -> None:
    scene, photo = cluttered()
    matches, false = match_scraps(scene.truth, [scrap.outline for scrap in photo.scraps])
    assert (len(photo.scraps), false) == (len(CLOTH), 0)
    assert all(match.index is not None for match in matches)


@pytest.mark.parametrize("thing", ["coin", "ruler", "scissors", "paper label", "narrower"])
def test_each_thing_left_out_is_named_with_its_place_and_a_way_back(thing: str) -> None:
    (note,) = [note for note in cluttered()[1].notes if note.startswith("Left out")]
    assert thing in note and "mark it on the photo's page" in note
    assert any(word in note for word in ("top", "bottom", "left", "right", "middle"))


def test_an_outline_as_unsure_as_it_is_wide_is_told_with_a_remedy_instead() -> None:
    _, photo = cluttered()
    outline = outline_of([(0, 0), (3, 0), (0, 3)], error_in=0.9)  # a circle of 0.88 in fits in
    sure, faint, guess = (
        MeasuredOutline(outline, step, seen_in, 0.0)
        for step, seen_in in ((20.0, 0.6), (4.0, 0.6), (20.0, 1.8))
    )
    blank = np.zeros((1200, 1600, 3), np.uint8)
    sorted_out = sort_out([sure, faint, guess], blank, photo.plane, cast(Calibration, None))
    assert sorted_out.kept == (sure,)
    (note,) = sorted_out.notes
    assert note.startswith("2 things (") and "plain cloth of another colour" in note


def test_a_place_is_told_by_the_ninth_of_the_photo_it_lies_in() -> None:
    assert place_words((1599, 1199), (1600, 1200)) == "bottom right"
    assert place_words((-5, 600), (1600, 1200)) == "left"


@pytest.mark.parametrize(
    ("thing", "shape"),
    [
        ("a foot rule", box(0, 0, 12.3, 1.1)),
        ("open scissors", LineString([(-3, -2), (3, 2), (0, 0), (-3, 2), (3, -2)]).buffer(0.3)),
    ],
)
def test_a_scrap_shaped_like_a_tool_is_noted_on_it(thing: str, shape: Polygon) -> None:
    assert "may be no scrap" in odd_note(outline_of(orient(shape).exterior.coords)), thing


def test_leftovers_of_every_kind_are_shaped_like_cloth() -> None:
    rng = np.random.default_rng(3)
    cuts = [cut_leftover(kind, 4.0, rng=rng) for kind in LEFTOVERS for _ in range(20)]
    shapes = [*cuts, box(0, 0, 40, 2.5), Point(0, 0).buffer(1.5)]
    assert [odd_note(outline_of(shape.exterior.coords, error_in=0.05)) for shape in shapes] == [
        ""
    ] * len(shapes)
