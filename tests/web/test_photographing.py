"""Photos sent to the page: logged once and whole, refused with the reason, shown re-encoded."""

from __future__ import annotations

import io
from pathlib import Path

import httpx
import pillow_heif
import pytest
from PIL import Image

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.scrap import PhotoView, Scrap
from stash.shape.plane.outline import outline_of
from stash.usecases.photos.manage_cards import add_chart
from stash.web.shown.photo_drawing import outlines_on_photo
from stash.wiring import open_store
from tests.web.serving import Served, serving

PITCH_IN = 0.55
COMMENT = b"<script>alert('comment')</script>"


def scene(seed: int = 5) -> bytes:
    """Render a photo of two scraps beside the card, with a hostile comment inside."""
    spec = SceneSpec(
        (Leftover("deep water", "crumb", 4.0), Leftover("dry sand", "crumb", 4.0)),
        pitch_in=PITCH_IN,
    )
    out = io.BytesIO()
    image = Image.fromarray(render_scene(spec, seed=seed).pixels_srgb)
    image.save(out, "JPEG", quality=90, comment=COMMENT)
    return out.getvalue()


@pytest.fixture(scope="module")
def camera(tmp_path_factory: pytest.TempPathFactory):
    """A page whose stash knows the card, and its folder."""
    home: Path = tmp_path_factory.mktemp("stash")
    add_chart(open_store(home), "practice chart", PITCH_IN)
    with serving(home) as served:
        yield served, home


def send(served: Served, *photos: tuple[str, bytes], script: bool = True) -> httpx.Response:
    return served.client.post(
        "/photograph",
        data={"token": served.token(), "place": "Blue tin"},
        files=[("photos", (name, data, "image/jpeg")) for name, data in photos],
        headers={"Accept": "application/json"} if script else {},
        timeout=120,
    )


def test_a_photo_sent_twice_is_logged_once(camera: tuple[Served, Path]) -> None:
    served, home = camera
    photo = scene(seed=6)  # sent by no other test: the tests share this stash in any order
    before = len(open_store(home).scraps())
    first = send(served, ("one.jpg", photo)).json()["photos"][0]
    again = send(served, ("another name.jpg", photo)).json()["photos"][0]
    assert first["status"] == "logged" and first["scraps"] == 2
    assert len(first["outlines"]) == 2 and first["size_px"] == again["size_px"]
    assert again["status"] == "already logged" and again["address"] == first["address"]
    scraps = open_store(home).scraps()
    assert len(scraps) == before + 2 and {scrap.place for scrap in scraps} == {"Blue tin"}


def test_a_photo_as_phones_store_it_is_logged(tmp_path: Path) -> None:
    spec = SceneSpec((Leftover("deep water", "crumb", 4.0),), pitch_in=PITCH_IN)
    out = io.BytesIO()
    pixels = render_scene(spec, seed=8).pixels_srgb
    pillow_heif.from_pillow(Image.fromarray(pixels)).save(out, quality=90)
    add_chart(open_store(tmp_path), "practice chart", PITCH_IN)
    with serving(tmp_path) as served:
        told = send(served, ("IMG_0001.HEIC", out.getvalue())).json()["photos"][0]
        assert (told["status"], told["scraps"]) == ("logged", 1), told["reason"]
        shown = served.client.get(f"{told['address']}/upright.jpg")
        assert Image.open(io.BytesIO(shown.content)).format == "JPEG"


def test_without_script_the_form_leads_to_the_photo(camera: tuple[Served, Path]) -> None:
    served, _ = camera
    answer = send(served, ("one.jpg", scene()), script=False)
    assert answer.status_code == 303 and answer.headers["location"].startswith("/photo/")
    page = served.client.get(answer.headers["location"])
    assert page.text.count('<path class="over"') == 2


def test_without_script_several_photos_lead_to_what_became_of_each(
    camera: tuple[Served, Path],
) -> None:
    served, _ = camera
    send(served, ("one.jpg", scene()))
    answer = send(served, ("one.jpg", scene()), ("bad.jpg", b"no photo"), script=False)
    assert answer.status_code == 303
    page = served.client.get(answer.headers["location"]).text
    assert "already logged" in page and "Not logged." in page and "bad.jpg" in page


@pytest.mark.parametrize(
    "data",
    [
        b"<html><script>alert(1)</script></html>",
        b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
        b"%PDF-1.7",
        b"GIF89a" + b"\x00" * 30,
        b"\xff\xd8\xff\xe0 cut off",
    ],
)
def test_what_is_no_photo_is_refused_by_its_content(
    camera: tuple[Served, Path], data: bytes
) -> None:
    served, home = camera
    before = len(open_store(home).photos())
    told = send(served, ("photo.jpg", data)).json()["photos"][0]
    assert told["status"] == "refused" and told["reason"]
    assert len(open_store(home).photos()) == before


def test_a_bad_photo_does_not_stop_the_others(camera: tuple[Served, Path]) -> None:
    served, _ = camera
    send(served, ("one.jpg", scene()))
    told = send(served, ("bad.jpg", b"no photo"), ("good.jpg", scene())).json()["photos"]
    assert [one["status"] for one in told] == ["refused", "already logged"]


def test_what_is_shown_is_drawn_anew(camera: tuple[Served, Path]) -> None:
    served, home = camera
    photo = scene()
    address = send(served, ("one.jpg", photo)).json()["photos"][0]["address"]
    pictures = [f"{address}/upright.jpg"]
    pictures += [f"/picture/{one.number}/swatch.jpg" for one in open_store(home).scraps()]
    pictures += [f"/picture/{one.number}/flat.jpg" for one in open_store(home).scraps()]
    for path in pictures:
        answer = served.client.get(path)
        assert answer.headers["content-type"] == "image/jpeg"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert Image.open(io.BytesIO(answer.content)).format == "JPEG"
        assert COMMENT not in answer.content and answer.content != photo


def test_without_a_card_the_page_says_what_to_do(tmp_path: Path) -> None:
    with serving(tmp_path) as served:
        assert "Print our card" in served.client.get("/photograph").text
        answer = send(served, ("one.jpg", scene()))
        assert answer.status_code in (404, 422)
        assert "card" in answer.json()["problem"]
        sent = served.post("/cards/print", paper="a4")
        assert sent.status_code == 303
        card = served.client.get(sent.headers["location"])
        assert card.content.startswith(b"%PDF")
        page = served.client.get("/photograph").text
        assert "our printed card" in page and "Take a photo" in page
        offered = served.client.get("/print").text  # the paper chosen comes first from now on
        assert offered.index('value="a4"') < offered.index('value="letter"')


def test_an_outline_is_laid_where_the_lens_saw_it() -> None:
    # By hand: 100 px an inch, the middle at (500, 400). With radial 0.1 and radius 500, a pixel
    # 250 from the middle is straightened to 250 * (1 + 0.1 * 0.25) = 256.25 px = 2.5625 in.
    view = PhotoView((100.0, 0.0, 500.0, 0.0, 100.0, 400.0, 0.0, 0.0, 1.0), (500, 400), 500.0, 0.1)
    outline = outline_of([(0.0, 0.0), (2.5625, 0.0), (0.0, 2.5625)])
    look = Appearance((50.0, 0.0, 0.0), (ColourShare((50.0, 0.0, 0.0), 1.0),), PrintKind.PLAIN)
    (drawn,) = outlines_on_photo(view, [Scrap(7, 1, outline, look)])
    assert drawn.number == 7
    for corner in ("500.0 400.0", "750.0 400.0", "500.0 650.0"):
        assert corner in drawn.path
