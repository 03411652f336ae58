"""What the help of a command says besides its own words: an example, and plain placeholders."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, get_args, get_type_hints

import typer
from typer.core import TyperCommand
from typer.models import CommandInfo, OptionInfo

__all__ = ["EXAMPLES", "complete_the_help"]

_VALUES: dict[Any, str] = {Path: "FILE", str: "TEXT", int: "NUMBER", float: "NUMBER"}

EXAMPLES = {
    "demo": "stash demo tidewater",
    "card print": "stash card print card.pdf --paper a4",
    "card add": "stash card add pocket --kind chart24 --pitch 0.55",
    "card learn": "stash card learn mine card-and-chart.jpg",
    "card list": "stash card list",
    "settings": "stash settings unit=cm paper=a4 card=pocket",
    "log": "stash log photos/*.jpg --bin 'blue tin' --washed",
    "scraps": "stash scraps --family blue --at-least '5 x 7'",
    "fabrics": "stash fabrics --sort-by light-to-dark --picture fabrics.png",
    "scrap look": "stash scrap 1,3,7-9 --washed --bin 'teal drawer'",
    "scrap add": "stash scrap add 'fat quarter' --colour '#1f3f7a' --name 'harbour blue'",
    "twins": "stash twins --same 3,12 --same 30 --different 8,11 --rest 'not sure'",
    "labels": "stash labels 'blue tin' --out labels.pdf",
    "palette make": "stash palette make raffle --words 'blues, teals, a touch of coral; no pinks'",
    "palette set": "stash palette set raffle --without purple",
    "palette list": "stash palette list",
    "palette show": "stash palette show raffle --picture raffle.png",
    "palette export": "stash palette export raffle raffle.gpl",
    "palette forget": "stash palette forget raffle",
    "clash": "stash clash --palette raffle",
    "own": "stash own shop.jpg",
    "substitutes": "stash substitutes 12",
    "tally": "stash tally",
    "uses": "stash uses 12",
    "goes-with": "stash goes-with --scraps 3,7,12",
    "match": "stash match --palette raffle --template tumbler --size '3 1/2' --needed 12",
    "fit": "stash fit --template hexagon --size 2 --outlines outlines.json",
    "template list": "stash template list",
    "template add": "stash template add leaf leaf.svg",
    "template show": "stash template show clamshell --size 4",
    "template print": "stash template print tumbler --size 4 --out tumbler.pdf",
    "quilt make": "stash quilt make raffle --template tumbler --size 4 --rows 8 --across 9 --charm",
    "quilt enough": "stash quilt enough raffle",
    "quilt allot": "stash quilt allot raffle",
    "quilt layout": "stash quilt layout raffle --pin 3.4 --picture raffle.png",
    "quilt cut": "stash quilt cut raffle --scrap 3,7-9",
    "quilt change": "stash quilt change raffle --rows 9 --surely 4 --amount 'teal 20-30'",
    "quilt copy": "stash quilt copy raffle winter",
    "quilt delete": "stash quilt delete winter",
    "quilt sew": "stash quilt sew raffle --rows 1-3",
    "quilt spoil": "stash quilt spoil raffle --place 3.4",
    "quilt show": "stash quilt show raffle",
    "quilt list": "stash quilt list",
    "quilt set-aside": "stash quilt set-aside raffle",
    "quilt papers": "stash quilt papers raffle --paper a4 --unit cm",
    "quilt cutsheets": "stash quilt cutsheets raffle --out cutting.pdf",
    "quilt sewing": "stash quilt sewing raffle --out sewing.pdf",
    "quilt guide": "stash quilt guide raffle --style echo",
    "quilt finishing": "stash quilt finishing --finished 60x72",
    "quilt cloth": "stash quilt cloth raffle --for binding --bias --picture strips.png",
    "backup": "stash backup stash-backup",
    "restore": "stash restore stash-backup --home new-folder",
    "verify": "stash verify",
    "repair": "stash repair --backup stash-backup",
    "aside": "stash aside --bring-back 2026-11-30T140000Z",
    "details": "stash details --take-off",
    "export": "stash export open-files",
    "import": "stash import open-files --home new-folder",
    "history": "stash history --limit 10",
    "undo": "stash undo 2",
    "redo": "stash redo",
    "bin": "stash bin",
    "web": "stash web --lan",
}


def complete_the_help(app: typer.Typer) -> None:
    """End the help of every command with its example, and name its values plainly."""
    for command in app.registered_commands:
        _complete(command, command.name or "")
    for group in app.registered_groups:
        inner = group.typer_instance
        if inner is not None:
            name = group.name if isinstance(group.name, str) else inner.info.name
            for command in inner.registered_commands:
                _complete(command, f"{name} {command.name}")


class _Plain(TyperCommand):
    """A command whose arguments are told without their Python type, such as <list[Path]>."""

    def get_help(self, ctx: Any) -> str:
        """Give the help."""
        return re.sub(r" <(list\[)?(str|int|float|[Pp]ath)\]?>", "", super().get_help(ctx))


def _complete(command: CommandInfo, words: str) -> None:
    command.cls = _Plain
    if words in EXAMPLES:
        command.epilog = f"Example: {EXAMPLES[words]}"
    if command.callback is None:
        return
    # Read once and kept: read again they would be other objects.
    hints = get_type_hints(command.callback, include_extras=True)
    command.callback.__annotations__ = hints
    for hint in hints.values():
        kinds = _kinds_in(hint)
        for option in getattr(hint, "__metadata__", ()):
            if isinstance(option, OptionInfo) and option.metavar is None and bool not in kinds:
                option.metavar = next((_VALUES[one] for one in kinds if one in _VALUES), None)


def _kinds_in(hint: Any) -> list[Any]:
    inner = [kind for part in get_args(hint) for kind in _kinds_in(part)]
    return inner or [hint]
