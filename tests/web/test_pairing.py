"""Phones of the home network: only when asked for, only with the code, only once."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import httpx
import pytest

from stash.web.app import make_app
from stash.web.door.addresses import Door
from stash.web.door.pairing import CODE_TRIES, Pairing
from stash.web.door.phone_book import PhoneBook
from stash.web.door.settings import WebSettings
from stash.web.server import NoNetworkError, PortTakenError, lan_address, open_sockets
from stash.wiring import open_store
from tests.running import run_stash
from tests.web.in_process import Browser, browsing
from tests.web.serving import Served, serving, start


@pytest.fixture(scope="module")
def shared_page(tmp_path_factory: pytest.TempPathFactory):
    """A page that lets phones in."""
    try:
        lan_address()
    except NoNetworkError:
        pytest.skip("this computer is in no network")
    with serving(tmp_path_factory.mktemp("stash"), "--lan") as served:
        yield served


def phone(served: Served) -> httpx.Client:
    """Give a browser that comes over the network, not from this computer."""
    assert served.join is not None
    parts = urlsplit(served.join)
    return httpx.Client(base_url=f"http://{parts.netloc}", timeout=120)


def key_of(address: str) -> str:
    return parse_qs(urlsplit(address).query)["key"][0]


def shown_key(served: Served) -> str:
    text = served.client.get("/pair").text
    return text.split("/join?key=")[1].split("<")[0]


def pair(client: httpx.Client, key: str) -> httpx.Response:
    text = client.get("/join", params={"key": key}).text
    token = text.split('name="token" value="')[1].split('"')[0]
    return client.post("/join", data={"token": token, "key": key})


def test_no_phone_is_let_in_unless_asked_for(page: Served) -> None:
    try:
        address = lan_address()
    except NoNetworkError:
        pytest.skip("this computer is in no network")
    with pytest.raises(httpx.ConnectError):
        httpx.get(f"http://{address}:{page.port}/")


@pytest.mark.parametrize("path", ["/", "/photograph", "/scrap/1", "/pair", "/picture/1/swatch.jpg"])
def test_an_unpaired_phone_sees_nothing(shared_page: Served, path: str) -> None:
    with phone(shared_page) as client:
        assert client.get(path).status_code == 403
        as_if_local = client.get(path, headers={"Host": shared_page.host})
        assert as_if_local.status_code == 403
        forwarded = client.get(path, headers={"X-Forwarded-For": "127.0.0.1"})
        assert forwarded.status_code == 403


def test_the_code_lets_one_phone_in_and_is_used_up(shared_page: Served) -> None:
    key = shown_key(shared_page)
    with phone(shared_page) as first, phone(shared_page) as second:
        assert pair(first, key).status_code == 303
        assert first.get("/").status_code == 200
        assert pair(second, key).status_code == 403
        assert second.get("/").status_code == 403
        assert first.get("/").status_code == 200


@pytest.mark.parametrize("wrong", ["", "x", "é", "x" * 5000])
def test_a_wrong_code_lets_nobody_in(shared_page: Served, wrong: str) -> None:
    with phone(shared_page) as client:
        assert pair(client, wrong).status_code == 403
        assert client.get("/").status_code == 403


def test_looking_at_the_code_does_not_use_it_up(shared_page: Served) -> None:
    key = shown_key(shared_page)
    with phone(shared_page) as client:
        for _ in range(3):
            assert client.get("/join", params={"key": key}).status_code == 200
        assert pair(client, key).status_code == 303


def test_a_cookie_from_elsewhere_is_no_pairing(shared_page: Served) -> None:
    with phone(shared_page) as client:
        client.cookies.set(f"stash-{shared_page.port}", "y" * 43)
        assert client.get("/").status_code == 403


def test_the_code_shown_at_the_start_is_the_one_that_counts() -> None:
    pairing = Pairing()
    assert pairing.redeem(pairing.secret[:-1]) is None
    session = pairing.redeem(pairing.secret)
    assert session is not None and pairing.knows(session)
    assert len(pairing.secret) >= 43  # 256 bits in base 64


def test_the_digits_let_one_phone_in_and_few_may_be_tried() -> None:
    pairing = Pairing()
    code = pairing.new_code()
    wrong = f"{(int(code) + 1) % 1_000_000:06d}"
    for _ in range(CODE_TRIES - 1):
        assert pairing.redeem_code(wrong) is None
    session = pairing.redeem_code(f"{code[:3]} {code[3:]}")
    assert session is not None and pairing.knows(session)
    assert pairing.redeem_code(code) is None  # used up

    code = pairing.new_code()
    for _ in range(CODE_TRIES):
        assert pairing.redeem_code(wrong if wrong != code else "000000x1") is None
    assert pairing.redeem_code(code) is None  # tried too often
    assert Pairing().redeem_code("") is None  # none was ever shown


def test_a_phone_is_known_after_a_restart_until_it_is_forgotten(tmp_path: Path) -> None:
    file = tmp_path / "phones" / "one.json"
    pairing = Pairing(PhoneBook(file))
    session = pairing.redeem(pairing.secret, device="Android phone")
    assert session is not None and session not in file.read_text()
    again = Pairing(PhoneBook(file))
    assert again.knows(session) and [one.name for one in again.phones] == ["Android phone"]
    again.forget(again.phones[0].mark)
    assert not again.knows(session)
    assert not Pairing(PhoneBook(file)).knows(session)


def test_phones_are_let_in_and_shut_out_from_the_page(tmp_path: Path) -> None:
    try:
        address = lan_address()
    except NoNetworkError:
        pytest.skip("this computer is in no network")
    home = tmp_path / "stash"
    served = start(home)
    at = f"http://{address}:{served.port}"
    try:
        with pytest.raises(httpx.ConnectError):
            httpx.get(f"{at}/join")
        assert served.post("/pair/open").status_code == 303
        shown = served.client.get("/pair").text
        digits = shown.split("Six digits: ")[1][:6]
        with httpx.Client(base_url=at, timeout=120) as client:
            assert client.get("/").status_code == 403
            token = client.get("/join").text.split('name="token" value="')[1].split('"')[0]
            assert client.post("/join", data={"token": token, "digits": digits}).status_code == 303
            # A phone that was let in lets nobody else in.
            assert "Six digits" not in client.get("/pair").text
            assert client.post("/pair/forget", data={"token": token}).status_code == 403
            port, cookies = served.port, dict(client.cookies)
            served.kill()
            served = start(home, port=port)
            assert httpx.get(f"{at}/", cookies=cookies, timeout=120).status_code == 200
        assert served.post("/pair/close").status_code == 303
        with pytest.raises(httpx.TransportError):
            httpx.get(f"{at}/", cookies=cookies)
    finally:
        served.kill()


def test_the_start_shows_a_code_to_scan(shared_page: Served) -> None:
    assert shared_page.join is not None
    assert len(key_of(shared_page.join)) >= 43


def test_a_second_start_names_a_free_port(page: Served, tmp_path: Path) -> None:
    done = run_stash("web", "--home", tmp_path, "--port", page.port, "--no-browser")
    assert done.returncode == 1
    assert f"Port {page.port} is taken" in done.stderr and "--port" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_taken_port_tells_which_one_is_free() -> None:
    (taken,) = open_sockets(0)
    try:
        with pytest.raises(PortTakenError) as told:
            open_sockets(taken.getsockname()[1])
        (free,) = open_sockets(told.value.free)
        free.close()
    finally:
        taken.close()


def test_where_lines_have_no_owners_this_computer_opens_the_page_by_the_secret_too(
    tmp_path: Path,
) -> None:
    store = open_store(tmp_path)
    door = Door(WebSettings(8765), told_owners=False)
    with browsing(make_app(lambda: store, door), "http://127.0.0.1:8765") as other:
        refused = other.get("/")
        assert (refused.status_code, "the whole address" in refused.text) == (403, True)
        assert other.post("/undo", {"token": "0" * 64}).status_code == 403
        assert _opened(other, "wrong").status_code == 403
        address = door.settings.own_address(door.pairing.secret)
        assert address.startswith("http://127.0.0.1:8765/join?key=")
        assert _opened(other, key_of(address)).headers["location"] == "/"
        assert other.get("/").status_code == 200
        assert other.get("/join?key=").headers["location"] == "/"  # known already
    with browsing(make_app(lambda: store, door), "http://127.0.0.1:8765") as late:
        assert _opened(late, key_of(address)).status_code == 403  # it opens once


def _opened(browser: Browser, key: str) -> httpx.Response:
    text = browser.get(f"/join?key={key}").text
    token = text.split('name="token" value="')[1].split('"')[0]
    return browser.post("/join", {"token": token, "key": key})
