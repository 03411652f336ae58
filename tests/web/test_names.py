"""Whatever a quilter calls a thing is shown as typed, and nothing more."""

from __future__ import annotations

from html import escape
from pathlib import Path

import pytest

from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving

NAMES = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "javascript:alert(1)",
    "{{7*7}}",
    "{% include 'base.html' %}",
    "\u202eesrever",
    "a" * 10_000,
    "Robert'); DROP TABLE scraps;--",
    "=1+1",
    "50 % _ wool \\",
    "日本の布 🧵",
]


def shown(text: str) -> set[str]:
    """Give how a page may write a text: the same letters, its signs escaped."""
    plain = escape(text, quote=True)
    return {plain, plain.replace("&quot;", "&#34;").replace("&#x27;", "&#39;")}


@pytest.mark.parametrize("name", NAMES)
def test_a_fabric_is_called_what_was_typed(page: Served, name: str) -> None:
    assert page.post("/scrap/1/name", name=name).status_code == 303
    for path in ("/scrap/1", "/"):
        text = page.client.get(path).text
        assert any(one in text for one in shown(name[:120])), path
        assert "<script>alert" not in text and "<img src=x" not in text and ">49<" not in text


@pytest.mark.parametrize("name", NAMES)
def test_a_bin_is_called_what_was_typed(page: Served, name: str) -> None:
    assert page.post("/scrap/2/place", place=name).status_code == 303
    for path in ("/scrap/2", "/", "/photograph", "/print"):
        text = page.client.get(path).text
        assert any(one in text for one in shown(name[:200])), path
        assert "<script>alert" not in text and "<img src=x" not in text and ">49<" not in text
    assert page.client.get("/print/labels.pdf").content.startswith(b"%PDF")


@pytest.mark.parametrize("name", NAMES)
def test_a_palette_is_called_what_was_typed(page: Served, name: str) -> None:
    answer = page.post("/palettes", name=name, words="blue")
    assert answer.status_code == 303
    kept = name[:120].strip()
    for path in (answer.headers["location"], "/palettes"):
        text = page.client.get(path).text
        assert any(one in text for one in shown(kept)), path
        assert "<script>alert" not in text and "<img src=x" not in text
    assert page.post("/palettes/forget", name=kept).status_code == 303


@pytest.mark.parametrize("words", ["%", "_", "%%", "' OR 1=1 --", "\\", "*", "[a-z]", "("])
def test_signs_in_the_search_box_are_only_signs(page: Served, words: str) -> None:
    answer = page.client.get("/", params={"words": words})
    assert answer.status_code == 200
    assert "0 of 12 shown" in answer.text


def test_the_same_form_sent_twice_changes_nothing_more(page: Served) -> None:
    for _ in range(2):
        assert page.post("/scrap/3/place", place="Twice").status_code == 303
    assert page.client.get("/", params={"place": "Twice"}).text.count('class="swatch"') == 1


def test_a_problem_is_one_sentence_and_422(page: Served) -> None:
    answer = page.post("/palettes", name="X", words="no such colour anywhere")
    assert answer.status_code == 422
    assert "Traceback" not in answer.text
    assert page.post("/scrap/1/outline", corners="0,0\n1,1").status_code == 422
    assert page.post("/scrap/1/outline", corners="a,b\n1,1\n2,2").status_code == 422
    assert page.post("/scrap/1/outline", corners="nan,0\n1,1\n2,0").status_code == 422
    assert page.post("/scrap/1/join", other="999999").status_code == 404
    assert page.client.get("/palette", params={"name": "none"}).status_code == 404
    assert page.client.get("/scrap/999").status_code == 404


@pytest.mark.parametrize(
    "address",
    [
        "/print/template.pdf?shape=/etc/passwd.svg&size=1",
        "/print/template.pdf?shape=../../x.json&size=1",
        "/match?palette=Tidewater&shape=/etc/hosts.json&size=1",
    ],
)
def test_a_shape_is_never_a_file_of_this_computer(
    tmp_path: Path, page: Served, address: str
) -> None:
    page.post("/palettes", name="Tidewater", words="blue")
    answer = page.client.get(address)
    assert answer.status_code == 422
    assert "is no shape to choose from" in answer.text


def test_a_shape_given_as_a_file_inside_the_stash_is_not_read_either(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    fill_stash(store, 2)
    make_palette(store, PaletteRequest("Blue", words="blue"))
    own = tmp_path / "own.json"
    own.write_text('{"cut": [[0, 0], [1, 0], [0, 1]]}')
    with serving(tmp_path) as served:
        asked = {"palette": "Blue", "shape": str(own), "size": "1"}
        assert served.client.get("/match", params=asked).status_code == 422
