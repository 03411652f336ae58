"""The command line: one app, of whose commands only those that are asked for are loaded."""

from __future__ import annotations

import os
from collections.abc import Container, Iterator, Sequence
from contextlib import contextmanager
from difflib import get_close_matches
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from stash.cli.contents import CONTENTS, WORDS
from stash.cli.messages import warn
from stash.cli.options import UNITS, unit_word

__all__ = ["in_command_order", "make_app", "read_words"]

_ANYWHERE = {"--json": 1, "--home": 2, "--unit": 2}  # and of how many words each is
_BESIDE = (
    "--home, --json and --unit may stand before or after the command. stash COMMAND --help tells "
    "the rest, with an example. What was changed is taken back with stash undo."
)


# What all wrong usage is; typer shows only the one kind of it that a command may raise.
_WRONG_USAGE: Any = typer.BadParameter.__bases__[0]


class _Contents(TyperGroup):
    """Tells the commands under their headings, also those that are not loaded."""

    def format_commands(self, _ctx: Any, formatter: Any) -> None:
        """Write the commands into the help."""
        widest = max(map(len, WORDS))
        for heading, words in CONTENTS.items():
            with formatter.section(heading):
                formatter.write_dl(
                    [(f"{word:<{widest}}", text) for word, (_, text) in words.items()]
                )

    def make_context(self, *args: Any, **extra: Any) -> Any:
        """Read the words before a command; what is wrong with them is said in a sentence."""
        with _said_in_a_sentence():
            return super().make_context(*args, **extra)

    def invoke(self, ctx: Any) -> Any:
        """Read the words of a command and run it, likewise."""
        with _said_in_a_sentence():
            return super().invoke(ctx)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find a command; one that there is not may be misspelt."""
        word = args[0] if args else ""
        if word and not word.startswith("-") and word not in WORDS:
            near = get_close_matches(word, WORDS, n=3)
            meant = f" Did you mean {' or '.join(near)}?" if near else ""
            ctx.fail(f"There is no command “{word}”.{meant} stash --help lists them.")
        return super().resolve_command(ctx, args)


@contextmanager
def _said_in_a_sentence() -> Iterator[None]:
    try:
        yield
    except _WRONG_USAGE as problem:
        if "\n" in problem.format_message():  # a group without a command: that is its help
            raise
        from stash.cli.usage_words import usage_sentence  # only where it is wrong

        warn(f"stash: {usage_sentence(problem)}")
        raise typer.Exit(2) from None


def make_app(words: Sequence[str] | None = None) -> typer.Typer:
    """Build the command line; nothing heavy is loaded and no stash is opened here.

    Parameters
    ----------
    words : sequence of str, optional
        What follows ``stash``. Only the module of its first word is loaded: reading the options of
        all of them takes longer than many answers. None loads every command.
    """
    app = typer.Typer(
        name="stash",
        cls=_Contents,
        help="Know your fabric scraps by true colour and size, and plan quilts from them.",
        epilog=_BESIDE,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    app.callback()(_every_command)
    first = words[0] if words else ""
    everything = words is None or "_STASH_COMPLETE" in os.environ
    modules = [module for word, module in WORDS.items() if everything or word == first]
    for module in dict.fromkeys(modules):
        import_module(f"stash.cli.{module}").register(app)
    if everything or "--help" in (words or ()):
        from stash.cli.examples import complete_the_help  # only where they are read

        complete_the_help(app)
    return app


def read_words(words: Sequence[str]) -> tuple[list[str], typer.Typer]:
    """Give the words of a command line in the order they are read in, and the app that reads them.

    What stands before a command holds for whatever command follows: where it shows no length,
    ``--unit`` changes nothing, and it is left out; one that is no unit stays in front, where it is
    refused.
    """
    ordered = in_command_order(words)
    app = make_app(ordered)
    said_before = bool(words) and words[0].partition("=")[0] in _ANYWHERE
    if said_before and ordered and ordered[0] in WORDS:
        known = _options_of(app, ordered)
        unread = [] if "--unit" in known else _units_among(words)
        return [*unread, *in_command_order(words, known)], app
    return ordered, app


def _units_among(words: Sequence[str]) -> list[str]:
    """Give every ``--unit`` that stands before a command and names no unit, as it was typed."""
    _, moved, _ = _parted(words)
    units = [one for one in moved if one[0].partition("=")[0] == "--unit"]
    return [word for one in units for word in one if "=".join(one).partition("=")[2] not in UNITS]


def _options_of(app: typer.Typer, words: Sequence[str]) -> set[str]:
    """Give the options that the command which these words begin with has."""
    command: Any = typer.main.get_command(app)
    for word in words[:2]:
        command = getattr(command, "commands", {}).get(word, command)
    # A group goes on without the name of a command too (``stash scrap 12``): any of its own.
    commands = getattr(command, "commands", {"": command}).values()
    return {name for one in commands for parameter in one.params for name in parameter.opts}


def in_command_order(words: Sequence[str], known: Container[str] = _ANYWHERE) -> list[str]:
    """Put what may stand before a command behind it, where its options are read.

    Parameters
    ----------
    words : sequence of str
        What follows ``stash``.
    known : container of str, optional
        Options the command has; any other of those that may stand before it is left out.

    Examples
    --------
    >>> in_command_order(["--home", "den", "quilt", "--json", "enough", "raffle"])
    ['quilt', 'enough', 'raffle', '--home', 'den', '--json']
    >>> in_command_order(["--unit", "cm", "undo"], known={"--home"})
    ['undo']
    """
    command, moved, rest = _parted(words)
    if not command:
        return rest
    end = rest.index("--") if "--" in rest else len(rest)
    kept = [word for one in moved if one[0].partition("=")[0] in known for word in one]
    return [*command, *rest[:end], *kept, *rest[end:]]


def _parted(words: Sequence[str]) -> tuple[list[str], list[list[str]], list[str]]:
    """Part a line into its command, what may stand before that with its values, and the rest."""
    command: list[str] = []
    moved: list[list[str]] = []
    rest = list(words)
    while rest and len(command) < 2:  # a group's command has two words
        option, given, _ = rest[0].partition("=")
        if option in _ANYWHERE:
            count = 1 if given else _ANYWHERE[option]
            moved.append(rest[:count])
            rest = rest[count:]
        elif rest[0].startswith("-"):
            break
        else:
            command.append(rest.pop(0))
    return command, moved, rest


def _tell_version(asked: bool) -> None:
    if asked:
        from stash import __version__

        typer.echo(f"stash {__version__}")
        raise typer.Exit


def _every_command(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_tell_version, is_eager=True, help="Say which it is."),
    ] = False,
    unit: Annotated[  # only one that is refused stays here: ``read_words``
        str, typer.Option("--unit", parser=unit_word, hidden=True)
    ] = "in",
) -> None: ...
