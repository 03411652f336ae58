"""Every sheet is read by those who confuse colours: words carry it, and stay legible."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from xml.etree import ElementTree

import numpy as np
import pytest
from pypdfium2 import PdfDocument

from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import linear_of_srgb, srgb_of_linear
from stash.drawing.paper import LETTER
from stash.drawing.placement_picture import PlacedScrap, draw_placements
from stash.drawing.template_sheet import template_pdf
from stash.quilt.quilting_lines import LineStyle, LineWish
from stash.shape.containment.piece_fit import Placement
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from stash.storage.sqlite_store import FolderStore
from stash.usecases.matching.match_palette import MatchRequest, clashes, match, odd_ones
from stash.usecases.palettes.goes_with import goes_with
from stash.usecases.palettes.manage_palettes import PaletteRequest
from stash.usecases.papers.draw_quilt import chart_of
from stash.usecases.papers.print_sheets import (
    bin_labels,
    cut_list,
    cut_sheets,
    guide_of,
    label_sheet,
    sewing_sheet,
    stencil_sheet,
    top_of_quilt,
)
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, pattern_of, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.usecases.scraps.draw_answers import (
    clash_sheet,
    companions_sheet,
    company_sheet,
    match_sheet,
)
from stash.usecases.twins.twin_pictures import twins_picture, twins_sheet
from stash.wiring import open_store
from tests.drawing.test_readers_of_colour import SEEN_BY, contrast
from tests.web.little_stash import fill_stash

NEEDED, NEEDED_LARGE = 4.5, 3.0
LARGE_PX = 24
PALETTE = palette_of_words("tide", "deep blues, teals, sand, a touch of coral; no pinks")
CHOSEN = (1, 2, 3, 4)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> FolderStore:
    store = open_store(tmp_path_factory.mktemp("stash"))
    fill_stash(store, 12)
    return store


@pytest.fixture(scope="module")
def quilted(tmp_path_factory: pytest.TempPathFactory) -> FolderStore:
    """A stash with a quilt of tumblers, chosen and laid out."""
    store = open_store(tmp_path_factory.mktemp("quilted"))
    fill_stash(store, 12)
    request = QuiltRequest(name="tide", template="tumbler", size="2", rows=2, across=3)
    make_quilt(store, request)
    assert allot_quilt(store, "tide").possible
    lay_out(store, "tide", LayoutRequest())
    return store


def texts(svg: bytes) -> Iterator[tuple[str, str, str, float]]:
    """Give each text with its colour, the colour under it, and its size."""
    under: list[tuple[float, float, float, float, str]] = []
    for one in ElementTree.fromstring(svg).iter():
        kind = one.tag.rpartition("}")[2]
        if kind == "rect" and re.fullmatch("#[0-9a-fA-F]{6}", one.get("fill", "")):
            box = [float(one.get(name, "0").rstrip("%")) for name in ("x", "y", "width", "height")]
            under.append((*box, str(one.get("fill"))))
        if kind == "path":  # by the box around it
            points = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", str(one.get("d"))), dtype=float)
            (left, top), (right, low) = points.min(axis=0), points.max(axis=0)
            under.append((left, top, right - left, low - top, str(one.get("fill"))))
        if kind == "text":
            x, y = float(one.get("x", "0")), float(one.get("y", "0"))
            there = [f for left, top, wide, high, f in under if left <= x <= left + wide and top <= y <= top + high]  # fmt: skip # noqa: E501
            words = "".join(one.itertext())
            yield words, str(one.get("fill")), (there or ["#ffffff"])[-1], float(one.get("font-size", "12"))  # fmt: skip # noqa: E501


def placements(_: FolderStore) -> bytes:
    square = outline_of([(0, 0), (6, 0), (6, 3), (0, 3)], error_in=0.05)
    laid = (Placement(1.6, 1.5, 0), Placement(4.3, 1.5, 0))
    scrap = PlacedScrap("one", square, laid, 10.0)
    return draw_placements([scrap], make_template("square", 2), ".svg")


SVG: dict[str, Callable[[FolderStore], bytes]] = {
    "match": lambda store: match_sheet(
        store,
        match(store, MatchRequest(PALETTE, make_template("square", 2), CutRule())),
        title="t",
        svg=True,
    ),
    "clash": lambda store: clash_sheet(store, clashes(store, PALETTE), title="t", svg=True),
    "company": lambda store: company_sheet(store, CHOSEN, odd_ones(store, CHOSEN), svg=True),
    "goes with": lambda store: companions_sheet(
        store, (1,), goes_with(store, PaletteRequest("", scraps=(1,))), svg=True
    ),
    "twins": lambda store: twins_picture(store, [CHOSEN], svg=True),
    "placements": placements,
}
PDF: dict[str, Callable[[FolderStore], bytes]] = {
    "twins": lambda store: twins_sheet(store, [CHOSEN], LETTER),
    "labels": lambda store: label_sheet(bin_labels(store), LETTER),
    "template": lambda _: template_pdf([make_template("tumbler", 4)], LETTER),
}


def chart(store: FolderStore) -> bytes:
    quilt = quilt_named(store, "tide")
    return chart_of(store, quilt, pattern_of(quilt.plan), paper="letter")


def quilting(store: FolderStore) -> bytes:
    top = top_of_quilt(store, "tide")
    return stencil_sheet(top, guide_of(top, LineWish(LineStyle.SEAMS)), LETTER)


QUILT_PDF: dict[str, Callable[[FolderStore], bytes]] = {
    "chart": chart,
    "cutting": lambda store: cut_sheets(cut_list(store, "tide", layers=1), LETTER),
    "sewing": lambda store: sewing_sheet(top_of_quilt(store, "tide"), LETTER),
    "quilting": quilting,
}


@pytest.mark.parametrize("readers", SEEN_BY)
@pytest.mark.parametrize("sheet", SVG)
def test_all_words_on_a_sheet_stay_legible(store: FolderStore, sheet: str, readers: str) -> None:
    found = list(texts(SVG[sheet](store)))
    assert found
    for words, ink, paper, size in found:
        least = NEEDED_LARGE if size >= LARGE_PX else NEEDED
        assert contrast(ink, paper, readers) >= least, words


def test_groups_of_a_match_are_told_by_words_where_cloth_looks_alike(store: FolderStore) -> None:
    answer = match(store, MatchRequest(PALETTE, make_template("square", 2), CutRule()))
    words = [one[0] for one in texts(SVG["match"](store))]
    for heading, lines in (
        ("Can go in", answer.can_go_in),
        ("Look twice", answer.look_twice),
        ("Cannot", [one for one in answer.cannot if not one.near_miss]),
    ):
        if lines:
            place = next(at for at, one in enumerate(words) if one.startswith(heading))
            after = " ".join(words[place:])
            assert all(re.search(rf"\b{line.fabric}\b", after) for line in lines), heading


@pytest.mark.parametrize("sheet", PDF)
def test_papers_need_no_colour_at_all(store: FolderStore, sheet: str) -> None:
    """Lines and letters are grey; only pictures of cloth are coloured."""
    need_no_colour(PDF[sheet](store))


@pytest.mark.parametrize("sheet", QUILT_PDF)
def test_papers_of_a_quilt_need_no_colour_at_all(quilted: FolderStore, sheet: str) -> None:
    need_no_colour(QUILT_PDF[sheet](quilted))


def need_no_colour(pdf: bytes) -> None:
    document = PdfDocument(pdf)
    for page in document:
        for picture in list(page.get_objects(filter=[3])):
            page.remove_obj(picture)
        page.gen_content()
        seen = page.render(scale=1).to_numpy().astype(int)
        assert np.ptp(seen[..., :3], axis=2).max() <= 8
        assert seen.min() < 120  # something is printed
        for readers in SEEN_BY:
            for grey, as_printed in zip(*inks(seen), strict=True):
                assert np.abs(as_seen(as_printed, readers) - grey).max() <= 8, readers
    document.close()


def inks(seen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Give the different inks of a page: how dark each is, and its levels of red, green, blue."""
    levels = np.unique(seen[..., 2::-1].reshape(-1, 3), axis=0)
    return levels.mean(axis=1), levels


