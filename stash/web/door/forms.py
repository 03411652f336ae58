"""Reads what a browser sends, counting every byte while it comes in.

Limits hold for all kinds of form, address-like ones too. Nothing a sender calls a file ever
names one here: the bytes go to a nameless temporary file, the name is kept as a label.
"""

from __future__ import annotations

import asyncio
import codecs
import contextlib
import hmac
import tempfile
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from typing import IO, Any
from urllib.parse import parse_qsl

from python_multipart import MultipartParser
from python_multipart.exceptions import MultipartParseError
from python_multipart.multipart import parse_options_header
from starlette.requests import ClientDisconnect, Request

from stash.web.door.pairing import form_token
from stash.web.door.security import Refusal
from stash.web.door.settings import Limits

__all__ = ["Form", "Kept", "SentFile", "label_of", "read_form"]

_IN_MEMORY_BYTES = 512_000
_LABEL_LENGTH = 120
_PART_HEADER_BYTES = 20_000
_TOO_BIG = "A photo is larger than {megabytes} MB. Send it as the phone stored it."


@dataclass(slots=True)
class SentFile:
    """A file as it came: what the sender calls it, and its bytes."""

    label: str
    _file: IO[bytes]
    size: int = 0

    def add(self, chunk: bytes) -> None:
        """Keep some more bytes."""
        self._file.write(chunk)
        self.size += len(chunk)

    def read(self) -> bytes:
        """Give all the bytes."""
        self._file.seek(0)
        return self._file.read()

    def close(self) -> None:
        """Let the bytes go."""
        self._file.close()


@dataclass(slots=True)
class Form:
    """What was filled in: text by field name in the order sent, and files."""

    fields: dict[str, list[str]] = field(default_factory=dict)
    files: list[SentFile] = field(default_factory=list)

    def text(self, name: str, default: str = "") -> str:
        """Give the last text of a field, without blanks around it."""
        values = self.fields.get(name)
        return values[-1].strip() if values else default

    def texts(self, name: str) -> list[str]:
        """Give every text of a field that is not blank."""
        return [value.strip() for value in self.fields.get(name, []) if value.strip()]

    def number(self, name: str) -> int | None:
        """Give a whole number, or None where the field is blank or none."""
        text = self.text(name)
        return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None

    def close(self) -> None:
        """Let all files go."""
        for file in self.files:
            file.close()


def label_of(name: str) -> str:
    r"""Make a short label of whatever a sender calls a file; it is shown, never opened.

    Examples
    --------
    >>> label_of("..\\..\\etc/IMG_1.jpg"), label_of("\x00\n")
    ('IMG_1.jpg', 'photo')
    """
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    shown = "".join(sign for sign in last if sign.isprintable()).strip(" .")
    if len(shown) > _LABEL_LENGTH:
        shown = f"{shown[: _LABEL_LENGTH - 12]}…{shown[-11:]}"
    return shown or "photo"


@dataclass(frozen=True, slots=True)
class Kept:
    """What was typed into a form that could not be taken, to be shown again with the reason.

    Attributes
    ----------
    form : Form
        Everything typed; empty when a page is opened anew.
    problem : str
        Why it could not be taken; empty when a page is opened anew.
    at : str
        The field the reason belongs to; empty for the form as a whole.
    """

    form: Form = field(default_factory=Form)
    problem: str = ""
    at: str = ""

    def text(self, name: str, default: str = "") -> str:
        """Give what was typed into a field, or what it shows at first."""
        return self.form.text(name, default)

    def has(self, name: str, value: str, *, first: bool = False) -> bool:
        """Whether a choice was made, or is made at first."""
        return value in self.form.texts(name) if self.form.fields else first


async def read_form(request: Request, limits: Limits, *, photos: bool = False) -> Form:
    """Read a form whose token proves that one of our own pages sent it.

    Parameters
    ----------
    request : Request
        A POST, body not yet read.
    limits : Limits
        How much it may bring.
    photos : bool
        Whether files are welcome.

    Raises
    ------
    Refusal
        413 too much, 403 no token, 415 not a form, 400 broken, 408 too slow.
    """
    kind, options = parse_options_header(request.headers.get("content-type", ""))
    most = limits.upload_bytes if photos else limits.text_bytes + _PART_HEADER_BYTES
    announced = request.headers.get("content-length", "0")
    if not announced.isdigit() or int(announced) > most:
        raise Refusal(413, "This is more than one form may bring. Send fewer photos at once.")
    body = _body(request, limits, most)
    check = _token_check(request)
    if kind == b"application/x-www-form-urlencoded":
        return await _read_plain(body, limits, check)
    if kind == b"multipart/form-data" and options.get(b"boundary"):
        return await _read_parts(body, options[b"boundary"], limits, (photos, check))
    raise Refusal(415, "Only forms of the stash's own pages are read here.")


def _token_check(request: Request) -> Callable[[str], None]:
    wanted = form_token(request.state.session)

    def check(token: str) -> None:
        """Refuse a token that is not this browser's."""
        if not hmac.compare_digest(token.encode(), wanted.encode()):
            raise Refusal(403, "This page has grown old. Load it again, then send once more.")

    return check


async def _body(request: Request, limits: Limits, most: int) -> AsyncIterator[bytes]:
    total = 0
    loop = asyncio.get_running_loop()
    until = loop.time() + limits.upload_s
    stream = request.stream()
    while True:
        wait_s = min(limits.idle_s, until - loop.time())
        try:
            chunk = await asyncio.wait_for(anext(stream), timeout=max(wait_s, 0.001))
        except StopAsyncIteration:
            return
        except TimeoutError:
            raise Refusal(408, "The sender went silent; nothing was kept.") from None
        except ClientDisconnect:
            raise Refusal(400, "The sender broke off; nothing was kept.") from None
        total += len(chunk)
        if total > most:
            raise Refusal(413, "This is more than one form may bring. Send fewer photos at once.")
        yield chunk


