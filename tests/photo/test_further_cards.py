"""Several cards in one photo: a truer table, no scraps, and a refusal where they disagree."""

from functools import cache

import numpy as np
import pytest

from stash.demo.chart import CHART_FRAME, chart_tile
from stash.demo.laying import Leftover
from stash.demo.paper import PrintedSheet
from stash.demo.scene import RenderedScene, SceneSpec, render_scene
from stash.errors import CardsDisagreeError
from stash.photo.cards.card import chart24
from stash.photo.cards.card_finding import find_cards
from stash.photo.cards.printed_card import printed_card
from stash.photo.files.reading import read_photo
from stash.photo.inches.loose_corners import LoosePrint, level_by_corners
from stash.photo.inches.plane import Plane
from stash.photo.inches.table_plane import plane_of_photo
from stash.photo.measuring import measure_photo
from tests.photo.corner_papers import laid_marker
from tests.photo.scoring import match_scraps, off_and_stated
from tests.photo.test_printed_card import printed_light

SIZE = (2000, 1500)
CHART, PAGE = chart24("chart", 0.55), printed_card("page")


def chart_paper(at_in: tuple[float, float], *, pitch_in: float = 0.55) -> PrintedSheet:
    width, height = (2 * half * pitch_in for half in CHART_FRAME)
    return PrintedSheet(chart_tile()[0], (width, height), at_in, 30.0)


def page_paper(paper: str, side_in: tuple[float, float], turn_deg: float) -> PrintedSheet:
    return PrintedSheet(printed_light(paper).astype(np.float32), side_in, (8.0, 15.0), turn_deg)


PAPERS = {
    # Smaller in the photo than the first, which so stays the one that is used.
    "chart": chart_paper((7.0, 15.0)),
    "letter": page_paper("letter", (11.0, 8.5), 8.0),
    "a4": page_paper("a4", (297 / 25.4, 210 / 25.4), 100.0),
    "small chart": chart_paper((7.0, 15.0), pitch_in=0.5),
    "curled marker": laid_marker(1, (7.0, 15.0), scale=0.9),
}


@cache
def scene(*papers: str) -> RenderedScene:
    """Photograph a table of 40 x 30 in a 3-inch chart at its right end."""
    spec = SceneSpec(
        (Leftover("coral", "square", 5.0), Leftover("deep water", "ell", 6.0)),
        size_px=SIZE,
        board_in=(40.0, 30.0),
        tilt_deg=10.0,
        k1=0.006,
        card_at_in=(33.5, 15.0),
    )
    return render_scene(spec, seed=3, papers=tuple(PAPERS[name] for name in papers))


def planes(one: RenderedScene) -> tuple[Plane, Plane, tuple[str, ...]]:
    """Give the plane by the board's own chart alone and by all cards, and what was said."""
    photo = read_photo(one.jpeg(), name="cards")
    cards = find_cards(photo.pixels_srgb, [CHART, PAGE])
    alone = plane_of_photo(photo, cards[0])
    loose = level_by_corners(photo.pixels_srgb, alone, LoosePrint(), cards)
    return alone, loose.plane, loose.notes


@pytest.mark.parametrize("paper", ["chart", "letter", "a4"])
def test_a_second_card_makes_the_table_truer_and_is_no_scrap(paper):
    one = scene(paper)
    alone, both, notes = planes(one)
    assert notes == ("The table was levelled by a second card.",)
    off, stated = off_and_stated(one, both)
    assert off.max() < off_and_stated(one, alone)[0].max() / 2
    assert off.max() < 0.08  # the outline error aimed at
    assert (off <= stated).mean() >= 0.95
    measured = measure_photo(read_photo(one.jpeg(), name="cards"), [CHART, PAGE])
    matches, false = match_scraps(one.truth, [scrap.outline for scrap in measured.scraps])
    assert (false, [match.index is None for match in matches]) == (0, [False, False])


def test_two_charts_of_different_size_are_refused_as_sizes_would_be_guesses():
    with pytest.raises(CardsDisagreeError, match="Two charts lie in the photo") as told:
        measure_photo(read_photo(scene("small chart").jpeg(), name="two"), [CHART])
    assert min(told.value.times, 1 / told.value.times) == pytest.approx(0.5 / 0.55, abs=0.01)


def test_one_marker_that_does_not_fit_is_left_out():
    alone, both, notes = planes(scene("curled marker"))
    assert both is alone
    assert len(notes) == 1 and "left out" in notes[0]
