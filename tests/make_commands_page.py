"""Write docs/commands.md from the commands' own help: python -m tests.make_commands_page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer.main

from stash.cli.app import make_app

PAGE = Path(__file__).resolve().parents[1] / "docs" / "commands.md"

HEAD = """# Commands

Every command takes `--home FOLDER` (or `STASH_HOME`) for the stash folder, and `--json` to answer
programs; both, and `--unit`, may stand before the command or behind it. `stash settings` keeps
unit, paper, stash folder, card and seam for good. Completion: `stash --install-completion`. Exit
codes: 0 done, 1 a problem with what was given (one sentence says what, where and what to do), 2 the
command was called wrongly, 3 done but something was missing (a photo a backup should hold). This
page is made from the commands' own help (`python -m tests.make_commands_page`); a test holds the
two together.

All coordinates, in and out, lie in one frame, that of the reference card seen from above: inches,
0, 0 at its centre, x along the long side from the dark-skin patch (D) to the bluish-green patch
(B), y away from the grey row (W to K). Angles of grain, stripes and turned pieces are degrees
counter-clockwise from x. A scrap measured with a ruler has a frame of its own, y up as well.

```
            y
            |
  +---------|---------+
  | D  .  . | .  .  B |
  | .  .  . | .  .  . |
  | .  .  . 0---------+--- x
  | W  .  .   .  .  K |
  +-------------------+
```
"""


def commands() -> Iterator[tuple[str, Any]]:
    """Give every command with its full name, in the order of the help."""
    yield from _below("stash", typer.main.get_command(make_app()))


def _below(name: str, command: Any) -> Iterator[tuple[str, Any]]:
    inner = getattr(command, "commands", None)
    if inner is None:
        yield name, command
        return
    for word, one in inner.items():
        yield from _below(f"{name} {word}", one)


def page() -> str:
    """Give the page as it should be."""
    return HEAD + "".join(_section(name, command) for name, command in commands())


def _section(name: str, command: Any) -> str:
    words = [f"{_placeholder(one)}" for one in command.params if one.param_type_name == "argument"]
    lines = [f"\n## {' '.join([name, *words])}\n", f"{' '.join((command.help or '').split())}\n"]
    options = [one for one in command.params if one.param_type_name == "option"]
    rows = [
        f"- `{', '.join(one.opts + one.secondary_opts)}`: {' '.join((one.help or '').split())}"
        for one in options
        if one.name not in ("home", "as_json", "help") and not one.hidden
    ]
    if command.epilog:
        example = command.epilog.removeprefix("Example: ")
        rows += [*([""] if rows else []), f"Example: `{example}`"]
    return "\n".join(lines + rows) + ("\n" if rows else "")


def _placeholder(argument: Any) -> str:
    name = (argument.metavar or argument.name or "").upper().removesuffix("...")
    many = "..." if argument.nargs == -1 else ""
    return f"{name}{many}" if argument.required else f"[{name}{many}]"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
