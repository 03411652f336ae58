"""Families, display names and value words."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stash.colour.colour_name import colour_name, colour_names, named_centroids
from stash.colour.munsell import munsell_of_lab
from stash.colour.naming import (
    FAMILIES,
    families_of,
    family_of,
    value_limits,
    value_word,
    value_words,
)
from stash.colour.spaces import lab_of_hex

LABS = st.tuples(st.floats(0, 100), st.floats(-90, 90), st.floats(-90, 90))


@pytest.mark.parametrize(
    ("css", "family"),
    # W3C CSS Color Module Level 4, named colours; families by the name itself.
    [("#ffffff", "white"), ("#000000", "black"), ("#808080", "grey"), ("#ff0000", "red"),
     ("#ffa500", "orange"), ("#ffff00", "yellow"), ("#008000", "green"), ("#008080", "teal"),
     ("#0000ff", "blue"), ("#800080", "purple"), ("#ffc0cb", "pink"), ("#ffd700", "yellow"),
     ("#808000", "olive"), ("#000080", "blue"), ("#a52a2a", "red"), ("#d2b48c", "tan")],
)  # fmt: skip
def test_a_named_colour_is_in_its_family(css, family):
    found = family_of(lab_of_hex(css))
    assert family in (found.family, found.alternative)


@pytest.mark.parametrize(
    ("colour", "family"),
    # Raspberry as cloth is sold, no source; the two others are W3C CSS names: deeppink, purple.
    [("#d43d7f", "pink"), ("#ff1493", "pink"), ("#800080", "purple")],
)
def test_a_deep_pink_towards_red_is_told_from_purple(colour, family):
    assert family_of(lab_of_hex(colour)).family == family


def test_a_colour_between_blue_and_purple_has_both_names():
    found = family_of(lab_of_hex("#7f7fd5"))
    assert {found.family, found.alternative} == {"blue", "purple"}


def test_munsell_chips_are_found_at_their_own_notation():
    # Munsell renotation data: 5R 4/14, 5B 5/6, 5Y 8/10 as hue, chroma, value; their CIELAB
    # (D65, Bradford) computed with colour-science.
    colour = pytest.importorskip("colour")
    for notation, expected in [("5R 4/14", (5, 14, 4)), ("5B 5/6", (65, 6, 5))]:
        xyy = colour.munsell_colour_to_xyY(notation)
        xyz = colour.xyY_to_XYZ(xyy)
        c = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["C"]
        d65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
        moved = colour.chromatic_adaptation(
            xyz, colour.xy_to_XYZ(c), colour.xy_to_XYZ(d65), transform="Bradford"
        )
        found = munsell_of_lab([colour.XYZ_to_Lab(moved, d65)])
        got = (found.hue[0], found.chroma[0], found.value[0])
        # Tolerance: half a step of hue, a fifth of chroma, a tenth of value.
        assert np.abs(np.subtract(got, expected)).tolist() <= [0.5, 0.2, 0.1]


@given(LABS)
def test_the_family_is_always_among_the_names_that_apply(lab):
    columns = families_of([lab], error_de00=3.0)
    assert columns.near[0] >> columns.first[0] & 1
    assert columns.near[0] & ~columns.possible[0] == 0


@given(LABS)
def test_every_colour_has_a_family_and_a_name(lab):
    assert family_of(lab).family in FAMILIES
    assert colour_name(lab).replace(" ", "").isalpha()


@pytest.mark.parametrize(
    ("chip", "name"),
    # Colours as far inside their ISCC-NBS block as any: neutrals and the strong colours of NBS
    # Special Publication 440 at Munsell 5R 4/12, 5Y 8/12, 5BG 4/6, 5PB 3/8, 5P 4/8 (CIELAB by
    # colour-science), judged by the noun, since modifiers change within a step of chroma.
    [("5R 4/12", "red"), ("5Y 8/12", "yellow"), ("5BG 4/6", "bluish green"),
     ("5PB 3/8", "blue"), ("5P 4/8", "purple"), ("N6", "grey"), ("N1", "black")],
)  # fmt: skip
def test_a_munsell_chip_is_called_by_its_colour(chip, name):
    colour = pytest.importorskip("colour")
    xyz = colour.xyY_to_XYZ(colour.munsell_colour_to_xyY(chip))
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    moved = colour.chromatic_adaptation(
        xyz, colour.xy_to_XYZ(white["C"]), colour.xy_to_XYZ(white["D65"]), transform="Bradford"
    )
    assert colour_name(tuple(colour.XYZ_to_Lab(moved, white["D65"]))).endswith(name)


def test_each_of_the_267_centroids_has_its_own_name():
    names, centroids = named_centroids()
    assert len(set(names)) == len(names) == len(centroids) == 267
    assert colour_names([tuple(lab) for lab in centroids]) == list(names)


def test_value_is_relative_to_a_set_that_really_spans():
    darks_and_mediums = [10, 12, 14, 18, 40, 55, 58, 60]
    assert value_word(58) == "medium"
    assert value_word(58, among=darks_and_mediums) == "light"
    assert value_word(40, among=[40] * 10) == "medium"


def test_sixteen_pastels_and_two_more_are_not_suddenly_six_dark_ones():
    pastels = [78 + step for step in range(16)]
    for more in ([], [30, 32]):
        words = [value_word(one, among=[*pastels, *more]) for one in pastels]
        assert set(words) == {"light"}


def test_words_of_value_have_no_cliff():
    # As a set spreads step by step, the limits move with it and never jump.
    limits = [
        value_limits(np.linspace(50 - half, 50 + half, 12)) for half in np.linspace(5, 45, 81)
    ]
    assert np.abs(np.diff(limits, axis=0)).max() < 2.5


@settings(max_examples=200)
@given(
    st.lists(st.floats(3, 98), min_size=1, max_size=40),
    st.floats(3, 98),
)
def test_one_fabric_more_changes_no_word_far_from_a_border(values, one_more):
    before, after = value_limits(values), value_limits([*values, one_more])
    # The most it can move a limit: small sets count beside imagined ones, in large ones it is
    # a small part of a third.
    assert np.abs(np.subtract(before, after)).max() <= min(15.0, 420 / len(values))
    for at in values:
        if min(abs(at - limit) for limit in before) > min(15.0, 420 / len(values)):
            assert value_word(at, among=values) == value_word(at, among=[*values, one_more])


@pytest.mark.parametrize("darks", range(9))
def test_pastels_stay_light_however_many_darks_come_to_them(darks):
    pastels = [78.0 + step for step in range(16)]
    words = value_words([*pastels, *(30.0 + step for step in range(darks))])
    assert words == ["light"] * 16 + ["dark"] * darks


def test_the_shipped_table_is_what_its_script_makes():
    pytest.importorskip("colour")
    path = Path(__file__).with_name("make_munsell_table.py")
    spec = importlib.util.spec_from_file_location("make_munsell_table", path)
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    # A hundredth may round either way with another version of the libraries.
    shipped = np.load(script.TABLE).astype(int)
    assert np.abs(shipped - script.encoded()).max() <= 1


def test_the_chips_looked_up_are_the_nearest_by_scipy():
    from scipy.spatial import cKDTree

    from stash.colour.munsell import _chips, _nearest

    rng = np.random.default_rng(3)
    lab = np.column_stack([rng.uniform(5, 98, 333), rng.normal(0, 30, (333, 2))])
    apart, number = _nearest(lab)
    known, which = cKDTree(_chips()[0]).query(lab, k=6)
    assert apart == pytest.approx(known, abs=1e-9)
    assert (number == which).all()
