"""The invented stash."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stash.cli.messages import print_json, say, warn
from stash.cli.options import Json
from stash.errors import StorageError

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("demo")(demo)


def demo(
    folder: Annotated[Path, typer.Argument(help="A new folder for the demo.")] = Path("tidewater"),
    as_json: Json = False,
) -> None:
    """Build an invented stash. Its photos are rendered, logged and asked; answers are drawn."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StorageError(f"{folder} is there already and not empty. Name a new folder.")
    from stash.cli.match_commands import match_body
    from stash.usecases.make_demo import make_demo  # loads the picture libraries
    from stash.wiring import open_store

    store = open_store(folder / "stash")
    result = make_demo(store, folder, tell=warn)
    if as_json:
        print_json({"page": str(result.page), **match_body(result.answer)})
        return
    for one in result.photos:
        say(f"{one.file}: {one.status}, {len(one.scraps)} scraps {one.reason}".rstrip())
    answer = result.answer
    say(
        f"{len(answer.can_go_in)} fabrics can go in the quilt, {len(answer.look_twice)} want a "
        f"second look, {result.clashing} clash."
    )
    say(f"Look at {result.page}")
    say(
        f"Ask on with: stash match --home {folder / 'stash'} --palette tidewater "
        "--template tumbler --size 4"
    )
