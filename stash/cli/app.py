"""The command line: one app, its commands registered by trade, only those that are asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import wraps
from importlib import import_module
from typing import Any

import typer

__all__ = ["WORDS", "make_app"]

# Which module answers which first words, in the order of the help; a test holds the words equal
# to what the modules register.
WORDS = {
    "demo_commands": ("demo",),
    "card_commands": ("card",),
    "photo_commands": ("log",),
    "scrap_commands": ("scraps", "fabrics"),
    "one_scrap_commands": ("scrap",),
    "palette_commands": ("palette",),
    "template_commands": ("fit", "template"),
    "match_commands": ("match", "clash"),
    "neighbour_commands": ("own", "substitutes", "tally", "uses"),
    "quilt_commands": ("quilt",),
    "label_commands": ("labels",),
    "safety_commands": (
        "backup", "restore", "verify", "export", "import", "history", "undo", "redo", "bin",
    ),
    "web_commands": ("web",),
}  # fmt: skip


def make_app(words: Sequence[str] | None = None) -> typer.Typer:
    """Build the command line; nothing heavy is loaded and no stash is opened here.

    Parameters
    ----------
    words : sequence of str, optional
        What follows ``stash``. Where its first word names a command only that one's module is
        loaded, otherwise the commands are there by name and help alone: reading the options of
        all of them takes longer than many answers. None builds everything.
    """
    app = typer.Typer(
        name="stash",
        help="Know your fabric scraps by true colour and size, and plan quilts from them.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    app.callback()(_nothing)  # without it an app of one command would take no word
    first = words[0] if words else ""
    asked = [module for module, names in WORDS.items() if words is None or first in names]
    for module in asked or WORDS:
        import_module(f"stash.cli.{module}").register(app)
    if not asked:
        _leave_options_out(app)
    return app


def _nothing() -> None: ...


def _leave_options_out(app: typer.Typer) -> None:
    """Keep names and help of commands that will not be run."""
    for command in app.registered_commands:
        if command.callback is not None:
            command.callback = _without_options(command.callback)
    for group in app.registered_groups:
        if group.typer_instance is not None:
            group.typer_instance.registered_commands = []


def _without_options(callback: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(callback)
    def bare() -> None: ...

    del bare.__wrapped__  # or its options would be read
    bare.__annotations__ = {}
    return bare
