"""Palettes in words, as records and as files."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash.colour.colour_words import colour_words
from stash.colour.naming import FAMILIES, family_of
from stash.colour.palette import (
    Amount,
    Palette,
    Target,
    Thresholds,
    WantedFamily,
    palette_of_appearances,
    palette_of_hex,
)
from stash.colour.palette_files import csv_of_palette, gpl_of_palette, palette_of_gpl, typical_lab
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import hex_of_lab
from stash.errors import PaletteError
from tests.colour.looks import look

TIDEWATER = "blues and teals mostly, sand, a touch of coral; no pinks, no purples"


def test_a_palette_is_read_as_it_is_said():
    palette = palette_of_words("Tidewater", TIDEWATER)
    assert palette.families == (WantedFamily("blue"), WantedFamily("teal"))
    assert {(t.name, t.amount) for t in palette.targets} == {
        ("sand", Amount.SOME),
        ("coral", Amount.TOUCH),
    }
    assert palette.without == ("pink", "purple")
    assert palette.neutrals


@pytest.mark.parametrize(
    ("said", "families"),
    [
        ("deep blues", [("blue", "dark", "main")]),
        ("some greys, mostly reds", [("grey", "", "some"), ("red", "", "main")]),
        ("violet & gray", [("purple", "", "main"), ("grey", "", "main")]),
        ("a bit of yellow", [("yellow", "", "touch")]),
        ("blues; nothing pink", [("blue", "", "main")]),
    ],
)
def test_each_rule_of_the_grammar_is_kept(said, families):
    found = palette_of_words("x", said).families
    assert [(f.family, f.value, f.amount.value) for f in found] == families


def test_neutrals_can_be_sent_away():
    assert not palette_of_words("x", "blues; no neutrals").neutrals


@pytest.mark.parametrize(
    "said", ["blurple", "blues, bleu", "no blurples", "", "blues and", ";,;", "nvay blue"]
)
def test_an_unknown_word_is_refused_with_the_words_there_are(said):
    with pytest.raises(PaletteError, match=r"teal|says nothing"):
        palette_of_words("x", said)


def test_an_unclear_no_is_refused_instead_of_guessed():
    with pytest.raises(PaletteError, match="no purples"):
        palette_of_words("x", "blues; no pinks, purples")


def test_a_colour_cannot_be_both_wanted_and_ruled_out():
    with pytest.raises(PaletteError, match="blue"):
        palette_of_words("x", "blues; no blues")


def test_every_word_makes_a_palette():
    for word in colour_words().keys() - set(FAMILIES):
        palette = palette_of_words("x", f"a touch of {word}")
        parts = [*palette.targets, *palette.families]
        assert parts, word
        assert {part.amount for part in parts} == {Amount.TOUCH}, word


@pytest.mark.parametrize(
    ("said", "wanted"),
    [
        (
            "blues, teals and sand with a touch of coral",
            {"blue": "main", "sand": "main", "coral": "touch"},
        ),
        ("navy and cream, a pop of red", {"navy": "main", "cream": "main", "red": "touch"}),
        ("navy blue, mustard yellow", {"navy": "main", "mustard": "main"}),
        ("two-thirds blue, one third cream", {"blue": "main", "cream": "some"}),
        ("80 % blue, 5 % gold", {"blue": "main", "gold": "touch"}),
        ("all the blues", {"blue": "main"}),
        ("light and dark greens", {"light green": "main", "dark green": "main"}),
        ("dusty rose and sage", {"dusty rose": "main", "sage": "main"}),
        ("pastel blue, muted greens", {"pastel blue": "main", "muted green": "main"}),
        ("mostly neutrals, a touch of teal", {"white": "main", "grey": "main", "teal": "touch"}),
        ("aubergine and ochre", {"aubergine": "main", "ochre": "main"}),
    ],
)
def test_palettes_are_understood_as_people_say_them(said, wanted):
    palette = palette_of_words("x", said)
    found = {f"{one.value} {one.family}".strip(): one.amount.value for one in palette.families}
    found |= {one.name: one.amount.value for one in palette.targets}
    assert {name: found.get(name) for name in wanted} == wanted


@pytest.mark.parametrize(
    ("said", "plainly"),
    [
        ("I'd like lots of teal and a bit of gold", "teal mostly, a touch of gold"),
        ("navy & white with red accents", "navy, white, a touch of red"),
        ("batiks in blue and purple, please", "blue, purple"),
        ("light, medium and dark blues", "light blue, medium blue, dark blue"),
        ("more blue than green", "blue mostly, some green"),
        ("a rainbow", "all colours"),
        ("blues and browns, muted", "muted blue, muted brown"),
        ("no red, orange or yellow", "no red; no orange; no yellow"),
        ("brown, but not too dark", "brown; not too dark"),
        ("denim blues accented with rust", "denim, a touch of rust"),
        ("1/3 cream, 2/3 grey-blue", "one third cream, two thirds grey blue"),
        ("green on a cream background", "green, cream"),
        ("purples only", "purple; no neutrals"),
        ("neutrals, with a tiny pop of colour in coral", "neutrals, a touch of coral"),
        ("mostly greens, hardly any brown", "mostly green, a touch of brown"),
        ("orange, but only a little, lots of grey", "some orange, mostly grey"),
        ("about a third red, the rest cream", "one third red, mostly cream"),
        ("nothing but blue and white", "blue, white; no neutrals"),
        ("nothing pink, otherwise anything", "anything but pink"),
        ("in the spirit of the sea", "ocean colours"),
        ("blues without purple", "blue; no purple"),
        ("no greys, only warm browns", "no grey; only warm brown"),
        ("three parts navy to one part gold", "mostly navy, some gold"),
        ("mostly red with small amounts of green", "mostly red, a touch of green"),
        ("cream and a very little black", "cream, a touch of black"),
        ("pinks and creams for a baby quilt", "pink, cream"),
        ("aqua, cream for the background", "aqua, mostly cream"),
        ("a pop of tangerine on white", "a touch of tangerine, white"),
        ("not a lot of red, heirloom rose", "a touch of red, rose"),
        ("sage and sage", "sage"),
    ],
)  # fmt: skip
def test_what_is_said_beside_the_colours_changes_nothing(said, plainly):
    assert palette_of_words("x", said) == palette_of_words("x", plainly)


def test_a_shade_can_be_ruled_out_where_its_family_is_not():
    palette = palette_of_words("x", "blues and reds; no navy, no dark red")
    assert palette.ruled_out == ("navy", "dark red")
    assert Palette.from_dict(palette.to_dict()) == palette
    with pytest.raises(PaletteError, match="navy"):
        palette_of_words("x", "navy; no navy")


def test_a_set_is_all_its_hues_in_its_tone_but_for_what_else_is_said():
    pastels = palette_of_words("x", "pastels, dark green; no pink")
    assert WantedFamily("blue", Amount.MAIN, "pastel") in pastels.families
    greens = [one.value for one in pastels.families if one.family == "green"]
    assert greens == ["dark"]
    assert "pink" not in {one.family for one in pastels.families}


@pytest.mark.parametrize("said", ["anything but purple", "everything except purples", "no purple"])
def test_anything_but_a_family_rules_only_that_out(said):
    palette = palette_of_words("x", said)
    assert (palette.families, palette.targets, palette.without) == ((), (), ("purple",))


def test_not_too_dark_is_kept_and_told_where_it_contradicts():
    palette = palette_of_words("x", "jewel tones, not too dark")
    assert palette.not_too == ("dark",)
    assert Palette.from_dict(palette.to_dict()) == palette
    with pytest.raises(PaletteError, match="dark blue"):
        palette_of_words("x", "dark blues, not too dark")


@pytest.mark.parametrize("said", ["dark pastels", "bright muted colours", "light jewel tones"])
def test_two_tones_at_odds_are_told(said):
    with pytest.raises(PaletteError, match="two things at once"):
        palette_of_words("x", said)


def test_an_unknown_word_names_the_nearest_known_ones():
    with pytest.raises(PaletteError, match="Near it: turquoise"):
        palette_of_words("x", "turqoise")


LABS = st.tuples(st.floats(0, 100), st.floats(-80, 80), st.floats(-80, 80))
PALETTES = st.builds(
    Palette,
    name=st.text(min_size=1, max_size=20),
    families=st.lists(
        st.builds(
            WantedFamily,
            st.sampled_from(FAMILIES[:8]),
            st.sampled_from(Amount),
            st.sampled_from(["", "light", "dark"]),
        ),
        max_size=4,
    ).map(tuple),
    targets=st.lists(st.builds(Target, LABS, st.sampled_from(Amount)), min_size=1, max_size=4).map(
        tuple
    ),
    without=st.lists(st.sampled_from(FAMILIES[8:]), unique=True).map(tuple),
    neutrals=st.booleans(),
    thresholds=st.builds(Thresholds, ruled_out_clash=st.floats(0, 1)),
)


@given(PALETTES)
def test_a_palette_survives_being_kept(palette):
    assert Palette.from_dict(palette.to_dict()) == palette


@pytest.mark.parametrize("record", [{}, {"name": "x", "targets": [{"lab": [1]}]}, {"name": "x"}])
def test_what_is_no_palette_is_refused(record):
    with pytest.raises(PaletteError):
        Palette.from_dict(record)


def test_hex_colours_survive_a_gimp_palette():
    palette = palette_of_hex("Harbour", ["#1f3f7a", "#2f8f8f"])
    again = palette_of_gpl("Harbour", gpl_of_palette(palette))
    assert [hex_of_lab(t.lab) for t in again.targets] == ["#1f3f7a", "#2f8f8f"]


@pytest.mark.parametrize("text", ["", "PNG", "GIMP Palette\n", "GIMP Palette\n999 0 0 x\n"])
def test_what_is_no_gimp_palette_is_refused_in_words(text):
    with pytest.raises(PaletteError, match="GIMP palette"):
        palette_of_gpl("x", text)


def test_the_csv_has_a_row_for_each_colour_and_each_no():
    rows = csv_of_palette(palette_of_words("Tidewater", TIDEWATER)).splitlines()
    # 2 families + 2 hex of sand + 2 of coral + 2 ruled out + the head
    assert len(rows) == 9
    assert rows[-1].startswith("ruled out,purple")


@pytest.mark.parametrize("family", FAMILIES)
def test_the_colour_that_stands_for_a_family_is_in_it(family):
    assert family_of(typical_lab(family)).family == family


def test_a_focus_fabric_gives_main_some_and_touch_colours():
    cloth = look(("#1f3f7a", 0.6), ("#d9c7a3", 0.3), ("#c8674a", 0.05), ("#2f8f4f", 0.05))
    found = palette_of_appearances("x", [cloth])
    assert [t.amount.value for t in found.targets] == ["main", "main", "touch", "touch"]


def test_limits_can_be_changed_only_by_their_names():
    assert Thresholds().changed({"ruled_out_clash": 0.4}).ruled_out_clash == 0.4
    with pytest.raises(PaletteError, match="outside_clash"):
        Thresholds().changed({"ruled_out_clsh": 0.4})
    with pytest.raises(PaletteError, match="ruled_out_clash"):
        Thresholds().changed({"ruled_out_clash": -1})


def test_nothing_of_a_colour_is_no_part_of_a_quilt():
    with pytest.raises(PaletteError, match="no coral"):
        palette_of_words("x", "blues mostly, 0 % coral")
