"""Sheet commands as their user runs them."""

from __future__ import annotations

import math
from dataclasses import replace

import pypdfium2
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from tests.quilt.tidewater import tidewater
from tests.running import answer_of, run_stash


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    folder = tmp_path_factory.mktemp("stash")
    store = tidewater(folder, 24, seed=5)
    for scrap in store.scraps():
        place = ["Blue box", "Jar 3"][scrap.number % 2]
        store.change_scrap(replace(scrap, place=place), seen=scrap, why="put into a bin")
    answer_of(
        *[
            "quilt",
            "make",
            "tide",
            "--template",
            "tumbler",
            "--size",
            "4",
            "--rows",
            "3",
            "--across",
            "4",
            "--charm",
        ],
        home=folder,
    )
    return folder


def pages(path):
    document = pypdfium2.PdfDocument(path.read_bytes())
    try:
        return len(document)
    finally:
        document.close()


def test_a_template_is_printed_in_several_sizes(tmp_path):
    file = tmp_path / "tumblers.pdf"
    answer = answer_of(
        "template", "print", "tumbler", "--size", "3", "--size", "4 1/2", "--paper", "a4",
        "--out", file, home=tmp_path,
    )  # fmt: skip
    assert pages(file) == 2
    # computed: a tumbler of 3 is 3 in high; 1/4 in on either side
    assert answer["templates"][0]["cut_height_in"] == pytest.approx(3.5)


def test_a_template_without_a_size_is_one_sentence_and_exit_1(tmp_path):
    done = run_stash("template", "print", "tumbler", home=tmp_path, cwd=tmp_path)
    assert done.returncode == 1
    assert "--size" in done.stderr
    assert "Traceback" not in done.stderr


def test_paper_that_is_not_sold_is_refused(tmp_path):
    done = run_stash(
        "template", "print", "square", "--size", "3", "--paper", "a2", home=tmp_path, cwd=tmp_path
    )
    assert done.returncode == 1
    assert "letter or a4" in done.stderr


def test_cut_sheets_wait_for_an_allotment_and_then_list_every_piece(home, tmp_path):
    early = run_stash("quilt", "cutsheets", "tide", home=home, cwd=tmp_path)
    assert early.returncode == 1
    assert "stash quilt allot" in early.stderr
    answer_of("quilt", "allot", "tide", home=home)
    file = tmp_path / "cut.pdf"
    answer = answer_of("quilt", "cutsheets", "tide", "--layers", "4", "--out", file, home=home)
    assert answer["pieces"] == 12
    assert sum(len(scrap["pieces"]) for scrap in answer["scraps"]) == 12
    assert all(2 <= len(stack["layers"]) <= 4 for stack in answer["stacks"])
    assert answer["passes"]["stacked"] == 3  # computed: 12 pieces, four layers at a time
    drawn = math.ceil(len(answer["scraps"]) / 2) + math.ceil(len(answer["stacks"]) / 2)
    assert pages(file) == 1 + drawn
    numbers = {layer["scrap"] for stack in answer["stacks"] for layer in stack["layers"]}
    outlines = {one: answer_of("scrap", one, home=home)["outline_in"] for one in numbers}
    for stack in answer["stacks"]:
        for layer in stack["layers"]:
            cloth = Polygon(outlines[layer["scrap"]])
            turned = affinity.rotate(cloth, layer["turn_deg"], origin=(0, 0))
            lying = affinity.translate(turned, *layer["move_in"]).buffer(1e-6)
            assert all(lying.covers(Polygon(ring)) for ring in stack["cuts"])


def words_of(path, *, pages_from=0):
    document = pypdfium2.PdfDocument(path.read_bytes())
    try:
        texts = [page.get_textpage().get_text_range() for page in document]
    finally:
        document.close()
    return [" ".join(text.split()) for text in texts[pages_from:]]


def test_papers_before_the_allotment_leave_out_what_is_not_there_and_say_why(home, tmp_path):
    answer_of(
        *["quilt", "make", "early", "--template", "square", "--size", "2"],
        *["--rows", "3", "--across", "3"],
        home=home,
    )
    made = answer_of("quilt", "papers", "early", "--out", tmp_path / "e.pdf", home=home)
    titles = [section["title"] for section in made["sections"]]
    assert titles == ["Template", "Sewing", "Pressing", "Quilting", "Finishing"]
    assert [words.split()[0] for words in made["left_out"]] == ["Cutting", "Chart"]
    first = words_of(tmp_path / "e.pdf")[0]
    assert all(words in first for words in made["left_out"])


