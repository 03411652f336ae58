"""Try edits one after another, each in a process of its own on a copy of the tree."""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
import traceback
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

from tests.mutants.edits import Edit
from tests.mutants.reach import NOTES

REPO = Path(__file__).resolve().parents[2]
_LEFT_OUT = shutil.ignore_patterns(".git", ".venv", "__pycache__", ".mypy_cache", "shared")
_NO_WORD = 70  # a child that could not run the tests at all: a fault of the trial
# Loaded once, before the first trial; never a module of ours, whose edit would not be seen.
_LIBRARIES = (
    "numpy", "scipy.optimize", "scipy.spatial", "cv2", "sklearn.cluster", "shapely.geometry",
    "sqlalchemy", "PIL.Image", "typer.testing", "starlette.applications", "httpx", "pypdfium2",
    "reportlab.pdfgen.canvas", "networkx", "hypothesis", "jinja2", "colormath.color_objects",
    "rich.console", "pytest", "segno", "bidi.algorithm", "joblib", "uvicorn",
)  # fmt: skip


def copied_tree(work: Path) -> Path:
    """Make the copy of the tree that is edited, compiled so that an edit is always noticed."""
    tree = work / "tree"
    if tree.exists():
        shutil.rmtree(tree)
    shutil.copytree(REPO, tree, ignore=_LEFT_OUT)
    # For the processes that tests start; pytest itself takes the plugin.
    (tree / "sitecustomize.py").write_text(
        'import os\nif "PYTEST_CURRENT_TEST" in os.environ and "STASH_REACH" in os.environ:\n'
        "    from tests.mutants.reach import follow\n    follow()\n"
    )
    command = [sys.executable, "-m", "compileall", "-q", "--invalidation-mode", "checked-hash"]
    subprocess.run([*command, "stash", "tests"], cwd=tree, check=True)
    return tree


def environment(tree: Path, **more: str) -> dict[str, str]:
    """Give the environment of tests in the copy."""
    shared = os.environ.get("STASH_SHARED") or str(REPO.parent / "shared")
    around = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    return {**around, "OMP_NUM_THREADS": "1", "STASH_SHARED": shared, **more}


@dataclass
class Reach:
    """Seconds by test, seconds of fixtures by file, and tests by module and function they enter."""

    seconds: dict[str, float]
    entered: dict[str, dict[str, list[str]]]
    waits: dict[str, float] = field(default_factory=dict)

    @classmethod
    def read(cls, file: Path) -> Reach:
        """Read what ``work_out`` kept; nothing if it kept nothing yet."""
        if not file.exists():
            return cls({}, {})
        return cls(**json.loads(file.read_text()))

    def write(self, file: Path) -> None:
        """Keep it."""
        file.write_text(json.dumps(asdict(self)))

    def tests_for(self, edit: Edit) -> list[str]:
        """Give the tests that reach an edit, the quickest first."""
        functions = self.entered.get(edit.module, {})
        found = set(functions.get(edit.function, ()))
        if not found:  # a constant, a class's own lines, or what is remembered after one call
            found = {test for tests in functions.values() for test in tests}
        return sorted(found, key=lambda test: (self.seconds[test] + self._wait(test), test))

    def _wait(self, test: str) -> float:
        return self.waits.get(_file_of(test), 0.0)

    def within(self, tests: Sequence[str], most_s: float) -> tuple[list[str], float]:
        """Give the first tests that take no longer together (one at least), and how long."""
        chosen: list[str] = []
        files: set[str] = set()
        sum_s = 0.0
        for test in tests:
            wait = 0.0 if _file_of(test) in files else self._wait(test)
            if chosen and sum_s + wait + self.seconds[test] > most_s:
                break
            files.add(_file_of(test))
            sum_s += wait + self.seconds[test]
            chosen.append(test)
        return chosen, sum_s


def work_out(work: Path, words: Sequence[str]) -> None:
    """Run tests once and keep which functions each of them enters, beside what is known."""
    tree = copied_tree(work)
    notes = work / "notes.txt"
    notes.unlink(missing_ok=True)
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"]
    command += ["-p", "tests.mutants.reach", *words]
    subprocess.run(command, cwd=tree, env=environment(tree, **{NOTES: str(notes)}), check=False)
    known = Reach.read(work / "reach.json")
    _add(known, notes.read_text().splitlines())
    known.write(work / "reach.json")


