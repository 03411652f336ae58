"""``stash fit`` and ``stash template`` as a quilter or a program runs them."""

import json
import math

import pytest
from PIL import Image

from tests.running import run_stash

SQUARE = [[0, 0], [5, 0], [5, 5], [0, 5]]


def stash(*words, given=None):
    return run_stash(*words, input=given)


def outlines(*rows):
    return json.dumps([{"id": number, **row} for number, row in enumerate(rows, start=1)])


def test_outlines_from_standard_input_are_answered_in_order():
    given = outlines(
        {"outline": SQUARE},
        {"outline": SQUARE, "error_in": 0.05},
        {"outline": [[0, 0], [10, 0], [10, 5], [0, 5]]},
    )
    done = stash(
        "fit", "--template", "square", "--size", "4.5", "--outlines", "-", "--json", given=given
    )
    assert done.returncode == 0, done.stderr
    answers = json.loads(done.stdout)
    assert [one["id"] for one in answers] == [1, 2, 3]
    assert [one["pieces"] for one in answers] == [1, 0, 2]
    assert [one["fits"] for one in answers] == [True, False, True]
    assert answers[0]["largest_size_in"] == pytest.approx(4.5, rel=0.005)
    assert answers[1]["largest_size_in"] == pytest.approx(4.4, rel=0.005)
    assert answers[0]["largest_size_in"] <= 4.5


def test_a_placement_is_the_template_turned_and_moved(tmp_path):
    shape = tmp_path / "corner.json"
    shape.write_text(json.dumps({"cut": [[1, 1], [3, 1], [1, 4]]}))
    done = stash(
        "fit", "--template", shape, "--outlines", "-", "--json", given=outlines({"outline": SQUARE})
    )
    answer = json.loads(done.stdout)[0]
    assert answer["pieces"] == len(answer["placements"]) >= 2
    for one in answer["placements"]:
        turn = math.radians(one["angle_deg"])
        cos, sin = math.cos(turn), math.sin(turn)
        made = [
            [x * cos - y * sin + one["x"], x * sin + y * cos + one["y"]]
            for x, y in [(1, 1), (3, 1), (1, 4)]
        ]
        assert one["outline"] == [pytest.approx(point, abs=1e-9) for point in made]


def test_the_grain_rule_is_kept():
    given = outlines({"outline": [[0, 0], [6, 0], [6, 3.2], [0, 3.2]], "grain_deg": 40})
    words = ("fit", "--template", "rectangle", "--size", "4.5x2.5", "--outlines", "-", "--json")
    free = json.loads(stash(*words, given=given).stdout)[0]
    kept = json.loads(stash(*words, "--grain-tolerance", "3", given=given).stdout)[0]
    assert (free["fits"], kept["fits"]) == (True, False)


def test_a_one_way_print_is_not_turned_upside_down(tmp_path):
    shape = tmp_path / "corner.json"
    shape.write_text(json.dumps({"cut": [[0, 0], [3, 0], [0, 4]]}))
    upside_down = [[0.1, 0.1], [-3.4, 0.1], [0.1, -4.5]]
    given = outlines(
        {"outline": upside_down, "grain_deg": 0},
        {"outline": upside_down, "grain_deg": 0, "one_way": True},
        {"outline": upside_down, "grain_deg": 180, "one_way": True},
        {"outline": upside_down, "grain_deg": 0, "one_way": "yes"},
    )
    words = ("fit", "--template", shape, "--grain-tolerance", "2", "--outlines", "-", "--json")
    done = stash(*words, given=given)
    answers = json.loads(done.stdout)
    assert [one["pieces"] for one in answers] == [1, 0, 1, 0]
    assert "one_way" in answers[3]["problem"]


def test_a_piece_lies_face_down_only_where_the_cloth_may_be_turned_over(tmp_path):
    shape = tmp_path / "corner.json"
    corners = [(0, 0), (3, 0), (3, 1), (1, 1), (1, 4), (0, 4)]
    shape.write_text(json.dumps({"cut": corners}))
    mirrored = [[-1.02 * x, 1.02 * y] for x, y in corners]
    given = outlines({"outline": mirrored}, {"outline": mirrored, "may_turn_over": True})
    asked = ("fit", "--template", shape, "--outlines", "-", "--effort", "0")
    first, second = json.loads(stash(*asked, "--json", given=given).stdout)
    assert (first["pieces"], second["pieces"]) == (0, 1)
    (placed,) = second["placements"]
    assert placed["turned_over"] is True
    turn = math.radians(placed["angle_deg"])
    cos, sin = math.cos(turn), math.sin(turn)
    made = [[x * cos + y * sin + placed["x"], x * sin - y * cos + placed["y"]] for x, y in corners]
    assert sorted(placed["outline"]) == [pytest.approx(corner) for corner in sorted(made)]
    told = stash(*asked, "--turn-over", given=given).stdout
    assert told.count("1 of 1 pieces to cut face down") == 2


def test_a_grain_rule_without_a_grain_line_is_told():
    done = stash(
        "fit", "--template", "square", "--size", "2", "--grain-tolerance", "3", "--outlines", "-",
        given=outlines({"outline": SQUARE}),
    )  # fmt: skip
    assert done.returncode == 1
    assert "grain_deg" in done.stderr


