"""Sewing day, plans changed, twins answered, many scraps at once, phones: asked in this process.

Scraps are put in by hand, so that each page's numbers can be counted.
"""

from __future__ import annotations

import datetime
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from stash.colour.spaces import hex_of_lab
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import ScrapToLog
from stash.usecases.quilts.plan_quilt import quilt_named
from stash.usecases.quilts.quilt_cut import cut_scraps
from stash.usecases.scraps.review_scraps import ScrapFilter, find_scraps
from stash.usecases.twins.imprints import take_imprints
from stash.usecases.twins.one_cloth_questions import review
from stash.web.door.pairing import CODE_TRIES, Pairing, form_token, qr_svg, qr_text
from stash.web.door.phone_book import Phone, PhoneBook
from stash.web.door.settings import WebSettings
from stash.web.shown.quilt_drawing import QuiltDrawing
from stash.web.shown.tiles import tile_of, tiles_by_fabric, tiles_by_scrap, tiles_of_fabric
from tests.usecases.cloth import CREAM, NAVY, PINK, RED, SKY, TEAL, put, rectangle
from tests.usecases.twin_cloth import checks, looks
from tests.web.test_pages_worked_out import Asked, numbers_on, opened


def picture(colour: str) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (200, 200), colour).save(out, "JPEG", quality=95)
    return out.getvalue()


@pytest.fixture
def asked(tmp_path: Path) -> Iterator[tuple[Asked, FolderStore]]:
    """Six scraps of six fabrics that give one 4-in square each, and a palette."""
    for page, store in opened(tmp_path):
        for colour, place in zip(
            (NAVY, TEAL, SKY, RED, CREAM, PINK), ("tin", "tin", "", "box", "box", ""), strict=True
        ):
            put(store, colour, place=place, picture=picture(colour))
        page.done("/palettes", name="tide", words="blues and teals; no pinks")
        yield page, store


def planned(page: Asked, **more: str) -> None:
    plan = {"name": "raffle", "shape": "square", "size": "4", "rows": "2", "across": "2",
            "rule": "charm"}  # fmt: skip
    page.done("/quilts", **{**plan, **more})


# Sewing day.


def test_sewing_day_goes_from_cutting_by_bins_to_rows_pressed_in_turn(
    asked: tuple[Asked, FolderStore],
) -> None:
    page, store = asked
    planned(page, across="3")
    page.done("/quilt/allot", name="raffle")
    text = page.text("/quilt/sew?name=raffle")
    quilt = quilt_named(store, "raffle")
    # Scraps lie by bin, those without one first: 3 and 6, then box 4 and 5, then tin 1 and 2.
    html = page.html("/quilt/sew?name=raffle")
    order = [int(one) for one in re.findall(r'name="scraps?" value="(\d+)"', html)]
    assert list(dict.fromkeys(order)) == [3, 6, 4, 5, 1, 2]
    for place in ("1.1", "1.3", "2.1", "2.3"):
        assert place in text
    assert "to the right" in text and "to the left" in text
    assert text.index("to the right") < text.index("to the left")
    assert quilt.sewn == ()
    assert page.send("/quilt/sewn", name="raffle", row="1").status_code == 422  # not cut yet
    cut_scraps(store, "raffle", [])
    assert page.done("/quilt/sewn", name="raffle", row="1") == "/quilt/sew?name=raffle"
    assert quilt_named(store, "raffle").sewn == ("1.1", "1.2", "1.3")
    assert page.send("/quilt/sewn", name="raffle", row="").status_code == 422
    assert page.send("/quilt/sewn", name="raffle", row="7").status_code == 422
    assert page.client.get("/quilt/sew?name=none").status_code == 404


def test_before_it_is_laid_out_sewing_day_has_no_rows(asked: tuple[Asked, FolderStore]) -> None:
    page, _ = asked
    planned(page)
    html = page.html("/quilt/sew?name=raffle")
    assert 'name="row"' not in html


# A plan changed.


