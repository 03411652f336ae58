"""Belongs, borderline, clashes: each rule of the verdicts."""

import numpy as np
import pytest

from stash.colour.appearance import ColourShare, PrintKind
from stash.colour.difference import large_difference
from stash.colour.eye import eye_weights
from stash.colour.fabric_table import FabricColours
from stash.colour.palette import Palette, Target, Thresholds, WantedFamily, palette_of_hex
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_hex, srgb_of_lab
from stash.colour.verdict import Verdict, judge
from stash.colour.wild_one import keep_company
from tests.colour.looks import fabric, look_of

NAVY, TEAL, SAND, CORAL = "#1f3f7a", "#2c8c8c", "#d9c7a3", "#ff7f50"
PINK, HOT_PINK, PURPLE, GREEN, WHITE = "#eda5b4", "#e0218a", "#7a4a93", "#4f8f4c", "#f7f7f7"
RED, OLD_GOLD, BLACK = "#b3202c", "#b08d2f", "#1b1b1d"
TIDEWATER = palette_of_words(
    "Tidewater", "blues and teals mostly, sand, a touch of coral; no pinks, no purples"
)


def verdict_on(*colours, palette=TIDEWATER, **rest):
    (found,) = judge([fabric(1, *colours, **rest)], palette)
    return found


@pytest.mark.parametrize(
    ("colours", "verdict", "what"),
    [
        ([NAVY], "belongs", None),
        ([NAVY, TEAL, WHITE], "belongs", None),
        ([(NAVY, 0.8), (GREEN, 0.2)], "borderline", "outside"),
        ([(NAVY, 0.4), (GREEN, 0.6)], "clashes", "outside"),
        ([(NAVY, 0.88), (PURPLE, 0.12)], "clashes", "ruled out"),
        ([(NAVY, 0.97), (PURPLE, 0.03)], "borderline", "ruled out"),
        ([(NAVY, 0.995), (PURPLE, 0.005)], "belongs", None),
        ([(NAVY, 0.8), (CORAL, 0.2)], "belongs", None),
        # A touch is an amount of the quilt, no fault of the cloth that brings it.
        ([CORAL], "belongs", None),
    ],
)
def test_each_rule_moves_the_verdict(colours, verdict, what):
    found = verdict_on(*colours)
    assert found.verdict.value == verdict
    assert (found.reasons[0].what if found.reasons else None) == what


@pytest.mark.parametrize(
    ("colour", "verdict", "reasons"),
    [
        ("#1d2440", Verdict.CLASHES, ["navy is ruled out"]),
        ("#5a8fd0", Verdict.BELONGS, []),
        ("#14401f", Verdict.CLASHES, ["dark green is ruled out"]),
        ("#7cb06a", Verdict.BELONGS, []),
    ],
)
def test_a_ruled_out_shade_keeps_out_itself_and_not_its_family(colour, verdict, reasons):
    found = verdict_on(
        colour, palette=palette_of_words("x", "blues, greens; no navy, no dark greens")
    )
    assert found.verdict is verdict
    assert [one.text for one in found.reasons] == reasons


def test_a_small_strong_figure_counts_as_it_is_seen():
    # Red stars are 3 % of a cream cloth and the first thing one sees; cream dots are not.
    weights = eye_weights(
        np.array([lab_of_hex("#f5eedc"), lab_of_hex(RED)]), np.array([0.94, 0.06])
    )
    assert weights[1] > 0.12
    starred, dotted = ([("#f5eedc", 0.94), (RED, 0.06)], [(NAVY, 0.94), ("#f5eedc", 0.06)])
    assert verdict_on(*starred).verdict is Verdict.BORDERLINE
    assert verdict_on(*dotted).verdict is Verdict.BELONGS


def test_the_published_measure_grows_with_chroma_where_ciede2000_does_not():
    # HyAB by its definition (Abasi, Amani Tehran, Fairchild 2020): |dL| + distance in a, b.
    assert large_difference([50, 10, 0], [55, 10, 30]) == pytest.approx(35)
    assert large_difference([50, 10, 0], [55, 10, 30], lightness_weight=0.5) == pytest.approx(32.5)


