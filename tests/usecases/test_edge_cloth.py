"""Cloth of the stash for binding, border and back: what it gives, held like pieces, and cut."""

from __future__ import annotations

import io
import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely.geometry import Polygon

from stash.colour.appearance import PrintKind
from stash.errors import PlanError
from stash.quilt.binding import single_bias_strips
from stash.quilt.edge_cloth import ClothUse
from stash.quilt.finishing import FinishingWish, StripGrain
from stash.shape.plane.outline import outline_of
from stash.shape.plane.strips import largest_rectangle, strips_along
from stash.storage.sqlite_store import FolderStore
from stash.usecases.papers.draw_edge_cloth import strips_picture
from stash.usecases.papers.edge_cloth import (
    ClothWish,
    cloth_for,
    cut_cloth,
    free_cloth,
    hold_cloth,
)
from stash.usecases.papers.print_sheets import finishing_of, top_of_quilt
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_stock import stock_of
from tests.cli.in_process import Commands
from tests.usecases.cloth import CREAM, NAVY, RED, TEAL, put, rectangle

BINDING, BORDER, BACKING = map(ClothWish, (ClothUse.BINDING, ClothUse.BORDER, ClothUse.BACKING))


def quilt_of_squares(store: FolderStore, *, rows: int = 3, across: int = 3) -> None:
    """A quilt of four-inch squares without a palette; three by three are 12 x 12 in."""
    make_quilt(store, QuiltRequest("raffle", "square", "4", rows=rows, across=across))


def test_strips_lie_in_the_cloth_and_apart_whatever_its_shape() -> None:
    rng = np.random.default_rng(20)
    for _ in range(30):
        turns = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(5, 12)))
        reach = rng.uniform(8, 20, len(turns))
        ring = np.column_stack([reach * np.cos(turns), reach * np.sin(turns)])
        if not Polygon(ring).is_valid:
            continue
        cloth = outline_of(ring.tolist(), error_in=0.05)
        for slant in (0, 1, -1):
            strips = strips_along(cloth, 2.5, float(rng.uniform(0, 180)), slant=slant)
            shapes = [Polygon(one.ring) for one in strips]
            assert all(cloth.sure().buffer(1e-5).covers(one) for one in shapes)
            assert all(
                one.intersection(other).area < 1e-4
                for one, other in itertools.combinations(shapes, 2)
            )
            for one, shape in zip(strips, shapes, strict=True):
                assert shape.area == pytest.approx(one.length_in * 2.5, rel=1e-4)
        whole = largest_rectangle(cloth, 20.0)
        assert whole is not None
        assert cloth.sure().buffer(1e-5).covers(Polygon(whole.ring))


def test_bias_strips_of_a_full_width_piece_are_those_of_the_published_count() -> None:
    piece = single_bias_strips(200.0, 2.5, usable_in=40.0)
    cloth = rectangle(piece.width_in, piece.depth_in)
    found = strips_along(cloth, 2.5, 45.0, slant=-1, least_in=12.0)
    # The published lines begin in a corner; ours may begin where more strips are long enough.
    assert sum(one.length_in for one in found) >= sum(piece.strips_in) - 1e-6
    assert sum(one.length_in for one in found) <= piece.width_in * piece.depth_in / 2.5


def test_a_binding_is_answered_by_length_and_colour(store: FolderStore) -> None:
    put(store, NAVY, (22.0, 18.0))  # seven strips of 22 in: 154 less six joins of 1/2 in
    put(store, TEAL, (22.0, 5.0))  # two: 44 less one join
    put(store, RED, (11.0, 11.0))  # none as long as 12 in
    quilt_of_squares(store)
    answer = cloth_for(store, "raffle", BINDING)
    assert answer.needed_in == 4 * 12 + 10  # the edge, and the published ten inches
    assert [(one.fabric, one.gives_in, one.enough) for one in answer.lines] == [
        (1, 7 * 22 - 3.0, True),
        (2, 43.5, False),
    ]
    assert [one.fabric for one in cloth_for(
        store, "raffle", ClothWish(ClothUse.BINDING, family="blue")).lines] == [1]  # fmt: skip


