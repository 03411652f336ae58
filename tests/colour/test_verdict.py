"""Belongs, borderline, clashes: each rule of the verdicts."""

import pytest

from stash.colour.appearance import ColourShare
from stash.colour.fabric_table import FabricColours
from stash.colour.keeping_company import keep_company
from stash.colour.palette import Palette, Target, Thresholds, WantedFamily, palette_of_hex
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_hex, srgb_of_lab
from stash.colour.verdict import Verdict, judge
from tests.colour.looks import fabric, look_of

NAVY, TEAL, SAND, CORAL = "#1f3f7a", "#2c8c8c", "#d9c7a3", "#ff7f50"
PINK, PURPLE, GREEN, WHITE = "#eda5b4", "#7a4a93", "#4f8f4c", "#f7f7f7"
TIDEWATER = palette_of_words(
    "Tidewater", "blues and teals mostly, sand, a touch of coral; no pinks, no purples"
)
ORDER = {Verdict.BELONGS: 0, Verdict.BORDERLINE: 1, Verdict.CLASHES: 2}


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
        ([(NAVY, 0.95), (PURPLE, 0.05)], "borderline", "ruled out"),
        ([(NAVY, 0.98), (PURPLE, 0.02)], "belongs", None),
        ([(NAVY, 0.8), (CORAL, 0.2)], "belongs", None),
        ([(NAVY, 0.5), (CORAL, 0.5)], "borderline", "touch"),
    ],
)
def test_each_rule_moves_the_verdict(colours, verdict, what):
    found = verdict_on(*colours)
    assert found.verdict.value == verdict
    assert (found.reasons[0].what if found.reasons else None) == what


def test_a_reason_says_the_share_and_the_colour():
    (reason,) = verdict_on((NAVY, 0.66), (GREEN, 0.34)).reasons
    assert reason.text == "34 % of it is outside the palette, mostly green"
    assert (reason.value, reason.limit) == (pytest.approx(0.34), 0.15)


@pytest.mark.parametrize(
    ("colours", "text"),
    [
        ([CORAL], "coral is meant as a touch; 100 % of it comes near coral"),
        ([(NAVY, 0.6), ("#f0806c", 0.4)], "coral is meant as a touch; 40 % of it comes near coral"),
    ],
)
def test_a_touch_is_called_what_the_palette_calls_it(colours, text):
    (reason,) = verdict_on(*colours).reasons
    assert reason.text == text


def test_a_touch_of_a_family_is_named_with_the_family():
    palette = palette_of_words("x", "blues, a touch of green, a touch of coral")
    (reason,) = verdict_on(GREEN, palette=palette).reasons
    assert reason.text == "green is meant as a touch; 100 % of it is green"


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
    palette = palette_of_hex("x", [NAVY])
    lightness, a, b = lab_of_hex(NAVY)
    off = FabricColours(1, look_of((ColourShare((lightness + 34, a - 8, b + 4), 1.0),)))
    (sure,) = judge([off], palette)
    (unsure,) = judge([FabricColours(1, look_of(off.appearance.colours, error_de00=6.0))], palette)
    assert sure.verdict is Verdict.CLASHES
    assert unsure.verdict is Verdict.BORDERLINE
    assert unsure.reasons[-1].what == "colour error"
    assert "6.0" in unsure.reasons[-1].text


def test_colours_that_only_agree_among_themselves_never_clash_for_sure():
    found = verdict_on(GREEN, absolute=False)
    assert found.verdict is Verdict.BORDERLINE
    assert found.reasons[-1].what == "not absolute"


def test_a_loud_fabric_is_borderline_in_quiet_company():
    quiet = [fabric(i, code) for i, code in enumerate(
        ["#4d5a70", "#556272", "#4a6070", "#5b6878", "#50607a", "#586a80"])]  # fmt: skip
    loud = fabric(9, "#0040e0")
    found = judge([*quiet, loud], Palette("blues", (WantedFamily("blue"),)))
    assert found[-1].verdict is Verdict.BORDERLINE
    assert "chroma" in {reason.what for reason in found[-1].reasons}
    assert {v.verdict for v in found[:-1]} == {Verdict.BELONGS}


PALE_BLUES = ["#9cb4d8", "#8fa9d2", "#a5bbe0", "#94afd6", "#9bb8d4", "#a0b6dd"]


@pytest.mark.parametrize(
    ("words", "last", "verdict"),
    [
        ("blues mostly", NAVY, "borderline"),
        ("blues mostly, dark blues", NAVY, "belongs"),
        ("blues mostly, charcoal", "#3b3f45", "belongs"),
        ("blues mostly, creams; no neutrals", "#fbf3dc", "belongs"),
        ("blues mostly, pinks; no neutrals", "#ffdfe6", "borderline"),
    ],
)
def test_a_value_far_from_the_rest_is_borderline_unless_the_palette_names_it(words, last, verdict):
    fabrics = [fabric(number, colour) for number, colour in enumerate([*PALE_BLUES, last])]
    found = judge(fabrics, palette_of_words("pale", words))[-1]
    assert found.verdict.value == verdict
    assert [reason.what for reason in found.reasons] == ["value"] * (verdict == "borderline")


def test_strong_contrast_is_a_remark_unless_the_palette_says_otherwise():
    calm = [fabric(i, NAVY, value_contrast=5.0 + i) for i in range(6)]
    striped = fabric(9, NAVY, WHITE, value_contrast=60.0)
    blues = Palette("blues", (WantedFamily("blue"),))
    strict = Palette("blues", (WantedFamily("blue"),), thresholds=Thresholds(contrast_counts=1))
    noted, moved = judge([*calm, striped], blues)[-1], judge([*calm, striped], strict)[-1]
    (reason,) = [r for r in noted.reasons if r.what == "contrast"]
    assert not reason.moves
    assert "contrast" not in {r.what for r in noted.reasons if r.moves}
    assert any(r.moves for r in moved.reasons if r.what == "contrast")
    assert ORDER[moved.verdict] >= ORDER[noted.verdict]


def test_limits_of_the_palette_are_the_ones_used():
    lenient = Palette("x", (WantedFamily("blue"),), thresholds=Thresholds(outside_borderline=0.4))
    assert verdict_on((NAVY, 0.7), (GREEN, 0.3), palette=lenient).verdict is Verdict.BELONGS


def test_no_fabric_gets_no_verdict():
    assert judge([], TIDEWATER) == ()


def test_the_wild_one_is_found_and_leaving_it_out_told():
    blues = [fabric(i, code) for i, code in enumerate(["#1f3f7a", "#34558c", "#2a5a80", "#3a4f78"])]
    (odd,) = keep_company([*blues, fabric(7, "#ff9d00")])
    assert odd.fabric == 7
    assert odd.without_it.startswith("without it the rest are blue")


def test_fabrics_of_one_mood_have_no_wild_one():
    blues = [fabric(i, code) for i, code in enumerate(["#1f3f7a", "#34558c", "#2a5a80", "#3a4f78"])]
    assert keep_company(blues) == ()
    assert keep_company(blues[:2]) == ()


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
