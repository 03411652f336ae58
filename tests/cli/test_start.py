"""Starting the command line."""

import inspect
import json
import subprocess
import sys
from importlib import import_module

import pytest
import typer

from stash.cli.contents import CONTENTS, WORDS
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
    assert "Begin:" in done.stdout
    assert done.returncode == 0, f"{library} is loaded by --help"


def test_an_unknown_command_is_a_usage_error():
    done = run_stash("sew")
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


def test_an_unknown_option_is_a_usage_error():
    assert run_stash("--sew").returncode == 2


def one_sentence(text):
    return text.split("\n\n")[0].partition(". ")[0].rstrip(".") + "."


@pytest.mark.parametrize("module", sorted(set(WORDS.values())))
def test_the_help_tells_what_every_module_registers(module):
    app = typer.Typer()
    import_module(f"stash.cli.{module}").register(app)
    there = {one.name: inspect.getdoc(one.callback) for one in app.registered_commands}
    for one in app.registered_groups:
        there[one.name or one.typer_instance.info.name] = one.typer_instance.info.help
    told = {
        word: text
        for words in CONTENTS.values()
        for word, (name, text) in words.items()
        if name == module
    }
    assert {word: one_sentence(" ".join(text.split())) for word, text in there.items()} == {
        word: one_sentence(text) for word, text in told.items()
    }


def test_the_help_lists_every_command_under_a_heading_and_loads_none():
    listed = run_stash("--help").stdout
    assert [word for word in WORDS if f"\n  {word} " not in listed] == []
    assert [heading for heading in CONTENTS if f"\n{heading}:" not in listed] == []
    code = (
        "import sys; sys.argv = ['stash', '--help']\nimport stash.__main__\n"
        "try:\n    stash.__main__.main()\nexcept SystemExit:\n    pass\n"
        "sys.exit(sum(name.endswith('_commands') for name in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=REPO, capture_output=True, check=False)
    assert done.returncode == 0


def test_a_misspelt_command_is_told_with_what_may_be_meant():
    done = run_stash("scarps")
    assert done.returncode == 2
    assert "scraps" in done.stderr


@pytest.mark.parametrize(
    "words",
    [("--home", "HOME", "quilt", "--json", "list"), ("--json", "quilt", "list", "--home", "HOME")],
)
def test_common_options_stand_before_or_after_the_command(tmp_path, words):
    done = run_stash(*(str(tmp_path) if word == "HOME" else word for word in words))
    assert (done.returncode, json.loads(done.stdout)) == (0, {"quilts": []})


def test_it_says_which_version_it_is():
    from stash import __version__

    assert run_stash("--version").stdout == f"stash {__version__}\n"


def test_words_can_be_completed():
    done = run_stash(
        environment={
            "_STASH_COMPLETE": "complete_bash",
            "COMP_WORDS": "stash quilt e",
            "COMP_CWORD": "2",
        }
    )
    assert done.stdout.split() == ["enough"]


@pytest.mark.parametrize(
    ("words", "given", "code"),
    [(["palette", "list", "--json"], None, 1), (["nothing"], None, 2),
     (["fit", "--template", "square", "--size", "2", "--outlines", "-"], "[[0,0],[5,0],[5,5]]", 1),
     (["--version"], None, 0)],
)  # fmt: skip
def test_a_command_with_its_libraries_read_answers_as_one_that_starts_cold(
    words, given, code, tmp_path
):
    cold = run_stash(*words, home=tmp_path, input=given, environment={"PYTHONUTF8": "1"})
    loaded = run_stash(*words, home=tmp_path, input=given)
    assert (cold.returncode, cold.stdout, cold.stderr) == (code, loaded.stdout, loaded.stderr)
    assert loaded.returncode == code
