"""Two windows on one scrap: what the older one did not touch is never laid over a newer change."""

from __future__ import annotations

import html
import re
from pathlib import Path

import httpx
import pytest

from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving


@pytest.fixture
def page(tmp_path: Path):
    """A stash with one scrap, shown."""
    fill_stash(open_store(tmp_path), 1)
    with serving(tmp_path) as served:
        yield served, tmp_path


def filled_in(served: Served, form: str) -> dict[str, str]:
    """Give the fields of a form of the scrap's page as a browser would send them untouched."""
    text = served.client.get("/scrap/1").text
    body = re.search(rf'action="/scrap/1/{form}".*?</form>', text, re.DOTALL).group()
    fields = {}
    for found in re.finditer(r"<input[^>]*>", body):
        told = dict(re.findall(r'(\w+)="([^"]*)"', found.group()))
        sent = told.get("type") != "checkbox" or " checked" in found.group()
        if sent and "name" in told:
            fields[told["name"]] = html.unescape(told.get("value", ""))
    for name, value in re.findall(
        r'<textarea id="\w+" name="(\w+)"[^>]*>(.*?)</textarea>', body, re.DOTALL
    ):
        fields[name] = html.unescape(value).replace("\n", "\r\n")
    fields.pop("token")
    return fields


def send(served: Served, form: str, fields: dict[str, str]) -> httpx.Response:
    return served.post(f"/scrap/1/{form}", **fields)


def test_what_two_windows_change_in_different_fields_is_kept_from_both(page) -> None:
    served, home = page
    older, newer = filled_in(served, "place"), filled_in(served, "place")
    assert send(served, "place", newer | {"notes": "frays", "washed": "1"}).status_code == 303
    assert send(served, "place", older | {"place": "Red tin"}).status_code == 303
    scrap = open_store(home).scrap(1)
    assert (scrap.notes, scrap.washed, scrap.place) == ("frays", True, "Red tin")


def test_the_same_field_changed_in_both_windows_keeps_the_first_and_says_so(page) -> None:
    served, home = page
    older, newer = filled_in(served, "place"), filled_in(served, "place")
    assert send(served, "place", newer | {"place": "Red tin"}).status_code == 303
    refused = send(served, "place", older | {"place": "Green tin", "notes": "frays"})
    assert refused.status_code == 409
    assert "The bin of this scrap was changed in another window" in refused.text
    scrap = open_store(home).scrap(1)
    assert (scrap.place, scrap.notes) == ("Red tin", "")
    assert send(served, "place", older | {"place": "Red tin"}).status_code == 303  # both agree


def test_an_outline_mended_in_both_windows_keeps_the_first_and_says_so(page) -> None:
    served, home = page
    older, newer = filled_in(served, "outline"), filled_in(served, "outline")
    assert send(served, "outline", newer | {"corners": "0, 0\n4, 0\n4, 3\n0, 3"}).status_code == 303
    mended = open_store(home).scrap(1).outline
    assert send(served, "outline", older).status_code == 303  # nothing was changed in it
    refused = send(served, "outline", older | {"corners": "0, 0\n5, 0\n5, 3"})
    assert refused.status_code == 409
    assert "outline of this scrap was changed in another window" in refused.text
    assert open_store(home).scrap(1).outline == mended
    assert mended.area_sq_in == pytest.approx(12)


def test_a_name_given_in_one_window_outlives_a_tick_in_the_other(page) -> None:
    served, home = page
    older, newer = filled_in(served, "name"), filled_in(served, "name")
    assert send(served, "name", newer | {"name": "Grandmother's apron"}).status_code == 303
    older = {**older, "one_way": ""} if "one_way" in older else {**older, "one_way": "1"}
    assert send(served, "name", older).status_code == 303
    fabric = open_store(home).fabrics()[0]
    assert fabric.name == "Grandmother's apron"
    assert fabric.one_way == bool(older["one_way"])


def test_a_grain_set_in_both_windows_keeps_the_first_and_says_so(page) -> None:
    served, home = page
    older, newer = filled_in(served, "grain"), filled_in(served, "grain")
    assert send(served, "grain", newer | {"grain": "30", "what": "set"}).status_code == 303
    refused = send(served, "grain", older | {"grain": "60", "what": "set"})
    assert refused.status_code == 409
    assert "The grain of this scrap was changed in another window" in refused.text
    assert send(served, "grain", older | {"what": "forget"}).status_code == 409
    assert open_store(home).scrap(1).grain_deg == 30.0
    now = filled_in(served, "grain")
    assert send(served, "grain", now | {"what": "forget"}).status_code == 303
    assert open_store(home).scrap(1).grain_deg is None
