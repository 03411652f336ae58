"""Questions asked of the pages: own, tally, stand-ins, making and finishing a quilt."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.usecases.photos.add_photo import LogOptions, cards_to_use, log_photo
from stash.usecases.photos.manage_cards import add_chart
from stash.usecases.quilts.neighbours import tally
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.wiring import open_store
from tests.web.little_stash import fill_stash
from tests.web.serving import Served, serving

PITCH_IN = 0.55


def photo_of(seed: int, *cloth: str) -> bytes:
    """Render cloth beside the card."""
    leftovers = tuple(Leftover(fabric, "crumb", 4.0) for fabric in cloth)
    return render_scene(SceneSpec(leftovers, pitch_in=PITCH_IN), seed=seed).jpeg()


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    """A page on a stash of one measured cloth, a dozen invented ones and a small quilt."""
    home = tmp_path_factory.mktemp("stash")
    store = open_store(home)
    add_chart(store, "practice chart", PITCH_IN)
    log_photo(
        store,
        photo_of(3, "pilot stripe"),
        file_name="one.jpg",
        cards=cards_to_use(store, None),
        options=LogOptions(place="Blue <tin>"),
    )
    fill_stash(store, 12)
    make_quilt(store, QuiltRequest("Sampler", "square", "1", rows=2, across=3))
    with serving(home) as served:
        yield served, home


def test_cloth_that_is_owned_is_found_though_photographed_anew(asked) -> None:
    served, home = asked
    before = open_store(home).scraps()
    answer = served.client.post(
        "/own",
        data={"token": served.token("/own"), "card": "practice chart"},
        files={"photo": ("shop.jpg", photo_of(8, "pilot stripe"), "image/jpeg")},
        timeout=120,
    )
    assert answer.status_code == 200
    nearest = answer.text.split("Compare it with")[1]
    assert 'href="/scrap/1"' in nearest.split("</li>")[0]
    assert "in Blue &lt;tin&gt;" in nearest
    (picture,) = re.findall(r'src="(/own/[^"]+)"', answer.text)
    assert served.client.get(picture).headers["content-type"] == "image/jpeg"
    assert served.client.get(picture.replace("/0.jpg", "/1.jpg")).status_code == 404
    assert open_store(home).scraps() == before


def test_a_photo_that_shows_no_card_is_told_and_none_at_all_too(asked) -> None:
    served, _ = asked
    sent = served.client.post(
        "/own",
        data={"token": served.token("/own")},
        files={"photo": ("no.jpg", b"no photo", "image/jpeg")},
    )
    assert sent.status_code == 422
    assert served.post("/own").status_code in (400, 422)


def test_the_tally_counts_every_fabric_once(asked) -> None:
    served, home = asked
    text = served.client.get("/tally").text
    counted = tally(open_store(home))
    for one in counted:
        assert f"{one.value} {one.family}: </span>{one.fabrics}<" in text
    fabrics = len(open_store(home).fabrics())
    assert f'<td class="number">{fabrics}</td></tr></tfoot>' in text


def test_stand_ins_are_of_the_same_family(asked) -> None:
    served, home = asked
    store = open_store(home)
    text = served.client.get("/scrap/2/stand-ins").text
    shown = [int(number) for number in re.findall(r'class="name" href="/scrap/(\d+)"', text)]
    assert shown and store.scrap(2).fabric not in {store.scrap(number).fabric for number in shown}
    assert served.client.get("/scrap/999/stand-ins").status_code == 404


def test_finishing_follows_what_is_asked(asked) -> None:
    served, _ = asked
    # Three by two squares of one inch: 3 x 2, the edge 10; 4 in of backing on every side.
    text = served.client.get("/quilt/finishing?name=Sampler").text
    assert "Finished 3 × 2 in" in text and "10 in long" in text and "11 × 10 in" in text
    wider = served.client.get("/quilt/finishing?name=Sampler&backing=6&fold=single").text
    assert "15 × 14 in" in wider and "single fold" in wider
    wrong = served.client.get("/quilt/finishing?name=Sampler&backing=wide")
    assert wrong.status_code == 422 and "wide" in wrong.text
    assert served.client.get("/quilt/finishing?name=Sampler&fold=x").status_code == 422


def test_a_quilt_is_guided_from_washing_to_pressing(asked) -> None:
    served, _ = asked
    before = served.client.get("/quilt/guide?name=Sampler").text
    assert "No scraps are chosen" in before and "Iron and steam burn" in before
    assert served.post("/quilt/allot", name="Sampler").status_code == 303
    after = served.client.get("/quilt/guide?name=Sampler").text
    told = re.findall(r", (\d+) pieces?\.</p>", after)
    assert sum(map(int, told)) == 6
    assert after.index("<h2>Cut</h2>") < after.index("<h2>Sew and press</h2>")
    assert served.client.get("/quilt/guide?name=None").status_code == 404