def test_cloth_that_is_not_enough_alone_is_told_with_what_is_together(store: FolderStore) -> None:
    put(store, NAVY, (22.0, 5.0))
    put(store, TEAL, (22.0, 2.5))
    quilt_of_squares(store)
    answer = cloth_for(store, "raffle", BINDING)
    assert [one.enough for one in answer.lines] == [False, False]
    assert answer.together == (1, 2)  # 44 + 22 less two joins: 65 of 58


def test_held_strips_are_no_pieces_any_more_and_freed_they_are_again(store: FolderStore) -> None:
    put(store, NAVY, (22.0, 18.0))
    quilt_of_squares(store)
    quilt = make_quilt(store, QuiltRequest("other", "square", "4", rows=2, across=2))
    [before] = stock_of(store, quilt).supplies
    assert before.pieces == 16  # 22 x 18 in 4 1/2 in squares: four by four
    answer = hold_cloth(store, "raffle", BINDING, [1])
    [one] = answer.held
    assert (len(one.rings), answer.held_share >= 1) == (3, True)  # 66 less 1 in of 58
    free = sum(s.pieces for s in stock_of(store, quilt).supplies if not s.held_by)
    assert free == 8  # 18 - 3 x 2 1/2 leaves 10 1/2 in: two rows of four
    free_cloth(store, "raffle", ClothUse.BINDING)
    assert stock_of(store, quilt).supplies[0].pieces == 16


def test_pieces_chosen_for_the_quilt_itself_are_not_bound_away(store: FolderStore) -> None:
    put(store, NAVY, (22.0, 18.0))
    quilt_of_squares(store)
    assert allot_quilt(store, "raffle").possible
    [line] = cloth_for(store, "raffle", BINDING).lines
    assert line.gives_in <= (22 * 18 - 9 * 4.5**2) / 2.5
    hold_cloth(store, "raffle", BINDING, [1])
    assert allot_quilt(store, "raffle").possible  # chosen anew beside the strips


def test_held_cloth_is_cut_and_the_rest_stays(store: FolderStore, tmp_path: Path) -> None:
    put(store, NAVY, (22.0, 18.0))
    quilt_of_squares(store)
    stash = Commands(tmp_path / "stash")
    stash.said("quilt cloth raffle --for binding --take 1")
    told = stash.told("quilt cloth raffle --for binding --cut")
    assert [len(one["lengths_in"]) for one in told["held"]] == [3]
    left = store.scrap(1).outline.area_sq_in
    assert left == pytest.approx(22 * (18 - 7.5), abs=22 / 8)  # and the knife's sixteenth
    assert "nothing" not in stash.said("undo")
    assert store.scrap(1).outline.area_sq_in == pytest.approx(22 * 18)


def test_cloth_that_is_not_as_it_was_is_not_cut(store: FolderStore) -> None:
    put(store, NAVY, (22.0, 18.0))
    quilt_of_squares(store)
    with pytest.raises(PlanError, match="No cloth is held for the binding"):
        cut_cloth(store, "raffle", ClothUse.BINDING)
    hold_cloth(store, "raffle", BINDING, [1])
    held = store.scrap(1)
    smaller = replace(held, outline=rectangle(10.0, 18.0))
    store.change_scrap(smaller, seen=held, why="somebody cut of it")
    with pytest.raises(PlanError, match="Scrap 1 is not as it was"):
        cut_cloth(store, "raffle", ClothUse.BINDING)
    assert store.scrap(1).outline == smaller.outline