def _add(known: Reach, lines: Iterable[str]) -> None:
    rows = [line.split("\t") for line in lines]
    fresh, waits = _seconds([row for row in rows if row[1] == "took"])
    known.waits.update(waits)
    by_file: dict[str, set[str]] = defaultdict(set)
    for test in fresh:
        by_file[_file_of(test)].add(test)
    known.seconds = {t: s for t, s in known.seconds.items() if _file_of(t) not in by_file}
    known.seconds.update(fresh)
    for functions in known.entered.values():
        for function, tests in functions.items():
            functions[function] = [test for test in tests if _file_of(test) not in by_file]
    entered: dict[tuple[str, str], set[str]] = defaultdict(set)
    for test, module, function in (row for row in rows if row[1] != "took"):
        name, _, when = test.rpartition(" (")
        # What a fixture enters counts for all tests of its file.
        entered[module, function] |= {name} if when == "call)" else by_file[_file_of(name)]
    for (module, function), found in entered.items():
        row = known.entered.setdefault(module, {}).setdefault(function, [])
        row += sorted(found & fresh.keys())


def _seconds(rows: Sequence[Sequence[str]]) -> tuple[dict[str, float], dict[str, float]]:
    """Give the seconds of each test that passed, and the longest wait for a fixture by file."""
    waits: dict[str, float] = defaultdict(float)
    calls: dict[str, float] = {}
    failed = {row[0] for row in rows if row[4] != "passed"}
    for test, _, when, took, _ in rows:
        if when == "setup":
            waits[_file_of(test)] = max(waits[_file_of(test)], float(took))
        elif when == "call" and test not in failed:
            calls[test] = float(took)
    return calls, waits


def _file_of(test: str) -> str:
    return test.partition("::")[0]


@dataclass(frozen=True)
class Result:
    """What became of one edit."""

    key: str
    module: str
    function: str
    line: int
    kind: str
    old: str
    new: str
    end: str  # "killed", "too long", "survived" or "not reached"
    tests: int
    left_out: int
    seconds: float
    by: str = ""


def load_libraries() -> None:
    """Load what every trial needs, so that only the first one waits for it."""
    for name in _LIBRARIES:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)


def tried(edit: Edit, reach: Reach, tree: Path, *, most_s: float) -> Result:
    """Run the tests that reach an edit, as many as the time allows, on the copy with it."""
    tests = reach.tests_for(edit)
    chosen, sum_s = reach.within(tests, most_s)
    began = time.monotonic()
    if not chosen:
        return _result(edit, "not reached", (0, 0), 0.0, "")
    file = tree / edit.module
    whole = file.read_bytes()
    file.write_bytes(edit.applied(whole))
    try:
        ended, by = _run(chosen, tree, most_cpu_s=round(3 * min(sum_s, most_s) + 20))
    finally:
        file.write_bytes(whole)
    counted = (len(chosen), len(tests) - len(chosen))
    return _result(edit, ended, counted, time.monotonic() - began, by)


def _result(edit: Edit, ended: str, counted: tuple[int, int], seconds: float, by: str) -> Result:
    place = (edit.key, edit.module, edit.function, edit.line, edit.kind, edit.old, edit.new)
    return Result(*place, ended, *counted, round(seconds, 1), by)


def _run(tests: Sequence[str], tree: Path, *, most_cpu_s: int) -> tuple[str, str]:
    said = tree / "said.txt"
    pid = os.fork()
    if pid == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (most_cpu_s, most_cpu_s))
        _child(tests, tree, said)
    until = time.monotonic() + 20 * most_cpu_s  # a busy machine is no fault of the edit
    while time.monotonic() < until:
        done, status = os.waitpid(pid, os.WNOHANG)
        if not done:
            time.sleep(0.02)
            continue
        with contextlib.suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)  # servers that a stopped test left
        code = os.waitstatus_to_exitcode(status)
        if code == _NO_WORD:
            raise RuntimeError(said.read_text())
        if code in (-signal.SIGKILL, -signal.SIGXCPU):
            return "too long", ""
        return ("survived", "") if code == 0 else ("killed", _first_failure(said))
    os.killpg(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return "too long", ""


def _child(tests: Sequence[str], tree: Path, said: Path) -> None:
    os.setsid()
    out = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(out, 1)
    os.dup2(out, 2)
    os.chdir(tree)
    os.environ.clear()
    os.environ.update(environment(tree))
    sys.path[:] = [str(tree), *(one for one in sys.path if one not in ("", str(REPO)))]
    for name in [one for one in sys.modules if one.split(".")[0] in ("tests", "stash")]:
        del sys.modules[name]
    import pytest

    code = _NO_WORD
    try:
        words = ["-q", "-x", "-p", "no:cacheprovider", "--tb=line"]
        words += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # of libraries loaded before
        code = int(pytest.main([*words, *tests]))
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)


def _first_failure(said: Path) -> str:
    lines = said.read_text(errors="replace").splitlines()
    found = [line for line in lines if line.startswith(("FAILED", "ERROR"))]
    return (found or lines[-1:] or [""])[0][:200]