def test_an_old_gold_is_no_sand():
    assert verdict_on(OLD_GOLD).verdict is Verdict.CLASHES


def test_a_colour_stronger_than_the_one_asked_for_is_farther_than_a_duller_one():
    asked = Palette("x", targets=(Target((55.0, 30.0, 20.0)),), neutrals=False)
    stronger, duller = (
        FabricColours(1, look_of((ColourShare((55.0, 30.0 * f, 20.0 * f), 1.0),)))
        for f in (1.6, 0.4)
    )
    assert [found.verdict.value for found in judge([stronger, duller], asked)] == [
        "clashes", "belongs",
    ]  # fmt: skip


def test_a_black_joins_navy_but_not_a_palette_of_pale_roses():
    assert verdict_on(BLACK).verdict is Verdict.BELONGS
    pale = palette_of_words("pale", "pale pink, pale green")
    assert verdict_on(BLACK, palette=pale).verdict is Verdict.CLASHES
    assert verdict_on("#faf6ec", palette=pale).verdict is Verdict.BELONGS


def test_the_first_reason_is_short_and_the_numbers_stand_behind_it():
    (reason,) = verdict_on((NAVY, 0.66), (GREEN, 0.34)).reasons
    assert reason.text == "some green, not in the palette"
    assert reason.detail.startswith(f"{100 * reason.value:.0f} % of what one sees is outside")
    assert reason.limit == Thresholds().outside_borderline < reason.value


def test_no_colour_is_told_twice():
    reasons = verdict_on((NAVY, 0.3), (PINK, 0.7)).reasons
    assert [reason.what for reason in reasons] == ["ruled out"]
    both = verdict_on((NAVY, 0.3), (PINK, 0.3), (GREEN, 0.4)).reasons
    assert [reason.what for reason in both] == ["ruled out", "outside"]
    assert "green" in both[1].text


def test_no_family_is_told_by_two_reasons():
    palette = palette_of_words("x", "white; no kelly green")
    two_greens = verdict_on(("#158a3c", 0.6), ("#b5e853", 0.4), palette=palette)
    assert [reason.what for reason in two_greens.reasons] == ["ruled out"]


@pytest.mark.parametrize("kind", [PrintKind.PLAID, PrintKind.PRINT])
def test_a_mid_tone_of_threads_is_not_ruled_out_one_of_a_print_is(kind):
    red_and_white = palette_of_words("x", "reds and whites; no pinks")
    middle = look_of(tuple(ColourShare(lab_of_hex(code), 0.5) for code in (RED, WHITE))).reads_as
    shares = ((lab_of_hex(RED), 0.3), (lab_of_hex(WHITE), 0.4), (middle, 0.3))
    check = look_of(tuple(ColourShare(*pair) for pair in shares), kind=kind)
    (found,) = judge([FabricColours(1, check)], red_and_white)
    assert (found.verdict is Verdict.BELONGS) == (kind is PrintKind.PLAID)


def test_the_mid_tone_of_a_gingham_belongs_with_its_two_colours():
    # The linear-light mean of blue and white is a pale blue far from the blue itself.
    palette = Palette("blue and white", targets=(Target(lab_of_hex("#1030a0")),))
    blue_and_white = [lab_of_hex("#1030a0"), lab_of_hex(WHITE)]
    middle = look_of(tuple(ColourShare(lab, 0.5) for lab in blue_and_white)).reads_as
    shares = tuple(ColourShare(lab, 1 / 3) for lab in (*blue_and_white, middle))
    gingham = FabricColours(1, look_of(shares))
    alone = FabricColours(2, look_of((ColourShare(middle, 1.0),)))
    assert [v.verdict.value for v in judge([gingham, alone], palette)] == ["belongs", "clashes"]


