"""The page."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stash.cli.messages import print_json, say
from stash.cli.options import Home, Json, Unit
from stash.cli.settings_file import settings_path

if TYPE_CHECKING:
    from stash.web.door.pairing import Pairing
    from stash.web.door.settings import WebSettings

__all__ = ["register"]

_PORT = 8765


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("web")(_web)


def _web(
    home: Home = None,
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Where to answer; 0 takes a free port.")
    ] = _PORT,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let phones of the home network in, by a code to scan.")
    ] = False,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Do not open the browser.")
    ] = False,
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Open the stash as a page: photograph, look, choose, plan. Ctrl-C stops it."""
    # Loaded here: the server is of no use to any other command.
    from stash.web.door.addresses import Door
    from stash.web.door.line import owners_are_told
    from stash.web.door.pairing import Pairing
    from stash.web.door.phone_book import PhoneBook
    from stash.web.door.settings import WebSettings
    from stash.web.practice import Practice
    from stash.web.server import open_sockets, serve
    from stash.wiring import home_folder, open_store

    pairing = Pairing(PhoneBook(_phones_file(home_folder(home))))
    address = _network_address(asked=lan, as_last_time=pairing.opened)
    store = open_store(home_folder(home))
    sockets = open_sockets(port, address)
    settings = WebSettings(sockets[0].getsockname()[1], address, "cm" if unit == "cm" else "in")
    door = Door(settings, pairing, told_owners=owners_are_told())
    # The secret opens once, so a list of processes that shows it later gives nothing away.
    here = settings.address if door.told_owners else settings.own_address(pairing.secret)
    _announce(settings, pairing, here, as_json=as_json)
    if not no_browser:
        _open_browser(here)
    serve(lambda: store, door, sockets, Practice(open_store))


def _network_address(*, asked: bool, as_last_time: bool) -> str:
    """Give the address in the home network if phones are to be let in."""
    from stash.web.server import NoNetworkError, lan_address  # as above

    if asked:
        return lan_address()
    try:
        return lan_address() if as_last_time else ""
    except NoNetworkError:
        return ""  # the page says so, and lets them in when there is a network again


def _phones_file(home: Path) -> Path:
    """Name the file of phones let in: one for each stash, beside this user's settings."""
    mark = hashlib.sha256(str(home.resolve()).encode()).hexdigest()[:16]
    return settings_path().with_name("stash-phones") / f"{mark}.json"


def _announce(settings: WebSettings, pairing: Pairing, here: str, *, as_json: bool) -> None:
    from stash.web.door.pairing import qr_text  # the server's, see above

    join = settings.join_address(pairing.secret) if settings.lan_address else ""
    if as_json:
        print_json({"address": here, "join": join or None})
        return
    say(f"Your stash is open at {here}")
    if join:
        say("For a phone in the same home network, scan this with its camera:")
        say(qr_text(join))
        say(f"Or type there: {join}")
        say("The code lets one phone in; the page shows a new one under “Use my phone”.")
    say("Ctrl-C stops it; what was logged is kept.")


def _open_browser(address: str) -> None:
    import webbrowser  # as above

    webbrowser.open(address)
