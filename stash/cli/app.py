"""The command line: one app, its commands registered by trade."""

from __future__ import annotations

import typer

from stash.cli import (
    card_commands,
    demo_commands,
    label_commands,
    match_commands,
    neighbour_commands,
    palette_commands,
    photo_commands,
    quilt_commands,
    safety_commands,
    scrap_commands,
    template_commands,
    web_commands,
)

__all__ = ["make_app"]


def make_app() -> typer.Typer:
    """Build the command line; nothing heavy is loaded and no stash is opened here."""
    app = typer.Typer(
        name="stash",
        help="Know your fabric scraps by true colour and size, and plan quilts from them.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    for commands in (
        demo_commands,
        card_commands,
        photo_commands,
        scrap_commands,
        palette_commands,
        template_commands,
        match_commands,
        neighbour_commands,
        quilt_commands,
        label_commands,
        safety_commands,
        web_commands,
    ):
        commands.register(app)
    return app
