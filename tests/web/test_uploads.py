"""What may be sent: names, sizes, counts, speed; asked of a running page."""

from __future__ import annotations

import socket
import threading
import time
from pathlib import Path

import pytest

from stash.storage.seal import SEAL
from stash.web.door.forms import label_of
from tests.web.serving import Served, read_all

HOSTILE_NAMES = [
    "../../x.jpg",
    "..\\..\\x.jpg",
    "/etc/passwd",
    "&#46;&#46;/x.jpg",
    "%2e%2e%2fx.jpg",
    "x\x00.jpg",
    "a" * 5000,
    "\u202egpj.exe",
    "CON",
    "~/.ssh/id",
    "<script>alert(1)</script>.jpg",
]
BOUNDARY = "cloth"


def part(name: str, value: bytes, file_name: str | None = None) -> bytes:
    head = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"'
    if file_name is not None:
        head += f'; filename="{file_name}"\r\nContent-Type: image/jpeg'
    return head.encode() + b"\r\n\r\n" + value + b"\r\n"


def head(page: Served, path: str = "/photograph", *lines: str) -> bytes:
    cookie = "; ".join(f"{name}={value}" for name, value in page.client.cookies.items())
    all_lines = [
        f"POST {path} HTTP/1.1",
        f"Host: {page.host}",
        f"Cookie: {cookie}",
        f"Content-Type: multipart/form-data; boundary={BOUNDARY}",
        *lines,
    ]
    return ("\r\n".join(all_lines) + "\r\n\r\n").encode()


def files_outside(root: Path) -> set[Path]:
    return {path for path in root.rglob("*") if path.is_file()}


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_the_name_of_a_file_is_a_label_only(page: Served, tmp_path: Path, name: str) -> None:
    before = files_outside(tmp_path.parent)
    answer = page.client.post(
        "/photograph",
        data={"token": page.token()},
        files={"photos": (name, b"not a picture", "image/jpeg")},
        headers={"Accept": "application/json"},
    )
    assert answer.status_code in (200, 400, 404)
    # The database's own files come and go as its connections open and close; so does the draft of
    # its seal, for a moment.
    own = {"stash.db-wal", "stash.db-shm", SEAL}
    until = time.monotonic() + 60
    while new := {path.name for path in files_outside(tmp_path.parent) - before} - own:
        assert time.monotonic() < until, new
        time.sleep(0.05)


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_a_label_is_short_and_names_no_folder(name: str) -> None:
    label = label_of(name)
    assert 0 < len(label) <= 120
    assert "/" not in label and "\\" not in label and label.isprintable() and label != ".."


def test_a_body_announced_as_five_gigabytes_is_refused_before_it_comes(page: Served) -> None:
    page.token()
    answer = page.raw(head(page, "/photograph", "Content-Length: 5000000000"))
    assert answer.startswith(b"HTTP/1.1 413")


def pour(page: Served, first: bytes, *, chunked: bool, megabytes: int) -> int:
    """Send a photo without end until the other side closes; gives the megabytes sent."""
    megabyte = b"\xff" * 1_000_000
    framed = b"%x\r\n%s\r\n" % (len(megabyte), megabyte) if chunked else megabyte
    opening = b"%x\r\n%s\r\n" % (len(first), first) if chunked else first
    length = "Transfer-Encoding: chunked" if chunked else "Content-Length: 390000000"
    with socket.create_connection(("127.0.0.1", page.port), timeout=60) as line:
        line.sendall(head(page, "/photograph", length) + opening)
        for sent in range(megabytes):
            try:
                line.sendall(framed)
            except OSError:
                return sent
        return megabytes


@pytest.mark.slow
@pytest.mark.parametrize("chunked", [True, False])
def test_a_photo_without_end_is_cut_at_the_cap_and_fills_no_memory(
    page: Served, chunked: bool
) -> None:
    first = part("token", page.token().encode()) + part("photos", b"", "x.jpg")[:-2]
    before_kb = page.memory_kb()
    sent = pour(page, first, chunked=chunked, megabytes=300)
    assert 90 <= sent < 130
    assert page.memory_kb() - before_kb < 50_000
    assert page.client.get("/").status_code == 200


def test_ten_thousand_parts_are_refused(page: Served) -> None:
    body = part("token", page.token().encode()) + part("x", b"1") * 10_000
    body += f"--{BOUNDARY}--\r\n".encode()
    answer = page.raw(
        head(page, "/photograph", f"Content-Length: {len(body)}", "Connection: close") + body
    )
    assert answer.split(b" ", 2)[1] in (b"400", b"413")


