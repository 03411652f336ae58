"""Answers drawn: which words stand on a sheet, in which order, and which way round cloth lies."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pypdfium2
import pytest
from PIL import Image

from stash.colour.appearance import PrintKind
from stash.colour.palette_words import palette_of_words
from stash.drawing.paper import A4, LETTER
from stash.errors import PlanError
from stash.quilt.plan import CropPlace, Quilt
from stash.quilt.quilting_lines import LineStyle, LineWish
from stash.scrap import ScrapState
from stash.shape.templates.template import make_template
from stash.storage.sqlite_store import FolderStore
from stash.usecases.matching.match_palette import MatchRequest, clashes, match, odd_ones
from stash.usecases.matching.size_curve import draw_steps, size_curve
from stash.usecases.papers.draw_quilt import chart_of, picture_of_quilt
from stash.usecases.papers.print_sheets import (
    bin_labels,
    cut_list,
    cut_sheets,
    guide_of,
    label_sheet,
    sewing_sheet,
    stencil_sheet,
    top_of_quilt,
    top_of_shape,
)
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, pattern_of, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.usecases.scraps.draw_answers import clash_sheet, company_sheet, match_sheet
from stash.usecases.scraps.review_scraps import ScrapFilter, find_fabrics, find_scraps
from stash.usecases.scraps.scrap_sheet import SheetLook, scrap_sheet
from tests.usecases.cloth import NAVY, RED, SKY, TEAL, put, seven_scraps

TIDE = palette_of_words("tide", "blues and teals; no pinks")


def words(svg: bytes) -> list[str]:
    root = ElementTree.fromstring(svg)
    return [one.text or "" for one in root.iter("{http://www.w3.org/2000/svg}text")]


def under_headings(svg: bytes, *headings: str) -> dict[str, list[int]]:
    """Give the numbers of the swatches under each heading that is there."""
    found: dict[str, list[int]] = {}
    at = ""
    for word in words(svg):
        if word in headings:
            at = word
            found[at] = []
        first, _, rest = word.partition("  ")
        if at and first.isdecimal() and rest:
            found[at].append(int(first))
    return found


def picture(colour: str, right: str, size: tuple[int, int] = (200, 200)) -> bytes:
    """Cloth of one colour, its right half of another."""
    image = Image.new("RGB", size, colour)
    image.paste(right, (size[0] // 2, 0, *size))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=95)
    return out.getvalue()


@pytest.fixture
def seven(store: FolderStore) -> FolderStore:
    seven_scraps(store)
    return store


def asked(size: str = "4") -> MatchRequest:
    return MatchRequest(TIDE, make_template("square", size), CutRule())


# Contact sheets.


def test_a_match_is_drawn_in_four_groups(seven: FolderStore) -> None:
    sheet = match_sheet(seven, match(seven, asked()), title="Tide, square 4", svg=True)
    heads = ("Can go in", "Look twice", "Near misses", "Cannot")
    assert under_headings(sheet, *heads) == {
        "Can go in": [1, 2], "Look twice": [3], "Near misses": [5], "Cannot": [4, 6],
    }  # fmt: skip
    told = words(sheet)
    assert told[0] == "Tide, square 4"
    assert "5 pieces, up to 8½ in" in told
    assert "1 piece, up to 5½ in" in told
    assert "up to 3 9/16 in" in told
    assert any("red" in word for word in told)
    assert "values (L*)" in words(
        match_sheet(seven, match(seven, asked()), title="t", values=True, svg=True)
    )


def test_a_clash_is_drawn_by_verdict(seven: FolderStore) -> None:
    sheet = clash_sheet(seven, clashes(seven, TIDE), title="Tide", svg=True)
    found = under_headings(sheet, "Belongs", "Look twice", "Clashes")
    assert sorted(found.pop("Belongs")) == [1, 2, 5, 6]
    assert found == {"Look twice": [3], "Clashes": [4]}
    assert any("red is not in the palette" in word for word in words(sheet))


def test_the_wild_ones_stand_first_among_chosen_scraps(store: FolderStore) -> None:
    for colour in (NAVY, "#274b86", "#33558f", "#22406f", "#b6d432"):
        put(store, colour)
    chosen = [5, 1, 2, 3, 4, 1]
    sheet = company_sheet(store, chosen, odd_ones(store, chosen), svg=True)
    heads = ("Wild beside the rest", "Keep company")
    assert under_headings(sheet, *heads) == {heads[0]: [5], heads[1]: [1, 2, 3, 4]}
    assert "4 scraps" in words(sheet)


def test_scraps_are_drawn_in_an_order_with_size_and_bin(seven: FolderStore) -> None:
    views = find_scraps(seven, ScrapFilter())
    sheet = scrap_sheet(seven, views, SheetLook("value", svg=True))
    told = words(sheet)
    assert told[0] == "Scraps, by value"
    assert under_headings(sheet, "Light", "Medium", "Dark") == {
        "Light": [7, 6], "Medium": [3, 4], "Dark": [5, 1, 2],
    }  # fmt: skip
    assert "9 × 9" in told
    assert "bin tin" in told
    assert "3 × 8, unwashed" in told
    assert "light blue, plain" in told
    assert any(word.startswith("22.9 × 22.9") for word in words(
        scrap_sheet(seven, views, SheetLook(svg=True), unit="cm")))  # fmt: skip
    largest = [one.scraps[0] for one in find_fabrics(seven, ScrapFilter())]
    fabrics = scrap_sheet(seven, largest, SheetLook("light-to-dark", svg=True), counted_as="fabric")
    assert words(fabrics)[0] == "Fabrics, in one run"
    assert under_headings(fabrics, "From light to dark") == {
        "From light to dark": [6, 5, 2, 3, 4, 1]
    }
    assert "6 fabrics" in words(fabrics)


def test_a_swatch_is_a_snip_of_the_cloth_or_its_colours(store: FolderStore) -> None:
    put(store, NAVY, (5.0, 5.0), picture=picture(RED, RED))
    put(store, SKY, (5.0, 5.0))
    sheet = scrap_sheet(store, find_scraps(store, ScrapFilter()), SheetLook("light-to-dark"))
    with Image.open(io.BytesIO(sheet)) as drawn:
        colours = {rgb for count, rgb in drawn.convert("RGB").getcolors(1 << 24) if count > 5000}
    red, sky, navy = (176, 40, 47), (156, 195, 224), (31, 63, 122)

    def there(wanted: tuple[int, int, int]) -> bool:
        return any(max(abs(a - b) for a, b in zip(one, wanted, strict=True)) < 6 for one in colours)

    assert there(red)
    assert there(sky)
    # A picture that is lost leaves the colours to show.
    scrap = store.scrap(1)
    assert scrap.picture is not None
    (lost,) = store.home.rglob(f"{scrap.picture.sha256}*")
    lost.unlink()
    again = scrap_sheet(store, find_scraps(store, ScrapFilter()), SheetLook("light-to-dark"))
    with Image.open(io.BytesIO(again)) as drawn:
        colours = {rgb for count, rgb in drawn.convert("RGB").getcolors(1 << 24) if count > 5000}
    assert there(navy)
    assert not there(red)


def test_the_curve_of_sizes_is_a_picture(seven: FolderStore) -> None:
    with Image.open(io.BytesIO(draw_steps(size_curve(seven, asked()), asked()))) as drawn:
        assert min(drawn.size) > 200


# Sheets of a quilt.


def quilt(store: FolderStore, **changes: object) -> Quilt:
    plan = QuiltRequest("raffle", "square", "4", rows=1, across=2, charm=True)
    made = make_quilt(store, replace(plan, **changes))
    answer = allot_quilt(store, made.name)
    assert answer.possible
    return answer.quilt


def texts(pdf: bytes) -> Iterator[str]:
    with pypdfium2.PdfDocument(pdf) as sheets:
        for sheet in sheets:
            page = sheet.get_textpage()
            yield page.get_text_bounded()


def test_a_cut_list_carries_picture_scale_and_name_of_the_cloth(store: FolderStore) -> None:
    first = put(store, NAVY, (6.0, 6.0), picture=picture(NAVY, RED))
    put(store, TEAL, (6.0, 6.0))
    fabric = store.fabrics()[0]
    store.change_fabric(replace(fabric, name="Harbour"), seen=fabric, why="t")
    quilt(store)
    one, other = cut_list(store, "raffle", layers=4).scraps
    assert (one.number, one.name, one.px_per_in, one.left_in, one.top_in) == (
        first.number, "Harbour", 40.0, 0.0, 6.0,
    )  # fmt: skip
    assert one.picture == picture(NAVY, RED)
    assert (other.picture, other.px_per_in) == (b"", 0.0)
    assert other.name
    # A square is cut by straight cuts too: one strip of 4 1/2 in.
    assert other.strips is not None
    assert [strip.pieces for strip in other.strips.strips] == [1]
    sheets = cut_sheets(cut_list(store, "raffle", layers=4), LETTER)
    text = " ".join(texts(sheets))
    assert "Harbour" in text
    assert "raffle" in text


def test_curved_shapes_are_not_cut_by_straight_cuts(store: FolderStore) -> None:
    for _ in range(2):
        put(store, NAVY, (9.0, 9.0))
    quilt(store, template="clamshell")
    assert [one.strips for one in cut_list(store, "raffle", layers=4).scraps] == [None, None]


def test_a_scrap_cut_up_since_is_not_on_the_cut_list(store: FolderStore) -> None:
    for _ in range(2):
        put(store)
    quilt(store)
    scrap = store.scrap(2)
    store.change_scrap(replace(scrap, state=ScrapState.CUT_UP), seen=scrap, why="t")
    with pytest.raises(PlanError, match="Scrap 2"):
        cut_list(store, "raffle", layers=4)


def test_cloth_on_the_cutting_sheet_lies_as_it_is_seen(store: FolderStore) -> None:
    # The picture's left half is navy, its right half red: so must the sheet's be, not mirrored.
    put(store, NAVY, (5.0, 5.0), picture=picture(NAVY, RED))
    quilt(store, across=1)
    with pypdfium2.PdfDocument(cut_sheets(cut_list(store, "raffle", layers=1), LETTER)) as sheets:
        pages = [sheet.render(scale=1).to_pil().convert("RGB") for sheet in sheets]
    # Drawn pale, so that lines show on it.
    navy, red = [], []
    for x in range(0, pages[0].width, 2):
        for y in range(0, pages[0].height, 2):
            r, _, b = pages[0].getpixel((x, y))  # type: ignore[misc]
            navy += [x] if b > r + 30 else []
            red += [x] if r > b + 30 else []
    assert min(len(navy), len(red)) > 1000
    assert max(navy) <= min(red) + 4


def test_stripes_run_along_one_piece_or_across_it_and_both_ways_are_kept(
    store: FolderStore,
) -> None:
    # Stripes along y (90 degrees) on 6 x 6 in: the piece may lie either way.
    put(store, NAVY, (6.0, 6.0), kind=PrintKind.STRIPE, direction_deg=90.0, grain_deg=0.0)
    (piece,) = quilt(store, across=1).pieces
    assert piece.stripe_deg is not None
    assert piece.other_stripe_deg is not None
    # Upright first; up to two degrees askew look straight.
    assert piece.stripe_deg == pytest.approx(90, abs=2)
    assert (piece.other_stripe_deg + 90) % 180 == pytest.approx(90, abs=2)
    # Two that touch are turned crosswise.
    put(store, RED, (7.0, 7.0), kind=PrintKind.STRIPE, direction_deg=30.0, grain_deg=0.0)
    put(store, NAVY, (6.0, 6.0), kind=PrintKind.STRIPE, direction_deg=90.0, grain_deg=0.0)
    quilt(store, name="pair")
    laid, _ = lay_out(store, "pair", LayoutRequest())
    runs = sorted((one.stripe_deg or 0.0) + 45 for one in laid.pieces)
    assert [run % 180 for run in runs] == pytest.approx([45, 135], abs=2)
    assert piece.kind == "stripe"


def test_the_quilts_picture_shows_each_piece_in_its_place(store: FolderStore) -> None:
    put(store, NAVY)
    put(store, RED)
    quilt(store)
    laid, _ = lay_out(store, "raffle", LayoutRequest())
    pattern = pattern_of(laid.plan)
    with Image.open(io.BytesIO(picture_of_quilt(store, laid, pattern, suffix=".png"))) as drawn:
        row = [drawn.convert("RGB").getpixel((x, drawn.height // 2)) for x in range(drawn.width)]
    where = {
        1: [x for x, (r, g, b) in enumerate(row) if b > r + 40],  # type: ignore[misc]
        2: [x for x, (r, g, b) in enumerate(row) if r > b + 60],  # type: ignore[misc]
    }
    left, right = (laid.pieces[piece].scrap for piece in laid.piece_at)
    assert max(where[left]) < min(where[right])
    assert picture_of_quilt(store, laid, pattern, suffix=".JPG").startswith(b"\xff\xd8")
    with pytest.raises(PlanError, match=r"\.bmp"):
        picture_of_quilt(store, laid, pattern, suffix=".bmp")


def test_a_chart_wants_a_layout_and_names_bins(store: FolderStore) -> None:
    put(store, NAVY, place="attic")
    put(store, RED)
    found = quilt(store)
    with pytest.raises(PlanError, match="not laid out"):
        chart_of(store, found, pattern_of(found.plan), paper="letter")
    lay_out(store, "raffle", LayoutRequest())
    laid = quilt_named(store, "raffle")
    text = " ".join(texts(chart_of(store, laid, pattern_of(laid.plan), paper="a4")))
    assert "raffle" in text
    assert "attic" in text
    (size,) = {
        (round(width), round(height))
        for width, height in _sizes(chart_of(store, laid, pattern_of(laid.plan), paper="a4"))
    }
    assert sorted(size) == [595, 842]  # 210 x 297 mm in points


def _sizes(pdf: bytes) -> Iterator[tuple[float, float]]:
    with pypdfium2.PdfDocument(pdf) as sheets:
        for sheet in sheets:
            yield sheet.get_size()


def test_sheets_come_on_the_paper_asked_for(store: FolderStore, tmp_path: Path) -> None:
    put(store, NAVY, place="tin")
    make_quilt(store, QuiltRequest("raffle", "square", "4", rows=3, across=3))
    top = top_of_quilt(store, "raffle")
    guide = guide_of(top, LineWish(LineStyle.ECHO))
    for paper, size in ((LETTER, [612, 792]), (A4, [595, 842])):
        for pdf in (
            label_sheet(bin_labels(store), paper), sewing_sheet(top, paper),
            stencil_sheet(top, guide, paper),
        ):  # fmt: skip
            assert {tuple(sorted(map(round, one))) for one in _sizes(pdf)} == {tuple(size)}
    assert stencil_sheet(top, guide, None).startswith(b"<svg")
    assert guide.length_in > 0
    text = " ".join(texts(label_sheet(bin_labels(store), LETTER)))
    assert "tin" in text
    # A curve may be quilted too; its sewing sheet has the pages a curve needs.
    shell = top_of_shape(make_template("clamshell", "4"), None)
    assert sewing_sheet(shell, LETTER).startswith(b"%PDF")


def test_a_crop_says_where_a_piece_lies_on_its_picture(store: FolderStore) -> None:
    put(store, NAVY, (5.0, 5.0), picture=picture(NAVY, RED))
    (piece,) = quilt(store, across=1).pieces
    crop = piece.crop
    assert crop is not None
    assert (crop.growth, crop.px_per_in, crop.left_in, crop.top_in) == (1.0, 40.0, 0.0, 5.0)
    assert crop.picture == store.scrap(1).picture.sha256  # type: ignore[union-attr]
    # 4 1/2 in on 5 in: its middle lies within a quarter of an inch of the scrap's.
    assert abs(crop.x - 2.5) <= 0.26
    assert abs(crop.y - 2.5) <= 0.26
    assert CropPlace(0, 0, 0).growth == 1.0
