"""Substitutes and the tally of families and values."""

from stash.colour.substitutes import have_and_need, substitutes, tally
from tests.colour.looks import fabric, look

NAVY, BLUE, SKY, RED = "#1f3f7a", "#24467f", "#9cc7e8", "#8f2030"


def test_the_same_family_and_value_stand_in_first():
    stash = [fabric(1, RED), fabric(2, SKY), fabric(3, BLUE), fabric(4, "#3a5f3a")]
    found = substitutes(look(NAVY), stash, n=2)
    assert [s.fabric for s in found] == [3, 2]
    assert found[0].same_family and found[0].same_value
    assert found[1].same_family and not found[1].same_value
    assert found[0].likeness > found[1].likeness


def test_an_empty_stash_has_no_substitute():
    assert substitutes(look(NAVY), []) == ()


def test_what_is_short_stands_first():
    have = tally([look(NAVY), look(BLUE), look(SKY), look(RED)])
    assert have == {("blue", "dark"): 2, ("blue", "light"): 1, ("red", "dark"): 1}
    lines = have_and_need(have, {("blue", "dark"): 5, ("teal", ""): 2, ("blue", ""): 3})
    assert [(line.family, line.value, line.have, line.need, line.short) for line in lines] == [
        ("blue", "dark", 2, 5, 3),
        ("teal", "", 0, 2, 2),
        ("blue", "", 3, 3, 0),
        ("blue", "light", 1, 0, 0),
        ("red", "dark", 1, 0, 0),
    ]
