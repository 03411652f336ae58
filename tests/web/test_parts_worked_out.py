"""Parts of the page one by one: forms to the last byte, order, rulers, pictures, phones."""

from __future__ import annotations

import asyncio
import io
from collections.abc import Iterator
from math import ceil
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from starlette.requests import Request

from stash.scrap import CardReport, PhotoView, Scrap
from stash.usecases.ports import PhotoToLog, ScrapToLog
from stash.web.app import make_app
from stash.web.door.addresses import Door
from stash.web.door.forms import Form, read_form
from stash.web.door.pairing import Pairing, form_token
from stash.web.door.phone_book import Phone, PhoneBook
from stash.web.door.security import Refusal
from stash.web.door.settings import Limits, WebSettings
from stash.web.shown.outline_drawing import OutlineDrawing
from stash.web.shown.quilt_drawing import QuiltDrawing
from stash.wiring import open_store
from tests.usecases.cloth import NAVY, RED, look, put, rectangle
from tests.web.in_process import Browser, browsing

SESSION = "s" * 43
TOKEN = form_token(SESSION)
SMALL = Limits(file_bytes=10, files=2, text_bytes=200, field_bytes=90, fields=4)


def read(body: bytes, kind: str, *, photos: bool = False, cut_in: int = 7) -> Form:
    """Read a form that comes in pieces of a few bytes."""
    pieces = [body[at : at + cut_in] for at in range(0, len(body), cut_in)]

    async def receive() -> dict[str, Any]:
        if not pieces:
            return {"type": "http.request", "body": b"", "more_body": False}
        return {"type": "http.request", "body": pieces.pop(0), "more_body": bool(pieces)}

    headers = [(b"content-type", kind.encode()), (b"content-length", str(len(body)).encode())]
    scope = {"type": "http", "method": "POST", "headers": headers, "state": {"session": SESSION}}
    return asyncio.run(read_form(Request(scope, receive), SMALL, photos=photos))


def plain(text: str) -> Form:
    return read(f"token={TOKEN}&{text}".encode(), "application/x-www-form-urlencoded")


def parts(*fields: tuple[str, bytes, str | None]) -> bytes:
    body = b""
    for name, value, file in (("token", TOKEN.encode(), None), *fields):
        named = "" if file is None else f'; filename="{file}"'
        body += f'--b\r\nContent-Disposition: form-data; name="{name}"{named}\r\n\r\n'.encode()
        body += value + b"\r\n"
    return body + b"--b--\r\n"


def in_parts(*fields: tuple[str, bytes, str | None], photos: bool = True) -> Form:
    return read(parts(*fields), "multipart/form-data; boundary=b", photos=photos)


def refused(status: int, ask: Any, *words: Any, **more: Any) -> None:
    with pytest.raises(Refusal) as told:
        ask(*words, **more)
    assert told.value.status == status


def test_a_form_is_read_up_to_its_limits_and_not_a_byte_further() -> None:
    assert plain("a=1&a=2&b=%C3%A9").fields["a"] == ["1", "2"]
    assert plain("b=%C3%A9").text("b") == "é"
    assert plain("a=1&b=2&c=3").text("c") == "3"  # four fields with the token
    refused(413, plain, "a=1&b=2&c=3&d=4")
    assert len(plain(f"a={'x' * 90}").text("a")) == 90
    refused(413, plain, f"a={'x' * 91}")
    token = len(f"token={TOKEN}&a=")
    most = 200 - token - len("&b=")
    assert most > 90  # so that two fields are needed to fill the form
    assert plain(f"a={'x' * 90}&b={'y' * (most - 90)}").text("b") == "y" * (most - 90)
    refused(413, plain, f"a={'x' * 90}&b={'y' * (most - 89)}")


