"""Records that cannot be read as what they are: told, and never in the way of the rest."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.colour.palette import Palette
from stash.usecases.ports import Document
from stash.wiring import open_store, restore_backup
from tests.running import answer_of, run_stash
from tests.storage.made_records import made_photo

BROKEN = [
    ("card", {"kind": "chart24", "pitch_in": "wide", "values": "average"}),
    ("card", {"kind": "chart24", "pitch_in": float(10**9), "values": "average"}),
    ("card", {"kind": "printed", "pitch_in": 0.5, "absolute": False, "patch_linear": [[1, 2]]}),
    ("palette", {"name": "odd", "families": [{"family": "blue"}]}),
    ("palette", {"name": "another", "without": ["pink"]}),
    ("quilt", {"plan": {"rows": 3}}),
    ("template", {"suffix": ".json", "text": "{}"}),
]


@pytest.mark.parametrize(("kind", "body"), BROKEN)
def test_a_record_that_cannot_be_read_is_told_and_the_rest_comes_back(
    tmp_path: Path, kind: str, body: dict[str, object]
) -> None:
    home, copy, back = tmp_path / "stash", tmp_path / "copy.zip", tmp_path / "back"
    store = open_store(home)
    store.log_photo(made_photo(7))
    sound = Palette.from_dict({"name": "sea", "without": ["pink"]})
    store.keep_document(Document("palette", "sea", sound.to_dict()), why="sea")
    assert store.check() == ()
    store.keep_document(Document(kind, "odd", body), why="odd")
    assert [(one.kind, one.subject) for one in store.check()] == [("record", f"{kind} odd")]
    store.backup(str(copy))
    report = restore_backup(copy, back)
    assert report.missing == (f"the {kind} “odd” (it cannot be read; make it again)",)
    assert len(open_store(back).scraps()) == len(store.scraps())


def test_an_import_counts_a_record_that_cannot_be_read_in_its_exit_code(tmp_path: Path) -> None:
    home, out, back = tmp_path / "stash", tmp_path / "open", tmp_path / "back"
    store = open_store(home)
    store.log_photo(made_photo(7))
    store.keep_document(Document("quilt", "odd", {"plan": {"rows": 3}}), why="odd")
    answer_of("export", out, "--with-details", home=home)
    done = run_stash("import", out, home=back)
    assert done.returncode != 0
    assert "the quilt “odd”" in done.stdout
    assert len(open_store(back).scraps()) == len(store.scraps())
