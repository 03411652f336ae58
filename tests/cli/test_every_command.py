"""What holds for every command."""

import shlex

import pytest

from stash.cli.app import in_command_order, read_words
from stash.cli.examples import EXAMPLES
from tests.make_commands_page import commands

COMMANDS = dict(commands())


def test_every_command_has_an_example_and_no_other_has():
    assert {f"stash {words}" for words in EXAMPLES} == set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_an_example_can_be_typed_as_it_stands(name):
    command, line = COMMANDS[name], EXAMPLES[name.removeprefix("stash ")]
    words = in_command_order(shlex.split(line)[1:])
    inner = name.split()[1:]
    if words[0] == "scrap" and inner[1] == "look":  # stash scrap 12 stands for stash scrap look 12
        inner = inner[:1]
    assert words[: len(inner)] == inner
    with command.make_context(name, words[len(inner) :]):
        pass  # an unknown option, a missing one or a bad value raises


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("before", ["--home den --unit cm", "--unit=cm --home=den"])
def test_every_command_takes_home_and_unit_said_before_it(name, before):
    typed = shlex.split(EXAMPLES[name.removeprefix("stash ")])[1:]
    words, _ = read_words([*before.split(), *typed])
    known = {option for one in COMMANDS[name].params for option in one.opts}
    said = [word.partition("=")[0] for word in words[len(typed) :]]
    assert {word for word in said if word.startswith("--")} == known & {"--home", "--unit"}


@pytest.mark.parametrize("name", COMMANDS)
def test_no_command_passes_over_a_unit_that_is_none(name, capsys):
    typed = shlex.split(EXAMPLES[name.removeprefix("stash ")])[1:]
    words, app = read_words(["--unit", "furlong", *typed])
    with pytest.raises(SystemExit) as ended:
        app(words, prog_name="stash")
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and "“furlong” is not one of in, cm" in said


@pytest.mark.parametrize("name", COMMANDS)
def test_help_is_written_for_people(name):
    command = COMMANDS[name]
    with command.make_context(name, [], resilient_parsing=True) as context:
        text = command.get_help(context)
    for word in ("<list", "list[", "Optional[", "<class", "None]"):
        assert word not in text, f"{name} --help says {word}"
    silent = [one.name for one in command.params if not getattr(one, "help", "")]
    assert silent == [], f"{name} does not say what {silent} are"
