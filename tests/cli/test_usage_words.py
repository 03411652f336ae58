"""Wrong usage is told in one sentence that a quilter can read, and ends with exit code 2."""

import shlex

import pytest
from typer.testing import CliRunner

from stash.cli.app import make_app


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("scarps", "There is no command “scarps”. Did you mean scraps or "),
        ("quilt alot", "There is no command alot. Did you mean allot, "),
        ("scraps --colour", "There is no option --colour"),
        ("quilt layout raffle --seed x", "--seed: a whole number is wanted; "),
        ("match --palette p --shrink x", "--shrink: a number is wanted; "),
        ("substitutes one", "fabric: a whole number is wanted; stash substitutes --help"),
        ("quilt enough", "name is missing; stash quilt enough --help tells more."),
        ("match --template square", "--palette is missing; stash match --help tells more."),
        ("scraps --bin", "--bin: a value is wanted; "),
        ("scraps --csv=yes", "--csv takes no value; "),
        ("tally of everything", "More words than it takes: of everything; "),
        ("scraps --sort-by age", "--sort-by: age is not one of family, value, light-to-dark; "),
        ("settings unit", "“unit” is no setting; write NAME=VALUE, such as unit=cm; "),
    ],
)  # fmt: skip
def test_wrong_usage_is_one_sentence_and_exit_code_2(line: str, said: str) -> None:
    done = CliRunner().invoke(make_app(), shlex.split(line))
    assert done.exit_code == 2
    assert done.stdout == ""
    assert done.stderr.startswith(f"stash: {said}")
    assert len(done.stderr.splitlines()) == 1
    for jargon in ("argument", "Invalid", "unable to parse", "Value error", "Traceback"):
        assert jargon not in done.stderr


def test_a_group_alone_shows_its_help() -> None:
    done = CliRunner().invoke(make_app(), ["quilt"])
    assert "Have I enough?" in done.output
    assert "stash: " not in done.output
