"""Who is let in: hosts, origins, other sites, tokens; asked of a running page."""

from __future__ import annotations

import pytest

from stash.web.app import all_pages
from tests.web.serving import Served

ASKED = sorted({page.path for page in all_pages() if page.look})
SENT = sorted({page.path for page in all_pages() if page.send})
FILES = ["/static/style.css", "/no-such-page"]
FOREIGN_HOSTS = [
    "evil.example",
    "127.0.0.1.evil.example",
    "evil.example:{port}",
    "127.0.0.1:1",
    "127.0.0.1",
    "localhost.:{port}",
    "0.0.0.0:{port}",
    "[::ffff:127.0.0.1]:{port}",
    "user@127.0.0.1:{port}",
]


def filled(path: str) -> str:
    """Put something in the open places of a path."""
    sha = "0" * 64
    return path.replace("{number:number}", "1").replace("{sha256}", sha)


def request(method: str, path: str, *lines: str, body: str = "") -> bytes:
    head = [f"{method} {path} HTTP/1.1", *lines, "Connection: close"]
    if method == "POST":
        head += [
            "Content-Type: application/x-www-form-urlencoded",
            f"Content-Length: {len(body)}",
        ]
    return ("\r\n".join(head) + "\r\n\r\n" + body).encode()


@pytest.mark.parametrize("path", [*ASKED, *FILES])
def test_a_foreign_host_or_none_is_answered_with_400(page: Served, path: str) -> None:
    for name in FOREIGN_HOSTS:
        host = name.format(port=page.port)
        assert page.status(request("GET", filled(path), f"Host: {host}")) == 400, host
    assert page.status(request("GET", filled(path))) == 400
    twice = request("GET", filled(path), f"Host: {page.host}", f"Host: {page.host}")
    assert page.status(twice) == 400


@pytest.mark.parametrize("path", SENT)
def test_a_foreign_host_may_not_send(page: Served, path: str) -> None:
    for name in FOREIGN_HOSTS:
        host = name.format(port=page.port)
        assert page.status(request("POST", filled(path), f"Host: {host}")) == 400, host


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost", "LOCALHOST", "[::1]"])
def test_every_name_of_this_computer_is_answered(page: Served, name: str) -> None:
    assert page.status(request("GET", "/", f"Host: {name}:{page.port}")) == 200


@pytest.mark.parametrize("path", [*ASKED, *FILES])
@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1", ""])
def test_a_script_of_another_site_may_not_read(page: Served, path: str, origin: str) -> None:
    asked = request("GET", filled(path), f"Host: {page.host}", f"Origin: {origin}")
    assert page.status(asked) == 403


@pytest.mark.parametrize("path", SENT)
@pytest.mark.parametrize(
    "line",
    [
        "Origin: http://evil.example",
        "Origin: null",
        "Origin: http://localhost:1",
        "Sec-Fetch-Site: cross-site",
        "Sec-Fetch-Site: same-site",
    ],
)
def test_a_form_of_another_site_is_refused_even_with_the_token(
    page: Served, path: str, line: str
) -> None:
    token = page.token()
    cookie = "; ".join(f"{name}={value}" for name, value in page.client.cookies.items())
    lines = (f"Host: {page.host}", line, f"Cookie: {cookie}")
    assert page.status(request("POST", filled(path), *lines, body=f"token={token}")) == 403


@pytest.mark.parametrize("path", SENT)
def test_no_form_is_read_without_the_token(page: Served, path: str) -> None:
    own = (f"Host: {page.host}", f"Origin: http://{page.host}")
    for body in ("", "token=", "token=0123", "token=%C3%A9"):
        assert page.status(request("POST", filled(path), *own, body=body)) == 403, body


@pytest.mark.parametrize("path", SENT)
def test_a_token_of_another_browser_does_not_count(page: Served, path: str) -> None:
    lines = (f"Host: {page.host}", f"Cookie: stash-{page.port}=" + "x" * 43)
    assert page.status(request("POST", filled(path), *lines, body=f"token={page.token()}")) == 403