def as_seen(levels: np.ndarray, by: str) -> np.ndarray:
    """Give the levels as these readers see them (Machado, Oliveira, Fernandes 2009)."""
    return 255 * srgb_of_linear(np.clip(SEEN_BY[by] @ linear_of_srgb(levels / 255), 0, 1))


def test_numbers_on_the_chart_lie_on_white_discs(quilted: FolderStore) -> None:
    """The cloth under a number may be as dark as any: what is round the number is paper."""
    document = PdfDocument(QUILT_PDF["chart"](quilted))
    page = document[0]
    pictures = [one.get_bounds() for one in page.get_objects(filter=[3])]
    words, scale = page.get_textpage(), 4
    drawn = page.render(scale=scale).to_numpy()[..., :3].min(axis=2)
    on_cloth = 0
    for place in range(words.count_chars()):
        if not words.get_text_range(place, 1).strip():
            continue
        left, low, right, high = words.get_charbox(place)
        if not any(x0 < left and right < x1 and y0 < low and high < y1 for x0, y0, x1, y1 in pictures):  # noqa: E501 # fmt: skip
            continue
        row = int((page.get_height() - (low + high) / 2) * scale)
        for column in (int((left - 0.8) * scale), int((right + 0.8) * scale)):
            assert drawn[row, column] >= 250, words.get_text_range(place, 1)
        on_cloth += 1
    document.close()
    assert on_cloth == 6
