"""A photo says which outlines are known too roughly or may be no scraps, and what would help."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon, box

from stash.demo.leftovers import LEFTOVERS, cut_leftover
from stash.photo.notes import odd_notes, unsure_notes
from stash.shape.outline import Outline, outline_of


def square(error_in: float) -> Outline:
    return outline_of([(0, 0), (4, 0), (4, 4), (0, 4)], error_in=error_in)


def test_outlines_known_well_need_no_word() -> None:
    assert unsure_notes([square(0.05), square(0.19)]) == ()


def test_the_worst_of_the_rough_outlines_is_told_with_their_number() -> None:
    (note,) = unsure_notes([square(0.05), square(0.25), square(0.37)])
    assert note.startswith("2 outlines are sure to no better than ⅜ in")
    assert "another colour" in note


@pytest.mark.parametrize(
    ("thing", "shape"),
    [
        ("a coin", Point(0, 0).buffer(0.48, quad_segs=6)),
        ("a foot rule", box(0, 0, 12.3, 1.1)),
        ("open scissors", LineString([(-3, -2), (3, 2), (0, 0), (-3, 2), (3, -2)]).buffer(0.3)),
    ],
)
def test_what_is_shaped_like_a_tool_is_told_with_a_remedy(thing: str, shape: Polygon) -> None:
    (note,) = odd_notes([outline_of(shape.exterior.coords, error_in=0.05)])
    assert note.startswith("One outline") and "--delete" in note, thing


def test_leftovers_of_every_kind_are_shaped_like_cloth() -> None:
    rng = np.random.default_rng(3)
    cuts = [cut_leftover(kind, 4.0, rng=rng) for kind in LEFTOVERS for _ in range(20)]
    strip = box(0, 0, 40, 2.5)
    outlines = [outline_of(cut.exterior.coords, error_in=0.05) for cut in (*cuts, strip)]
    assert odd_notes(outlines) == ()
