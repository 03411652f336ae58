"""Cloth is called what a quilter would call it."""

import pytest

from stash.colour.appearance import PrintKind
from stash.colour.cloth_name import cloth_name, cloth_names
from stash.colour.colour_words import colour_words, said_colours
from stash.colour.naming import FAMILIES
from stash.colour.spaces import hex_of_lab, lab_of_hex
from tests.colour.looks import look

WHITE, CREAM, NAVY, RED, TEAL, GREY = (
    "#f7f7f5",
    "#f7f0de",
    "#232f5e",
    "#b81f2d",
    "#1f7f88",
    "#999a9c",
)


@pytest.mark.parametrize(
    ("cloth", "name"),
    [
        (look(NAVY, kind=PrintKind.PLAIN), "navy"),
        (look((NAVY, 0.85), (WHITE, 0.15)), "navy with white print"),
        (look((CREAM, 0.8), (RED, 0.12), (NAVY, 0.08)), "cream with red and navy print"),
        (look((WHITE, 0.5), (NAVY, 0.5), kind=PrintKind.STRIPE), "navy stripe"),
        (look((GREY, 0.55), ("#ffe030", 0.45), kind=PrintKind.STRIPE), "grey and yellow stripe"),
        (look((NAVY, 0.98), (WHITE, 0.02)), "navy print"),
        (look("#650021", kind=PrintKind.TONE), "maroon tone-on-tone"),
    ],
)
def test_a_cloth_is_called_by_ground_accents_and_figure(cloth, name):
    assert cloth_name(cloth) == name


def test_a_gingham_is_called_by_its_thread():
    middle = hex_of_lab(look(WHITE, TEAL).reads_as)
    gingham = look((middle, 0.5), (WHITE, 0.25), (TEAL, 0.25), kind=PrintKind.PLAID)
    assert cloth_name(gingham) == "teal gingham"


def test_only_even_checks_of_two_threads_are_gingham():
    middle = hex_of_lab(look(WHITE, TEAL).reads_as)
    panes = look((WHITE, 0.72), (middle, 0.2), (TEAL, 0.08), kind=PrintKind.PLAID)
    assert cloth_name(panes) == "teal plaid"
    third = look((middle, 0.4), (WHITE, 0.2), (TEAL, 0.2), (RED, 0.2), kind=PrintKind.PLAID)
    assert cloth_name(third).endswith("plaid")
    printed = look((middle, 0.5), (WHITE, 0.25), (TEAL, 0.25))
    assert cloth_name(printed).endswith("print")


def test_many_cloths_are_named_as_one_by_one():
    cloths = [look(NAVY, kind=PrintKind.PLAIN), look((CREAM, 0.8), (RED, 0.2))]
    assert cloth_names(cloths) == [cloth_name(one) for one in cloths]
    assert cloth_names([]) == []


# Words of the public survey of colour names whose colour, as people gave it, every cloth dyer
# would know by no other: the survey's own hex values, not our table's.
@pytest.mark.parametrize(
    ("code", "word"),
    [("#01153e", "navy"), ("#650021", "maroon"), ("#87ae73", "sage"), ("#c79fef", "lavender"),
     ("#0504aa", "royal blue"), ("#ff028d", "hot pink"), ("#ceb301", "mustard"),
     ("#013220", "hunter green"), ("#fbeeac", "cream"), ("#3b638c", "denim")],
)  # fmt: skip
def test_a_colour_of_the_survey_is_called_as_people_did(code, word):
    (said,) = said_colours([lab_of_hex(code)])
    known = {
        "#013220": {"hunter green", "dark green"},
        "#fbeeac": {"cream", "pale yellow", "butter"},
    }
    assert said in known.get(code, {word})


def test_every_word_can_be_said_of_a_family_and_every_family_has_a_word():
    words = colour_words().values()
    assert {family for one in words for family in one.families} == set(FAMILIES)
    assert all(one.colours for one in words)
    for family in FAMILIES:
        assert any(one.called and family in one.families for one in words)


def test_a_word_is_only_said_of_its_families():
    # A pale pink and a peach differ little to a ruler, but nobody calls a tan "dusty rose".
    (said,) = said_colours([lab_of_hex("#c9ae85")])
    assert "tan" in colour_words()[said].families
