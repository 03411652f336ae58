"""Starting the command line."""

import subprocess
import sys
from importlib import import_module

import pytest
import typer

from stash.cli.app import WORDS
from tests.running import REPO, run_stash

HEAVY = (
    "cv2",
    "sklearn",
    "scipy",
    "shapely",
    "PIL",
    "sqlalchemy",
    "reportlab",
    "starlette",
    "numpy",
)


@pytest.mark.parametrize("library", HEAVY)
def test_help_loads_nothing_heavy(library):
    code = (
        "import sys; sys.argv = ['stash', '--help']\n"
        "import stash.__main__\n"
        "try:\n    stash.__main__.main()\nexcept SystemExit:\n    pass\n"
        f"sys.exit({library!r} in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=REPO, capture_output=True, text=True, check=False
    )
    assert "Commands" in done.stdout
    assert done.returncode == 0, f"{library} is loaded by --help"


def test_an_unknown_command_is_a_usage_error():
    done = run_stash("sew")
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


def test_an_unknown_option_is_a_usage_error():
    assert run_stash("--sew").returncode == 2


@pytest.mark.parametrize("module", WORDS)
def test_every_module_registers_the_words_it_is_found_by(module):
    app = typer.Typer()
    import_module(f"stash.cli.{module}").register(app)
    words = [command.name for command in app.registered_commands]
    words += [group.name or group.typer_instance.info.name for group in app.registered_groups]
    assert tuple(words) == WORDS[module]


def test_the_help_lists_every_command_and_runs_none():
    listed = run_stash("--help").stdout
    assert [
        word for words in WORDS.values() for word in words if f"\n  {word} " not in listed
    ] == []
    done = run_stash("tally", "--nonsense")
    assert done.returncode == 2
