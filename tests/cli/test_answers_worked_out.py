"""What the commands answer about ``seven_scraps``, each number worked out by hand."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from PIL import Image

from stash.errors import NotFoundError, PaletteError, PlanError, StashError
from stash.wiring import open_store
from tests.cli.in_process import Commands, tables
from tests.usecases.cloth import NAVY, seven_scraps

MATCH = "match --palette tide --template square --size 4"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("stash") / "home"


@pytest.fixture(scope="module")
def stash(home: Path) -> Commands:
    """Seven scraps, a palette and two quilts, one of them allotted and laid out."""
    seven_scraps(open_store(home))
    commands = Commands(home)
    commands.said("palette make tide --words 'blues and teals; no pinks'")
    plan = "--template square --size 4 --rows 1"
    commands.said(f"quilt make raffle {plan} --across 4 --limit-per-fabric 2")
    commands.said(f"quilt make wide {plan} --across 9 --charm --palette tide")
    commands.said("quilt allot raffle")
    commands.said("quilt layout raffle")
    return commands


# Lists.


def test_scraps_are_listed_with_size_bin_and_remarks(stash: Commands) -> None:
    rows = stash.rows("scraps")
    assert [row["scrap"] for row in rows] == list("1234567")
    assert [row["fabric"] for row in rows] == list("1123456")
    assert [row["size"] for row in rows] == [
        "9 × 9", "5 × 5", "6 × 6", "12 × 12", "12 × 12", "4¼ × 4¼", "3 × 8",
    ]  # fmt: skip
    assert [row["bin"] for row in rows] == ["tin", "drawer", "", "", "", "", ""]
    assert ["unwashed" in row["remarks"] for row in rows] == [False] * 5 + [True] * 2
    assert [row["kind"] for row in rows] == ["plain"] * 6 + ["stripe"]
    # The first of a square's four equal edges; the stripe's was set across its long side.
    assert [row["grain"] for row in rows] == ["0° edge"] * 6 + ["0° set"]
    assert [row["family"] for row in rows] == [
        "blue", "blue", "teal", "purple", "red", "blue", "cream",
    ]  # fmt: skip


def test_a_scrap_for_programs_says_what_was_put_in(stash: Commands) -> None:
    told = stash.told("scrap 7")
    assert (told["scrap"], told["fabric"], told["washed"], told["kind"]) == (7, 6, False, "stripe")
    assert told["outline_in"] == [[0, 0], [3, 0], [3, 8], [0, 8]]
    assert (told["area_sq_in"], told["size_in"]) == (24, [3, 8])
    assert told["size_after_washing_in"] == pytest.approx([2.91, 7.76])
    assert (told["direction_deg"], told["grain_deg"], told["error_de00"]) == (90, 0, 1)
    assert (told["photo"], told["picture"], told["held_for"]) == (None, None, None)
    assert (told["bin"], told["state"], told["absolute"], told["one_way"]) == (
        "", "whole", True, False,
    )  # fmt: skip
    assert told["colours"] == [{"lab": told["reads_as_lab"], "share": 1.0}]
    assert stash.told("scrap 1")["bin"] == "tin"


def test_a_scrap_in_words_is_measured_in_the_unit_asked_for(stash: Commands) -> None:
    inches, centimetres = stash.said("scrap 7"), stash.said("scrap 7 --unit cm")
    assert "3 × 8" in inches
    assert "24.0 sq in" in inches
    assert "2⅞ × 7¾" in inches  # 2.91 and 7.76 in eighths
    assert "7.6 × 20.3 cm" in centimetres
    assert "155 sq cm" in centimetres  # 24 x 6.4516 = 154.8
    assert "lines at 90°" in inches
    assert "grain at 0°" in inches
    assert "washed" in stash.said("scrap 1")


def test_scraps_are_sifted_by_what_is_asked_for(stash: Commands) -> None:
    def numbers(words: str) -> list[str]:
        return [row["scrap"] for row in stash.rows(f"scraps {words}")]

    assert numbers("--family blue") == ["1", "2", "6"]
    assert numbers("--family blue --family red") == ["1", "2", "5", "6"]
    assert numbers("--bin TIN") == ["1"]
    assert numbers("--kind stripe") == ["7"]
    assert [one["scrap"] for one in stash.told("scraps --family cream")["scraps"]] == [7]
    with_nothing = stash.told("scraps --family green")
    assert with_nothing["scraps"] == []
    assert isinstance(stash.problem("scraps --family navy"), PaletteError)


def test_fabrics_are_counted_with_all_their_cloth(stash: Commands) -> None:
    rows = stash.rows("fabrics")
    assert [row["scraps"] for row in rows] == ["2", "1", "1", "1", "1", "1"]
    assert [row["in all"] for row in rows] == [
        "106.0 sq in", "36.0 sq in", "144.0 sq in", "144.0 sq in", "18.1 sq in", "24.0 sq in",
    ]  # fmt: skip
    told = stash.told("fabrics")["fabrics"][0]
    assert (told["fabric"], told["scraps"], told["area_sq_in"]) == (1, [1, 2], 106)
    assert (told["largest_size_in"], told["family"], told["value"]) == ([9, 9], "blue", "dark")
    assert stash.rows("fabrics --unit cm")[0]["largest"] == "22.9 × 22.9 cm"


# Match.


def test_match_puts_each_fabric_where_it_belongs(stash: Commands) -> None:
    told = stash.told(f"{MATCH} --needed 5")
    assert told["needed"] == 5
    assert [one["fabric"] for one in told["can_go_in"]] == [1, 2]
    assert [one["fabric"] for one in told["look_twice"]] == [3]
    assert [(one["fabric"], one["verdict"]) for one in told["cannot"]] == [
        (5, "belongs"), (4, "clashes"), (6, "belongs"),
    ]  # fmt: skip
    assert [one["near_miss"] for one in told["cannot"]] == [True, False, False]
    navy = told["can_go_in"][0]["scraps"]
    assert [(one["scrap"], one["pieces"], one["bin"]) for one in navy] == [
        (1, 4, "tin"), (2, 1, "drawer"),
    ]  # fmt: skip
    assert [one["largest_size_in"] for one in navy] == pytest.approx([8.5, 4.5], abs=0.01)
    assert told["cannot"][0]["largest_size_in"] == pytest.approx(3.6225, abs=0.01)
    assert told["cannot"][0]["reasons"][-1]["what"] == "size"


def test_match_says_it_in_tables(stash: Commands) -> None:
    can, twice, near, cannot = tables(stash.said(f"{MATCH} --needed 5"))
    assert [(row["fabric"], row["pieces"], row["scraps"]) for row in can] == [
        ("1", "5", "#1, #2"), ("2", "1", "#3"),
    ]  # fmt: skip
    assert [list(row.values())[2] for row in can] == ["8½", "5½"]
    assert [(row["fabric"], row["pieces"]) for row in twice] == [("3", "4")]
    assert [(row["fabric"], row["verdict"], list(row.values())[2]) for row in near] == [
        ("5", "belongs", "3 9/16"),
    ]  # fmt: skip
    assert [(row["fabric"], list(row.values())[2]) for row in cannot] == [("4", "11½"), ("6", "2⅜")]
    assert "7/16 in too small" in near[0]["why"]
    assert "1⅝ in too small" in cannot[1]["why"]
    assert "red" in cannot[0]["why"]
    assert "2 fabrics" in stash.said(f"{MATCH} --needed 5").splitlines()[0]


def test_match_counts_fabrics_at_every_size(stash: Commands) -> None:
    told = {one["size_in"]: one for one in stash.told(f"{MATCH} --sizes")["sizes"]}
    belong = {size: told[size]["belong"] for size in (2.25, 2.75, 3.5, 3.75, 5.25, 5.75, 8.25)}
    assert belong == {2.25: 4, 2.75: 3, 3.5: 3, 3.75: 2, 5.25: 2, 5.75: 1, 8.25: 1}
    assert {told[size]["borderline"] for size in (2.25, 8.25, 11.25)} == {1}
    assert told[11.25]["belong"] == 0
    assert told[2.25]["fabrics"] == {"least": 5, "most": 5, "undecided_pairs": 0}
    rows = {row["finished (in)"]: list(row.values())[1:] for row in stash.rows(f"{MATCH} --sizes")}
    assert rows["3½"] == ["3", "4"]


def test_the_seam_the_washing_and_the_grain_are_as_asked(stash: Commands) -> None:
    def can(words: str) -> list[int]:
        return [one["fabric"] for one in stash.told(f"{MATCH} {words}")["can_go_in"]]

    assert can("") == [1, 2]
    # Without seams the sky scrap's 4.12 in hold 4 in, without washing its 4 1/4.
    assert can("--seam 0") == [1, 2, 5]
    assert can("--shrink 0 --seam 1/8") == [1, 2, 5]
    assert can("--seam 3/4") == [1, 2]  # 5 1/2 in cut
    assert can("--seam 1 1/4".replace("1 1/4", "'1 1/4'")) == [1]  # 6 1/2 in cut


def test_clash_names_the_worst_first_and_why(stash: Commands) -> None:
    rows = stash.rows("clash --palette tide")
    assert [row["fabric"] for row in rows][:2] == ["4", "3"]
    assert {row["fabric"] for row in rows[2:]} == {"1", "2", "5", "6"}
    told = stash.told("clash --palette tide")["fabrics"]
    assert [one["verdict"] for one in told] == ["clashes", "borderline"] + ["belongs"] * 4
    reason = told[0]["reasons"][0]
    assert reason["value"] > reason["limit"]
    assert told[0]["reasons"][0]["text"] == rows[0]["why"]
    few = stash.said("clash --scraps 1,2")
    assert "three" in few
    assert stash.told("clash --scraps 1-3")["wild"] == []


# Neighbours.


def test_what_stands_in_what_there_is_and_what_a_scrap_is_good_for(stash: Commands) -> None:
    assert stash.told("substitutes 1")["substitutes"] == [
        {"fabric": 5, "difference_de00": pytest.approx(49.6, abs=0.2), "same_value": False}
    ]  # navy to sky by colour-science: 49.57
    assert [list(row.values()) for row in stash.rows("tally")] == [
        ["blue", "dark", "1"], ["blue", "light", "1"], ["cream", "light", "1"],
        ["purple", "medium", "1"], ["red", "dark", "1"], ["teal", "medium", "1"],
    ]  # fmt: skip
    assert sum(one["fabrics"] for one in stash.told("tally")["tally"]) == 6
    uses = {(one["kind"], one["name"]): one for one in stash.told("uses 6")["uses"]}
    assert uses["palette", "tide"]["verdict"] == "belongs"
    assert stash.told("uses 6,4-5")["scraps"][0] == stash.told("uses 6")
    assert [one["scrap"] for one in stash.told("uses 6,4-5")["scraps"]] == [6, 4, 5]
    assert [uses["quilt", name]["fits"] for name in ("raffle", "wide")] == [False, False]
    # Its 5 x 5 in give one piece of 4 1/2 in, and the raffle quilt holds that.
    joins = {one["name"]: (one["fits"], one["held"]) for one in stash.told("uses 2")["uses"]}
    assert joins == {"tide": (True, False), "raffle": (True, False), "wide": (False, True)}
    assert {row["size"] for row in stash.rows("uses 6")} == {"", "too small"}
    assert [row["size"] for row in stash.rows("uses 2")] == [
        "", "gives a piece", "held by another quilt",
    ]  # fmt: skip
    asked = stash.told("goes-with --fabric 1")
    assert [one["hex"] for one in asked["colours"]] == [NAVY]
    assert 1 not in [one["fabric"] for one in asked["goes_with"]]


# Quilts.


def test_a_plan_tells_its_counts(stash: Commands) -> None:
    told = stash.told("quilt show raffle")
    assert (told["rows"], told["across"], told["pieces"], told["limit_per_fabric"]) == (1, 4, 4, 2)
    assert (told["width_in"], told["length_in"]) == (16, 4)
    said = stash.said("quilt show raffle --unit cm")
    assert "40.6 × 10.2 cm" in said
    assert "4 pieces" in said
    assert "At most 2 pieces of one fabric" in said
    listed = {row["quilt"]: row for row in stash.rows("quilt list")}
    assert (listed["raffle"]["pieces"], listed["raffle"]["cut"]) == ("4", "0")
    assert listed["wide"]["pieces"] == "9"


def test_enough_counts_what_there_is_and_what_is_short(stash: Commands) -> None:
    # Of the palette: navy and teal give a piece; raffle holds what it took of them.
    told = stash.told("quilt enough wide")
    assert told["possible"] is False
    assert told["pieces"]["needed"] == 9
    assert told["pieces"]["short"] == 9 - told["pieces"]["available"]
    assert told["fabrics"]["short"] == 9 - told["fabrics"]["available"]
    assert told["one_row_more"] == {"possible": False, "pieces": 18}
    assert {one["kind"] for one in told["changes"]} >= {"buy", "fewer"}
    assert told["buy"][0]["cut"] == "5-inch square"
    held = stash.told("quilt enough raffle")
    assert held["possible"] is True
    # Four of navy and one more, one of teal, four of violet, four of red, two at most of each.
    assert held["pieces"] == {"needed": 4, "available": 7, "short": 0}
    assert held["fabrics"]["needed"] == 2
    assert held["fabrics"]["count"] == {"least": 4, "most": 4, "undecided_pairs": 0}
    assert held["largest"] == {"rows": 1, "pieces": 7}
    words = stash.said("quilt enough raffle")
    assert "needs 4 pieces of at least 2 fabrics" in words
    assert "7 pieces of 4 fabrics" in words


def test_an_allotment_takes_the_least_cloth_and_names_it(stash: Commands) -> None:
    # Of 25, 36, 81, 144, 144 sq in, two pieces of a fabric at most: 5 x 5 and 6 x 6 give one
    # each; two more: one of navy is left to the 9 x 9, so that and one of the large ones.
    told = stash.told("quilt allot raffle")
    assert (told["possible"], told["pieces"], told["optimal"]) == (True, 4, True)
    taken = {one["scrap"]: one["pieces"] for one in told["scraps"]}
    assert sum(taken.values()) == 4
    assert set(taken) <= {1, 2, 3, 4, 5}
    opened = sum({1: 81, 2: 25, 3: 36, 4: 144, 5: 144}[one] for one in taken)
    # 3 (one) + 4 or 5 (two) + 2 (one): 36 + 144 + 25 = 205; with the 9 x 9: 81 + 144 = 225.
    assert opened == 205
    assert told["opened_sq_in"] == pytest.approx(205)
    stash.said("quilt layout raffle")
    reserved = [row["scrap"] for row in stash.rows("scraps --state reserved")]
    assert reserved == [str(number) for number in sorted(taken)]
    assert stash.told(f"scrap {reserved[0]}")["held_for"] == "raffle"
    assert "reserved for raffle" in stash.rows("scraps --state reserved")[0]["remarks"]


def test_a_layout_names_every_place_once(stash: Commands, tmp_path: Path) -> None:
    picture, chart = tmp_path / "q.png", tmp_path / "q.pdf"
    told = stash.told(f"quilt layout raffle --keep --picture {picture} --chart {chart}")
    assert [one["place"] for one in told["places"]] == ["1.1", "1.2", "1.3", "1.4"]
    assert sorted(one["piece"] for one in told["places"]) == [0, 1, 2, 3]
    assert told["same_fabric_touching"] == 0
    with Image.open(picture) as drawn:
        assert drawn.width > drawn.height  # 16 x 4 in
    assert chart.read_bytes().startswith(b"%PDF")
    before = {one["place"]: one["piece"] for one in told["places"]}
    swapped = stash.told("quilt layout raffle --swap 1.1,1.4")
    after = {one["place"]: one["piece"] for one in swapped["places"]}
    assert (after["1.1"], after["1.4"]) == (before["1.4"], before["1.1"])
    assert (after["1.2"], after["1.3"]) == (before["1.2"], before["1.3"])
    stash.said("quilt layout raffle --swap 1.1,1.4")


def test_cut_sheets_tell_every_piece_with_its_cloth(stash: Commands, tmp_path: Path) -> None:
    file = tmp_path / "cut.pdf"
    told = stash.told(f"quilt cutsheets raffle --out {file}")
    assert told["pieces"] == sum(len(one["pieces"]) for one in told["scraps"]) == 4
    assert (told["cut_width_in"], told["cut_height_in"]) == (4.5, 4.5)
    assert told["scraps"][0]["bin"] == ""
    assert {one["scrap"]: one["bin"] for one in told["scraps"]}[2] == "drawer"
    for one in told["scraps"]:
        for ring in one["pieces"]:
            xs, ys = zip(*ring, strict=True)
            side = {2: 5, 3: 6, 4: 12, 5: 12}[one["scrap"]]
            assert min(*xs, *ys) >= -1e-6
            assert max(*xs, *ys) <= side + 1e-6
    with pypdfium2.PdfDocument(file.read_bytes()) as sheets:
        text = sheets[0].get_textpage().get_text_bounded()
    assert "raffle" in text


def test_finishing_follows_from_the_edge(stash: Commands) -> None:
    # 16 x 4 in: 40 in round; a strip across 40 in of cloth is not enough with ends and corners.
    told = stash.told("quilt finishing raffle")
    assert (told["width_in"], told["length_in"], told["edge_in"]) == (16, 4, 40)
    binding = told["binding"]
    assert binding["length_in"] == 40 + binding["extra_in"]
    assert binding["strips"] == 2
    assert told["backing"]["panels"] == 1
    assert told["curved"] is False
    # 60 x 72 in: 264 in round; 264 + 10 in are seven strips of 40 in.
    large = stash.told("quilt finishing --finished 60x72")
    assert (large["edge_in"], large["nearest_size"]) == (264, "lap")
    assert large["binding"]["strips"] == -(-int(large["binding"]["length_in"]) // 40)
    assert large["backing"]["panels"] == 2
    assert "152.4 × 182.9 cm" in stash.said("quilt finishing --finished '60x72 in' --unit cm")
    assert isinstance(stash.problem("quilt finishing --finished 0x72"), StashError)


def test_sewing_tells_rows_and_seams(stash: Commands, tmp_path: Path) -> None:
    told = stash.told(f"quilt sewing raffle --out {tmp_path / 'sew.pdf'}")
    assert len(told["seams"]) == 3  # between four pieces in a row
    assert {one["length_in"] for one in told["seams"]} == {4.0}
    assert [row["pieces"] for row in told["rows"]] == [["1.1", "1.2", "1.3", "1.4"]]
    assert not any(one["curved"] or one["partial"] for one in told["seams"])
    guide = stash.told(f"quilt guide raffle --out {tmp_path / 'guide.pdf'}")
    assert guide["length_in"] > 0
    assert guide["passes"] >= 1


# What is made is told, and problems are problems.


def test_labels_go_to_every_bin(stash: Commands, tmp_path: Path) -> None:
    told = stash.told(f"labels --out {tmp_path / 'labels.pdf'}")["labels"]
    assert [(one["place"], one["scraps"], one["fabrics"]) for one in told] == [
        ("drawer", 1, 1), ("tin", 1, 1),
    ]  # fmt: skip
    assert told[1]["lines"] == ["blue 1", "1 at least 6 in wide", "largest 9 × 9 in"]
    one = stash.told(f"labels tin --out {tmp_path / 'one.pdf'}")["labels"]
    assert [label["place"] for label in one] == ["tin"]


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("scrap 99", NotFoundError),
        ("substitutes 99", NotFoundError),
        ("match --palette none --template square --size 4", NotFoundError),
        ("quilt show none", NotFoundError),
        ("quilt make raffle --template square --size 4 --rows 1 --across 1", PlanError),
        ("quilt make odd --template square --size 4 --rows 1", PlanError),
        ("quilt cutsheets wide", PlanError),
        ("labels attic", NotFoundError),
        ("palette show none", NotFoundError),
        ("palette make odd --words blurple", PaletteError),
    ],
)
def test_a_problem_is_told_by_its_kind(
    stash: Commands, line: str, problem: type[StashError]
) -> None:
    assert isinstance(stash.problem(line), problem)


def test_history_lists_the_newest_first_and_undo_takes_it_back(stash: Commands) -> None:
    stash.said("palette make other --words reds")
    rows = stash.rows("history")
    numbers = [int(row["no."]) for row in rows]
    assert numbers == sorted(numbers, reverse=True)
    assert "palette other" in rows[0]["what"]
    assert {one["name"] for one in stash.told("palette list")["palettes"]} == {"tide", "other"}
    assert "palette other" in stash.said("undo")
    assert {one["name"] for one in stash.told("palette list")["palettes"]} == {"tide"}
    assert "palette other" in stash.said("redo")
    stash.said("undo")