def test_a_form_with_photos_is_read_up_to_its_limits_and_not_a_byte_further() -> None:
    form = in_parts(("a", b"1", None), ("p", b"x" * 10, "one.jpg"), ("p", b"y", "two.jpg"))
    assert form.text("a") == "1"
    assert [(one.label, one.size, one.read()) for one in form.files] == [
        ("one.jpg", 10, b"x" * 10), ("two.jpg", 1, b"y"),
    ]  # fmt: skip
    form.close()
    empty = in_parts(("p", b"", "none.jpg"), ("p", b"y", "two.jpg"))
    assert [one.label for one in empty.files] == ["two.jpg"]
    empty.close()
    refused(413, in_parts, ("p", b"x" * 11, "one.jpg"))
    refused(413, in_parts, *[("p", b"x", "one.jpg")] * 3)
    refused(400, in_parts, ("p", b"x", "one.jpg"), photos=False)
    # The token's 64 letters are text of the form too: 90 in one field and 46 in another fill it.
    whole = in_parts(("a", b"x" * 90, None), ("b", b"y" * 46, None))
    assert whole.text("b") == "y" * 46
    refused(413, in_parts, ("a", b"x" * 90, None), ("b", b"y" * 47, None))
    refused(413, in_parts, ("a", b"x" * 91, None))
    refused(413, in_parts, *[("a", b"1", None)] * 4)
    assert len(in_parts(*[("a", b"1", None)] * 3).fields["a"]) == 3


def test_no_form_is_read_without_its_token_or_of_another_kind() -> None:
    kind = "application/x-www-form-urlencoded"
    refused(403, read, b"token=no&a=1", kind)
    refused(403, read, b"a=1", kind)
    refused(415, read, b"token=" + TOKEN.encode(), "text/plain")
    refused(415, read, parts(), "multipart/form-data")
    refused(400, read, b"--b\r\nnothing", "multipart/form-data; boundary=b")
    refused(400, read, parts(), "multipart/form-data; boundary=" + "b" * 71)
    body = parts(("p", b"x", "one.jpg")).replace(TOKEN.encode(), b"0" * 64)
    refused(403, read, body, "multipart/form-data; boundary=b", photos=True)


# Rulers and quilts.


def test_a_ruler_has_quarters_of_an_inch_or_half_centimetres() -> None:
    drawing = OutlineDrawing(Scrap(1, 1, rectangle(2, 1), look(NAVY)))
    marks = drawing.ticks(1.3)
    assert [(one.at, one.text) for one in marks] == [
        (0, "0"), (0.25, ""), (0.5, ""), (0.75, ""), (1.0, "1"), (1.25, ""),
    ]  # fmt: skip
    metric = OutlineDrawing(Scrap(1, 1, rectangle(2, 1), look(NAVY)), "cm").ticks(1.0)
    assert [(round(one.at * 2.54, 6), one.text) for one in metric] == [
        (0, "0"), (0.5, ""), (1.0, "1"), (1.5, ""), (2.0, "2"), (2.5, ""),
    ]  # fmt: skip


# Pictures.


