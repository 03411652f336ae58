"""The page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stash.cli.messages import print_json, say
from stash.cli.options import Home, Json, Unit

if TYPE_CHECKING:
    from stash.web.pairing import Pairing
    from stash.web.settings import WebSettings

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
    from stash.web.pairing import Pairing  # noqa: PLC0415
    from stash.web.server import lan_address, open_sockets, serve  # noqa: PLC0415
    from stash.web.settings import WebSettings  # noqa: PLC0415
    from stash.wiring import home_folder, open_store  # noqa: PLC0415

    address = lan_address() if lan else ""
    store = open_store(home_folder(home))
    sockets = open_sockets(port, address)
    settings = WebSettings(sockets[0].getsockname()[1], address, "cm" if unit == "cm" else "in")
    pairing = Pairing()
    _announce(settings, pairing, as_json=as_json)
    if not no_browser:
        _open_browser(settings)
    serve(lambda: store, settings, pairing, sockets)


def _announce(settings: WebSettings, pairing: Pairing, *, as_json: bool) -> None:
    from stash.web.pairing import qr_text  # noqa: PLC0415 - the server's, see above

    join = settings.join_address(pairing.secret) if settings.lan_address else ""
    if as_json:
        print_json({"address": settings.address, "join": join or None})
        return
    say(f"Your stash is open at {settings.address}")
    if join:
        say("For a phone in the same home network, scan this with its camera:")
        say(qr_text(join))
        say(f"Or type there: {join}")
        say("The code lets one phone in; the page shows a new one under “Pair a phone”.")
    say("Ctrl-C stops it; what was logged is kept.")


def _open_browser(settings: WebSettings) -> None:
    import webbrowser  # noqa: PLC0415 - as above

    webbrowser.open(settings.address)
