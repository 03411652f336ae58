"""Palettes through the command line, as its user runs it."""

import csv
import io
import json

import pytest
from PIL import Image
from PIL.GimpPaletteFile import GimpPaletteFile

from stash.colour.spaces import lab_of_hex
from tests.running import answer_of, run_stash

WORDS = "blues and teals mostly, sand, a touch of coral; no pinks, no purples"


def test_a_palette_of_hex_colours_is_kept_and_shown(tmp_path):
    made = answer_of(
        "palette", "make", "Harbour", "--colours", "#1f3f7a,#2f8f8f",
        "--without", "pink", "--without", "purples", home=tmp_path,
    )  # fmt: skip
    assert made == answer_of("palette", "show", "Harbour", home=tmp_path)
    assert [target["hex"] for target in made["targets"]] == ["#1f3f7a", "#2f8f8f"]
    assert made["without"] == ["pink", "purple"]
    lab = [round(v, 2) for v in lab_of_hex("#1f3f7a")]
    assert made["targets"][0]["lab"] == lab


def test_a_palette_in_words_is_listed_drawn_and_exported(tmp_path):
    assert (
        run_stash("palette", "make", "Tidewater", "--words", WORDS, home=tmp_path).returncode == 0
    )
    (listed,) = answer_of("palette", "list", home=tmp_path)["palettes"]
    assert [family["family"] for family in listed["families"]] == ["blue", "teal"]
    for name, start in [("t.png", b"\x89PNG"), ("t.svg", b"<svg")]:
        picture = tmp_path / name
        run_stash("palette", "show", "Tidewater", "--picture", picture, home=tmp_path)
        assert picture.read_bytes().startswith(start)
    exported = tmp_path / "t.gpl"
    assert run_stash("palette", "export", "Tidewater", exported, home=tmp_path).returncode == 0
    again = answer_of("palette", "make", "Again", "--gpl", exported, home=tmp_path)
    assert len(again["targets"]) == 6
    assert "coral" in run_stash("palette", "export", "Again", "-", "--csv", home=tmp_path).stdout


def test_a_colour_asked_for_by_itself_is_not_told_as_ruled_out(tmp_path):
    # Coral lies between pink and red; the pale pink has no other name.
    made = run_stash(
        "palette",
        "make",
        "Reef",
        "--colours",
        "#f2786b,#f4b8c4",
        "--without",
        "pink",
        home=tmp_path,
    ).stdout
    rows = {line.split()[-2]: line.split()[-1] for line in made.splitlines() if "#" in line}
    assert rows == {"#f2786b": "red", "#f4b8c4": "pink"}
    assert "Welcome all the same, being asked for by themselves: pale pink." in made


def test_a_photo_gives_its_colours(tmp_path):
    photo = tmp_path / "sea.png"
    image = Image.new("RGB", (300, 200), "#1f3f7a")
    image.paste("#d9c7a3", (0, 0, 300, 60))
    image.save(photo)
    made = answer_of("palette", "make", "Sea", "--photo", photo, home=tmp_path)
    assert [target["hex"] for target in made["targets"]] == ["#1f3f7a", "#d9c7a3"]


def test_limits_are_explained_and_can_be_changed(tmp_path):
    run_stash("palette", "make", "Tidewater", "--words", WORDS, home=tmp_path)
    limit = "ruled_out_clash=0.4"
    changed = run_stash("palette", "set", "Tidewater", "--limit", limit, home=tmp_path)
    assert changed.returncode == 0
    limits = answer_of("palette", "show", "Tidewater", "--explain", home=tmp_path)["limits"]
    assert {limit["name"]: limit["value"] for limit in limits}["ruled_out_clash"] == 0.4


