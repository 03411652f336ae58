"""Where the page answers now; phones are let in and shut out again while it runs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from stash.web.door.pairing import Pairing
from stash.web.door.settings import WebSettings

__all__ = ["Door"]


def _no_network() -> str:
    return ""


def _nothing() -> None:
    return


@dataclass(slots=True)
class Door:
    """What the gate judges by.

    Attributes
    ----------
    settings : WebSettings
        Where the page answers at this moment.
    pairing : Pairing
        The phones that may come in.
    told_owners : bool
        Whether the lines of other users of this computer are closed before they get here. Where
        the system does not tell whose they are, this computer's browsers bring a secret as phones.
    listen : callable
        Begins to listen in the home network and gives the address there; set by the server.
    deafen : callable
        Ends that; set by the server.
    """

    settings: WebSettings
    pairing: Pairing = field(default_factory=Pairing)
    told_owners: bool = True
    listen: Callable[[], str] = _no_network
    deafen: Callable[[], None] = _nothing

    def let_phones_in(self) -> None:
        """Answer in the home network too, now and whenever the page is started again.

        Raises
        ------
        NoNetworkError, PortTakenError
            If there is no network, or the port is taken there.
        """
        if not self.settings.lan_address:
            self.settings = replace(self.settings, lan_address=self.listen())
        self.pairing.note_open(opened=True)

    def shut_phones_out(self) -> None:
        """Answer this computer only; phones stay known."""
        self.settings = replace(self.settings, lan_address="")
        self.deafen()
        self.pairing.note_open(opened=False)
