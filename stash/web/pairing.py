"""Lets a phone in: a secret shown once as a QR code, then a cookie of its own."""

from __future__ import annotations

import hashlib
import hmac
import io
import secrets
from threading import Lock

__all__ = ["Pairing", "form_token", "new_session", "qr_svg", "qr_text"]

_TOKEN_USE = b"stash form token"


class Pairing:
    """The secret now on show and the devices that have used theirs up.

    Nothing is written to disk: a restart asks each phone to scan again.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._secret = secrets.token_urlsafe(32)
        self._paired: set[bytes] = set()

    @property
    def secret(self) -> str:
        """The secret the next device must bring."""
        with self._lock:
            return self._secret

    def redeem(self, offered: str) -> str | None:
        """Change the right secret for a cookie value, once; a wrong one gives nothing."""
        with self._lock:
            if not hmac.compare_digest(offered.encode(), self._secret.encode()):
                return None
            self._secret = secrets.token_urlsafe(32)
            session = new_session()
            self._paired.add(_digest(session))
            return session

    def knows(self, session: str) -> bool:
        """Whether this cookie value was handed out here.

        Digests are looked up, not the values: the time a lookup takes tells nothing of use.
        """
        with self._lock:
            return _digest(session) in self._paired


def new_session() -> str:
    """Make a cookie value nobody can guess."""
    return secrets.token_urlsafe(32)


def form_token(session: str) -> str:
    """Give the token that forms of this browser carry; it outlives a restart of the server."""
    return hmac.new(session.encode(), _TOKEN_USE, hashlib.sha256).hexdigest()


def qr_text(address: str) -> str:
    """Draw an address as a QR code for a terminal."""
    import segno  # noqa: PLC0415 - only for phones

    out = io.StringIO()
    segno.make(address, error="m").terminal(out=out, compact=True)
    return out.getvalue()


def qr_svg(address: str) -> str:
    """Draw an address as a QR code for a page: an SVG element, dark on white."""
    import segno  # noqa: PLC0415 - only for phones

    drawn = segno.make(address, error="m")
    return str(drawn.svg_inline(scale=6, border=4, dark="#000", light="#fff", omitsize=True))


def _digest(session: str) -> bytes:
    return hashlib.sha256(session.encode()).digest()