def test_a_change_is_told_before_it_is_kept_and_only_what_was_changed_is(
    asked: tuple[Asked, FolderStore],
) -> None:
    page, store = asked
    planned(page)
    page.done("/quilt/allot", name="raffle")
    form = {"name": "raffle", "shape": "square", "setting": "straight", "palette": "",
            "rows": "3", "across": "2", "size": "4", "rule": "charm", "limit": "1"}  # fmt: skip
    query = "&".join(f"{key}={value}" for key, value in form.items())
    told = page.text(f"/quilt/change/would?{query}")
    assert quilt_named(store, "raffle").plan.rows == 2  # nothing is kept by asking
    assert "8 × 12" in told.replace("\u00a0", " ")  # 2 across and 3 rows of 4 in
    same = page.text(f"/quilt/change/would?{query}".replace("rows=3", "rows=2"))
    assert "8 × 8" in same.replace("\u00a0", " ")
    for wrong in ("rows=x", "rows=12345", "rows=0"):
        said = page.text(f"/quilt/change/would?{query}".replace("rows=3", wrong))
        assert "8 × 12" not in said
    assert page.done("/quilt/change", **form) == "/quilt?name=raffle&said=quilt"
    plan = quilt_named(store, "raffle").plan
    assert (plan.rows, plan.across, plan.size, plan.limit) == (3, 2, "4", 1)
    page.done("/quilt/change", **{**form, "rule": "limit", "limit": "2"})
    assert quilt_named(store, "raffle").plan.limit == 2
    page.done("/quilt/change", **{**form, "rule": "", "shape": "tumbler"})
    plan = quilt_named(store, "raffle").plan
    assert (plan.template, plan.setting, plan.limit) == ("tumbler", "interlocking", None)
    refused = page.send("/quilt/change", **{**form, "rule": "limit", "limit": "many"})
    assert refused.status_code == 422 and 'value="many"' in refused.text


def test_a_plan_is_shown_as_it_is(asked: tuple[Asked, FolderStore]) -> None:
    page, _ = asked
    planned(page, rule="limit", limit="3", palette="tide")
    html = page.html("/quilt/change?name=raffle")
    fields = dict(re.findall(r'name="(rows|across|size|limit)"[^>]*value="([^"]*)"', html))
    assert fields == {"rows": "2", "across": "2", "size": "4 in", "limit": "3"}
    chosen = re.findall(r'<option value="([^"]*)"[^>]*selected', html)
    assert {"square", "tide"} <= set(chosen)


def test_a_quilt_is_copied_set_aside_taken_up_and_deleted(
    asked: tuple[Asked, FolderStore],
) -> None:
    page, store = asked
    planned(page)
    page.done("/quilt/allot", name="raffle")
    where = page.done("/quilt/copy", name="raffle")
    assert where == "/quilt?name=raffle%2C+copy&said=copied"
    assert page.done("/quilt/copy", name="raffle").startswith("/quilt?name=raffle%2C+copy+2")
    assert quilt_named(store, "raffle, copy").pieces == ()
    assert page.done("/quilt/aside", name="raffle", what="away").endswith("said=aside")
    assert quilt_named(store, "raffle").set_aside
    assert page.done("/quilt/aside", name="raffle", what="back").endswith("said=taken-up")
    assert not quilt_named(store, "raffle").set_aside
    assert page.done("/quilt/delete", name="raffle") == "/quilts?said=gone"
    assert page.client.get("/quilt?name=raffle").status_code == 404


def test_a_scrap_that_has_left_the_stash_is_missing_and_not_offered_to_cut(
    asked: tuple[Asked, FolderStore],
) -> None:
    page, store = asked
    planned(page)
    page.done("/quilt/allot", name="raffle")
    held = sorted(quilt_named(store, "raffle").held_scraps)
    before = page.html("/quilt?name=raffle")
    assert "missing" not in before
    page.done("/scraps/many", what="drop", scrap=str(held[0]), words="")
    gone = sum(piece.scrap == held[0] for piece in quilt_named(store, "raffle").pieces)
    after = page.html("/quilt?name=raffle")
    assert f"Choose scraps for the {gone} missing" in after
    assert f"{gone} missing." in after
    cut = re.compile(r'name="scraps?" value="(\d+)"')
    assert {int(one) for one in cut.findall(before)} >= {held[0]}
    assert held[0] not in {int(one) for one in cut.findall(after)}


# Many scraps at once.


def test_one_thing_is_done_to_all_that_were_chosen(asked: tuple[Asked, FolderStore]) -> None:
    page, store = asked

    def send(what: str, words: str = "", **more: str) -> str:
        return page.done("/scraps/many", what=what, words=words, **more)

    # A form sends one value a name here; each is chosen on its own.
    assert send("place", "shelf", scrap="2", was_family="blue", was_size="") == (
        "/?family=blue&said=placed"
    )
    assert [scrap.place for scrap in store.scraps()] == ["tin", "shelf", "", "box", "box", ""]
    send("name", "Harbour", scrap="3")
    assert [fabric.name for fabric in store.fabrics()][2] == "Harbour"
    put(store, NAVY, washed=False)
    send("washed", scrap="7")
    assert store.scrap(7).washed
    assert send("drop", scrap="7") == "/?said=gone"
    assert [scrap.number for scrap in store.scraps()] == [1, 2, 3, 4, 5, 6]
    refused = page.send("/scraps/many", what="drop")
    assert refused.status_code == 422 and len(store.scraps()) == 6