def test_a_border_makes_the_quilt_larger_for_binding_and_back(store: FolderStore) -> None:
    put(store, NAVY, (40.0, 30.0))
    quilt_of_squares(store)
    wish = ClothWish(ClothUse.BORDER, border_in=3.0)
    answer = cloth_for(store, "raffle", wish)
    assert (answer.cut_in, answer.needed_in) == (3.5, 2 * 12 + 2 * 18 + 2)
    hold_cloth(store, "raffle", wish, [1])
    done = finishing_of(top_of_quilt(store, "raffle"), FinishingWish())
    assert (done.edge.width_in, done.edge.length_in) == (18.0, 18.0)
    assert cloth_for(store, "raffle", BINDING).needed_in == 4 * 18 + 10
    free_cloth(store, "raffle", ClothUse.BORDER)
    assert cloth_for(store, "raffle", BINDING).needed_in == 4 * 12 + 10


def test_a_back_is_laid_in_panels_of_one_cloth(store: FolderStore) -> None:
    first = put(store, NAVY, (36.0, 44.0))  # 44 wide of the 48 a back of 40 x 48 in wants: short
    put(store, NAVY, (36.0, 44.0), fabric=first.fabric)
    put(store, CREAM, (60.0, 44.0))  # crosswise one panel is 44 wide, of 56 long
    quilt_of_squares(store, rows=12, across=10)  # 40 x 48 in, back 48 x 56
    lines = {one.fabric: one for one in cloth_for(store, "raffle", BACKING).lines}
    assert [one.enough for one in lines.values()] == [False, False]
    assert lines[first.fabric].panels[0].wide_in == 44.0
    put(store, CREAM, (60.0, 10.0), fabric=2)
    [best, *_] = cloth_for(store, "raffle", BACKING).lines
    # 44 + 10 less a seam of 1/2 in twice is 53 across of the 48, each 60 long of the 56.
    assert (best.fabric, best.enough) == (2, True)
    assert sorted(scrap for one in best.panels for scrap in one.scraps) == [3, 4]


def _striped(width_in: float, height_in: float) -> bytes:
    """Upright stripes of half an inch, red and white, 40 pixels to the inch; JPEG."""
    across = np.arange(round(width_in * 40)) // 20 % 2
    row = np.where(across[:, None], (176, 40, 47), (250, 250, 250)).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(np.tile(row, (round(height_in * 40), 1, 1))).save(out, "JPEG", quality=95)
    return out.getvalue()


def test_bias_strips_of_a_stripe_are_shown_slantwise(store: FolderStore) -> None:
    put(store, RED, (22.0, 18.0), kind=PrintKind.STRIPE, direction_deg=90.0,
        picture=_striped(22.0, 18.0))  # fmt: skip
    quilt_of_squares(store)
    bias = ClothWish(ClothUse.BINDING, FinishingWish(grain=StripGrain.BIAS))
    answer = cloth_for(store, "raffle", bias)
    assert answer.lines[0].looks_turned
    sheet = np.asarray(Image.open(io.BytesIO(strips_picture(store, answer))).convert("L"))
    # In the band cut along the stripes rows or columns are of one colour; on the bias neither is.
    straight, slanted = sheet[190:280, 320:900], sheet[365:455, 320:900]
    for band, level in ((straight, True), (slanted, False)):
        one_way = min(band.std(axis=0).mean(), band.std(axis=1).mean())
        assert bool(one_way < 15) is level


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("--for lining", "binding, a border or a backing"),
        ("--for border --width 0", "more than nothing"),
        ("--for binding --family bluish", "no colour family"),
        ("--for binding --cut", "No cloth is held"),
        ("--for binding --take 2", "gives nothing"),
        ("--for binding --take 1 --free", "one at a time"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(
    store: FolderStore, tmp_path: Path, line: str, words: str
) -> None:
    put(store, NAVY, (22.0, 18.0))
    put(store, RED, (4.0, 4.0))
    quilt_of_squares(store)
    problem = Commands(tmp_path / "stash").problem(f"quilt cloth raffle {line}")
    assert words in str(problem)
    assert isinstance(problem, PlanError) or "width" in str(problem).lower()
