"""Settings: what holds unless a command is told otherwise."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Json

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("settings")(settings)


def settings(
    given: Annotated[
        Optional[list[str]],
        typer.Argument(
            metavar="NAME=VALUE",
            help="What is to hold from now on; NAME= alone takes it away. Names: unit (in, cm), "
            "paper (letter, a4), home (the stash folder), card, seam.",
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    """Show or change what holds unless told otherwise. Unit, paper, stash folder, card, seam.

    They are kept in a small file of this computer's user, which may be edited too. An option of a
    command and STASH_HOME go before them.
    """
    from stash.cli.settings_file import (  # not for the help
        SETTINGS,
        changed_settings,
        read_settings,
        settings_path,
    )

    pairs = {}
    for text in given or ():
        name, equals, value = text.partition("=")
        if not equals:
            raise typer.BadParameter(f"“{text}” is no setting; write NAME=VALUE, such as unit=cm")
        pairs[name.strip()] = value
    now = changed_settings(pairs) if pairs else read_settings()
    if as_json:
        values = {name: now.get(name) for name in SETTINGS}
        print_json({"file": str(settings_path()), "settings": values})
        return
    rows = [[name, now.get(name, "-"), meaning] for name, (_, meaning) in SETTINGS.items()]
    print_table(["setting", "now", "what it is"], rows)
    say(f"Kept in {settings_path()}")