def test_a_no_within_the_colour_error_becomes_borderline_and_says_so():
    palette = palette_of_hex("x", [NAVY], neutrals=False)
    lightness, a, b = lab_of_hex(NAVY)
    off = FabricColours(1, look_of((ColourShare((lightness + 34, a - 8, b + 4), 1.0),)))
    (sure,) = judge([off], palette)
    (unsure,) = judge([FabricColours(1, look_of(off.appearance.colours, error_de00=6.0))], palette)
    assert sure.verdict is Verdict.CLASHES
    assert unsure.verdict is Verdict.BORDERLINE
    assert unsure.reasons[-1].what == "colour error"
    assert "6.0" in unsure.reasons[-1].detail


@pytest.mark.parametrize("colour", [HOT_PINK, PINK, PURPLE])
def test_an_unmeasured_card_is_no_pardon(colour):
    # Its colours may be off by a home printer's ink, not by half the circle.
    found = verdict_on(colour, absolute=False, error_de00=0.5)
    assert found.verdict is Verdict.CLASHES


def test_an_unmeasured_card_makes_a_near_no_a_second_look():
    # A periwinkle that leans to purple, near the border of blue.
    near = verdict_on("#8a82d4", absolute=False)
    assert near.verdict is Verdict.BORDERLINE


QUIET_BLUES = ["#4d5a70", "#556272", "#4a6070", "#5b6878", "#50607a", "#586a80"]
PALE_BLUES = ["#9cb4d8", "#8fa9d2", "#a5bbe0", "#94afd6", "#9bb8d4", "#a0b6dd"]


def test_a_loud_fabric_is_borderline_in_quiet_company():
    loud = fabric(9, "#0040e0")
    found = judge(
        [*(fabric(i, code) for i, code in enumerate(QUIET_BLUES)), loud],
        Palette("blues", (WantedFamily("blue"),)),
    )
    assert found[-1].verdict is Verdict.BORDERLINE
    assert [reason.what for reason in found[-1].reasons] == ["company"]
    assert found[-1].reasons[0].text == "its blue is louder than the rest"
    assert {v.verdict for v in found[:-1]} == {Verdict.BELONGS}


def test_what_another_echoes_is_not_loud():
    two_loud = [fabric(9, "#0040e0"), fabric(10, "#1040d0")]
    found = judge(
        [*(fabric(i, code) for i, code in enumerate(QUIET_BLUES)), *two_loud],
        Palette("blues", (WantedFamily("blue"),)),
    )
    assert {v.verdict for v in found} == {Verdict.BELONGS}


@pytest.mark.parametrize(
    ("words", "last", "verdict"),
    [
        ("blues mostly", NAVY, "borderline"),
        ("blues mostly, dark blues", NAVY, "belongs"),
        ("blues mostly, charcoal", "#3b3f45", "belongs"),
        ("blues mostly, creams; no neutrals", "#fbf3dc", "belongs"),
    ],
)
def test_what_a_palette_asks_for_by_name_is_never_too_dark_or_light(words, last, verdict):
    fabrics = [fabric(number, colour) for number, colour in enumerate([*PALE_BLUES, last])]
    found = judge(fabrics, palette_of_words("pale", words))[-1]
    assert found.verdict.value == verdict
    assert [reason.what for reason in found.reasons] == ["company"] * (verdict == "borderline")


def test_limits_of_the_palette_are_the_ones_used():
    lenient = Palette("x", (WantedFamily("blue"),), thresholds=Thresholds(outside_borderline=0.5))
    assert verdict_on((NAVY, 0.7), (GREEN, 0.3), palette=lenient).verdict is Verdict.BELONGS


def test_no_fabric_gets_no_verdict():
    assert judge([], TIDEWATER) == ()


BLUES = ["#1f3f7a", "#34558c", "#2a5a80", "#3a4f78"]


def test_the_wild_one_is_found_and_leaving_it_out_told():
    (odd,) = keep_company(
        [*(fabric(i, code) for i, code in enumerate(BLUES)), fabric(7, "#ff9d00")]
    )
    assert odd.fabric == 7
    assert odd.text == "its orange is louder than the rest"
    assert odd.without_it.startswith("without it the rest are blue")


