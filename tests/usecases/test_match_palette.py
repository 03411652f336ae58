"""Which scraps can go in: colour against the palette, size against the piece."""

import json
import math
from dataclasses import replace

import pytest

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_hex
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template, template_of_file
from stash.usecases.matching.match_palette import MatchRequest, match
from stash.usecases.matching.size_curve import size_curve
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.ports import ScrapToLog
from stash.wiring import open_store

PALETTE = palette_of_words("tide", "blues and teals; no pinks")
BLUE, PINK = "#1f3f7a", "#e08fae"


def square(side_in: float, hex_colour: str, *, washed: bool = True, error_in: float = 0.0):
    lab = lab_of_hex(hex_colour)
    look = Appearance(
        lab, (ColourShare(lab, 1.0),), PrintKind.PLAIN, mean_chroma=math.hypot(*lab[1:])
    )
    corners = [(0, 0), (side_in, 0), (side_in, side_in), (0, side_in)]
    return ScrapToLog(outline_of(corners, error_in=error_in), look, washed=washed)


@pytest.fixture
def store(tmp_path):
    return open_store(tmp_path)


def ask(store, size="5", **rule):
    return match(store, MatchRequest(PALETTE, make_template("square", size), CutRule(**rule)))


def test_a_scrap_of_palette_colour_and_enough_size_can_go_in(store):
    store.add_scrap(square(5.6, BLUE), why="test")
    answer = ask(store)
    assert [(line.verdict, line.scraps[0].pieces) for line in answer.can_go_in] == [("belongs", 1)]


def test_the_seam_allowance_counts(store):
    # 5 in finished + 1/4 in on either side = 5 1/2 in cut; the scrap is a thread short.
    store.add_scrap(square(5.48, BLUE), why="test")
    answer = ask(store)
    assert not answer.can_go_in
    assert answer.cannot[0].near_miss
    assert "too small" in answer.cannot[0].reasons[-1].text


def test_unwashed_cloth_is_judged_at_its_size_after_washing(store):
    # 5.6 in less 3 % is 5.43 in: under the 5.5 in the piece wants.
    store.add_scrap(square(5.6, BLUE, washed=False), why="test")
    assert not ask(store).can_go_in
    assert ask(store, shrinkage=0.0).can_go_in


def test_an_outline_that_may_be_too_small_by_its_error_is_no_yes(store):
    store.add_scrap(square(5.6, BLUE, error_in=0.06), why="test")
    assert not ask(store).can_go_in


def test_a_ruled_out_colour_cannot_go_in_however_large(store):
    store.add_scrap(square(12, PINK), why="test")
    answer = ask(store)
    assert not answer.can_go_in
    assert answer.cannot[0].verdict == "clashes"
    assert any("pink" in reason.text for reason in answer.cannot[0].reasons)


def test_ten_inches_give_the_handbook_four_squares_of_four_and_a_half(store):
    # Trade facts, section 1: one 10-inch square gives 4 four-and-a-half-inch squares.
    store.add_scrap(square(10, BLUE), why="test")
    assert ask(store, "4").can_go_in[0].scraps[0].pieces == 4


def test_a_shape_of_ones_own_is_asked_of_each_scrap(store):
    store.add_scrap(square(6, BLUE), why="test")
    own = template_of_file(b'{"cut": [[0, 0], [5.5, 0], [0, 5.5]]}', ".json")
    too_large = template_of_file(b'{"cut": [[0, 0], [9, 0], [0, 9]]}', ".json")
    assert match(store, MatchRequest(PALETTE, own, CutRule())).can_go_in
    assert not match(store, MatchRequest(PALETTE, too_large, CutRule())).can_go_in


def test_a_lopsided_shape_is_cut_face_up_from_the_scrap_as_it_is_seen(store):
    ell = [(0, 0), (6, 0), (6, 1), (1, 1), (1, 3), (0, 3)]
    shape = template_of_file(json.dumps({"cut": ell}).encode(), ".json")
    lab = lab_of_hex(BLUE)
    look = Appearance(lab, (ColourShare(lab, 1.0),), PrintKind.PLAIN)
    room = [(-0.05, -0.05), (6.05, -0.05), (6.05, 1.05), (1.05, 1.05), (1.05, 3.05), (-0.05, 3.05)]
    in_a_mirror = [(x, -y) for x, y in room]
    for ring in (room, in_a_mirror):
        store.add_scrap(ScrapToLog(outline_of(ring), look, washed=True), why="test")
    answer = match(store, MatchRequest(PALETTE, shape, CutRule()))
    assert [line.scraps[0].scrap for line in answer.can_go_in] == [1]


def test_fewer_fabrics_join_as_the_piece_grows(store):
    for side in (3.0, 4.5, 6.0):
        store.add_scrap(square(side, BLUE), why="test")
    request = MatchRequest(PALETTE, make_template("square", "3"), CutRule())
    steps = {step.size_in: step.belong for step in size_curve(store, request)}
    # Finished = side - 1/2 in: 2 1/2, 4 and 5 1/2 in.
    assert (steps[2.25], steps[2.75], steps[4.25], steps[5.25]) == (3, 2, 1, 1)
    assert max(steps) < 5.5 + 0.25


def test_sizes_worked_out_once_are_not_worked_out_again(store, monkeypatch):
    store.add_scrap(square(5.6, BLUE), why="test")
    first = ask(store)
    monkeypatch.setattr("stash.shape.containment.largest.largest_sizes", None)
    monkeypatch.setattr("stash.shape.nesting.filling.fill", None)
    assert list(ask(store).can_go_in) == list(first.can_go_in)


# A triangle that lies in the scrap only with its legs along x and y; half a turn points it the
# wrong way round.
LEGS = [(0, 0), (5, 0), (0, 5)]


def test_a_one_way_print_is_not_cut_upside_down(store):
    lab = lab_of_hex(BLUE)
    look = Appearance(lab, (ColourShare(lab, 1.0),), PrintKind.PLAIN)
    for grain_deg in (0.0, 180.0):
        made = ScrapToLog(outline_of(LEGS), look, washed=True)
        number = store.add_scrap(made, why="test").number
        scrap = store.scrap(number)
        store.change_scrap(replace(scrap, grain_deg=grain_deg), seen=scrap, why="test")
    shape = template_of_file(json.dumps({"cut": LEGS}).encode(), ".json")
    request = MatchRequest(PALETTE, shape, CutRule(grain_tolerance_deg=5))

    def gives_a_piece():
        return {line.scraps[0].scrap for line in match(store, request).can_go_in}

    assert gives_a_piece() == {1, 2}
    for fabric in store.fabrics():
        store.change_fabric(replace(fabric, one_way=True), seen=fabric, why="test")
    assert gives_a_piece() == {1}
    assert CutRule().turning(store.scrap(2), one_way=True).is_free