def test_bad_words_end_in_one_sentence(tmp_path):
    for words in (
        ["make", "X"],
        ["make", "X", "--words", "blurples"],
        ["make", "X", "--colours", "#12"],
        ["make", "X", "--colours", "#123456", "--without", "blurple"],
        ["make", "X", "--gpl", tmp_path / "nowhere.gpl"],
        ["make", "X", "--scraps", "1,x"],
        ["make", "X", "--fabric", "12"],
        ["make", "X", "--words", "blues", "--limit", "ruled_out_clash"],
        ["make", "X", "--words", "blues", "--limit", "cap=3"],
        ["show", "Nothing"],
        ["forget", "Nothing"],
    ):
        done = run_stash("palette", *words, home=tmp_path)
        assert done.returncode == 1, words
        assert done.stderr.startswith("stash: ")
        assert "Traceback" not in done.stderr


def test_a_forgotten_palette_is_gone(tmp_path):
    run_stash("palette", "make", "Harbour", "--colours", "#1f3f7a", home=tmp_path)
    assert answer_of("palette", "forget", "Harbour", home=tmp_path) == {"forgotten": "Harbour"}
    assert answer_of("palette", "list", home=tmp_path) == {"palettes": []}


def read_by_others(file):
    """Read colours and names with somebody else's reader of that kind of file."""
    if file.suffix == ".gpl":
        with file.open("rb") as opened:
            levels = GimpPaletteFile(opened).palette
        return ["#" + levels[at : at + 3].hex() for at in range(0, len(levels), 3)]
    if file.suffix == ".ase":
        swatch = pytest.importorskip("swatch", reason="a reader of swatch exchange files")
        (group,) = swatch.parse(str(file))
        rows = [one["data"]["values"] for one in group["swatches"]]
        return ["#" + bytes(round(255 * level) for level in row).hex() for row in rows]
    if file.suffix == ".csv":
        with file.open(encoding="utf-8", newline="") as opened:
            return [row["hex"] for row in csv.DictReader(opened) if row["role"] == "wanted"]
    return [one["hex"] for one in json.loads(file.read_text(encoding="utf-8"))["wanted"]]


@pytest.mark.parametrize("ending", [".gpl", ".csv", ".json", ".ase"])
def test_a_palette_file_is_what_its_ending_says(tmp_path, ending):
    colours = ["#1f3f7a", "#2f8f8f", "#ff0000"]
    answer_of("palette", "make", "Häfen 港", "--colours", ",".join(colours), home=tmp_path)
    file = tmp_path / f"out{ending}"
    answer_of("palette", "export", "Häfen 港", file, home=tmp_path)
    assert read_by_others(file)[: len(colours)] == colours


@pytest.mark.parametrize("name", ["p.aco", "p.txt", "p"])
def test_a_palette_is_not_written_as_what_it_cannot_be(tmp_path, name):
    answer_of("palette", "make", "Harbour", "--colours", "#1f3f7a", home=tmp_path)
    done = run_stash("palette", "export", "Harbour", tmp_path / name, home=tmp_path)
    assert done.returncode == 1
    assert ".ase" in done.stderr
    assert not (tmp_path / name).exists()


@pytest.mark.parametrize("name", ["p.bmp", "p.pdf", "p.json"])
def test_a_picture_is_not_written_under_another_kinds_ending(tmp_path, name):
    answer_of("palette", "make", "Harbour", "--colours", "#1f3f7a", home=tmp_path)
    done = run_stash("palette", "show", "Harbour", "--picture", tmp_path / name, home=tmp_path)
    assert (done.returncode, len(done.stderr.splitlines())) == (1, 1)
    assert not (tmp_path / name).exists()


def test_scraps_come_as_a_table_for_a_spreadsheet(tmp_path):
    words = ("scrap", "add", "5 x 7", "--colour", "#1f3f7a", "--name", 'sea, "deep"\nblue')
    (scrap,) = answer_of(*words, "--bin", "=1+1", home=tmp_path)["scraps"]
    done = run_stash("scraps", "--csv", home=tmp_path)
    (row,) = csv.DictReader(io.StringIO(done.stdout))
    assert row["name"] == 'sea, "deep"\nblue'
    assert row["bin"] == "'=1+1"  # a spreadsheet would compute it
    assert (float(row["size_in_short"]), float(row["size_in_long"])) == (5, 7)
    assert float(row["area_sq_in"]) == 35
    assert float(row["L*"]) == pytest.approx(scrap["reads_as_lab"][0], abs=0.01)