@pytest.mark.parametrize(
    ("sort", "order"),
    [
        ("", [6, 5, 4, 3, 2, 1]),  # the newest first
        ("size", [1, 2, 3, 4, 5, 6]),  # all alike: as they came
        (
            "value",
            [5, 3, 6, 2, 4, 1],
        ),  # cream, sky, pink, teal, red, navy: L* 92, 77, 69, 54, 38, 28
    ],
)
def test_the_wall_is_put_in_order(
    asked: tuple[Asked, FolderStore], sort: str, order: list[int]
) -> None:
    page, store = asked
    lightness = {scrap.number: scrap.appearance.reads_as[0] for scrap in store.scraps()}
    html = page.html(f"/?sort={sort}&part=tiles")
    found = list(dict.fromkeys(numbers_on(html)))
    assert found == order
    if sort == "value":
        assert [lightness[number] for number in found] == sorted(lightness.values(), reverse=True)


def test_chips_count_each_family_and_show_its_colour(asked: tuple[Asked, FolderStore]) -> None:
    page, store = asked
    html = page.html("/?place=tin")
    assert sorted(set(numbers_on(html))) == [1, 2]
    navy = hex_of_lab(store.scrap(1).appearance.reads_as)
    assert navy in html
    assert page.html("/?page=9999999")  # no such page is the last or the first
    assert sorted(set(numbers_on(page.html("/?page=1")))) == [1, 2, 3, 4, 5, 6]


# Twins.


def test_what_may_be_one_cloth_is_answered_by_one_tap(tmp_path: Path) -> None:
    for page, store in opened(tmp_path):
        square = rectangle(4, 4)
        for seed, ink in enumerate([(40, 60, 140)] * 2 + [(170, 40, 50)] * 2):
            store.add_scrap(
                ScrapToLog(square, looks(), checks(ink, seed=seed), 60.0, top_in=4.0), why="a test"
            )
        take_imprints(store)
        assert [one.scraps for one in review(store).waiting] == [(1, 2), (3, 4)]
        assert page.send("/twins", group="1 2", answer="maybe").status_code == 422
        assert page.send("/twins", group="1 2", scrap="1", answer="same").status_code == 422
        assert page.done("/twins", group="1 2", answer="different", here="/scrap/1") == (
            "/scrap/1?said=twins"
        )
        assert [one.scraps for one in review(store).waiting] == [(3, 4)]
        away = page.done("/twins", group="3 4", answer="not sure", here="/evil/x")
        assert away == "/twins?said=twins"
        assert review(store).waiting == ()
        text = page.text("/twins")
        assert "different" in text and "not sure" in text
        answer = page.client.get("/twins/1/8.jpg")
        assert Image.open(io.BytesIO(answer.content)).size == (320, 320)
        bare = put(store, RED)
        assert page.client.get(f"/twins/{bare.number}/8.jpg").status_code == 404


# Cards, phones.


def test_our_card_is_registered_once_and_sent_to_be_printed(
    asked: tuple[Asked, FolderStore],
) -> None:
    page, store = asked
    for _ in range(2):
        assert page.done("/cards/print", paper="a4") == "/cards/our-card.pdf?paper=a4"
    (card,) = store.documents("card")
    assert card.name == "our printed card"
    answer = page.client.get("/cards/our-card.pdf?paper=a4")
    assert answer.content[:5] == b"%PDF-"
    assert answer.headers["content-type"] == "application/pdf"


def test_a_secret_is_good_once_and_a_code_five_times_tried() -> None:
    pairing = Pairing()
    secret = pairing.secret
    assert pairing.redeem("wrong") is None
    session = pairing.redeem(secret, device="My\x07 phone" + "x" * 80)
    assert session and pairing.knows(session) and not pairing.knows(secret)
    (phone,) = pairing.phones
    assert phone.name == ("My phone" + "x" * 80)[:60]
    assert phone.since == datetime.date.today().isoformat()
    assert session not in phone.mark and len(phone.mark) == 64
    assert pairing.redeem(secret) is None and pairing.secret != secret
    code = pairing.new_code()
    assert re.fullmatch(r"\d{6}", code)
    other = f"{(int(code) + 1) % 10**6:06d}"
    for _ in range(CODE_TRIES):
        assert pairing.redeem_code(other) is None
    assert pairing.redeem_code(code) is None  # the tries are used up
    code = pairing.new_code()
    typed = pairing.redeem_code(f" {code[:3]}-{code[3:]} ")
    assert typed and pairing.knows(typed)
    assert pairing.redeem_code(code) is None
    pairing.forget(pairing.phones[0].mark)
    assert not pairing.knows(session) and pairing.knows(typed)
    assert pairing.phones[0].name == "phone"


