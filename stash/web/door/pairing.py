"""Lets a phone in: by a secret to scan or six digits to type, then by a cookie of its own."""

from __future__ import annotations

import datetime
import hashlib
import hmac
import io
import secrets
import time
from threading import Lock

from stash.web.door.phone_book import Phone, PhoneBook

__all__ = ["CODE_TRIES", "Pairing", "form_token", "new_session", "qr_svg", "qr_text"]

_TOKEN_USE = b"stash form token"
_DIGITS = 6
# Of a million codes five may be tried, and the computer must show the next one: whoever guesses
# is let in once in 200,000 codes shown.
CODE_TRIES = 5
_CODE_LASTS_S = 600.0
_LONGEST_NAME = 60


class Pairing:
    """The secret and the code now on show, and the devices that were let in.

    Cookies are handed out once; what is kept of them is a digest.
    """

    def __init__(self, book: PhoneBook | None = None) -> None:
        self._lock = Lock()
        self._book = book or PhoneBook()
        self._secret = secrets.token_urlsafe(32)
        self._code, self._tries, self._until = "", 0, 0.0

    @property
    def secret(self) -> str:
        """The secret the next device must bring."""
        with self._lock:
            return self._secret

    def new_code(self) -> str:
        """Give six digits to type on a phone; any code shown before is void."""
        with self._lock:
            self._code = f"{secrets.randbelow(10**_DIGITS):0{_DIGITS}d}"
            self._tries, self._until = CODE_TRIES, time.monotonic() + _CODE_LASTS_S
            return self._code

    @property
    def phones(self) -> tuple[Phone, ...]:
        """The devices let in, the oldest first."""
        return self._book.phones

    @property
    def opened(self) -> bool:
        """Whether phones were let in when the page ran last."""
        return self._book.open

    def note_open(self, *, opened: bool) -> None:
        """Remember whether phones are let in."""
        with self._lock:
            self._book.note_open(opened=opened)

    def redeem(self, offered: str, *, device: str = "") -> str | None:
        """Change the right secret for a cookie value, once; a wrong one gives nothing."""
        with self._lock:
            if not hmac.compare_digest(offered.encode(), self._secret.encode()):
                return None
            return self._let_in(device)

    def redeem_code(self, typed: str, *, device: str = "") -> str | None:
        """Change the digits on show for a cookie value, once; few tries, and not for long."""
        with self._lock:
            digits = "".join(sign for sign in typed if sign.isascii() and sign.isdigit())
            if not self._code or not self._tries or time.monotonic() > self._until:
                return None
            self._tries -= 1
            if not hmac.compare_digest(digits.encode(), self._code.encode()):
                return None
            return self._let_in(device)

    def forget(self, mark: str) -> None:
        """Let a device in no more."""
        with self._lock:
            self._book.forget(mark)

    def knows(self, session: str) -> bool:
        """Whether this cookie value was handed out here.

        Digests are looked up, not the values: the time a lookup takes tells nothing of use.
        """
        mark = _digest(session)
        return any(phone.mark == mark for phone in self._book.phones)

    def _let_in(self, device: str) -> str:
        self._secret, self._code = secrets.token_urlsafe(32), ""
        session = new_session()
        today = datetime.date.today().isoformat()
        shown = "".join(sign for sign in device if sign.isprintable())[:_LONGEST_NAME]
        self._book.add(Phone(_digest(session), shown or "phone", today))
        return session


def new_session() -> str:
    """Make a cookie value nobody can guess."""
    return secrets.token_urlsafe(32)


def form_token(session: str) -> str:
    """Give the token that forms of this browser carry; it outlives a restart of the server."""
    return hmac.new(session.encode(), _TOKEN_USE, hashlib.sha256).hexdigest()


def qr_text(address: str) -> str:
    """Draw an address as a QR code for a terminal."""
    import segno  # only for phones

    out = io.StringIO()
    segno.make(address, error="m").terminal(out=out, compact=True)
    return out.getvalue()


def qr_svg(address: str) -> str:
    """Draw an address as a QR code for a page: an SVG element, dark on white."""
    import segno  # only for phones

    drawn = segno.make(address, error="m")
    return str(drawn.svg_inline(scale=6, border=4, dark="#000", light="#fff", omitsize=True))


def _digest(session: str) -> str:
    return hashlib.sha256(session.encode()).hexdigest()
