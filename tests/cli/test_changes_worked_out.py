"""What commands that change, print, undo and settle do to ``seven_scraps``; one stash each."""

from __future__ import annotations

import io
import itertools
import json
import math
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from PIL import Image

from stash.cli.settings_file import changed_settings, read_settings
from stash.colour.appearance import PrintKind
from stash.errors import HistoryEndError, PlanError, SettingValueError, StashError
from stash.usecases.quilts.plan_quilt import quilt_named
from stash.wiring import open_store
from tests.cli.in_process import Commands, tables
from tests.usecases.cloth import seven_scraps


@pytest.fixture
def home(tmp_path: Path) -> Path:
    seven_scraps(open_store(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def stash(home: Path) -> Commands:
    return Commands(home)


def numbers(home: Path) -> list[int]:
    return [scrap.number for scrap in open_store(home).scraps()]


def test_scraps_are_deleted_all_or_none_and_brought_back(stash: Commands, home: Path) -> None:
    with_one_too_many = stash.problem("scrap 1,99 --delete")
    assert isinstance(with_one_too_many, StashError)
    assert numbers(home) == [1, 2, 3, 4, 5, 6, 7]
    assert stash.told("scrap 1 --delete") == {"deleted": 1}
    assert stash.told("scrap 2-3 --delete") == {"deleted": [2, 3]}
    assert stash.told("bin")["scraps"] == [1, 2, 3]
    assert stash.told("undo 2")["taken_back"] == ["deleted scrap 3", "deleted scrap 2"]
    assert numbers(home) == [2, 3, 4, 5, 6, 7]
    assert stash.told("redo")["done_again"] == "deleted scrap 2"
    assert isinstance(stash.problem("undo 99"), HistoryEndError)
    assert numbers(home) == [3, 4, 5, 6, 7]


def test_states_in_the_history_are_told(stash: Commands) -> None:
    stash.said("scrap 1 --bin shelf")
    stash.said("undo")
    done, *_ = stash.told("history")["changes"]
    assert done["state"] == "undone"
    assert "shelf" in done["what"]


def test_a_scrap_is_corrected_by_words(stash: Commands, home: Path) -> None:
    stash.said("scrap 1 --bin shelf --fibre linen --unwashed --grain 30 --name Harbour --one-way")
    store = open_store(home)
    scrap, fabric = store.scrap(1), store.fabrics()[0]
    assert (scrap.place, scrap.fibre, scrap.washed, scrap.grain_deg) == (
        "shelf", "linen", False, 30.0,
    )  # fmt: skip
    assert (fabric.name, fabric.one_way) == ("Harbour", True)
    stash.said("scrap 1-3 --bin box")
    assert [one.place for one in open_store(home).scraps()] == ["box"] * 3 + [""] * 4


def test_scraps_are_added_by_ruler(stash: Commands, home: Path) -> None:
    told = stash.told("scrap add '5 1/4 x 9' --colour '#1f3f7a' --kind stripe --count 2 --bin tin")
    store = open_store(home)
    added = [scrap for scrap in store.scraps() if scrap.number > 7]
    assert [scrap.outline.bounds for scrap in added] == [(0, 0, 5.25, 9)] * 2
    assert {scrap.appearance.kind for scrap in added} == {PrintKind.STRIPE}
    assert len({scrap.fabric for scrap in added}) == 1
    assert json.dumps(told).count("tin") >= 1
    stash.said("scrap add '13 x 25.4' --unit cm --same-as 2")
    scrap = open_store(home).scrap(10)
    assert scrap.fabric == 2
    assert scrap.outline.bounds[2:] == pytest.approx((13 / 2.54, 10))


def test_wanted_values_are_three_shares_of_a_hundred(stash: Commands, home: Path) -> None:
    plan = "--template square --size 4 --rows 1 --across 3"
    stash.said(f"quilt make one {plan} --values 20,30,50")
    values = quilt_named(open_store(home), "one").plan.values
    assert values == pytest.approx({"light": 0.2, "medium": 0.3, "dark": 0.5})
    stash.said(f"quilt make two {plan} --values '33%,33%,33%'")  # rounding may lose a part
    for wrong in ("20,30", "20,30,40", "-10,60,50", "a,b,c", "50,50,50"):
        assert isinstance(stash.problem(f"quilt make bad {plan} --values={wrong}"), PlanError)


def test_a_quilt_is_cut_shown_and_set_aside(stash: Commands, home: Path) -> None:
    stash.said("quilt make raffle --template square --size 4 --rows 1 --across 4 --charm")
    stash.said("quilt allot raffle")
    assert stash.told("quilt allot raffle")["possible"] is True
    cut = stash.told("quilt cut raffle --scrap 2")
    assert [one["scrap"] for one in cut["cut"]] == [2]
    assert [one["pieces"] for one in cut["cut"]] == [1]
    shown = stash.told("quilt show raffle")
    assert json.dumps(shown).count('"cut": 1') >= 1
    assert "1 of 4 pieces cut, 3 to cut" in stash.said("quilt show raffle")
    stash.said("quilt set-aside raffle")
    assert stash.told("scraps --state reserved")["scraps"] == []
    stash.said("quilt set-aside raffle --back")
    assert [one["scrap"] for one in stash.told("scraps --state reserved")["scraps"]] == [3, 4, 5]
    stash.said("quilt cut raffle --all")
    assert quilt_named(open_store(home), "raffle").cut_count == 4


def test_scalloped_edges_are_measured_along_their_arcs(stash: Commands) -> None:
    # A half circle over 6 in is 3 deep and 3 pi long; four of them on each of four sides.
    told = stash.told("quilt finishing --finished 24x24 --scallops 16 --scallop 6x3")
    assert told["edge_in"] == pytest.approx(16 * 3 * math.pi, abs=1e-3)
    assert told["curved"] is True
    assert told["inner_corners"] == 16
    assert str(told["binding"]["grain"]) == "bias"
    for half in ("--scallops 16", "--scallop 6x3"):
        assert isinstance(stash.problem(f"quilt finishing --finished 24x24 {half}"), PlanError)


def test_a_shape_may_be_sewn_and_quilted_without_a_quilt(stash: Commands, tmp_path: Path) -> None:
    out = tmp_path / "a.pdf"
    guide = stash.told(f"quilt guide --template square --size 4 --style seams --out {out}")
    assert guide["style"] == "seams"
    # Runs are straight pieces of the seams: their lengths add up to the whole.
    length = sum(math.dist(a, b) for run in guide["runs"] for a, b in itertools.pairwise(run))
    assert guide["length_in"] == pytest.approx(length, rel=0.01)
    sewing = stash.told(f"quilt sewing --template square --size 4 --out {out}")
    assert {seam["length_in"] for seam in sewing["seams"]} == {4.0}
    assert [row["row"] for row in sewing["rows"]] == [1, 2, 3, 4][: len(sewing["rows"])]
    assert isinstance(stash.problem("quilt sewing"), PlanError)
    assert isinstance(stash.problem("quilt guide x --template square --size 4"), PlanError)
    assert isinstance(
        stash.problem("quilt guide --template square --size 4 --style dots"), PlanError
    )


def test_cut_sheets_number_layers_from_one(stash: Commands, tmp_path: Path) -> None:
    stash.said("quilt make raffle --template square --size 4 --rows 1 --across 4 --charm")
    stash.said("quilt allot raffle")
    told = stash.told(f"quilt cutsheets raffle --layers 2 --out {tmp_path / 'c.pdf'}")
    layered = [layer for stack in told["stacks"] for layer in stack["layers"]]
    alone = told["cut_alone"]
    assert all(min(layer["pieces"]) >= 1 for layer in layered)
    assert {one["piece"] for one in alone} <= {1}
    assert sum(len(one["pieces"]) for one in layered) + len(alone) == 4
    words = stash.said(f"quilt cutsheets raffle --out {tmp_path / 'c.pdf'}")
    assert [row["scrap"] for row in tables(words)[0]] == ["3", "4", "5", "2"]


def test_shapes_are_shown_printed_and_asked(stash: Commands, tmp_path: Path) -> None:
    shown = stash.told("template show square --size 4")
    assert (shown["cut_width_in"], shown["cut_height_in"], shown["cut_area_sq_in"]) == (
        4.5, 4.5, 20.25,
    )  # fmt: skip
    assert shown["finished_edge_in"] == 16
    assert "on every edge" in stash.said("template show square --size 4")
    outlines = tmp_path / "o.json"
    square = [[0, 0], [5, 0], [5, 5], [0, 5]]
    outlines.write_text(
        json.dumps([{"id": "a", "outline": square}, {"id": "b", "outline": square, "error_in": 1}])
    )
    rows = stash.rows(f"fit --template square --size 4 --outlines {outlines}")
    fits, fits_not = (list(row.values())[1] for row in rows)
    assert fits == "yes"
    assert fits_not in ("no", "maybe")
    assert "1 pieces from 1 of 2 scraps" in stash.said(
        f"fit --template square --size 4 --outlines {outlines}"
    ).replace("1 piece ", "1 pieces ")
    file = tmp_path / "t.pdf"
    stash.said(f"template print square --size 3 --size 4 --paper a4 --out {file}")
    with pypdfium2.PdfDocument(file.read_bytes()) as sheets:
        assert len(sheets) == 2
        assert sorted(round(one) for one in sheets[0].get_size()) == [595, 842]


def test_answers_are_drawn_into_the_file_named(stash: Commands, tmp_path: Path) -> None:
    stash.said("palette make tide --words 'blues and teals; no pinks'")
    for line, file in (
        ("match --palette tide --template square --size 4", "match.svg"),
        ("clash --palette tide", "clash.svg"),
        ("scraps", "scraps.svg"),
        ("fabrics", "fabrics.svg"),
        ("goes-with --fabric 1", "with.svg"),
    ):
        stash.said(f"{line} --picture {tmp_path / file}")
        assert (tmp_path / file).read_text().startswith("<svg")
    stash.said(f"scraps --picture {tmp_path / 'grey.png'} --values")
    with Image.open(io.BytesIO((tmp_path / "grey.png").read_bytes())) as grey:
        colours = grey.convert("RGB").getcolors(1 << 24)
    large = [rgb for count, rgb in colours if count > 20_000]
    assert all(max(rgb) - min(rgb) < 14 for rgb in large)


def test_a_stash_is_copied_looked_over_and_brought_back(stash: Commands, tmp_path: Path) -> None:
    file, folder = tmp_path / "kept.zip", tmp_path / "open"
    told = stash.told(f"backup {file}")
    assert Path(told["file"]).name == "kept.zip"
    assert "well" in stash.said("verify").lower()
    assert stash.told(f"export {folder}")["left_out"] == []
    exported = json.loads((folder / "stash.json").read_text())
    assert [one["number"] for one in exported["scraps"]] == [1, 2, 3, 4, 5, 6, 7]
    other = Commands(tmp_path / "other")
    other.said(f"restore {file}")
    assert numbers(tmp_path / "other") == [1, 2, 3, 4, 5, 6, 7]
    third = Commands(tmp_path / "third")
    third.said(f"import {folder}")
    assert numbers(tmp_path / "third") == [1, 2, 3, 4, 5, 6, 7]
    assert isinstance(other.problem(f"restore {file}"), StashError)


def test_a_photo_that_is_refused_ends_with_one(stash: Commands, tmp_path: Path) -> None:
    stash.said("card add pocket --kind chart24 --pitch 0.55")
    bad = tmp_path / "bad.jpg"
    bad.write_bytes(b"no picture")
    assert stash.ends(f"log {bad}") == 1
    assert stash.ends(f"log {bad} --odd") == 2
    assert stash.told("card list")[0]["name"] == "pocket"


# Settings.


@pytest.fixture
def settled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., dict[str, str]]:
    monkeypatch.setenv("STASH_SETTINGS", str(tmp_path / "settings.toml"))

    def change(**given: str) -> dict[str, str]:
        changed_settings(given)
        return dict(read_settings())

    return change


def test_settings_are_kept_changed_and_taken_away(settled: Callable[..., dict[str, str]]) -> None:
    assert settled(unit="CM", paper="a4") == {"unit": "cm", "paper": "a4"}
    assert settled(unit="in") == {"unit": "in", "paper": "a4"}
    assert settled(paper="") == {"unit": "in"}
    for name, value in (("unit", "feet"), ("paper", "a2"), ("odd", "x"), ("seam", "wide")):
        with pytest.raises(StashError):
            settled(**{name: value})
    with pytest.raises(SettingValueError):
        settled(unit=" ")
    assert settled() == {"unit": "in"}


@pytest.mark.parametrize(
    ("written", "kept"),
    [("3/8", "3/8 in"), ("0.25", "0.25 in"), ("¼", "¼ in"), ("1¼", "1¼ in"), ("6 mm", "6 mm"),
     ("0.6 cm", "0.6 cm")],
)  # fmt: skip
def test_a_seam_without_a_unit_is_inches_whatever_the_unit_becomes(
    settled: Callable[..., dict[str, str]], written: str, kept: str
) -> None:
    assert settled(seam=written) == {"seam": kept}


def test_a_new_size_is_read_in_the_unit_told(home: Path) -> None:
    stash = Commands(home)
    stash.said("quilt make raffle --template square --size '4 in' --rows 2 --across 2")
    stash.said("quilt change raffle --size 5 --unit cm")
    assert quilt_named(open_store(home), "raffle").plan.size == "5 cm"
