"""Settings that hold for every command, and commands that change several scraps."""

import json

import pytest

from stash.errors import ScrapNumbersError
from stash.usecases.scrap_numbers import scrap_numbers
from tests.running import answer_of, run_stash


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    home = tmp_path_factory.mktemp("several")
    answer_of("scrap", "add", "10 x 20 cm", "--colour", "#1f3f7a", "--count", "5", home=home)
    return home


def with_settings(tmp_path, text="", name="settings.toml"):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    return {"STASH_SETTINGS": str(file)}


def test_a_unit_that_is_set_holds_until_an_option_says_otherwise(home, tmp_path):
    around = with_settings(tmp_path)
    assert run_stash("settings", "unit=cm", environment=around).returncode == 0
    set_in_cm = run_stash("scraps", home=home, environment=around).stdout
    said_in_inches = run_stash("scraps", "--unit", "in", home=home, environment=around).stdout
    assert "10.0 × 20.0 cm" in set_in_cm
    assert "3⅞ × 7⅞" in said_in_inches
    run_stash("settings", "unit=", environment=around)
    assert run_stash("scraps", home=home, environment=around).stdout == said_in_inches


def test_a_stash_folder_that_is_set_is_opened_from_groups_too(home, tmp_path):
    around = with_settings(tmp_path, f"home = {json.dumps(str(home))}\nunit = 'cm'\n")
    assert "10.0 × 20.0 cm" in run_stash("scrap", "3", environment=around).stdout
    assert run_stash("quilt", "list", environment=around).returncode == 0


def test_the_seam_that_is_set_is_added_to_every_edge(tmp_path):
    around = with_settings(tmp_path)
    run_stash("settings", "seam=1/2", environment=around)
    done = run_stash("template", "show", "square", "--size", "4", "--json", environment=around)
    assert json.loads(done.stdout)["cut_width_in"] == pytest.approx(5)  # 4 + 2 x 1/2
    made = run_stash(
        "quilt", "make", "metric", "--template", "square", "--size", "10 cm", "--rows", "2",
        "--across", "2", "--unit", "cm", "--json", home=tmp_path, environment=around,
    )  # fmt: skip
    assert json.loads(made.stdout)["seam_allowance_in"] == pytest.approx(0.5)


@pytest.mark.parametrize(
    "text",
    ["unit = [", "unit = 'ell'", "colour = 'blue'", "unit = 3", "seam = 'wide'", "[unit]\na = 1"],
)
def test_settings_that_cannot_hold_are_told_with_their_file(home, tmp_path, text):
    done = run_stash("scraps", home=home, environment=with_settings(tmp_path, text))
    assert (done.returncode, done.stdout) == (1, "")
    assert "settings.toml" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_several_scraps_are_put_right_in_one_change_that_one_undo_takes_back(home):
    before = answer_of("scraps", home=home)
    words = ("scrap", "1,3-4", "--washed", "--bin", "grüne Kiste", "--fibre", "linen")
    changed = answer_of(*words, home=home)
    assert [one["scrap"] for one in changed["scraps"]] == [1, 3, 4]
    now = {one["scrap"]: one for one in answer_of("scraps", home=home)["scraps"]}
    told = {
        number: (now[number]["washed"], now[number]["bin"], now[number]["fibre"]) for number in now
    }
    assert told == {
        number: (True, "grüne Kiste", "linen") if number in (1, 3, 4) else (False, "", "")
        for number in (1, 2, 3, 4, 5)
    }
    answer_of("undo", home=home)
    assert answer_of("scraps", home=home) == before


@pytest.mark.parametrize(
    "words",
    [
        ("1-9", "--washed"),
        ("1,2", "--name", "sea"),
        ("1,2", "--size", "2 x 3"),
        ("1-9", "--delete"),
    ],
)
def test_what_cannot_be_done_with_all_of_them_is_done_with_none(home, words):
    before = answer_of("scraps", home=home)
    done = run_stash("scrap", *words, home=home)
    assert (done.returncode, len(done.stderr.splitlines())) == (1, 1)
    assert answer_of("scraps", home=home) == before


def test_ranges_name_scraps_wherever_several_are_meant(home):
    assert scrap_numbers("1,3,7-9") == (1, 3, 7, 8, 9)
    assert scrap_numbers(["1-3", "2,5"]) == (1, 2, 3, 5)
    made = answer_of("palette", "make", "ranged", "--scraps", "2-4", home=home)
    assert made["targets"]
    assert "wild" in answer_of("clash", "--scraps", "1-3", home=home)


@pytest.mark.parametrize("words", ["", "x", "3-", "-3", "9-3", "1-99999999999", "1.5", "²"])
def test_what_names_no_scraps_is_refused(words):
    with pytest.raises(ScrapNumbersError):
        scrap_numbers(words)