def jpeg(colour: str, right: str, size: tuple[int, int]) -> bytes:
    image = Image.new("RGB", size, colour)
    image.paste(right, (size[0] // 2, 0, *size))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=95)
    return out.getvalue()


SHA = "c" * 64


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A page on one scrap with a picture, on one without, and on a photo of 4000 x 1000 pixels."""
    store = open_store(tmp_path_factory.mktemp("stash"))
    put(store, NAVY, (5.0, 5.0), picture=jpeg(NAVY, RED, (200, 200)), grain_deg=190.0)
    put(store, RED, (5.0, 5.0))
    view = PhotoView((400.0, 0, 0, 0, -400.0, 1000.0, 0, 0, 1.0), (2000.0, 500.0), 2000.0, 0.0)
    store.log_photo(
        PhotoToLog(
            SHA, "wide.jpg", jpeg(NAVY, RED, (4000, 1000)), ".jpg", CardReport("chart24", 1, 2), (),
            (ScrapToLog(rectangle(2, 1), look(NAVY)),), view=view,
        )
    )  # fmt: skip
    app = make_app(lambda: store, Door(WebSettings(8765)))
    with browsing(app, "http://127.0.0.1:8765") as browser:
        yield browser


def opened(shown: Browser, path: str) -> Image.Image:
    answer = shown.get(path)
    assert answer.status_code == 200, path
    assert answer.headers["content-type"] == "image/jpeg"
    return Image.open(io.BytesIO(answer.content)).convert("RGB")


def test_a_swatch_is_the_cloth_or_its_greys(shown: Browser) -> None:
    coloured = opened(shown, "/picture/1/swatch.jpg")
    grey = opened(shown, "/picture/1/swatch.jpg?grey=1")
    left, right = (coloured.getpixel((x, coloured.height // 2)) for x in (5, coloured.width - 6))
    assert left[2] > left[0] + 40  # type: ignore[index]
    assert right[0] > right[2] + 40  # type: ignore[index]
    pixel = grey.getpixel((5, grey.height // 2))
    assert max(pixel) - min(pixel) < 6  # type: ignore[type-var, arg-type]
    small = opened(shown, "/picture/1/swatch.jpg?small=1")
    assert max(small.size) < max(coloured.size)
    assert shown.get("/picture/2/swatch.jpg").status_code == 404
    assert shown.get("/picture/99/swatch.jpg").status_code == 404


def test_a_photo_is_shown_small_enough_for_a_page_and_as_wide_as_it_was(shown: Browser) -> None:
    photo = opened(shown, f"/photo/{SHA}/upright.jpg")
    assert photo.width / photo.height == pytest.approx(4, rel=0.01)
    assert 4000 / photo.width == ceil(4000 / photo.width)  # whole pixels are averaged
    assert photo.width < 4000
    again = opened(shown, f"/photo/{SHA}/upright.jpg")
    assert again.size == photo.size
    assert shown.get(f"/photo/{'d' * 64}/upright.jpg").status_code == 404


def test_the_grain_is_shown_as_a_line_has_it(shown: Browser) -> None:
    page = shown.get("/scrap/1").text
    assert 'value="10"' in page  # 190 degrees and 10 are one line
    assert 'value="190"' not in page


def test_addresses_and_questions_have_their_lengths(shown: Browser) -> None:
    words = "words="
    fits, long = "a" * (8000 - len(words)), "a" * (8001 - len(words))
    assert shown.get(f"/?{words}{fits}").status_code == 200
    assert shown.get(f"/?{words}{long}").status_code == 414
    missing = shown.get("/no-such-page")
    assert missing.status_code == 404
    assert "There is no such page" in missing.text
    assert shown.get("/?page=9999999").status_code == 200


# Phones.


def test_a_phone_that_is_forgotten_is_the_only_one(tmp_path: Path) -> None:
    file = tmp_path / "phones.json"
    book = PhoneBook(file)
    for mark in ("a", "b", "c"):
        book.add(Phone(mark, f"phone {mark}", "2026-01-01"))
    book.forget("b")
    assert [phone.mark for phone in book.phones] == ["a", "c"]
    book.note_open(opened=True)
    again = PhoneBook(file)
    assert ([phone.mark for phone in again.phones], again.open) == (["a", "c"], True)
    file.write_text("{")
    assert PhoneBook(file).phones == ()


def test_a_code_is_of_five_tries_and_used_up_by_the_right_one() -> None:
    pairing = Pairing()
    code = pairing.new_code()
    assert len(code) == 6
    wrong = "000000" if code != "000000" else "000001"
    for _ in range(4):
        assert pairing.redeem_code(wrong) is None
    session = pairing.redeem_code(f"{code[:3]} {code[3:]}", device="Phone\n" + "x" * 99)
    assert session is not None
    assert len(session) >= 43  # 256 bits in base 64
    assert pairing.knows(session)
    (phone,) = pairing.phones
    assert len(phone.name) == 60
    assert phone.name.isprintable()
    assert pairing.redeem_code(code) is None
    code = pairing.new_code()
    for _ in range(5):
        pairing.redeem_code(wrong if code != wrong else "111111")
    assert pairing.redeem_code(code) is None


def test_a_quilts_drawing_lies_as_the_quilt_does(tmp_path: Path) -> None:
    from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, pattern_of

    store = open_store(tmp_path)
    quilt = make_quilt(store, QuiltRequest("q", "square", "4", rows=2, across=3))
    drawing = QuiltDrawing(quilt, pattern_of(quilt.plan), {})
    where = {one.place: (one.x, one.y) for one in drawing.pieces}
    # Row 1 is the upper one, pieces run from left to right, 4 in apart; a screen's y runs down.
    assert where["1.2"][0] - where["1.1"][0] == pytest.approx(4)
    assert where["2.1"][1] - where["1.1"][1] == pytest.approx(4)
    assert {one.called for one in drawing.pieces} == {"no piece yet"}
    assert drawing.cloths == []
    left, top, wide, high = map(float, drawing.view_box.split())
    assert (wide, high) == pytest.approx((12 + 2 * 0.24, 8 + 2 * 0.24))
    xs = [float(pair.split(",")[0]) for one in drawing.pieces for pair in one.points.split()]
    ys = [float(pair.split(",")[1]) for one in drawing.pieces for pair in one.points.split()]
    assert (left, top) == pytest.approx((min(xs) - 0.24, min(ys) - 0.24))
