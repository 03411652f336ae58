"""Two who change the same thing in the same moment: both are kept, or the second is told."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from stash.errors import ChangedElsewhereError, NotFoundError
from stash.scrap import Fabric
from stash.shape.plane.outline import outline_of
from stash.usecases.ports import Document
from stash.usecases.scraps.correct_scraps import Correction, correct_scrap
from stash.wiring import open_store
from tests.reliability.test_faults import ENVIRONMENT
from tests.storage.made_records import made_photo

TRIANGLE = outline_of([(0, 0), (4, 0), (4, 3)], error_in=0.02)
SQUARE = outline_of([(0, 0), (4, 0), (4, 4), (0, 4)], error_in=0.02)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    open_store(tmp_path).log_photo(made_photo(1))
    return tmp_path


def test_two_fields_changed_in_the_same_moment_are_both_kept(home: Path) -> None:
    store, other = open_store(home), open_store(home)
    seen = store.scrap(1)
    other.change_scrap(replace(seen, notes="frays", outline=TRIANGLE), seen=seen, why="theirs")
    store.change_scrap(replace(seen, place="Red tin", grain_deg=30.0), seen=seen, why="ours")
    scrap = store.scrap(1)
    assert (scrap.notes, scrap.place, scrap.grain_deg) == ("frays", "Red tin", 30.0)
    assert scrap.outline == TRIANGLE


@pytest.mark.parametrize(
    ("theirs", "ours", "what"),
    [
        ({"place": "Red tin"}, {"place": "Green tin"}, "bin"),
        ({"grain_deg": 30.0}, {"grain_deg": 60.0}, "grain"),
        ({"outline": TRIANGLE}, {"outline": SQUARE}, "outline"),
        ({"fabric": 2}, {"fabric": 3}, "fabric"),
    ],
)
def test_the_same_field_changed_to_two_things_keeps_the_first(
    home: Path, theirs: dict, ours: dict, what: str
) -> None:
    store, other = open_store(home), open_store(home)
    seen = store.scrap(1)
    other.change_scrap(replace(seen, **theirs), seen=seen, why="theirs")
    with pytest.raises(ChangedElsewhereError, match=f"The {what} of scrap 1 was changed"):
        store.change_scrap(replace(seen, notes="ours", **ours), seen=seen, why="ours")
    assert store.scrap(1) == replace(seen, **theirs)
    assert store.history()[0].why == "theirs"


def test_two_who_agree_make_one_change(home: Path) -> None:
    store, other = open_store(home), open_store(home)
    seen = store.scrap(1)
    for one in (other, store):
        one.change_scrap(replace(seen, place="Red tin"), seen=seen, why="moved")
    assert [line.why for line in store.history()].count("moved") == 1


def test_a_scrap_taken_out_meanwhile_is_not_brought_back(home: Path) -> None:
    store, other = open_store(home), open_store(home)
    seen = store.scrap(1)
    other.delete_scrap(1, why="lost")
    with pytest.raises(NotFoundError):
        correct_scrap(store, 1, Correction(place="Red tin"), seen=seen)


def test_pieces_are_cut_from_a_scrap_only_once(home: Path) -> None:
    store, other = open_store(home), open_store(home)
    store.keep_document(Document("quilt", "Tide", {"cut": 0}), why="planned")
    seen, quilt = store.scrap(1), store.document("quilt", "Tide")
    cut = {"changed": [(seen, replace(seen, outline=TRIANGLE))], "why": "cut"}
    other.keep_together(**cut, records=[(quilt, replace(quilt, body={"cut": 1}))])
    with pytest.raises(ChangedElsewhereError, match="outline of scrap 1"):
        store.keep_together(**cut)
    with pytest.raises(ChangedElsewhereError, match="quilt “Tide”"):
        store.keep_document(replace(quilt, body={"cut": 0, "laid": 1}), seen=(quilt,), why="laid")
    assert store.document("quilt", "Tide").body == {"cut": 1}


def test_a_name_and_a_tick_of_a_fabric_are_both_kept(home: Path) -> None:
    store, other = open_store(home), open_store(home)
    other.change_fabric(Fabric(1, "blue ditsy"), seen=Fabric(1), why="named")
    store.change_fabric(Fabric(1, one_way=True), seen=Fabric(1), why="one way")
    assert store.fabrics()[0] == Fabric(1, "blue ditsy", one_way=True)
    with pytest.raises(ChangedElsewhereError, match="The name of fabric 1"):
        store.change_fabric(Fabric(1, "sea"), seen=Fabric(1), why="named again")


# Changes one field again and again after a moment's thought, as the other process does meanwhile,
# and counts how often its last change is gone.
EDITOR = """
import sys, time
from pathlib import Path
from stash.usecases.scraps.correct_scraps import Correction, correct_scrap
from stash.wiring import open_store
home, field = Path(sys.argv[1]), sys.argv[2]
store, lost, last = open_store(home), 0, ""
for turn in range(25):
    seen = store.scrap(1)
    lost += getattr(seen, field) != last
    last = f"{field} {turn}"
    time.sleep(0.02)
    correct_scrap(store, 1, Correction(**{field: last}), seen=seen)
print(lost)
"""


def test_two_processes_that_edit_one_scrap_lose_nothing(home: Path) -> None:
    store = open_store(home)
    seen = store.scrap(1)
    store.change_scrap(replace(seen, place="", notes=""), seen=seen, why="begun")
    both = [
        subprocess.Popen(
            [sys.executable, "-c", EDITOR, str(home), field],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=ENVIRONMENT,
        )
        for field in ("place", "notes")
    ]
    for process in both:
        lost, problems = process.communicate(timeout=300)
        assert (process.returncode, problems, lost.strip()) == (0, "", "0")
    scrap = store.scrap(1)
    assert (scrap.place, scrap.notes) == ("place 24", "notes 24")
