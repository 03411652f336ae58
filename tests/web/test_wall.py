"""The wall: sorted, counted by its chips, and put right for many scraps at once."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from stash.colour.naming import NEUTRALS
from stash.usecases.scraps.review_scraps import ScrapFilter, find_scraps
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving


@pytest.fixture(scope="module")
def wall(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    home = tmp_path_factory.mktemp("stash")
    fill_stash(open_store(home), 20)
    with serving(home) as served:
        yield served, home


def shown(served: Served, query: str) -> list[int]:
    text = served.client.get(f"/?{query}").text
    return [int(number) for number in re.findall(r'class="swatch" href="/scrap/(\d+)"', text)]


def send(served: Served, what: str, numbers: list[int], words: str = "") -> httpx.Response:
    fields = {"token": served.token(), "what": what, "words": words}
    return served.client.post("/scraps/many", data={**fields, "scrap": [str(n) for n in numbers]})


def test_the_wall_is_sorted_by_age_lightness_and_size(wall: tuple[Served, Path]) -> None:
    served, home = wall
    scraps = {scrap.number: scrap for scrap in open_store(home).scraps()}
    assert shown(served, "") == sorted(scraps, reverse=True)
    light = [scraps[n].appearance.reads_as[0] for n in shown(served, "sort=value")]
    assert light == sorted(light, reverse=True)
    areas = [scraps[n].outline.area_sq_in for n in shown(served, "sort=size")]
    assert areas == sorted(areas, reverse=True)


def test_scraps_of_one_family_lie_together_by_hue_and_neutrals_come_last(
    wall: tuple[Served, Path],
) -> None:
    served, home = wall
    families = {v.scrap.number: v.family for v in find_scraps(open_store(home), ScrapFilter())}
    order = [families[number] for number in shown(served, "sort=hue")]
    assert Counter(order) == Counter(families.values())
    runs = [one for one, before in zip(order, ["", *order], strict=False) if one != before]
    assert len(runs) == len(set(runs))
    neutral = [family in NEUTRALS for family in order]
    assert neutral == sorted(neutral) and any(neutral)


def test_chips_tell_how_many_are_left_by_the_other_filters(wall: tuple[Served, Path]) -> None:
    served, home = wall
    views = find_scraps(open_store(home), ScrapFilter(values=("dark",)))
    text = served.client.get("/?value=dark&family=blue").text
    told = dict(re.findall(r'</svg>(\w+) <span class="soft">(\d+)</span>', text))
    counts = Counter(view.family for view in views)
    assert {family: int(count) for family, count in told.items() if int(count)} == counts


def test_many_scraps_are_put_right_at_once_and_no_other(wall: tuple[Served, Path]) -> None:
    served, home = wall
    before = {scrap.number: scrap for scrap in open_store(home).scraps()}
    assert send(served, "bin", [2, 5, 9], "Green tin").status_code == 303
    assert send(served, "washed", [2, 5]).status_code == 303
    assert send(served, "name", [9], "Bay").status_code == 303
    assert send(served, "drop", [11, 12]).status_code == 303
    after = {scrap.number: scrap for scrap in open_store(home).scraps()}
    assert set(before) - set(after) == {11, 12}
    assert {n for n, one in after.items() if one.place == "Green tin"} == {2, 5, 9}
    assert {n for n, one in after.items() if one.washed} == {2, 5}
    assert "Bay" in [fabric.name for fabric in open_store(home).fabrics()]
    assert all(after[n] == before[n] for n in set(after) - {2, 5, 9})
    served.post("/undo")  # all that was taken out is one change
    assert {scrap.number for scrap in open_store(home).scraps()} == set(before)


def test_nothing_chosen_is_told(wall: tuple[Served, Path]) -> None:
    answer = send(wall[0], "bin", [], "Green tin")
    assert answer.status_code == 422 and "Choose" in answer.text


def test_a_name_given_to_many_is_taken_back_by_one_undo(wall: tuple[Served, Path]) -> None:
    served, home = wall
    before = {fabric.number: fabric.name for fabric in open_store(home).fabrics()}
    assert send(served, "name", [11, 12, 13], "Harbour shirting").status_code == 303
    named = [f.number for f in open_store(home).fabrics() if f.name == "Harbour shirting"]
    assert len(named) == 3
    served.post("/undo")
    assert {fabric.number: fabric.name for fabric in open_store(home).fabrics()} == before
