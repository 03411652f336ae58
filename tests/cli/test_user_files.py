"""Files the user names: what cannot be written or read is one sentence that names the file."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.running import run_stash


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stash of two plain squares, a palette and a quilt."""
    home = tmp_path_factory.mktemp("files") / "stash"
    for words in (
        ("card", "add", "chart", "--kind", "chart24", "--pitch", "0.55"),
        ("scrap", "add", "6 x 6", "--colour", "#2a6f97", "--bin", "tin"),
        ("scrap", "add", "6 x 6", "--colour", "#014f86"),
        ("palette", "make", "sea", "--words", "blues"),
        ("quilt", "make", "two", "--template", "square", "--size", "4", "--rows", "1",
         "--across", "2", "--palette", "sea"),
        ("quilt", "allot", "two"),
        ("quilt", "layout", "two"),
    ):  # fmt: skip
        done = run_stash(*words, home=home)
        assert done.returncode == 0, done.stderr
    return home


WRITING = [
    ("quilt", "show", "two", "--picture"),
    ("quilt", "layout", "two", "--keep", "--chart"),
    ("quilt", "cutsheets", "two", "--out"),
    ("scraps", "--picture"),
    ("palette", "show", "sea", "--picture"),
    ("palette", "export", "sea"),
    ("match", "--palette", "sea", "--template", "square", "--size", "4", "--picture"),
    ("clash", "--palette", "sea", "--picture"),
    ("template", "print", "square", "--size", "4", "--out"),
    ("card", "print"),
    ("labels", "--out"),
    ("backup",),
    ("export",),
]  # fmt: skip


@pytest.mark.parametrize("words", WRITING, ids=" ".join)
def test_an_answer_that_cannot_be_written_is_one_sentence(home, tmp_path, words):
    (tmp_path / "note.txt").write_text("a file, not a folder")
    wanted = tmp_path / "note.txt" / ("sheet.pdf" if "--picture" not in words else "sheet.png")
    done = run_stash(*words, wanted, home=home)
    assert done.returncode == 1, done.stdout + done.stderr
    assert done.stderr.startswith("stash: ") and str(wanted.parent) in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "words",
    [
        ("palette", "make", "dune", "--photo"),
        ("palette", "make", "dune", "--gpl"),
        ("fit", "--template", "square", "--size", "4", "--outlines"),
        ("own",),
        ("restore",),
        ("import",),
    ],
    ids=" ".join,
)
def test_a_file_that_cannot_be_read_is_one_sentence(home, tmp_path, words):
    given = tmp_path / "missing" / "file.jpg"
    done = run_stash(*words, given, home=home)
    assert done.returncode == 1, done.stdout + done.stderr
    assert done.stderr.startswith("stash: ") and "file.jpg" in done.stderr
    assert "Traceback" not in done.stderr