def test_an_old_code_opens_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    from stash.web.door import pairing as module

    pairing, now = Pairing(), 1000.0
    monkeypatch.setattr(module.time, "monotonic", lambda: now)
    code = pairing.new_code()
    now += 599
    assert pairing.redeem_code("x") is None
    now += 2
    assert pairing.redeem_code(code) is None
    assert Pairing().redeem_code("") is None


def test_phones_are_known_again_and_forty_at_most(tmp_path: Path) -> None:
    file = tmp_path / "phones.json"
    book = PhoneBook(file)
    assert (book.open, book.phones) == (False, ())
    for number in range(41):
        book.add(Phone(f"{number}", "phone", "2026-01-01"))
    book.note_open(opened=True)
    again = PhoneBook(file)
    assert again.open and len(again.phones) == 40
    assert [again.phones[0].mark, again.phones[-1].mark] == ["1", "40"]
    again.forget("40")
    assert PhoneBook(file).phones[-1].mark == "39"
    for broken in ("{", "[]", '{"open": true}', '{"open": true, "phones": [{"mark": "x"}]}'):
        file.write_text(broken)
        assert (PhoneBook(file).open, PhoneBook(file).phones) == (False, ())
    assert json.loads(file.read_text())["open"] is True  # reading writes nothing


def test_forms_of_two_browsers_carry_different_tokens() -> None:
    assert form_token("a") == form_token("a") != form_token("b")
    assert re.fullmatch(r"[0-9a-f]{64}", form_token("a"))


def test_an_address_is_drawn_for_page_and_terminal() -> None:
    svg = qr_svg("http://192.168.0.2:8765/join?key=x")
    assert svg.startswith("<svg") and "#000" in svg and "viewBox" in svg
    assert len(qr_text("http://192.168.0.2:8765/").splitlines()) > 10


def test_a_page_is_called_by_this_computers_names_and_that_in_the_network() -> None:
    here = WebSettings(8765)
    assert here.hosts == {"127.0.0.1:8765", "localhost:8765", "[::1]:8765"} == here.local_hosts
    home = WebSettings(8765, "192.168.0.2")
    assert home.hosts - home.local_hosts == {"192.168.0.2:8765"}
    usual = WebSettings(80, "192.168.0.2")
    assert {"127.0.0.1", "192.168.0.2", "192.168.0.2:80"} <= usual.hosts
    assert not {"192.168.0.2", "192.168.0.2:80"} & usual.local_hosts
    assert home.address == "http://127.0.0.1:8765/"
    assert home.join_address("s") == "http://192.168.0.2:8765/join?key=s"
    assert home.own_address("s") == "http://127.0.0.1:8765/join?key=s"


# Tiles and a quilt's drawing.


def test_a_fabrics_tile_is_that_of_its_largest_scrap(tmp_path: Path) -> None:
    from stash.wiring import open_store

    store = open_store(tmp_path)
    small = put(store, NAVY, (3.0, 4.0))
    put(store, NAVY, (6.0, 2.5), fabric=small.fabric, picture=picture(NAVY))
    put(store, TEAL)
    views = list(find_scraps(store, ScrapFilter()))
    tiles = tiles_by_fabric(views)
    assert {fabric: tile.number for fabric, tile in tiles.items()} == {1: 2, 2: 3}
    assert (tiles[1].short_in, tiles[1].long_in) == (2.5, 6.0)
    assert tiles[1].version and not tile_of(views[0]).version
    assert [tile.number for tile in tiles_of_fabric(views, 1)] == [1, 2]
    assert sorted(tiles_by_scrap(views)) == [1, 2, 3]


def test_a_drawing_of_a_quilt_names_each_place_with_the_piece_in_it(
    asked: tuple[Asked, FolderStore],
) -> None:
    from stash.usecases.quilts.plan_quilt import pattern_of

    page, store = asked
    planned(page, across="3")
    page.done("/quilt/allot", name="raffle")
    quilt = quilt_named(store, "raffle")
    drawing = QuiltDrawing(
        quilt, pattern_of(quilt.plan), tiles_by_scrap(find_scraps(store, ScrapFilter()))
    )
    places = [piece.place for piece in drawing.pieces]
    assert places == ["1.1", "1.2", "1.3", "2.1", "2.2", "2.3"]
    for number, piece in enumerate(drawing.pieces):
        assert piece.scrap == quilt.pieces[quilt.piece_at[number]].scrap
        assert not piece.cut
    page.done("/quilt/cut", name="raffle", scrap=str(drawing.pieces[0].scrap))
    after = quilt_named(store, "raffle")
    cut = QuiltDrawing(after, pattern_of(after.plan), {}).pieces
    assert [piece.cut for piece in cut] == [True] + [False] * 5
