"""Wrong usage in one sentence: which word is wrong, what is wanted, where to read more."""

from __future__ import annotations

import re
from typing import Any

__all__ = ["usage_sentence"]

# What typer says (0.27 and later), and what a quilter reads instead.
_WORDS = (
    (r"^Invalid value for (.+?): .*valid int.*", r"\1: a whole number is wanted"),
    (r"^Invalid value for (.+?): .*valid (?:number|float).*", r"\1: a number is wanted"),
    (r"^Invalid value for (.+?): (?:Value error, )?", r"\1: "),
    (r"^Invalid value: ", ""),
    (r"^Missing (?:argument|option|parameter) (.+?)\.?$", r"\1 is missing"),
    (r"^Option (\S+) requires an argument\.?", r"\1: a value is wanted"),
    (r"^Option (\S+) does not take a value\.?", r"\1 takes no value"),
    (r"^No such option: (\S+)", r"There is no option \1"),
    (r"\(Possible options: (.+)\)$", r"(perhaps \1)"),
    (r"^No such command (\S+?)\.?(?= |$)", r"There is no command \1."),
    (r"^Got unexpected extra arguments? \((.+)\)$", r"More words than it takes: \1"),
    (r"^Got unexpected extra argument\(s\) \((.+)\)$", r"More words than it takes: \1"),
)


def usage_sentence(problem: Any) -> str:
    """Say in one sentence what is wrong with a command line.

    Parameters
    ----------
    problem : typer's usage error
        As it is raised, with the command that was read.
    """
    said = " ".join(problem.format_message().split())
    for pattern, words in _WORDS:
        said = re.sub(pattern, words, said)
    if "--help" in said:
        return said
    command = problem.ctx.command_path if problem.ctx is not None else "stash"
    said = said.replace("'", "")
    ended = said if said.endswith("?") else f"{said.rstrip('.')};"
    return f"{ended} {command} --help tells more."