def test_one_bad_outline_does_not_stop_the_others():
    bow = [[0, 0], [4, 4], [4, 0], [0, 4]]
    given = outlines({"outline": bow}, {"outline": SQUARE}, {"outline": [[0, 0], [1, "a"]]}, {})
    done = stash(
        "fit", "--template", "square", "--size", "3", "--outlines", "-", "--json", given=given
    )
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    answers = json.loads(done.stdout)
    assert [one["fits"] for one in answers] == [False, True, False, False]
    assert "not one plain shape" in answers[0]["problem"]
    assert all(one["problem"] for one in (answers[2], answers[3]))


def test_an_odd_outline_is_answered_or_told_in_a_plain_sentence():
    twice = [corner for corner in SQUARE for _ in range(2)]
    round_3_in = [[3 * math.cos(k / 200), 3 * math.sin(k / 200)] for k in range(1256)]
    asked = {
        "yes": [{"outline": twice}, {"outline": SQUARE[::-1]}, {"outline": round_3_in}],
        "touches itself near (3, 0)": [{"outline": [[0, 0], [6, 0], [6, 6], [3, 0], [0, 6]]}],
        "A hole crosses the border": [
            {"outline": SQUARE, "holes": [[[9, 9], [10, 9], [10, 10]]]},
            {"outline": SQUARE, "holes": [[[0, 2], [1, 2], [1, 3], [0, 3]]]},
        ],
        "this one has 1": [{"outline": SQUARE, "holes": [[[1, 1], [1, 1], [1, 1]]]}],
        "no length": [{"outline": [[0, 0], [math.nan, 0], [6, 6]]}],
        "Are its numbers inches?": [{"outline": [[0, 0], [9e5, 0], [9e5, 9e5]]}],
        "three corners or more": [{"outline": []}],
    }
    given = outlines(*(row for rows in asked.values() for row in rows))
    done = stash(
        "fit", "--template", "square", "--size", "3", "--outlines", "-", "--effort", "0", "--json",
        given=given,
    )  # fmt: skip
    assert done.returncode == 1
    told = ["yes" if one["fits"] else one["problem"] for one in json.loads(done.stdout)]
    words = [word for word, rows in asked.items() for _ in rows]
    assert [one for one in zip(words, told, strict=True) if one[0] not in one[1]] == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--template", "star", "--size", "3"), "hexagon"),
        (("--template", "square"), "--size"),
        (("--template", "square", "--size", "0"), "above zero"),
        (("--template", "missing.svg"), "missing.svg"),
        (("--template", "square", "--size", "3", "--grain-steps", "a"), "no turns"),
    ],
)
def test_what_cannot_be_asked_is_one_sentence(words, says):
    done = stash("fit", *words, "--outlines", "-", given=outlines({"outline": SQUARE}))
    assert done.returncode == 1
    assert says in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("given", ["", "{}", "[1]", "nonsense"])
def test_outlines_that_are_no_list_are_refused(given):
    done = stash("fit", "--template", "square", "--size", "3", "--outlines", "-", given=given)
    assert done.returncode == 1
    assert done.stderr.startswith("stash: The outlines")


def test_layouts_are_drawn_to_a_picture(tmp_path):
    words = ("fit", "--template", "hexagon", "--size", "1", "--outlines", "-", "--effort", "0")
    given = outlines({"outline": SQUARE, "error_in": 0.05, "grain_deg": 30})
    assert stash(*words, "--picture", tmp_path / "a.png", given=given).returncode == 0
    assert stash(*words, "--picture", tmp_path / "a.svg", given=given).returncode == 0
    with Image.open(tmp_path / "a.png") as picture:
        assert len(picture.getcolors(1_000_000)) > 50
    assert (tmp_path / "a.svg").read_text().count('fill="#2f6f86"') == 1
    refused = stash(*words, "--picture", tmp_path / "a.gif", given=given)
    assert (refused.returncode, ".svg or .png" in refused.stderr) == (1, True)


def test_straight_strips_are_told_with_their_widths():
    done = stash(
        "fit", "--template", "square", "--size", "4.5", "--outlines", "-", "--straight-cuts",
        "--effort", "0", given=outlines({"outline": [[0, 0], [18, 0], [18, 22], [0, 22]]}),
    )  # fmt: skip
    assert "strip 5 in wide" in done.stdout


def test_the_list_says_what_each_size_measures():
    done = stash("template", "list")
    assert "apple-core" in done.stdout
    assert "length, from end to end" in done.stdout


def test_a_template_shows_its_cut_size():
    # S9: hexagon strip = sqrt 3 s + 1/2; cut points 2 s + 0.5774
    facts = json.loads(stash("template", "show", "hexagon", "--size", "1", "--json").stdout)
    assert facts["cut_width_in"] == pytest.approx(2.57735, abs=1e-4)
    assert facts["cut_height_in"] == pytest.approx(2.23205, abs=1e-4)


def test_a_shape_of_ones_own_is_kept_and_used(tmp_path):
    shape = tmp_path / "leaf.svg"
    shape.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="3in" viewBox="0 0 3 3">'
        '<path d="M0 3 Q0 0 3 0 Q3 3 0 3 Z"/></svg>'
    )
    home = ("--home", tmp_path / "stash")
    kept = stash("template", "add", "leaf", shape, *home)
    assert kept.returncode == 0, kept.stderr
    assert "leaf" in stash("template", "list", *home).stdout
    done = stash(
        "fit", "--template", "leaf", "--outlines", "-", "--json", *home,
        given=outlines({"outline": SQUARE}),
    )  # fmt: skip
    assert json.loads(done.stdout)[0]["fits"]
    refused = stash("template", "add", "hexagon", shape, *home)
    assert (refused.returncode, "another name" in refused.stderr) == (1, True)
