"""OpenCV loads where the system has no window libraries."""

import ctypes
import os
import shlex
import shutil
import subprocess
import sys

import pytest

from stash.window_libraries import WINDOW_LIBRARIES, empty_library
from tests.running import REPO

# Where an administrator's tools lie is on no other user's search path on Debian.
_LDCONFIG = shutil.which("ldconfig", path=f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin") or ""


def without_window_libraries(code: str) -> subprocess.CompletedProcess[str]:
    """Run Python where the files of the window libraries, if there are any, are empty ones."""
    listed = subprocess.run([_LDCONFIG, "-p"], capture_output=True, text=True, check=False).stdout
    rows = [line.split() for line in listed.splitlines()]
    files = {os.path.realpath(row[-1]) for row in rows if row and row[0] in WINDOW_LIBRARIES}
    steps = [f"mount --bind /dev/null {file}" for file in sorted(files)]
    steps.append(f"exec {shlex.join([sys.executable, '-c', code])}")
    return subprocess.run(
        ["unshare", "--mount", "--map-root-user", "sh", "-c", " && ".join(steps)],
        cwd=REPO, capture_output=True, text=True, check=False,
    )  # fmt: skip


def may_hide_files() -> bool:
    return (
        sys.platform == "linux"
        and bool(_LDCONFIG and shutil.which("unshare"))
        and "print" in without_window_libraries('print("print")').stdout
    )


@pytest.mark.skipif(
    not may_hide_files(),
    reason="files can be hidden only where this user may make a mount space of its own",
)
def test_opencv_computes_on_a_machine_without_window_libraries():
    alone = without_window_libraries("import cv2")
    assert "libxcb" in alone.stderr or "libGL" in alone.stderr  # they are hidden indeed
    code = "import stash, cv2, numpy; print(cv2.countNonZero(numpy.eye(7)))"
    done = without_window_libraries(code)
    assert (done.stdout, done.stderr) == ("7\n", "")


def test_a_system_without_its_small_programs_is_not_warned_about(tmp_path):
    around = {name: os.environ[name] for name in os.environ if name != "OMP_NUM_THREADS"}
    # Colours are found by scikit-learn, which counts cores by ``lscpu``.
    words = ["scrap", "add", "3x3", "--picture", "fixtures/scenes/four_scraps.jpg"]
    done = subprocess.run(
        [sys.executable, "-m", "stash", *words, "--px-per-in", "50"],
        cwd=REPO, env={**around, "PATH": str(tmp_path), "STASH_HOME": str(tmp_path / "den")},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout.startswith("Added scrap 1")
    assert done.stderr == ""


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux looks libraries up this way")
def test_an_empty_library_answers_nought_to_every_name_it_was_given(tmp_path):
    names = [b"first_name", b"another", b"third"]
    file = tmp_path / "libany.so"
    file.write_bytes(empty_library("libany.so.9", names, os.uname().machine))
    library = ctypes.CDLL(str(file))
    assert [library[name.decode()]() for name in names] == [0, 0, 0]
    assert not hasattr(library, "fourth")
    assert ctypes.CDLL("libany.so.9")  # found by its name from now on