def test_a_palette_is_edited_in_place(tmp_path):
    run_stash("palette", "make", "Tidewater", "--words", WORDS, home=tmp_path)
    edited = answer_of(
        "palette", "set", "Tidewater", "--add", "a pop of lime; no browns", "--drop", "sand",
        "--amount", "coral=some", "--allow", "pinks", home=tmp_path,
    )  # fmt: skip
    names = {one["name"]: one["amount"] for one in edited["targets"]}
    assert names == {"coral": "some", "lime": "touch"}
    assert edited["without"] == ["purple", "brown"]
    assert [one["family"] for one in edited["families"]] == ["blue", "teal"]


def test_a_colour_the_palette_does_not_have_cannot_leave_it(tmp_path):
    run_stash("palette", "make", "Tidewater", "--words", WORDS, home=tmp_path)
    refused = run_stash("palette", "set", "Tidewater", "--drop", "mauve", home=tmp_path)
    assert refused.returncode == 1
    assert "it has blue, teal, sand, coral" in refused.stderr


def test_what_goes_with_chosen_scraps_is_told(tmp_path):
    for code in ("#22305c", "#25335f", "#3f8f47", "#f7f7f5"):
        run_stash("scrap", "add", "5 x 5", "--colour", code, home=tmp_path)
    answer = answer_of("goes-with", "--scraps", "1", home=tmp_path)
    assert [one["name"] for one in answer["colours"]] == ["navy"]
    assert [one["fabric"] for one in answer["goes_with"]] == [2, 4]
    assert {"what": "a light one", "fabrics": [4]} in answer["wanting"]
    assert "Say what it shall go with" in run_stash("goes-with", home=tmp_path).stderr


def test_match_answers_in_three_places_with_one_short_reason(tmp_path):
    for code in ("#22305c", "#8a82d4", "#3f8f47"):
        run_stash("scrap", "add", "9 x 9", "--colour", code, home=tmp_path)
    run_stash("palette", "make", "sea", "--words", "blues; no purples", home=tmp_path)
    question = ("match", "--palette", "sea", "--template", "square", "--size", "4")
    answer = answer_of(*question, home=tmp_path)
    groups = ("can_go_in", "look_twice", "cannot")
    places = {name: [one["fabric"] for one in answer[name]] for name in groups}
    assert places == {"can_go_in": [1], "look_twice": [2], "cannot": [3]}
    assert [one["reasons"] for one in answer["can_go_in"]] == [[]]
    (reason, *_) = answer["look_twice"][0]["reasons"]
    assert len(reason["text"].split()) <= 8
    told = run_stash(*question, "--explain", home=tmp_path).stdout
    assert "1 fabric can go in" in told
    assert reason["detail"].split(";")[0][:20] in " ".join(told.split())


def test_what_is_said_when_it_is_made_and_what_is_edited_later_are_both_kept(tmp_path):
    made = answer_of(
        "palette", "make", "harbour", "--words", "navy, cream; no pinks, no lime; not too bright",
        home=tmp_path,
    )  # fmt: skip
    assert (made["without"], made["not_too"]) == (["pink"], ["bright"])
    assert {shade["name"] for shade in made["avoided"]} == {"lime"}
    changed = answer_of(
        "palette", "set", "harbour", "--add", "a touch of navy, not too dark", "--allow", "lime",
        "--without", "dark green", "--no-neutrals", home=tmp_path,
    )  # fmt: skip
    assert {target["amount"] for target in changed["targets"]} == {"touch"}
    assert changed["avoided"] == [{"family": "green", "value": "dark"}]
    assert (changed["neutrals"], changed["not_too"]) == (False, ["bright", "dark"])
    refused = run_stash("palette", "set", "harbour", "--allow", "lime", home=tmp_path)
    assert "does not rule out “lime”" in refused.stderr
