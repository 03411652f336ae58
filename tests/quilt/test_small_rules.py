"""Small rules of planning, each by arithmetic: shares, counts, cuts, beds, records."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stash.colour.palette import Target, palette_of_hex
from stash.colour.palette_words import palette_of_words
from stash.errors import PlanError
from stash.quilt.allocation import allot
from stash.quilt.amounts import (
    amount_of,
    part_names,
    shares_of,
    value_shares,
    what_amounts_are_of,
)
from stash.quilt.backing import backing_for
from stash.quilt.bed_sizes import QUILT_SIZES, nearest_quilt_size, quilt_for_bed
from stash.quilt.binding import bias_length_sewn, bias_square_sewn, bias_square_side
from stash.quilt.feasibility import enough
from stash.quilt.one_cloth import FabricCount, Undecided
from stash.quilt.plan import CropPlace, Plan, Quilt, QuiltPiece
from stash.quilt.possible import largest_count, least_limit
from stash.quilt.regret import regret_of, regret_words
from stash.quilt.remainder import lies_on, remainders
from stash.quilt.smallest_changes import smallest_changes
from stash.quilt.standard_cuts import STANDARD_CUTS, cut_words
from stash.quilt.supply import Share, Supply, Wish
from stash.quilt.thread import thread_for
from stash.shape.plane.outline import outline_of
from tests.usecases.cloth import CREAM, NAVY, RED, TEAL, look, rectangle


def supply(scrap: int, fabric: int, pieces: int, area: float = 25.0, **more: object) -> Supply:
    return replace(Supply(scrap, fabric, pieces, area, (50.0, 0.0, 0.0)), **more)


# Shares.


@pytest.mark.parametrize(
    ("share", "pieces", "least", "most"),
    [
        (Share("value", "dark", 0.25, 0.5), 10, 2, 5),  # 2.5 rounds down, 5 is 5
        (Share("value", "dark", 0.25, 0.55), 10, 2, 6),  # 5.5 rounds up
        (Share("value", "dark", 0.05, 1.0), 10, 1, 10),  # a part that is wanted never rounds away
        (Share("value", "dark"), 10, 0, 10),
        (Share("value", "dark", 0.3, 0.3), 10, 3, 3),  # 0.3 x 10 is not exact in floating point
        (Share("value", "dark", 1.0, 1.0), 7, 7, 7),
    ],
)
def test_a_share_is_rounded_in_the_quilters_favour(
    share: Share, pieces: int, least: int, most: int
) -> None:
    assert (share.least_of(pieces), share.most_of(pieces)) == (least, most)


def test_main_some_and_touch_are_six_three_and_one_within_half() -> None:
    palette = palette_of_words("p", "mostly blues, some teals, a touch of reds")
    shares = {one.name: (one.least, one.most) for one in shares_of(palette)}
    assert shares["blue"] == pytest.approx((0.3, 1.0))
    assert shares["teal"] == pytest.approx((0.15, 0.45))
    assert shares["red"] == pytest.approx((0.05, 0.15))
    assert {str(one) for one in part_names(palette).values()} == {"main", "some", "touch"}
    assert shares_of(palette_of_words("p", "blues and teals")) == ()


def test_values_may_be_five_in_a_hundred_off() -> None:
    light, dark = value_shares({"light": 0.5, "dark": 0.02})
    assert (light.by, light.name) == ("value", "light")
    assert (light.least, light.most) == pytest.approx((0.45, 0.55))
    assert (dark.least, dark.most) == pytest.approx((0.0, 0.07))
    (whole,) = value_shares({"dark": 1.0})
    assert (whole.least, whole.most) == pytest.approx((0.95, 1.0))


def test_each_cloth_fills_the_part_it_is_of() -> None:
    palette = palette_of_words("p", "mostly blues, some teals")
    looks = [look(NAVY), look(TEAL), look(CREAM), look(RED)]
    assert amount_of(palette, looks) == ("blue", "teal", "neutrals", "other")
    assert amount_of(replace(palette, neutrals=False), looks)[2] == "other"
    assert amount_of(palette, []) == ()
    targets = palette_of_hex("t", [NAVY, RED])
    names = [one.label for one in targets.targets]
    assert amount_of(targets, looks) == (names[0], "other", "neutrals", names[1])


# Allotment, by hand.


def test_the_least_area_is_opened() -> None:
    supplies = [supply(1, 1, 4, 81.0), supply(2, 2, 1, 25.0), supply(3, 3, 1, 30.0)]
    found = allot(supplies, Wish(2))
    assert found is not None
    assert (dict(found.takes), found.opened_sq_in, found.pieces) == ({2: 1, 3: 1}, 55.0, 2)
    four = allot(supplies, Wish(4))
    assert four is not None
    assert dict(four.takes) == {1: 4}
    assert allot(supplies, Wish(7)) is None
    assert allot(supplies, Wish(4, limit=1)) is None
    held = [replace(one, held_by="other") for one in supplies]
    assert allot(held, Wish(1)) is None


def test_a_reluctant_scrap_is_taken_only_when_nothing_else_will_do() -> None:
    supplies = [supply(1, 1, 1, 90.0), supply(2, 2, 1, 20.0, reluctance=10_000.0)]
    one, both = allot(supplies, Wish(1)), allot(supplies, Wish(2))
    assert one is not None
    assert both is not None
    assert (dict(one.takes), set(both.takes)) == ({1: 1}, {1, 2})
    assert both.opened_sq_in == 110.0


def test_limits_and_counts_of_what_there_is() -> None:
    supplies = [supply(1, 1, 4), supply(2, 1, 2), supply(3, 2, 3)]
    assert [largest_count(supplies, Wish(1, limit=limit)) for limit in (1, 2, 3, None)] == [
        2, 4, 6, 9,
    ]  # fmt: skip
    assert [least_limit(supplies, Wish(pieces)) for pieces in (2, 3, 4, 5, 6, 7, 9, 10)] == [
        1, 2, 2, 3, 3, 4, 6, None,
    ]  # fmt: skip
    assert largest_count([], Wish(1)) == 0


def test_fabrics_that_may_be_one_cloth_share_the_limit() -> None:
    supplies = [supply(1, 1, 1), supply(2, 2, 1), supply(3, 3, 1)]
    open_pairs = Undecided.of([(2, 1)])
    assert allot(supplies, Wish(3, limit=1)) is not None
    assert allot(supplies, Wish(3, limit=1, undecided=open_pairs)) is None
    assert largest_count(supplies, Wish(3, limit=1, undecided=open_pairs)) == 2


def test_what_would_help_is_as_small_as_can_be() -> None:
    supplies = [supply(1, 1, 3), supply(2, 2, 1), supply(3, 3, 1, held_by="other")]
    changes = {one.kind: one for one in smallest_changes(supplies, Wish(3, limit=1))}
    assert sum(changes["buy"].amounts.values()) == 1
    assert dict(changes["limit"].amounts) == {"limit": 2}
    assert (dict(changes["release"].amounts), changes["release"].scraps) == ({"other": 1}, (3,))
    assert dict(changes["fewer"].amounts) == {"pieces": 2}


def test_enough_counts_parts_and_rows() -> None:
    supplies = [
        supply(1, 1, 2, family="blue", value="dark"),
        supply(2, 2, 1, family="blue", value="light"),
        supply(3, 3, 5, family="red", value="dark", held_by="other"),
    ]
    wish = Wish(4, None, (Share("value", "dark", 0.75, 1.0),))
    found = enough(supplies, wish)
    assert (found.possible, found.pieces, found.fabrics, found.short) == (False, 3, 2, 1)
    parts = {(one.by, one.name): one for one in found.parts}
    assert set(parts) == {("family", "blue"), ("value", "dark"), ("value", "light")}
    dark = parts["value", "dark"]
    assert (dark.fabrics, dark.pieces, dark.least, dark.most, dark.short) == (1, 2, 3, 4, 1)
    assert (parts["family", "blue"].pieces, parts["family", "blue"].least) == (3, None)
    assert enough(supplies, Wish(3)).fabrics_needed == 1
    assert enough(supplies, Wish(3, limit=2)).fabrics_needed == 2
    assert enough(supplies, Wish(3, limit=2)).pieces == 3


def test_counts_of_fabrics_are_said_as_a_quilter_reads_them() -> None:
    assert str(FabricCount(1, 1)) == "1 fabric"
    assert str(FabricCount(5, 5)) == "5 fabrics"
    assert str(FabricCount(24, 39, 15)) == "24 to 39 fabrics; 15 pairs not decided"
    assert str(FabricCount(1, 2, 1)) == "1 to 2 fabrics; 1 pair not decided"
    # Of a chain 1-2-3 the ends are different: two; of three that all look alike, one.
    assert Undecided.of([(1, 2), (2, 3)]).count([1, 2, 3]) == FabricCount(2, 3, 2)
    assert Undecided.of([(1, 2), (2, 3), (1, 3)]).count([1, 2, 3, 4]) == FabricCount(2, 4, 2)
    assert Undecided.of([(1, 1)]).pairs == frozenset()
    assert Undecided.of([(2, 1), (3, 4)]).among([1, 2, 3]).pairs == {(1, 2)}
    assert Undecided.of([(2, 1)]).may_be_one(1, 2)


# Cuts and beds.


def test_cuts_are_offered_the_smallest_first() -> None:
    areas = [cut.width_in * cut.height_in for cut in STANDARD_CUTS]
    assert areas == sorted(areas)


def test_a_quilt_hangs_over_three_sides_and_covers_the_pillows() -> None:
    assert quilt_for_bed(39, 75, drop_in=12) == (63, 87)
    assert quilt_for_bed(39, 75, drop_in=0, pillow_in=15) == (39, 90)
    for wrong in ((0, 75, 12, 0), (39, 0, 12, 0), (39, 75, -1, 0), (39, 75, 12, -1)):
        with pytest.raises(PlanError):
            quilt_for_bed(wrong[0], wrong[1], drop_in=wrong[2], pillow_in=wrong[3])
    for size in QUILT_SIZES:
        assert nearest_quilt_size(size.width_in + 2, size.length_in - 2) == size


def test_thread_is_needle_and_bobbin_with_a_tenth_to_spare() -> None:
    # Twice the seam at least; what goes through the cloth makes it less than three times.
    metres = 100 * 0.0254
    assert 2 * 1.1 * metres < thread_for(100).piecing_m < 3 * 1.1 * metres
    assert thread_for(200).piecing_m == pytest.approx(2 * thread_for(100).piecing_m)
    assert thread_for(100, stitch_mm=1.5).piecing_m > thread_for(100, stitch_mm=2.5).piecing_m


# What is left of a scrap.


def test_what_is_left_lies_a_sixteenth_inside_the_cut_unless_the_scrap_is_less_sure() -> None:
    piece = ((0, 0), (4, 0), (4, 4), (0, 4))
    (left,) = remainders(rectangle(10, 4), [piece], least_in=1)
    assert left.bounds == pytest.approx((4 + 1 / 16, 0, 10, 4))
    (unsure,) = remainders(rectangle(10, 4, error_in=0.1), [piece], least_in=1)
    assert unsure.bounds == pytest.approx((4, 0, 10, 4))
    assert unsure.error_in == 0.1
    assert remainders(rectangle(4.9, 4), [piece], least_in=1) == ()
    two = remainders(rectangle(12, 4), [((3, 0), (7, 0), (7, 4), (3, 4))], least_in=1)
    assert [round(one.bounds[0], 3) for one in two] == [7.062, 0.0]  # 7 1/16; the larger first


def test_a_piece_lies_on_its_scrap_but_for_a_hair() -> None:
    square = ((0, 0), (4, 0), (4, 4), (0, 4))
    assert lies_on(rectangle(4, 4), [square])
    assert lies_on(rectangle(3.985, 4), [square])
    assert not lies_on(rectangle(3.9, 4), [square])
    holed = outline_of([(0, 0), (4, 0), (4, 4), (0, 4)], [[(1, 1), (2, 1), (2, 2), (1, 2)]])
    assert not lies_on(holed, [square])


# Records.


def test_a_quilt_survives_its_record_and_counts_what_is_cut() -> None:
    crop = CropPlace(1.0, 2.0, 30.0, 1.03, "sha", 40.0, 0.5, 6.0)
    piece = QuiltPiece(
        7, 3, (50.0, 1.0, 2.0), "blue", "dark", "main", "stripe", 90.0, crop, crop, 0.0
    )
    plain = QuiltPiece(8, 4, (60.0, 0.0, 0.0), "red", "light")
    plan = Plan("square", "4", "straight", False, 1, 3, "tide", 1, values={"dark": 0.5})
    quilt = Quilt("q", plan, (piece, piece, plain), 0.01, (2, 0, 1), ("1.1",), 5, True)
    assert Quilt.of_record("q", quilt.to_record()) == quilt
    cut = replace(quilt, set_aside=False).with_cut([1])
    assert (cut.cut_count, cut.to_cut_of(7), cut.held_scraps) == (1, (0,), {7, 8})
    assert cut.with_cut([0, 2]).held_scraps == frozenset()
    assert quilt.held_scraps == frozenset()  # set aside
    assert quilt.count_by("family") == {"blue": 2, "red": 1}
    assert list(quilt.count_by("family")) == ["blue", "red"]
    for broken in ({}, {"plan": {}}, quilt.to_record() | {"pieces": [{"lab": [1]}]}):
        with pytest.raises(PlanError):
            Quilt.of_record("q", broken)


# Sizes met exactly.


@pytest.mark.parametrize(("quilt_in", "panels"), [(74, 2), (74.25, 3), (113, 3), (113.25, 4)])
def test_panels_lose_a_seam_only_where_they_meet(quilt_in: float, panels: int) -> None:
    # n panels of 40 in joined with seams of 1/2 in are 40 n - (n - 1) wide: arithmetic
    square = backing_for(quilt_in, quilt_in, over_in=2.5)
    assert square.panels == panels


def test_a_bias_square_that_gives_just_what_is_wanted_is_not_made_larger() -> None:
    wanted_in = bias_length_sewn(30, 2.5)
    assert bias_square_side(wanted_in, 2.5) < 30  # its area alone would do with less
    assert bias_square_sewn(wanted_in, 2.5) == 30
    assert bias_square_sewn(wanted_in + 0.01, 2.5) == 31


# Cuts shops sell, at the cautious of the sizes printed for them.


def test_fat_cuts_are_counted_at_their_cautious_sizes() -> None:
    sizes = {cut.name: {cut.width_in, cut.height_in} for cut in STANDARD_CUTS}
    assert sizes["fat quarter"] == {18, 21}  # S5 of docs/sources.md
    assert sizes["fat eighth"] == {9, 21}
    # a yard is 36 in; at most 40 of the width are used: common practice
    assert (sizes["half yard"], sizes["yard"]) == ({18, 40}, {36, 40})
    assert (sizes["10-inch square"], sizes["5-inch square"]) == ({10}, {5})


def test_a_cut_has_its_trade_name_in_inches_and_its_measure_in_centimetres() -> None:
    assert cut_words("half yard") == "half yard"
    assert cut_words("half yard", unit="cm") == "half yard (101.6 × 45.7 cm)"  # 40, 18 x 2.54
    assert cut_words("a remnant", unit="cm") == "a remnant"


# What an amount is of.


def test_an_amount_is_of_the_palettes_own_parts_then_of_values_then_of_families() -> None:
    palette = palette_of_words("p", "blues and teals")
    named = {name: what_amounts_are_of(palette, name) for name in ("blue", "dark", "red", "navy 3")}
    assert named == {"blue": "amount", "dark": "value", "red": "family", "navy 3": ""}
    assert what_amounts_are_of(None, "blue") == "family"


def test_hue_counts_before_lightness_where_two_targets_are_near() -> None:
    targets = replace(
        palette_of_hex("p", ["#000000", "#ffffff"]),
        targets=(
            Target((80.0, 0.0, -40.0), name="sky"),
            Target((50.0, 0.0, -16.0), name="slate"),
        ),
    )
    blue = replace(look(NAVY), reads_as=(50.0, 0.0, -40.0))
    # half of 30 in lightness is less than 24 in chroma, 30 is more: arithmetic
    assert amount_of(targets, [blue]) == ("sky",)


def test_a_square_that_is_hardly_larger_than_the_piece_is_no_loss():
    whole, rest = rectangle(5, 5), rectangle(5, 0.5)
    assert regret_of(1, "teal", [whole], [rest], piece_sq_in=4.5**2) is None
    told = regret_of(1, "teal", [whole], [rest], piece_sq_in=2.5**2)
    assert (told.side_in, told.left_in) == (5, 0)


def test_regrets_are_said_in_either_unit_fabrics_alike_together():
    both_of = "of teal (fabric 1) and fabric 2"
    seven, strip = [rectangle(7, 7)], [rectangle(7, 4.4)]
    for unit, words in (
        ("in", f"This takes the last 6 in square {both_of}; 4 in squares are left."),
        ("cm", f"This takes the last 15.2 cm square {both_of}; 10.2 cm squares are left."),
    ):
        both = [
            regret_of(number, name, seven, strip, piece_sq_in=4)
            for number, name in ((1, "teal"), (2, ""))
        ]
        assert regret_words(both, unit=unit) == (words,)
        done = words.replace("This takes", "This took")
        assert regret_words(both, unit=unit, cut=True) == (done,) != (words,)
