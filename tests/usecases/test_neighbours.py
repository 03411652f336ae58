"""Substitutes, look-alikes, the wild one, what a scrap could join."""

import math

import pytest

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_hex
from stash.errors import NotFoundError
from stash.shape.plane.outline import outline_of
from stash.usecases.matching.match_palette import odd_ones
from stash.usecases.ports import Document, ScrapToLog
from stash.usecases.quilts.neighbours import could_join, substitutes, tally
from stash.usecases.twins.same_fabric import own_photo
from stash.wiring import open_store

NAVY, DENIM, SKY, LIME, CORAL = "#1f3f7a", "#2b4a80", "#a9c8e8", "#b6d432", "#e8735a"


def look(hex_colour: str) -> Appearance:
    lab = lab_of_hex(hex_colour)
    return Appearance(
        lab, (ColourShare(lab, 1.0),), PrintKind.PLAIN, mean_chroma=math.hypot(*lab[1:])
    )


@pytest.fixture
def store(tmp_path):
    store = open_store(tmp_path)
    corners = [(0, 0), (6, 0), (6, 6), (0, 6)]
    for colour in (NAVY, DENIM, SKY, LIME, CORAL):
        store.add_scrap(ScrapToLog(outline_of(corners), look(colour), washed=True), why="test")
    return store


def test_the_nearest_fabric_of_the_same_family_and_value_stands_in_first(store):
    found = substitutes(store, 1)
    assert [one.fabric for one in found] == [2, 3]  # denim, then sky; lime and coral are not blue
    assert found[0].same_value
    assert not found[1].same_value


def test_substitutes_for_a_fabric_nobody_has_are_refused_in_words(store):
    with pytest.raises(NotFoundError, match="stash fabrics"):
        substitutes(store, 99)


def test_the_lime_is_the_wild_one_among_blues(store):
    for shade in ("#274b86", "#33558f", "#22406f"):
        store.add_scrap(ScrapToLog(outline_of([(0, 0), (4, 0), (4, 4)]), look(shade)), why="test")
    assert odd_ones(store, [1, 2, 4, 6, 7, 8])[0].fabric == 4


def test_the_tally_counts_every_fabric_once(store):
    assert sum(one.fabrics for one in tally(store)) == 5


def test_a_fabric_one_owns_is_found_and_a_strange_one_is_not(store):
    owned, strange = own_photo(store, [look(CORAL), look("#7a2f8f")])
    assert owned.owned
    assert owned.alike[0].fabric == 5
    assert not strange.owned


def test_a_scrap_is_told_which_palettes_want_it(store):
    palette = palette_of_words("tide", "blues; no greens")
    store.keep_document(Document("palette", "tide", palette.to_dict()), why="test")
    assert [one.verdict for one in could_join(store, store.scrap(1))] == ["belongs"]
    assert [one.verdict for one in could_join(store, store.scrap(4))] == ["clashes"]
