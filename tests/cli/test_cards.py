"""The card commands, as their user runs them."""

from tests.running import answer_of, run_stash


def test_a_chart_is_registered_by_the_distance_of_its_squares(tmp_path):
    added = answer_of(
        "card", "add", "pocket", "--kind", "chart24", "--pitch", "0.55", home=tmp_path
    )
    assert added == {
        "name": "pocket",
        "kind": "chart24",
        "pitch_in": 0.55,
        "absolute": True,
        "values": "average",
    }
    assert answer_of("card", "list", home=tmp_path) == [added]


def test_a_distance_may_be_given_in_centimetres(tmp_path):
    added = answer_of("card", "add", "big", "--pitch", "4.4 cm", home=tmp_path)
    assert abs(added["pitch_in"] - 4.4 / 2.54) < 1e-9


def test_registering_again_makes_a_card_the_newest(tmp_path):
    for name, pitch in (("a", "0.5"), ("b", "0.6"), ("a", "0.7")):
        answer_of("card", "add", name, "--pitch", pitch, home=tmp_path)
    listed = answer_of("card", "list", home=tmp_path)
    assert [(card["name"], card["pitch_in"]) for card in listed] == [("b", 0.6), ("a", 0.7)]


def test_a_distance_no_chart_has_is_a_problem_with_the_input(tmp_path):
    done = run_stash("card", "add", "x", "--pitch", "30", home=tmp_path)
    assert done.returncode == 1
    assert "ruler" in done.stderr


def test_a_kind_that_is_not_known_is_wrong_usage(tmp_path):
    done = run_stash("card", "add", "x", "--kind", "wheel", "--pitch", "1", home=tmp_path)
    assert done.returncode == 2


def test_loose_corner_markers_are_written_as_a_sheet(tmp_path):
    sheet = tmp_path / "corners.pdf"
    told = answer_of("card", "print", str(sheet), "--corners", home=tmp_path)
    assert (told["corners"], told["check_line_in"]) == (True, 6.0)
    assert sheet.read_bytes().startswith(b"%PDF")


def test_a_line_of_six_inches_that_measures_sixty_is_told_before_any_photo(tmp_path):
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(b"not looked at")
    done = run_stash("log", str(photo), "--corner-line", "60", home=tmp_path / "home")
    assert done.returncode == 1
    assert "cannot measure 60 in. Measure it again" in done.stderr


def test_a_chart_takes_published_values_or_those_of_a_file(tmp_path):
    new = answer_of("card", "add", "new", "--pitch", "1", "--values", "after-2014", home=tmp_path)
    assert new["values"] == "after-2014"
    sheet = tmp_path / "values.csv"
    sheet.write_text("square,L,a,b\n" + "\n".join(f"{n},{n + 20},1.5,-2" for n in range(24)))
    own = answer_of("card", "add", "own", "--pitch", "1", "--values", str(sheet), home=tmp_path)
    assert (own["values"], own["absolute"]) == ("file", True)
    sheet.write_text("20 1 2\n")
    done = run_stash("card", "add", "x", "--pitch", "1", "--values", str(sheet), home=tmp_path)
    assert done.returncode == 1
    assert "holds 1 rows" in done.stderr
