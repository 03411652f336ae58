"""What a running page is told once: where it answers, whom it lets in, how much it takes."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["Limits", "WebSettings"]

MEGABYTE = 1_000_000
_USUAL_PORT = 80


@dataclass(frozen=True, slots=True)
class Limits:
    """How much one request may bring.

    Attributes
    ----------
    file_bytes : int
        The largest photo; a 48-megapixel phone photo stays under 30 MB.
    files : int
        Photos in one form.
    upload_bytes : int
        All photos of one form together.
    text_bytes : int
        All text fields of one form together.
    field_bytes : int
        One text field; an outline of a thousand corners needs about 20 kB.
    fields : int
        Text fields in one form.
    query_bytes : int
        The part of an address after the question mark.
    uploads_at_once : int
        Forms with photos received side by side.
    idle_s : float
        A sender silent for this long is let go.
    upload_s : float
        A form must have arrived after this time.
    """

    file_bytes: int = 100 * MEGABYTE
    files: int = 40
    upload_bytes: int = 400 * MEGABYTE
    text_bytes: int = 1 * MEGABYTE
    field_bytes: int = 200_000
    fields: int = 2000
    query_bytes: int = 8000
    uploads_at_once: int = 6
    idle_s: float = 30.0
    upload_s: float = 900.0


@dataclass(frozen=True, slots=True)
class WebSettings:
    """Where the page answers and how it writes lengths.

    Attributes
    ----------
    port : int
        The port of this computer it listens on.
    lan_address : str
        This computer's address in the home network; empty unless the user asked for phones.
    unit : str
        ``in`` or ``cm``.
    """

    port: int
    lan_address: str = ""
    unit: str = "in"
    limits: Limits = field(default_factory=Limits)

    @property
    def hosts(self) -> frozenset[str]:
        """The names a browser may call this page by; any other is a foreign name led here."""
        own = ["127.0.0.1", "localhost", "[::1]", self.lan_address]
        named = {f"{name}:{self.port}" for name in own if name}
        # Browsers leave the usual port out.
        return frozenset(named | {name for name in own if name and self.port == _USUAL_PORT})

    @property
    def local_hosts(self) -> frozenset[str]:
        """The names that mean this computer itself."""
        return self.hosts - {f"{self.lan_address}:{self.port}", self.lan_address}

    @property
    def address(self) -> str:
        """What to open on this computer."""
        return f"http://127.0.0.1:{self.port}/"

    def own_address(self, secret: str) -> str:
        """Give what to open here where a secret is asked for on this computer too."""
        return f"{self.address}join?key={secret}"

    def join_address(self, secret: str) -> str:
        """Give what a phone opens to be paired."""
        return f"http://{self.lan_address}:{self.port}/join?key={secret}"
