"""Match, clash, what goes with, what stands in, what is short: who is named, and in which order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stash.colour.appearance import PrintKind
from stash.colour.palette_words import palette_of_words
from stash.errors import NotFoundError, PaletteError
from stash.scrap import ScrapState
from stash.shape.templates.template import make_template
from stash.storage.sqlite_store import FolderStore
from stash.usecases.matching.match_palette import MatchRequest, clashes, match, odd_ones, verdicts
from stash.usecases.matching.size_curve import size_curve
from stash.usecases.palettes.goes_with import goes_with
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.pieces.piece_counts import CutRule, grain_of, one_way_scraps, usable_outline
from stash.usecases.pieces.sizes_ahead import in_portions, not_worked_out, sizes_known, work_out
from stash.usecases.quilts.neighbours import could_join, substitutes, tally
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.usecases.scraps.arrange_scraps import arrange, order_words
from stash.usecases.scraps.correct_scraps import Correction, correct_scraps
from stash.usecases.scraps.review_scraps import (
    ScrapFilter,
    find_fabrics,
    find_scraps,
    view_scrap,
    words_for_fabrics,
)
from stash.usecases.twins.same_fabric import own_photo
from tests.usecases.cloth import NAVY, PINK, RED, SKY, TEAL, look, put, rectangle

TIDE = palette_of_words("tide", "blues and teals; no pinks")
PURPLE = "#6a5acd"  # hardly in that palette: to be looked at twice


def asked(size: str = "4", *, template: str = "square", **rule: float) -> MatchRequest:
    return MatchRequest(TIDE, make_template(template, size), CutRule(**rule))  # type: ignore[arg-type]


def cut_up(store: FolderStore, number: int) -> None:
    scrap = store.scrap(number)
    store.change_scrap(replace(scrap, state=ScrapState.CUT_UP), seen=scrap, why="gone")


# Match.


def test_what_can_go_in_stands_by_size_what_cannot_by_how_near_it_is(store: FolderStore) -> None:
    for side in (5.0, 9.0, 6.0):
        put(store, NAVY, (side, side))  # 1, 2, 3 belong: 4 1/2, 8 1/2 and 5 1/2 in finished
    put(store, PURPLE, (12.0, 12.0))  # 4 to be looked at twice
    put(store, NAVY, (2.0, 2.0))  # 5 far too small: 1 1/2 in
    put(store, RED, (12.0, 12.0))  # 6 clashes
    put(store, NAVY, (4.25, 4.25))  # 7 a near miss: 3 3/4 in
    put(store, NAVY, (4.4, 4.4))  # 8 a nearer one: 3.9 in
    answer = match(store, asked())
    assert [line.fabric for line in answer.can_go_in] == [2, 3, 1]
    assert [line.fabric for line in answer.look_twice] == [4]
    assert [line.fabric for line in answer.cannot] == [8, 7, 6, 5]
    assert [line.near_miss for line in answer.cannot] == [True, True, False, False]
    sizes = [line.largest_size_in for line in answer.can_go_in]
    assert sizes == pytest.approx([8.5, 5.5, 4.5], abs=0.01)
    assert all(size <= truth for size, truth in zip(sizes, (8.5, 5.5, 4.5), strict=True))


def test_how_much_too_small_a_scrap_is_is_said_in_sixteenths(store: FolderStore) -> None:
    # 4 1/4 in of cloth give 3 3/4 in finished: 1/4 in less than 4; half an inch short is the last
    # near miss: 4 in of cloth give 3 1/2.
    put(store, NAVY, (4.26, 4.26))
    put(store, NAVY, (4.01, 4.01))
    put(store, NAVY, (3.9, 3.9))
    put(store, NAVY, (0.4, 0.4))
    told = {line.fabric: line for line in match(store, asked()).cannot}
    assert told[1].reasons[-1].text == "¼ in too small: 3¾ in is the largest it gives"
    assert [told[number].near_miss for number in (1, 2, 3, 4)] == [True, True, False, False]
    assert told[4].reasons[-1].text == "too small for this shape (asked 4 in)"
    assert told[1].scraps == ()


def test_a_fabric_is_as_large_as_its_largest_scrap_and_tells_those_that_give_a_piece(
    store: FolderStore,
) -> None:
    first = put(store, NAVY, (5.0, 5.0), place="tin")
    put(store, NAVY, (9.0, 9.0), fabric=first.fabric, place="drawer")
    put(store, NAVY, (3.0, 3.0), fabric=first.fabric)
    put(store, SKY, (5.0, 5.0), place="shelf")
    line = match(store, asked()).can_go_in[0]
    assert [(one.scrap, one.pieces, one.place) for one in line.scraps] == [
        (1, 1, "tin"), (2, 4, "drawer"),
    ]  # fmt: skip
    assert line.largest_size_in == pytest.approx(8.5, abs=0.01)
    assert [one.place for one in match(store, asked()).can_go_in[1].scraps] == ["shelf"]


def test_cloth_that_is_cut_up_is_asked_for_nothing(store: FolderStore) -> None:
    put(store)
    put(store, RED)
    cut_up(store, 1)
    answer = match(store, asked())
    assert not answer.can_go_in
    assert [one.fabric for one in clashes(store, TIDE)] == [2]
    cut_up(store, 2)
    empty = match(store, replace(asked(), needed=7))
    assert (empty.needed, empty.can_go_in, empty.cannot) == (7, (), ())


def test_lines_of_an_answer_can_be_taken_one_by_one_and_some(store: FolderStore) -> None:
    for side in (5.0, 9.0, 6.0):
        put(store, NAVY, (side, side))
    lines = match(store, asked()).can_go_in
    assert len(lines) == 3
    assert [lines[0].fabric, lines[2].fabric] == [2, 1]
    assert [line.fabric for line in lines[1:]] == [3, 1]


def test_cloth_that_clashes_is_no_near_miss_for_its_size(store: FolderStore) -> None:
    put(store, PINK, (4.3, 4.3))
    put(store, PINK, (9.0, 9.0))
    lines = match(store, asked()).cannot
    assert [line.verdict for line in lines] == ["clashes", "clashes"]
    assert not any(line.near_miss for line in lines)
    assert lines[0].fabric == 2  # the larger first


def test_the_worst_clash_is_told_first(store: FolderStore) -> None:
    for colour in (NAVY, PURPLE, PINK, TEAL):
        put(store, colour)
    assert [one.fabric for one in clashes(store, TIDE)][:2] == [3, 2]
    assert [str(one.verdict) for one in clashes(store, TIDE)] == [
        "clashes", "borderline", "belongs", "belongs",
    ]  # fmt: skip


def test_a_fabric_is_judged_by_its_largest_scrap(store: FolderStore) -> None:
    small = put(store, RED, (3.0, 3.0))
    put(store, NAVY, (9.0, 9.0), fabric=small.fabric)
    assert [str(one.verdict) for one in verdicts(store.scraps(), TIDE)] == ["belongs"]
    assert [str(one.verdict) for one in clashes(store, TIDE)] == ["belongs"]


def test_the_wild_one_is_asked_of_the_scraps_that_were_chosen(store: FolderStore) -> None:
    for colour in (NAVY, "#274b86", "#33558f", "#22406f", "#b6d432", RED):
        put(store, colour)
    assert [one.fabric for one in odd_ones(store, [1, 2, 3, 4, 5])] == [5]
    assert odd_ones(store, [1, 2, 3, 4]) == ()
    with pytest.raises(NotFoundError):
        odd_ones(store, [1, 99])


# Turning, washing, grain.


def test_grain_print_and_way_say_how_a_piece_may_lie(store: FolderStore) -> None:
    plain = put(store, size=(9.0, 4.0))  # its longest edge runs along x
    stripes = put(store, kind=PrintKind.STRIPE, grain_deg=30.0)
    assert (grain_of(plain).deg % 180, grain_of(stripes).deg) == (0.0, 30.0)
    rule = CutRule(grain_tolerance_deg=5)
    free, four, two = (
        CutRule().turning(plain, one_way=False),
        rule.turning(plain, one_way=False),
        rule.turning(stripes, one_way=False),
    )
    assert free.is_free
    assert [four.allows(deg) for deg in (0, 4, 6, 90, 180, 270, 45)] == [
        True, True, False, True, True, True, False,
    ]  # fmt: skip
    assert [two.allows(deg) for deg in (30, 35, 36, 120, 205, 210, 215, 216, 300)] == [
        True, True, False, False, True, True, True, False, False,
    ]  # fmt: skip
    # One way only: upright, not upside down; but only where somebody set the grain.
    one = rule.turning(stripes, one_way=True)
    assert [one.allows(deg) for deg in (30, 210)] == [True, False]
    assert rule.turning(plain, one_way=True).allows(180)


def test_unwashed_cloth_is_three_in_a_hundred_shorter_each_way(store: FolderStore) -> None:
    scrap = put(store, size=(10.0, 5.0), washed=False)
    assert usable_outline(scrap, CutRule()).bounds == pytest.approx((0, 0, 9.7, 4.85))
    assert usable_outline(scrap, CutRule(shrinkage=0.0)) is scrap.outline
    washed = replace(scrap, washed=True)
    assert usable_outline(washed, CutRule()) is washed.outline
    unsure = replace(scrap, outline=rectangle(10, 5, error_in=0.05))
    assert usable_outline(unsure, CutRule()).error_in == 0.05


def test_the_rule_of_cutting_names_what_it_depends_on() -> None:
    words = {
        CutRule().word(),
        CutRule(seam_allowance_in=0.375).word(),
        CutRule(grain_tolerance_deg=0).word(),
        CutRule(grain_tolerance_deg=5).word(),
        CutRule(shrinkage=0.0).word(),
    }
    assert len(words) == 5


def test_one_way_prints_are_known_by_their_fabric(store: FolderStore) -> None:
    first = put(store)
    put(store, fabric=first.fabric)
    put(store)
    assert one_way_scraps(store) == frozenset()
    fabric = store.fabrics()[0]
    store.change_fabric(replace(fabric, one_way=True), seen=fabric, why="t")
    assert one_way_scraps(store) == {1, 2}


# Sizes ahead.


def test_sizes_and_counts_are_worked_out_ahead_so_many_at_a_time(store: FolderStore) -> None:
    for side in (5.0, 9.0, 2.0):
        put(store, size=(side, side))
    template, rule = make_template("square", "4"), CutRule()
    # A 5-inch square has cloth for one piece of 4 1/2 in: only the 9-inch one is to be counted.
    assert list(not_worked_out(store, template, rule)) == [2, 1, 2, 3]
    assert work_out(store, template, rule, most=2)
    assert sorted(sizes_known(store, template, rule)) == [1]
    assert list(not_worked_out(store, template, rule)) == [2, 3]
    assert list(not_worked_out(store, template, rule, counts=False)) == [2, 3]
    while work_out(store, template, rule, most=2):
        pass
    # Two inches of cloth hold no 4-inch square: its pieces are never counted.
    assert list(not_worked_out(store, template, rule)) == []
    assert sizes_known(store, template, rule)[3] == pytest.approx(1.5, abs=0.01)
    assert list(in_portions(store, template, rule)) == []


def test_many_scraps_are_worked_out_in_portions_that_add_up(
    store: FolderStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("stash.usecases.pieces.sizes_ahead._PORTION", 2)
    for _ in range(3):
        put(store, size=(5.0, 5.0))
    told = list(in_portions(store, make_template("square", "4"), CutRule()))
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1] == (3, 3)
    assert list(in_portions(store, make_template("square", "4"), CutRule())) == []


# The curve of sizes.


def test_the_curve_counts_belonging_and_borderline_at_every_quarter_inch(
    store: FolderStore,
) -> None:
    put(store, NAVY, (3.5, 3.5))  # 3 in finished
    put(store, TEAL, (2.5, 2.5))  # 2 in
    put(store, PURPLE, (3.0, 3.0))  # 2 1/2 in, borderline
    put(store, RED, (9.0, 9.0))
    steps = {step.size_in: (step.belong, step.borderline) for step in size_curve(store, asked())}
    assert min(steps) == 0.25
    # Sizes are told on the safe side, so the step of the very size is left out of the question.
    assert [steps[size] for size in (0.25, 1.75, 2.25, 2.75)] == [(2, 1), (2, 1), (1, 1), (1, 0)]
    assert max(steps) in (2.75, 3.0)
    half = size_curve(store, asked(), step_in=0.5)
    assert [step.size_in for step in half][:2] == [0.5, 1.0]


# Neighbours.


def test_what_stands_in_is_of_the_family_and_of_the_value_first(store: FolderStore) -> None:
    # Navy is dark; sky is light, and further off than any of the dark blues.
    for colour in (NAVY, SKY, "#27406a", "#3a2f8f", RED):
        put(store, colour)
    put(store, "#1f3f7a")
    found = substitutes(store, 1)
    assert found[0].fabric == 6
    assert found[0].difference == pytest.approx(0, abs=1e-6)
    assert found[-1].fabric == 2
    assert [one.same_value for one in found] == [True] * (len(found) - 1) + [False]
    assert 1 not in {one.fabric for one in found}
    assert 5 not in {one.fabric for one in found}
    differences = [one.difference for one in found[:-1]]
    assert differences == sorted(differences)
    assert len(substitutes(store, 1, most=1)) == 1


def test_a_fabric_that_ran_out_is_stood_in_for_by_one_that_is_there(store: FolderStore) -> None:
    for colour in (NAVY, "#27406a", "#2a4b8d"):
        put(store, colour)
    cut_up(store, 1)
    assert {one.fabric for one in substitutes(store, 1)} == {2, 3}
    cut_up(store, 3)
    assert [one.fabric for one in substitutes(store, 1)] == [2]


def test_a_scrap_joins_first_where_it_fits_and_belongs(store: FolderStore) -> None:
    make_palette(store, PaletteRequest("rose", words="pinks"))
    make_palette(store, PaletteRequest("tide", words="blues and teals; no pinks"))
    scrap = put(store, NAVY, (4.6, 4.6))
    for name, size, palette in (("wall", "9", "tide"), ("raffle", "4", "tide"), ("odd", "4", "")):
        make_quilt(store, QuiltRequest(name, "square", size, rows=1, across=1, palette=palette))
    told = [(one.kind, one.name, one.verdict, one.fits) for one in could_join(store, scrap)]
    assert told == [
        ("palette", "tide", "belongs", True),
        ("quilt", "raffle", "belongs", True),
        ("quilt", "odd", "belongs", True),
        ("palette", "rose", "clashes", True),
        ("quilt", "wall", "belongs", False),
    ]
    # Unwashed, 4.6 in are 4.46 in after washing: too small for 4 1/2 in.
    correct_scraps(store, [scrap.number], Correction(washed=False))
    unwashed = could_join(store, store.scrap(scrap.number))
    fits = {one.name: one.fits for one in unwashed if one.kind == "quilt"}
    assert fits == {"wall": False, "raffle": False, "odd": False}
    assert not any(one.held for one in unwashed)


def test_the_tally_counts_fabrics_by_family_and_value(store: FolderStore) -> None:
    navy = put(store, NAVY)
    put(store, NAVY, fabric=navy.fabric)
    for colour in (SKY, "#27406a", RED):
        put(store, colour)
    cut_up(store, 5)
    told = {(one.family, one.value): one.fabrics for one in tally(store)}
    assert told == {("blue", "dark"): 2, ("blue", "light"): 1}
    assert [one.count.most for one in tally(store)] == [2, 1]


# What goes with it, do I own it.


def test_what_is_asked_about_is_not_in_the_answer_to_what_goes_with_it(
    store: FolderStore,
) -> None:
    for colour in (NAVY, "#27406a", SKY, RED):
        put(store, colour)
    by_scrap = goes_with(store, PaletteRequest("", scraps=(1,)))
    by_fabric = goes_with(store, PaletteRequest("", fabric=1))
    # The nearer blue echoes navy more than the light one does; red does not at all.
    for found in (by_scrap, by_fabric):
        assert found.fabrics[0] == 2
        assert not {1, 4} & set(found.fabrics)
        assert list(found.echoes) == sorted(found.echoes, reverse=True)
    with pytest.raises(PaletteError, match="what it shall go with"):
        goes_with(store, PaletteRequest(""))
    with pytest.raises(NotFoundError):
        goes_with(store, PaletteRequest("", fabric=99))


def test_cloth_one_owns_is_named_by_its_nearest_fabric(store: FolderStore) -> None:
    for colour in (RED, NAVY, "#2a4b8d", SKY, TEAL):
        put(store, colour)
    put(store, NAVY, fabric=2)
    (answer,) = own_photo(store, [look(NAVY)])
    assert answer.owned
    assert answer.alike[0].fabric == 2
    assert answer.alike[0].likeness == pytest.approx(1.0)
    assert len(answer.alike) <= 3
    assert len({one.fabric for one in answer.alike}) == len(answer.alike)
    assert all(one.likeness >= 0.35 for one in answer.worth_a_look)
    (strange,) = own_photo(store, [look("#c8d820")])
    assert not strange.owned


# Lists.


def test_fabrics_are_listed_by_number_their_scraps_the_largest_first(store: FolderStore) -> None:
    first = put(store, NAVY, (3.0, 3.0))
    put(store, RED, (4.0, 4.0))
    put(store, NAVY, (6.0, 2.0), fabric=first.fabric)
    found = find_fabrics(store, ScrapFilter())
    assert [one.fabric.number for one in found] == [1, 2]
    assert [view.scrap.number for view in found[0].scraps] == [3, 1]
    assert found[0].area_sq_in == pytest.approx(21.0)


def test_a_box_asked_for_may_be_named_either_way_round(store: FolderStore) -> None:
    put(store, size=(3.0, 8.0))
    for wide, long in ((3.0, 8.0), (8.0, 3.0), (8.0, 0.0)):
        wanted = ScrapFilter(least_short_in=wide, least_long_in=long)
        assert len(find_scraps(store, wanted)) == 1
    assert not find_scraps(store, ScrapFilter(least_short_in=3.1, least_long_in=3.1))


def test_a_fabric_is_called_by_its_name_or_by_its_colour(store: FolderStore) -> None:
    put(store, NAVY)
    put(store, RED)
    fabric = store.fabrics()[0]
    store.change_fabric(replace(fabric, name="Harbour"), seen=fabric, why="t")
    words = words_for_fabrics(store)
    assert words[1] == view_scrap(store, 1).name == "Harbour"
    assert "red" in words[2]
    assert view_scrap(store, 2).name == words[2]


def test_a_scrap_held_by_a_quilt_is_reserved_but_one_cut_up_is_cut_up(store: FolderStore) -> None:
    from stash.usecases.quilts.quilt_allot import allot_quilt

    put(store)
    put(store, RED)
    make_quilt(store, QuiltRequest("raffle", "square", "4", rows=1, across=2, charm=True))
    allot_quilt(store, "raffle")
    assert (view_scrap(store, 1).state, view_scrap(store, 1).held_for) == ("reserved", "raffle")
    cut_up(store, 1)
    assert view_scrap(store, 1).state == "cut up"
    assert [one.scrap.number for one in find_scraps(store, ScrapFilter(state="reserved"))] == [2]


def test_scraps_stand_under_their_family_or_value_the_lightest_first(store: FolderStore) -> None:
    for colour in (NAVY, SKY, RED, "#5b7fa6"):
        put(store, colour)
    views = find_scraps(store, ScrapFilter())
    by_family = {one.heading: [v.scrap.number for v in one.views] for one in arrange(views)}
    assert by_family == {"Red": [3], "Blue": [2, 4, 1]}
    by_value = [(one.heading, len(one.views)) for one in arrange(views, "value")]
    assert by_value[0] == ("Light", 1)
    assert [heading for heading, _ in by_value] == ["Light", "Medium", "Dark"]
    (run,) = arrange(views, "light-to-dark")
    assert [view.scrap.number for view in run.views] == [2, 4, 3, 1]
    assert run.heading == "From light to dark"
    assert [order_words(by) for by in ("family", "value", "light-to-dark")] == [
        "by colour family", "by value", "in one run",
    ]  # fmt: skip
