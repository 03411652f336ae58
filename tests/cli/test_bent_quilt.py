"""A plan whose palette was let bend says which pieces are of cloth to look at twice."""

from __future__ import annotations

from pathlib import Path

from stash.wiring import open_store
from tests.cli.in_process import Commands
from tests.usecases.cloth import seven_scraps

# Of the seven scraps, fabrics 1 (scraps 1, 2) and 2 (scrap 3) belong; 3 (scrap 4) is borderline.
THREE = "--template square --size 4 --rows 1 --across 3 --charm --palette tide"


def test_allotting_laying_out_and_showing_name_the_pieces_and_why(tmp_path: Path) -> None:
    seven_scraps(open_store(tmp_path / "home"))
    stash = Commands(tmp_path / "home")
    stash.said("palette make tide --words 'blues and teals; no pinks'")
    stash.said(f"quilt make bent {THREE} --borderline")
    (one,) = stash.told("quilt allot bent")["look_twice"]
    assert (one["fabric"], one["scraps"], len(one["pieces"]), one["places"]) == (3, [4], 1, [])
    assert one["why"]
    laid = stash.told("quilt layout bent")
    (place,) = [spot["place"] for spot in laid["places"] if spot["fabric"] == 3]
    assert [spot["places"] for spot in laid["look_twice"]] == [[place]]
    assert stash.told("quilt show bent")["look_twice"] == laid["look_twice"]
    assert f"fabric 3, 1 piece of scrap 4, at {place}: {one['why']}" in stash.said(
        "quilt show bent"
    )


def test_a_plan_that_did_not_bend_says_nothing_of_it(tmp_path: Path) -> None:
    seven_scraps(open_store(tmp_path / "home"))
    stash = Commands(tmp_path / "home")
    stash.said("palette make tide --words 'blues and teals; no pinks'")
    stash.said(f"quilt make sure {THREE.replace('3', '2')} --borderline")
    assert stash.told("quilt allot sure")["look_twice"] == []
    assert "To look at twice" not in stash.said("quilt show sure")
