"""Starting the command line."""

import subprocess
import sys

import pytest

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