def test_fabrics_of_one_mood_have_no_wild_one():
    blues = [fabric(i, code) for i, code in enumerate(BLUES)]
    assert keep_company(blues) == ()
    assert keep_company(blues[:2]) == ()


SOFT_PINKS = ["#e0a9b4", "#d99aa8", "#e6b8c0", "#cf8f9f"]


@pytest.mark.parametrize(
    ("rest", "last", "wild"),
    [
        # More than twice as loud as any other is wild even among its own hue, half as loud
        # again is not.
        (SOFT_PINKS, ["#ff2e8c"], True),
        (SOFT_PINKS, ["#de6f92"], False),
        ([*SOFT_PINKS, (("#e0a9b4", 0.8), ("#c4476f", 0.2))], ["#ff2e8c"], True),
        # A dot does not echo a whole cloth; a figure does.
        ([*BLUES[:3], (("#1f3f7a", 0.985), ("#c4622d", 0.015))], ["#c4622d"], True),
        ([*BLUES[:3], (("#1f3f7a", 0.8), ("#c4622d", 0.2))], ["#c4622d"], False),
        # Black is seen at once among light cloth, a middle grey is not, nor is a ground that
        # bears a colour of theirs.
        (SOFT_PINKS, ["#111111"], True),
        (BLUES, ["#5a5a5a"], False),
        (BLUES, [("#f9f6ee", 0.7), ("#1f3f7a", 0.3)], False),
        # Two hues of a company make a third one wild, many do not.
        (["#1f3f7a", "#b3202c", "#2b4f8f", "#c03a3f"], ["#8dc63f"], True),
        (
            [
                "#c3a6d8",
                "#b79ccf",
                "#f3df8b",
                "#efd97a",
                "#8fc05a",
                "#9ac96a",
                "#eaa6b8",
                "#e39aae",
            ],
            ["#8cbfe6"],
            False,
        ),
        # Sand is a quiet neighbour of any colour.
        (["#4aa0a8", "#5fb3ba", "#3f8a9c", "#cfe6ea"], ["#d8c4a0"], False),
    ],
)
def test_what_is_wild_hangs_on_echo_loudness_and_value(rest, last, wild):
    company = [
        fabric(i, *(one if isinstance(one, tuple) else (one,))) for i, one in enumerate(rest)
    ]
    found = keep_company([*company, fabric(9, *last)])
    assert [odd.fabric for odd in found[:1]] == [9] * wild


def test_a_large_black_figure_is_wild_among_low_volumes():
    low = [fabric(i, code) for i, code in enumerate(["#b8b8b8", "#d0d0d0", "#e8e8e8", "#f4f4f4"])]
    figured = fabric(9, ("#111111", 0.4), ("#f4f4f4", 0.6), value_contrast=40.0)
    assert [odd.fabric for odd in keep_company([*low, figured])] == [9]


def test_among_scraps_of_every_colour_nothing_is_wild():
    every = ["#d8232a", "#f2a33a", "#f4e04d", "#3f9b45", "#2f8f8f", "#2a52be", "#7a4a93", "#e0218a"]
    assert keep_company([fabric(i, code) for i, code in enumerate(every)]) == ()


def test_a_hex_colour_and_its_lab_belong_to_each_other():
    lab = lab_of_hex(SAND)
    assert srgb_of_lab(lab).tolist() == pytest.approx([217 / 255, 199 / 255, 163 / 255], abs=1e-3)


@pytest.mark.parametrize(
    ("colours", "verdict"),
    [([GREEN], "belongs"), ([NAVY, CORAL], "belongs"), ([PINK], "clashes")],
)
def test_a_palette_that_only_rules_out_lets_every_other_colour_in(colours, verdict):
    only = palette_of_words("anything else", "no pinks, no purples")
    assert verdict_on(*colours, palette=only).verdict.value == verdict


def test_limits_of_an_earlier_version_do_not_keep_a_palette_from_being_read():
    record = TIDEWATER.to_dict() | {"thresholds": {"touch_cap": 0.4, "outside_clash": 0.6}}
    assert Palette.from_dict(record).thresholds == Thresholds(outside_clash=0.6)