async def _read_plain(
    body: AsyncIterator[bytes], limits: Limits, check: Callable[[str], None]
) -> Form:
    raw = bytearray()
    async for chunk in body:
        raw += chunk
        if len(raw) > limits.text_bytes:
            raise Refusal(413, "This form brings more text than any page here asks for.")
    if raw.count(b"&") >= limits.fields:
        raise Refusal(413, "This form has more fields than any page here.")
    form = Form()
    for name, value in parse_qsl(bytes(raw).decode("utf-8", "replace"), keep_blank_values=True):
        if len(value) > limits.field_bytes:
            raise Refusal(413, "One field holds more text than any page here asks for.")
        form.fields.setdefault(name, []).append(value)
    check(form.text("token"))
    return form


_LONGEST_BOUNDARY = 70  # RFC 2046, 5.1.1


async def _read_parts(
    body: AsyncIterator[bytes],
    boundary: bytes,
    limits: Limits,
    rules: tuple[bool, Callable[[str], None]],
) -> Form:
    if len(boundary) > _LONGEST_BOUNDARY:
        raise Refusal(400, "This form cannot be read; nothing was kept.")
    parts = _Parts(limits, *rules)
    try:
        parser = MultipartParser(boundary, parts.callbacks())  # type: ignore[arg-type]
        async for chunk in body:
            parser.write(chunk)
        if not parts.ended:
            raise Refusal(400, "The form broke off; nothing was kept.")
        parts.check_token()
    except MultipartParseError:
        parts.form.close()
        raise Refusal(400, "This form cannot be read; nothing was kept.") from None
    except OSError:
        parts.form.close()
        raise Refusal(507, "This computer has no room left to receive the photos.") from None
    except BaseException:
        parts.form.close()
        raise
    return parts.form


class _Parts:
    """Puts the pieces of a multipart form together and counts them."""

    def __init__(self, limits: Limits, photos: bool, check: Callable[[str], None]) -> None:
        self.form = Form()
        self.ended = False
        self._limits = limits
        self._photos = photos
        self._check = check
        self._checked = False
        self._header_bytes = 0
        self._text_bytes = 0
        self._fields = 0
        self._name = ""
        self._text = bytearray()
        self._file: SentFile | None = None
        self._head, self._value, self._disposition = b"", b"", b""

    def callbacks(self) -> dict[str, Any]:
        """Give what the parser calls."""
        return {
            "on_part_begin": self._begin,
            "on_header_field": self._on_head,
            "on_header_value": self._on_value,
            "on_header_end": self._on_header_end,
            "on_headers_finished": self._open,
            "on_part_data": self._data,
            "on_part_end": self._close,
            "on_end": self._end,
        }

    def check_token(self) -> None:
        """Insist on the token; photos are not even received without it."""
        if not self._checked:
            self._check(self.form.text("token"))
            self._checked = True

    def _begin(self) -> None:
        self._header_bytes = 0
        self._head, self._value, self._disposition = b"", b"", b""
        self._text.clear()
        self._file = None

    def _count_header(self, size: int) -> None:
        self._header_bytes += size
        if self._header_bytes > _PART_HEADER_BYTES:
            raise Refusal(400, "This form cannot be read; nothing was kept.")

    def _on_head(self, data: bytes, start: int, end: int) -> None:
        self._count_header(end - start)
        self._head += data[start:end]

    def _on_value(self, data: bytes, start: int, end: int) -> None:
        self._count_header(end - start)
        self._value += data[start:end]

    def _on_header_end(self) -> None:
        if self._head.lower() == b"content-disposition":
            self._disposition = self._value
        self._head, self._value = b"", b""

    def _open(self) -> None:
        _, options = parse_options_header(self._disposition)
        if b"name" not in options:
            raise Refusal(400, "This form cannot be read; nothing was kept.")
        self._name = _decoded(options[b"name"])
        self._fields += 1
        if self._fields > self._limits.fields:
            raise Refusal(413, "This form has more fields than any page here.")
        if b"filename" in options:
            self._open_file(_decoded(options[b"filename"]))

    def _open_file(self, name: str) -> None:
        if not self._photos:
            raise Refusal(400, "No files are taken here.")
        self.check_token()
        if len(self.form.files) >= self._limits.files:
            raise Refusal(413, f"Send {self._limits.files} photos at once, not more.")
        spool = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY_BYTES)  # noqa: SIM115
        self._file = SentFile(label_of(name), spool)
        self.form.files.append(self._file)

    def _data(self, data: bytes, start: int, end: int) -> None:
        if self._file is not None:
            if self._file.size + end - start > self._limits.file_bytes:
                raise Refusal(413, _TOO_BIG.format(megabytes=self._limits.file_bytes // 1_000_000))
            self._file.add(data[start:end])
            return
        self._text_bytes += end - start
        self._text += data[start:end]
        if len(self._text) > self._limits.field_bytes or self._text_bytes > self._limits.text_bytes:
            raise Refusal(413, "This form brings more text than any page here asks for.")

    def _close(self) -> None:
        if self._file is None:
            self.form.fields.setdefault(self._name, []).append(_decoded(bytes(self._text)))
        elif not self._file.size:
            # A file field left empty.
            self.form.files.remove(self._file)
            self._file.close()
        self._file = None

    def _end(self) -> None:
        self.ended = True


def _decoded(raw: bytes) -> str:
    with contextlib.suppress(UnicodeDecodeError):
        return codecs.decode(raw, "utf-8")
    return codecs.decode(raw, "latin-1")