def test_one_pdf_holds_every_paper_of_a_quilt_and_its_contents_name_the_pages(home, tmp_path):
    answer_of("quilt", "allot", "tide", home=home)
    answer_of("quilt", "layout", "tide", home=home)
    file = tmp_path / "papers.pdf"
    made = answer_of("quilt", "papers", "tide", "--out", file, "--paper", "a4", home=home)
    assert made["left_out"] == []
    pages_said = words_of(file)
    assert len(pages_said) == made["pages"]
    heads = {
        "Template": "Print at 100 %", "Cutting": "Cut for tide", "Chart": "Row 1 is the top row",
        "Sewing": "Sewing: Tumbler 4 in", "Pressing": "Pressing: tide",
        "Quilting": "Quilting: tide", "Finishing": "Finishing: tide",
    }  # fmt: skip
    assert [one["title"] for one in made["sections"]] == list(heads)
    for section in made["sections"]:
        title, page = section["title"], section["page"]
        assert f"{title} page {page}" in pages_said[0]
        assert heads[title] in pages_said[page - 1]
    assert "Starched, if wanted" in pages_said[0]
    # a piece is named by its row and place wherever it is met
    sections = {one["title"]: one["page"] for one in made["sections"]}
    for title in ("Cutting", "Sewing", "Pressing"):
        following = [page for page in sections.values() if page > sections[title]]
        told = " ".join(pages_said[sections[title] - 1 : min(following) - 1])
        assert " 2.3 " in told, title


def test_sewing_names_the_pressing_of_every_row_and_seam(home, tmp_path):
    file = tmp_path / "sew.pdf"
    answer = answer_of("quilt", "sewing", "tide", "--out", file, home=home)
    assert [row["pressed_to"] for row in answer["rows"]] == ["right", "left", "right"]
    assert len(answer["seams"]) == 3 * 3 + 2 * 4  # computed: 3 in each row, 4 between rows
    assert file.exists()


def test_a_guide_gives_length_passes_and_an_svg(home, tmp_path):
    svg = tmp_path / "guide.svg"
    answer = answer_of(
        "quilt", "guide", "tide", "--style", "echo", "--svg", svg, "--out", tmp_path / "g.pdf",
        home=home,
    )  # fmt: skip
    assert answer["passes"] == 1
    assert answer["bobbins"] == 1
    assert answer["length_in"] > 12 * 4 * 1.5
    assert svg.read_text().startswith("<svg")


def test_finishing_of_a_quilt_follows_its_true_edge(home):
    answer = answer_of("quilt", "finishing", "tide", home=home)
    assert not answer["curved"]
    assert answer["edge_in"] > 2 * (answer["width_in"] + answer["length_in"]) - 3
    assert answer["trimmed"]["lost_width_in"] > 0  # tumblers end in slanted sides


def test_finishing_of_a_finished_size_needs_no_quilt(tmp_path):
    answer = answer_of("quilt", "finishing", "--finished", "60x72", home=tmp_path)
    assert answer["binding"]["strips"] == 7  # Christa Watson, Quilty Math
    assert answer["backing"]["yards"] == 4.5


def test_scallops_are_measured_along_their_arcs(tmp_path):
    answer = answer_of(
        *["quilt", "finishing", "--finished", "40x50", "--scallops", "30", "--scallop", "6x1.5"],
        home=tmp_path,
    )
    # computed: 30 arcs of 6.9547 in
    assert answer["edge_in"] == pytest.approx(30 * 6.9547, abs=0.01)
    assert answer["binding"]["grain"] == "bias"


def test_finishing_of_nothing_says_what_to_name(tmp_path):
    done = run_stash("quilt", "finishing", home=tmp_path)
    assert done.returncode == 1
    assert "--finished" in done.stderr


def test_a_label_is_printed_for_every_bin_and_its_code_finds_the_scraps(home, tmp_path):
    answer = answer_of("labels", "--out", tmp_path / "labels.pdf", home=home)
    assert [label["place"] for label in answer["labels"]] == ["Blue box", "Jar 3"]
    code = answer["labels"][1]["code"]
    found = answer_of("labels", "--find", code, home=home)
    assert found["bin"] == "Jar 3"
    assert len(found["scraps"]) == answer["labels"][1]["scraps"] == 12


def test_a_bin_that_holds_nothing_is_named_with_those_that_do(home, tmp_path):
    done = run_stash("labels", "Attic", home=home, cwd=tmp_path)
    assert done.returncode == 1
    assert "Blue box" in done.stderr
