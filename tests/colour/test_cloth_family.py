"""A cloth is sorted under a family that can be seen on it, and substitutes follow from that."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stash.colour.appearance import PrintKind
from stash.colour.cloth_family import cloth_families, cloth_family
from stash.colour.naming import FAMILIES, family_of
from stash.colour.spaces import hex_of_lab, lab_of_hex
from stash.colour.substitutes import rank_substitutes
from tests.colour.looks import fabric, look

WHITE, BLACK, NAVY, RED, TEAL, TAN = (
    "#f4f4f0", "#1d1d1e", "#23407f", "#c02030", "#1f7f88", "#c9ae85",
)  # fmt: skip
CODES = st.sampled_from([WHITE, BLACK, NAVY, RED, TEAL, TAN, "#4f8f4c", "#7a4a93", "#d3a040"])


@pytest.mark.parametrize(
    ("colours", "family"),
    [
        ([NAVY], "blue"),
        ([(WHITE, 0.5), (RED, 0.5)], "red"),
        ([(WHITE, 0.7), (RED, 0.3)], "white"),
        ([("#f5efdf", 0.7), (RED, 0.3)], "cream"),
        ([(WHITE, 0.5), (BLACK, 0.5)], "grey"),
        ([(BLACK, 0.9), (RED, 0.1)], "black"),
    ],
)
def test_a_cloth_goes_under_what_one_sorts_it_by(colours, family):
    assert cloth_family(look(*colours)) == family


@pytest.mark.parametrize(
    ("mean", "colours", "family"),
    # What the photos of a teal and tan plaid and of a blue-striped white read as.
    [
        ("#7f8488", [(TEAL, 0.4), (TAN, 0.35), (NAVY, 0.25)], "teal"),
        ("#b9afd0", [(WHITE, 0.55), (NAVY, 0.45)], "blue"),
    ],
)
def test_a_mean_that_nothing_on_the_cloth_is_of_names_no_family(mean, colours, family):
    cloth = replace(look(*colours), reads_as=lab_of_hex(mean))
    assert family_of(cloth.reads_as).family in ("grey", "purple")
    assert cloth_family(cloth) == family


def test_a_gingham_goes_under_its_thread_not_under_the_tint_it_mixes_to():
    middle = hex_of_lab(look(WHITE, RED).reads_as)
    gingham = look((middle, 0.5), (WHITE, 0.25), (RED, 0.25), kind=PrintKind.PLAID)
    assert family_of(lab_of_hex(middle)).family == "pink"
    assert cloth_family(gingham) == "red"


@settings(max_examples=60)
@given(st.lists(st.tuples(CODES, st.integers(1, 20)), min_size=1, max_size=5))
def test_a_coloured_family_is_one_of_the_cloths_own(parts):
    # With five colours at the most one covers a fifth or more; where none covers a quarter the
    # mean may stand.
    whole = sum(part for _, part in parts)
    cloth = look(*((code, part / whole) for code, part in parts))
    shares = dict.fromkeys(FAMILIES, 0.0)
    for one in cloth.colours:
        name = family_of(one.lab)
        for family in {name.family, name.alternative or name.family}:
            shares[family] += one.share
    found = cloth_family(cloth)
    neutral = found in ("white", "grey", "black", "cream", "tan")
    assert neutral or shares[found] > 0 or max(shares.values()) < 0.25


def test_many_cloths_are_sorted_as_one_by_one():
    cloths = [look(NAVY), look((WHITE, 0.6), (RED, 0.4)), look(TAN)]
    assert cloth_families(cloths) == [cloth_family(one) for one in cloths]
    assert cloth_families([]) == []


def test_the_same_value_stands_in_first_and_other_families_never():
    stash = [fabric(1, RED), fabric(2, "#9cc7e8"), fabric(3, "#24467f"), fabric(4, "#3a5f3a")]
    found = rank_substitutes(look(NAVY), stash)
    assert [(one.fabric, one.same_value) for one in found] == [(3, True), (2, False)]
    assert found[0].difference < found[1].difference
    assert rank_substitutes(look(NAVY), []) == ()