def test_more_photos_than_one_form_may_bring_are_refused(page: Served) -> None:
    body = part("token", page.token().encode()) + part("photos", b"1", "x.jpg") * 41
    body += f"--{BOUNDARY}--\r\n".encode()
    answer = page.raw(
        head(page, "/photograph", f"Content-Length: {len(body)}", "Connection: close") + body
    )
    assert answer.startswith(b"HTTP/1.1 413")


def test_ten_megabytes_in_one_field_are_refused(page: Served) -> None:
    answer = page.client.post(
        "/scrap/1/place", data={"token": page.token(), "place": "a" * 900_000}
    )
    assert answer.status_code == 413
    body = part("token", page.token().encode()) + part("place", b"a" * 10_000_000)
    raw = page.raw(
        head(page, "/scrap/1/place", f"Content-Length: {len(body)}", "Connection: close")
        + body[:300_000]
    )
    assert raw.startswith(b"HTTP/1.1 413")


def test_a_million_fields_are_refused_quickly(page: Served) -> None:
    token = page.token()
    body = f"token={token}" + "&a=" * 300_000
    answer = page.client.post(
        "/undo", content=body, headers={"Content-Type": "application/x-www-form-urlencoded"}
    )
    assert answer.status_code == 413


def test_a_form_with_files_is_refused_where_none_belong(page: Served) -> None:
    answer = page.client.post(
        "/undo", data={"token": page.token()}, files={"photos": ("x.jpg", b"1", "image/jpeg")}
    )
    assert answer.status_code == 400


def test_photos_are_not_even_received_before_the_token(page: Served) -> None:
    page.token()
    body = part("photos", b"1" * 1000, "x.jpg")
    raw = page.raw(head(page, "/photograph", "Content-Length: 50000000") + body)
    assert raw.startswith(b"HTTP/1.1 403")


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"no parts at all",
        b"--cloth\r\n\r\n",
        b'--cloth\r\nContent-Disposition: form-data; name="token"\r\n\r\nhalf',
        b"--cloth\r\nContent-Disposition: form-data\r\n\r\nx\r\n--cloth--\r\n",
        b"--cloth\r\nX-Long: " + b"a" * 50_000 + b"\r\n\r\nx\r\n--cloth--\r\n",
    ],
)
def test_a_broken_form_is_refused_without_a_crash(page: Served, body: bytes) -> None:
    page.token()
    lines = (f"Content-Length: {len(body)}", "Connection: close")
    status = int(page.raw(head(page, "/photograph", *lines) + body).split(b" ", 2)[1])
    assert status in (400, 403)


def test_others_are_answered_while_a_slow_sender_dribbles(page: Served) -> None:
    lines = []
    try:
        for _ in range(4):
            line = socket.create_connection(("127.0.0.1", page.port))
            line.sendall(head(page, "/photograph", "Content-Length: 1000000") + b"--clo")
            lines.append(line)
        for _ in range(5):
            assert page.client.get("/").status_code == 200
    finally:
        for line in lines:
            line.close()


def test_an_upload_that_breaks_off_leaves_nothing_behind(page: Served) -> None:
    before = page.client.get("/").text
    body = part("token", page.token().encode()) + part("photos", b"\xff\xd8" * 5000, "x.jpg")
    with socket.create_connection(("127.0.0.1", page.port)) as line:
        line.sendall(head(page, "/photograph", "Content-Length: 1000000") + body)
    time.sleep(0.3)
    assert page.client.get("/").text == before


def test_a_crowd_of_uploads_is_told_to_wait(page: Served) -> None:
    token = page.token()
    first = part("token", token.encode()) + part("photos", b"1" * 100, "x.jpg")
    lines = [socket.create_connection(("127.0.0.1", page.port)) for _ in range(7)]
    try:
        for line in lines:
            line.settimeout(60)
            line.sendall(head(page, "/photograph", "Content-Length: 1000000") + first)
            time.sleep(0.1)
        waiting: list[bytes] = []
        reader = threading.Thread(target=lambda: waiting.append(read_all(lines[-1])))
        reader.start()
        reader.join(timeout=60)
        assert waiting and waiting[0].startswith(b"HTTP/1.1 503")
    finally:
        for line in lines:
            line.close()
