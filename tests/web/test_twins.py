"""What may be one cloth on the page: in sight while it waits, one tap each, two windows."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from stash.shape.plane.outline import outline_of
from stash.usecases.ports import ScrapToLog
from stash.usecases.twins.imprints import take_imprints
from stash.usecases.twins.one_cloth_questions import review
from stash.wiring import open_store
from tests.usecases.twin_cloth import checks, looks
from tests.web.serving import serving


@pytest.fixture
def page(tmp_path: Path):
    """Scraps 1 to 3 of one cloth and 4, 5 of another, shown."""
    store = open_store(tmp_path)
    square = outline_of([(0, 0), (4, 0), (4, 4), (0, 4)])
    for seed, ink in enumerate([(40, 60, 140)] * 3 + [(170, 40, 50)] * 2):
        store.add_scrap(
            ScrapToLog(square, looks(), checks(ink, seed=seed), 60.0, top_in=4.0), why="added"
        )
    take_imprints(store)
    with serving(tmp_path) as served:
        yield served, tmp_path


def waiting(home: Path) -> list[tuple[int, ...]]:
    return [group.scraps for group in review(open_store(home)).waiting]


def test_groups_that_wait_are_in_sight_on_every_page_until_one_tap_answers_them(page) -> None:
    served, home = page
    bar = re.search(
        r'<nav class="waiting" aria-label="[^"]+">.*?</nav>', served.client.get("/").text
    )
    assert bar is not None  # a landmark: whoever goes from one to the next by ear passes it
    assert "2 groups may be one cloth" in bar[0]
    shown = served.client.get("/twins").text
    squares = re.findall(r'src="(/twins/\d+/\d+\.jpg[^"]*)"', shown)
    assert len(squares) == 5
    assert served.client.get(squares[0]).headers["content-type"] == "image/jpeg"
    assert "3 to 5" not in shown
    assert "2 to 5 fabrics; 3 pairs not decided" in shown
    said = served.post("/twins", group="4 5", scrap="4", answer="same")
    assert said.status_code == 422  # one alone is no pair
    assert served.post("/twins", group="4 5", answer="different").status_code == 303
    assert waiting(home) == [(1, 2, 3)]
    assert served.post("/twins", group="1 2 3", scrap=["1", "3"], answer="same").status_code == 303
    fabrics = {scrap.number: scrap.fabric for scrap in open_store(home).scraps()}
    assert fabrics[1] == fabrics[3] != fabrics[2]
    assert served.post("/twins", group="1 2 3", answer="not sure").status_code == 303
    assert waiting(home) == []
    assert "may be one cloth: look" not in served.client.get("/").text


def test_after_an_answer_the_keyboard_stands_on_the_next_group(page) -> None:
    served, _ = page
    assert "autofocus" not in served.client.get("/twins").text
    answered = served.post("/twins", group="4 5", answer="different")
    shown = served.client.get(answered.headers["location"]).text
    assert re.findall(r'name="group" value="([\d ]+)"', shown) == ["1 2 3"]
    assert re.findall(r"<button[^>]*autofocus[^>]*>([^<]*)", shown) == ["The ticked are the same"]


def test_a_group_another_window_answered_is_refused_and_its_answer_kept(page) -> None:
    served, home = page
    assert served.post("/twins", group="4 5", answer="different").status_code == 303
    later = served.post("/twins", group="4 5", scrap=["4", "5"], answer="same")
    assert later.status_code == 409
    fabrics = {scrap.number: scrap.fabric for scrap in open_store(home).scraps()}
    assert fabrics[4] != fabrics[5]
