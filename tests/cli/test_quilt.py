"""The quilt commands as a person runs them: real processes, one stash."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.quilt.tidewater import tidewater
from tests.running import run_stash

MAKE = ["--template", "tumbler", "--size", "4", "--charm"]


def run(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    done: subprocess.CompletedProcess[str] = run_stash("quilt", *words, home=home)
    return done


def answer(home: Path, *words: str) -> Any:
    done = run(home, *words, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("stash")
    tidewater(folder, 14, seed=5)
    return folder


def test_a_quilt_goes_from_plan_to_cutting(home: Path, tmp_path: Path) -> None:
    made = answer(home, "make", "Tidewater", *MAKE, "--rows", "3", "--across", "4", "--straight")
    assert (made["pieces"], made["part_pieces"], made["limit_per_fabric"]) == (12, 6, 1)
    enough = answer(home, "enough", "Tidewater")
    assert enough["possible"] is True
    assert enough["pieces"] == {"needed": 12, "available": 14, "short": 0}
    allotted = answer(home, "allot", "Tidewater")
    assert (allotted["pieces"], allotted["optimal"]) == (12, True)
    held = run_stash("scraps", "--state", "reserved", home=home).stdout
    assert held.count("reserved for Tidewater") == 12
    picture, chart = tmp_path / "quilt.png", tmp_path / "chart.pdf"
    laid = answer(home, "layout", "Tidewater", "--picture", str(picture), "--chart", str(chart))
    assert laid["same_fabric_touching"] == 0
    assert sorted(place["piece"] for place in laid["places"]) == list(range(12))
    with Image.open(picture) as drawn:
        assert drawn.size[0] > 500
    assert chart.read_bytes().startswith(b"%PDF")
    scrap = laid["places"][0]["scrap"]
    cut = answer(home, "cut", "Tidewater", "--scrap", str(scrap))
    assert (cut["pieces_cut"], cut["pieces_to_cut"]) == (1, 11)
    shown = run(home, "show", "Tidewater")
    assert "1 of 12 pieces cut, 11 to cut, 0 missing." in shown.stdout
    again = run(home, "cut", "Tidewater", "--scrap", str(scrap))
    assert (again.returncode, again.stdout) == (1, "")
    assert "cut already" in again.stderr


def test_a_quilt_that_cannot_be_made_is_an_answer(home: Path) -> None:
    answer(home, "make", "Too large", *MAKE, "--rows", "9", "--across", "9")
    enough = run(home, "enough", "Too large")
    assert enough.returncode == 0
    assert "No, it cannot be made as planned" in enough.stdout
    assert "Any one of these makes it possible:" in enough.stdout
    allotted = answer(home, "allot", "Too large")
    assert allotted["possible"] is False
    assert {change["kind"] for change in allotted["changes"]} >= {"buy", "fewer"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["make", "X", *MAKE], "in one way"),
        (["make", "X", *MAKE, "--finished", "wide"], "60x72"),
        (["make", "X", *MAKE, "--rows", "2", "--across", "2", "--values", "1,2"], "30,40,30"),
        (["make", "X", *MAKE, "--bed", "hammock"], "twin"),
        (["show", "Nowhere"], "There is no quilt"),
        (["cut", "Nowhere"], "--scrap 1,3,7-9"),
    ],
)
def test_a_slip_is_told_in_a_sentence(home: Path, words: list[str], said: str) -> None:
    done = run(home, *words)
    assert (done.returncode, done.stdout) == (1, "")
    assert said in done.stderr
    assert "Traceback" not in done.stderr