@pytest.mark.parametrize("kind", ["text/plain", "application/json", "", "multipart/form-data"])
@pytest.mark.parametrize("path", SENT)
def test_only_forms_are_read(page: Served, path: str, kind: str) -> None:
    answer = page.client.post(
        filled(path), content=f"token={page.token()}", headers={"Content-Type": kind}
    )
    assert answer.status_code == 415


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "X"])
def test_only_asking_and_sending_are_known(page: Served, method: str) -> None:
    assert page.status(request(method, "/", f"Host: {page.host}")) == 405


def test_a_picture_of_ours_is_not_shown_on_another_site(page: Served) -> None:
    lines = (f"Host: {page.host}", "Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: no-cors")
    assert page.status(request("GET", "/picture/1/swatch.jpg", *lines)) == 403


def test_a_page_of_ours_is_not_framed(page: Served) -> None:
    lines = (
        f"Host: {page.host}",
        "Sec-Fetch-Site: cross-site",
        "Sec-Fetch-Mode: navigate",
        "Sec-Fetch-Dest: iframe",
    )
    assert page.status(request("GET", "/", *lines)) == 403


def test_a_foreign_link_leads_to_the_doorstep_only(page: Served) -> None:
    lines = (f"Host: {page.host}", "Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: navigate")
    answer = page.raw(request("GET", '/?words="><script>alert(1)</script>', *lines))
    assert b"Open this page of your stash" in answer
    assert b"<script" not in answer and b"set-cookie" not in answer


@pytest.mark.parametrize("path", [*ASKED, *FILES])
def test_every_answer_forbids_framing_sniffing_and_foreign_code(page: Served, path: str) -> None:
    answer = page.client.get(filled(path), follow_redirects=False)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'self'" in policy and "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy and "*" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["x-frame-options"] == "DENY"


@pytest.mark.parametrize("path", [path for path in ASKED if not path.endswith(".jpg")])
def test_no_page_holds_script_or_style_of_its_own(page: Served, path: str) -> None:
    text = page.client.get(filled(path)).text.lower()
    for part in text.split("<script")[1:]:
        assert part.startswith(' src="/static/'), part[:60]
    assert "<style" not in text and " style=" not in text and " onclick" not in text


@pytest.mark.parametrize(
    "path",
    [
        "/picture/../../stash.db",
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/static/%252e%252e/app.py",
        "/photo/../../etc/passwd",
        "/photo/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "/photo/..%5c..%5cstash.db",
        "/picture/1/../../stash.db",
        "/picture/%00/swatch.jpg",
        "/picture/-1/swatch.jpg",
        "/picture/99999999999999999999999/swatch.jpg",
        "/scrap/1%0a",
        "//etc/passwd",
        "/static/",
    ],
)
def test_no_address_leads_to_a_file(page: Served, path: str) -> None:
    assert page.status(request("GET", path, f"Host: {page.host}")) == 404


def test_a_link_laid_into_the_stash_folder_is_not_followed(page: Served) -> None:
    assert page.status(request("GET", "/static/link.css", f"Host: {page.host}")) == 404


def test_asking_changes_nothing(page: Served) -> None:
    before = page.client.get("/").text
    for path in SENT:
        answer = page.client.get(filled(path), params={"place": "Elsewhere", "name": "Other"})
        assert answer.status_code in (200, 404, 405)
    assert page.client.get("/").text == before


def test_an_address_longer_than_any_of_ours_is_refused(page: Served) -> None:
    assert page.client.get("/", params={"words": "a" * 9000}).status_code == 414


def test_a_cookie_is_for_no_script_and_no_other_site(page: Served) -> None:
    answer = page.raw(request("GET", "/", f"Host: {page.host}")).lower()
    cookie = answer.split(b"set-cookie: ")[1].split(b"\r\n")[0]
    assert b"httponly" in cookie and b"samesite=strict" in cookie
