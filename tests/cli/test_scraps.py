"""Scraps and fabrics through the command line, as a real process."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest
from PIL import Image

from stash.cli.photo_commands import say_outcome
from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.shape.plane.outline import outline_of
from stash.usecases.photos.add_photo import PhotoOutcome
from stash.usecases.ports import ScrapToLog
from stash.usecases.ruler_sizes import rectangle_of, size_from_words
from stash.usecases.scraps.correct_scraps import RuledScrap, add_ruled_scrap
from stash.wiring import open_store
from tests.running import answer_of, run_stash


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = tmp_path / "stash"
    store = open_store(home)
    for words, looks in (
        ("fat quarter", {"colours": ("#1f3f7a",), "name": "sea"}),
        ("5 x 9", {"colours": ("#ecdcae",), "place": "drawer"}),
    ):
        add_ruled_scrap(
            store, RuledScrap(rectangle_of(size_from_words(words)), **looks), words=words
        )
    store.database.close()
    return home


def test_a_scrap_is_added_by_ruler(tmp_path: Path) -> None:
    added = answer_of("scrap", "add", "1/4 yd", "--colour", "#1f3f7a", "--name", "sea",
                      home=tmp_path)  # fmt: skip
    (scrap,) = added["scraps"]
    assert (scrap["size_in"], scrap["name"], scrap["family"]) == ([9, 40], "sea", "blue")


def test_cloth_is_added_by_a_picture_of_it_alone(tmp_path: Path) -> None:
    home = tmp_path / "stash"
    grey = Image.new("L", (200, 160), 120)
    grey.save(tmp_path / "shop é.png")
    added = answer_of("scrap", "add", "18 x 22", "--picture", tmp_path / "shop é.png",
                      "--kind", "print", "--name", "slate", "--count", 2, home=home)  # fmt: skip
    one, other = added["scraps"]
    assert (one["size_in"], one["name"], one["kind"]) == ([18, 22], "slate", "print")
    # CIELAB of sRGB grey 120, by hand: L* = 116 (0.1878)^(1/3) - 16 = 50.4
    assert one["reads_as_lab"] == pytest.approx([50.4, 0, 0], abs=0.2)
    assert one["error_de00"] == 1.5 and one["picture"] is not None
    assert one["fabric"] == other["fabric"]
    picture = open_store(home).scrap(1).picture
    assert picture is not None and (picture.left_in, picture.top_in) == (0, 22)
    assert "black-and-white" in added["warnings"][0]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--picture", "empty.jpg"], "empty"),
        (["--picture", "nowhere.jpg"], "nowhere.jpg cannot be opened"),
        (["--picture", "shop.png", "--colour", "#1f3f7a"], "not both"),
        (["--picture", "shop.png", "--px-per-in", "0"], "pixels to the inch"),
    ],
)
def test_a_picture_that_tells_nothing_is_refused_in_one_sentence(
    tmp_path: Path, words: list[str], told: str
) -> None:
    Image.new("RGB", (200, 160), (31, 63, 122)).save(tmp_path / "shop.png")
    (tmp_path / "empty.jpg").touch()
    done = run_stash("scrap", "add", "5 x 5", *words, home=tmp_path / "stash", cwd=tmp_path)
    assert done.returncode == 1
    assert told in done.stderr and len(done.stderr.strip().splitlines()) == 1
    assert not open_store(tmp_path / "stash").scraps()


def test_a_scrap_that_may_be_none_is_told_with_the_command_that_takes_it_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = open_store(tmp_path / "stash")
    shape = outline_of([(0, 0), (14, 0), (14, 1), (0, 1)])
    grey = (50.0, 0.0, 0.0)
    looks = Appearance(grey, (ColourShare(grey, 1.0),), PrintKind.PLAIN)
    logged = store.add_scrap(ScrapToLog(shape, looks, notes="may be no scrap: a ruler"), why="test")
    say_outcome(PhotoOutcome("one.jpg", "logged", scraps=(logged,)))
    assert "#1 may be no scrap: a ruler; take it out: stash scrap 1 --delete" in (
        capsys.readouterr().out
    )


def test_a_scrap_is_listed_shown_corrected_and_brought_back(home: Path) -> None:
    listed = answer_of("scraps", home=home)["scraps"]
    assert [(one["scrap"], one["size_in"], one["family"]) for one in listed] == [
        (1, [18, 22], "blue"),
        (2, [5, 9], "cream"),
    ]
    changed = answer_of("scrap", 2, "--corners", "0,0 4,0 4,3 0,3", "--washed", home=home)
    assert (changed["area_sq_in"], changed["size_after_washing_in"]) == (12, [3, 4])
    assert len(changed["changed"]) == 1
    assert answer_of("scrap", 2, home=home)["outline_in"] == [[0, 0], [4, 0], [4, 3], [0, 3]]
    assert answer_of("undo", home=home)["taken_back"] == changed["changed"]
    assert answer_of("scrap", 2, home=home)["area_sq_in"] == 45


def test_a_deleted_scrap_lies_in_the_bin(home: Path) -> None:
    assert answer_of("scrap", 1, "--delete", home=home) == {"deleted": 1}
    assert [one["scrap"] for one in answer_of("scraps", home=home)["scraps"]] == [2]
    answer_of("undo", home=home)
    assert answer_of("bin", home=home)["scraps"] == []
    run_stash("scrap", 1, "--delete", home=home)
    told = {"scraps": [1], "photos": [], "emptied": True}
    assert answer_of("bin", "--empty", home=home) == told
    done = run_stash("scrap", 1, home=home)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith("stash: There is no scrap “1”")


def test_taking_back_more_than_there_is_takes_back_nothing(home: Path) -> None:
    before = answer_of("scraps", home=home)
    done = run_stash("undo", "99999", home=home)
    assert done.returncode == 1 and "nothing was changed" in done.stderr
    assert answer_of("scraps", home=home) == before
    run_stash("undo", home=home)
    assert run_stash("redo", home=home).stdout.startswith("Done again: ")
    assert answer_of("scraps", home=home) == before


def test_joined_scraps_are_one_fabric(home: Path) -> None:
    answer_of("scrap", 2, "--same-as", 1, home=home)
    (fabric,) = answer_of("fabrics", home=home)["fabrics"]
    assert (fabric["name"], fabric["scraps"]) == ("sea", [1, 2])
    answer_of("scrap", 2, "--own-fabric", home=home)
    assert len(answer_of("fabrics", home=home)["fabrics"]) == 2


def test_tables_read_in_inches_and_centimetres(home: Path) -> None:
    inches = run_stash("scraps", "--bin", "drawer", home=home).stdout
    assert "5 × 9" in inches
    assert inches.endswith("1 scrap.\n")
    told = run_stash("scrap", 1, "--unit", "cm", home=home).stdout
    # 18 x 22 in = 45.72 x 55.88 cm; 3 % less after washing.
    assert "45.7 × 55.9 cm, unwashed; 44.3 × 54.2 cm after washing" in told


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("scrap", "1", "--corners", "0,0 1,0 0,1 1,1"), "not one plain shape"),
        (("scrap", "1", "--grain", "north"), "“north” is no direction"),
        (("scrap", "add", "five apples", "--colour", "#ffffff"), "is not a"),
    ],
)
def test_a_mistake_reads_as_one_sentence(home: Path, words: tuple[str, ...], says: str) -> None:
    done = run_stash(*words, home=home)
    assert (done.returncode, done.stdout) == (1, "")
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_questions_to_a_folder_without_a_stash_create_nothing(tmp_path: Path) -> None:
    for words in (["scraps"], ["verify"], ["undo"]):
        done = run_stash(*words, home=tmp_path / "mistyped")
        assert (done.returncode, done.stdout) == (1, "")
        assert "There is no stash in" in done.stderr
    assert not (tmp_path / "mistyped").exists()


def test_backup_and_restore_give_the_same_lists(home: Path, tmp_path: Path) -> None:
    answer_of("backup", tmp_path / "kept.zip", home=home)
    restored = answer_of("restore", tmp_path / "kept.zip", home=tmp_path / "new")
    assert restored["scraps"] == 2
    assert answer_of("scraps", home=tmp_path / "new") == answer_of("scraps", home=home)
    again = run_stash("restore", tmp_path / "kept.zip", home=tmp_path / "new")
    assert again.returncode == 1
    assert "nothing was overwritten" in again.stderr
    assert answer_of("verify", home=tmp_path / "new") == {
        "sound": True, "photos": 0, "scraps": 2, "problems": [], "unused_files": [],
    }  # fmt: skip


def test_a_sheet_of_the_scraps_is_drawn(home: Path, tmp_path: Path) -> None:
    from PIL import Image

    done = run_stash("scraps", "--picture", tmp_path / "sheet.png", home=home)
    assert done.returncode == 0
    with Image.open(tmp_path / "sheet.png") as sheet:
        colours = {colour for _, colour in sheet.convert("RGB").getcolors(1 << 20)}
    assert {(0x1F, 0x3F, 0x7A), (0xEC, 0xDC, 0xAE)} <= colours


CLOTHS = (  # in no order of colour or value
    ("mid teal", "#2f8f8b"), ("ink", "#1f2a4f"), ("sand", "#dccaa6"), ("coral", "#ff7f50"),
    ("pale blue", "#bfd9ea"), ("deep red", "#8a1f2b"), ("ivory", "#f4ecd8"), ("moss", "#4f6b35"),
)  # fmt: skip


@pytest.fixture
def colourful(tmp_path: Path) -> Path:
    home = tmp_path / "colourful"
    store = open_store(home)
    outline = rectangle_of(size_from_words("5 x 5"))
    for name, code in CLOTHS:
        add_ruled_scrap(store, RuledScrap(outline, (code,), name=name), words="5 x 5")
    store.database.close()
    return home


def texts_of(sheet: Path) -> list[str]:
    root = ElementTree.parse(sheet).getroot()
    return [str(element.text) for element in root.iter("{http://www.w3.org/2000/svg}text")]


def luminance(code: str) -> float:
    """Give Y of sRGB (IEC 61966-2-1), of which L* is a rising function."""
    parts = [int(code[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize(("word", "noun"), [("scraps", "scrap"), ("fabrics", "fabric")])
def test_a_sheet_runs_from_light_to_dark(colourful: Path, word: str, noun: str) -> None:
    sheet = colourful / "run.svg"
    listed = answer_of(word, "--sort-by", "light-to-dark", "--picture", sheet, home=colourful)
    names = [name for name, code in sorted(CLOTHS, key=lambda one: -luminance(one[1]))]
    assert [one["name"] for one in listed[word]] == names
    texts = texts_of(sheet)
    assert f"8 {noun}s" in texts
    labels = [text.split("  ", 1)[1] for text in texts if text[0].isdigit() and "  " in text]
    assert labels == names


def test_a_sheet_by_value_has_three_headings_and_names_each_colour(colourful: Path) -> None:
    run_stash("scraps", "--sort-by", "value", "--picture", colourful / "v.svg", home=colourful)
    texts = texts_of(colourful / "v.svg")
    heads = [texts.index(head) for head in ("Light", "Medium", "Dark")]
    light, medium, dark = (texts[a:b] for a, b in zip(heads, [*heads[1:], len(texts)], strict=True))
    assert "7  ivory" in light and "light blue, plain" in light
    assert "1  mid teal" in medium and "medium teal, plain" in medium
    assert "2  ink" in dark and "dark red, plain" in dark


def test_a_sheet_by_family_has_a_heading_for_each(colourful: Path) -> None:
    run_stash("fabrics", "--sort-by", "family", "--picture", colourful / "f.svg", home=colourful)
    texts = texts_of(colourful / "f.svg")
    blue = texts.index("Blue")
    assert texts[blue + 1] == "2 fabrics"
    assert texts.index("Teal") < blue < texts.index("5  pale blue") < texts.index("2  ink")


@pytest.mark.parametrize("word", ["scraps", "fabrics", "match", "clash"])
def test_a_sheet_in_grey_values_has_no_chroma(colourful: Path, word: str) -> None:
    from PIL import Image

    asked: list[object] = [word]
    if word in ("match", "clash"):
        run_stash("palette", "make", "sea", "--words", "blues and teals", home=colourful)
        asked += ["--palette", "sea"]
    if word == "match":
        asked += ["--template", "square", "--size", "3"]
    assert run_stash(*asked, "--picture", colourful / "c.png", home=colourful).returncode == 0
    for name in ("grey.png", "grey.svg"):
        done = run_stash(*asked, "--values", "--picture", colourful / name, home=colourful)
        assert done.returncode == 0, done.stderr

    def strongest(name: str) -> int:
        with Image.open(colourful / name) as sheet:
            colours = sheet.convert("RGB").getcolors(1 << 22)
        return max(max(rgb) - min(rgb) for _, rgb in colours)

    assert strongest("c.png") > 150  # coral
    assert strongest("grey.png") <= 17  # the lettering is a grey a little blue
    fills = {
        str(shape.get("fill"))
        for shape in ElementTree.parse(colourful / "grey.svg").iter(
            "{http://www.w3.org/2000/svg}rect"
        )
    } - {"none"}
    assert len(fills) > len(CLOTHS)  # each cloth its own grey, and the paper
    assert {fill for fill in fills if len({fill[1:3], fill[3:5], fill[5:7]}) > 1} == set()


def test_two_scraps_are_too_few_to_have_a_wild_one(colourful: Path) -> None:
    done = run_stash("clash", "--scraps", "1,2", home=colourful)
    assert done.returncode == 0
    assert "name at least three" in done.stdout
    assert "keep company" not in done.stdout


def test_scraps_laid_together_are_drawn_with_the_wild_one_first(colourful: Path) -> None:
    sheet = colourful / "together.svg"
    done = run_stash("clash", "--scraps", "1,2,3,4", "--picture", sheet, home=colourful)
    assert done.returncode == 0, done.stderr
    texts = texts_of(sheet)
    assert "Keep company" in texts
    assert sum(text.split()[0] in {"1", "2", "3", "4"} for text in texts if "  " in text) == 4


def test_grey_values_without_a_picture_are_a_usage_error(colourful: Path) -> None:
    done = run_stash("scraps", "--values", home=colourful)
    assert (done.returncode, done.stdout) == (2, "")
    assert "--picture" in done.stderr
