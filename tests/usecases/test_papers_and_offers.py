"""All papers of a quilt, what a page offers, counts of larger quilts: facts counted by hand."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image, ImageDraw

from stash.colour.palette import Palette, Target, WantedFamily
from stash.colour.spaces import lab_of_hex
from stash.drawing.paper import A4, LETTER
from stash.errors import MeasureError, NotFoundError, PhotoError, PlanError, UserFileError
from stash.quilt.plan import Plan
from stash.quilt.quilting_lines import LineWish
from stash.storage.sqlite_store import FolderStore
from stash.usecases.palettes.colours_of_photo import look_of_photo
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.papers.print_sheets import bin_labels
from stash.usecases.papers.quilt_papers import PapersWish, quilt_papers
from stash.usecases.photos.picture_of_cloth import cloth_in_picture
from stash.usecases.photos.repair_stash import log_again
from stash.usecases.ports import Document
from stash.usecases.quilts.look_twice_pieces import bent_fabrics
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, pattern_of, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_counts import across_counter, next_count, row_counter
from stash.usecases.quilts.quilt_cut import cut_scraps
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.usecases.quilts.suggestions import (
    free_name,
    largest_quilt,
    name_of_palette,
    suggested_palettes,
)
from stash.usecases.ruler_sizes import size_from_words
from stash.usecases.twins.twin_pictures import (
    level_square,
    one_scale_in,
    twins_picture,
    twins_sheet,
)
from tests.drawing.reading_pdf import Page, pages
from tests.usecases.cloth import CREAM, NAVY, PINK, RED, SKY, TEAL, put

PURPLE = "#6a5acd"  # of a palette of blues and teals hardly a part


def picture_of(colour: str, side_px: int = 200) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (side_px, side_px), colour).save(out, "JPEG", quality=95)
    return out.getvalue()


def planned(store: FolderStore, **more: object) -> None:
    asked = QuiltRequest("raffle", "square", "4", rows=2, across=2, charm=True)
    make_quilt(store, replace(asked, **more))


def words_of(some: list[Page]) -> str:
    return " ".join(one.text for page in some for one in page.lettering)


# All papers of one quilt.


def test_before_a_quilt_has_pieces_cutting_and_chart_are_left_out_with_why(
    store: FolderStore,
) -> None:
    planned(store)
    papers = quilt_papers(store, "raffle", PapersWish(LETTER))
    titles = [title for title, _ in papers.sections]
    assert titles == ["Template", "Sewing", "Pressing", "Quilting", "Finishing"]
    assert [words.split(" is left out: ")[0] for words in papers.left_out] == ["Cutting", "Chart"]
    first = words_of(pages(papers.pdf)[:1])
    assert "Cutting is left out" in first and "Chart is left out" in first


def test_each_section_begins_on_the_page_the_contents_tell(store: FolderStore) -> None:
    for colour, washed in ((NAVY, True), (TEAL, False), (SKY, True), (RED, False)):
        put(store, colour, washed=washed, size=(6.0, 6.0), place="tin")
    put(store, CREAM, (3.0, 3.0), washed=False)  # too small for a piece
    planned(store)
    allot_quilt(store, "raffle")
    lay_out(store, "raffle", LayoutRequest())
    papers = quilt_papers(store, "raffle", PapersWish(A4, unit="cm"))
    assert papers.left_out == ()
    titles = ["Template", "Cutting", "Chart", "Sewing", "Pressing", "Quilting", "Finishing"]
    assert [title for title, _ in papers.sections] == titles
    read = pages(papers.pdf)
    assert len(read) == papers.pages
    assert read[0].width == pytest.approx(210 / 25.4, abs=0.01)
    begins = dict(papers.sections)
    assert begins["Template"] == 2
    heads = {"Template": "Square 10.2 cm", "Cutting": "Cut for raffle", "Chart": "raffle",
             "Sewing": "Sewing: Square 10.2 cm", "Pressing": "Pressing: raffle",
             "Quilting": "Quilting: raffle", "Finishing": "Finishing: raffle"}  # fmt: skip
    for title, number in papers.sections:
        head = max(read[number - 1].lettering, key=lambda one: one.size_pt)
        assert head.text == heads[title]
        row = read[0].says(f"page {number}")
        assert read[0].says(title).text == title and row.text == f"page {number}"
    # Red cloth often runs; both unwashed scraps are named, the one of no piece is not.
    told = words_of(read[:1])
    assert "Washed: scraps 2, 4." in told and "Dye tested: scrap" in told
    assert "tin" in words_of(read[begins["Chart"] - 1 : begins["Sewing"] - 1])


def test_papers_are_drawn_though_a_scrap_is_cut_up_and_gone(store: FolderStore) -> None:
    for colour in (NAVY, TEAL, SKY, RED):
        put(store, colour)
    planned(store)
    allot_quilt(store, "raffle")
    cut_scraps(store, "raffle", [1])
    store.delete_scrap(1, why="by a test")
    papers = quilt_papers(store, "raffle", PapersWish(LETTER))
    assert "Washed: every scrap is noted as washed." in words_of(pages(papers.pdf)[:1])


def test_papers_of_no_quilt_and_with_lines_too_far_inside_are_refused(store: FolderStore) -> None:
    with pytest.raises(NotFoundError):
        quilt_papers(store, "raffle", PapersWish(LETTER))
    planned(store)
    papers = quilt_papers(store, "raffle", PapersWish(LETTER, lines=LineWish(depth_in=3.0)))
    assert any(words.startswith("Quilting is left out: ") for words in papers.left_out)


# Fabrics that a palette let in by bending.


def test_a_fabric_that_was_let_in_is_named_with_its_places_and_why(store: FolderStore) -> None:
    make_palette(store, PaletteRequest("tide", words="blues and teals; no pinks"))
    for colour in (NAVY, TEAL, SKY):
        put(store, colour)
    planned(store, palette="tide")
    assert bent_fabrics(store, quilt_named(store, "raffle")) == ()
    put(store, PURPLE)
    planned_again = QuiltRequest("more", "square", "4", rows=2, across=2, charm=True)
    make_quilt(store, replace(planned_again, palette="tide", borderline=True))
    assert allot_quilt(store, "more").possible
    (bent,) = bent_fabrics(store, quilt_named(store, "more"))
    assert (bent.fabric, bent.scraps, bent.places) == (4, (4,), ())
    assert bent.text
    quilt, _ = lay_out(store, "more", LayoutRequest())
    (bent,) = bent_fabrics(store, quilt)
    (place,) = bent.places
    row, across = map(int, place.split("."))
    assert quilt.pieces[quilt.piece_at[2 * (row - 1) + across - 1]].scrap == 4
    free = QuiltRequest("free", "square", "4", rows=1, across=1)
    make_quilt(store, free)
    allot_quilt(store, "free")
    assert bent_fabrics(store, quilt_named(store, "free")) == ()


# Names and palettes that are offered.


def test_palettes_are_offered_from_all_colours_down_to_the_most_common() -> None:
    asked = suggested_palettes(["blue"] * 4 + ["teal"] * 3 + ["red"] * 2 + ["green", "white"] * 2)
    assert [one.name for one in asked] == [
        "All my colours", "Blue, teal and red", "Blue and teal", "Blue",
    ]  # fmt: skip
    assert asked[0].words == "blue, green, red, teal, white"
    assert asked[1].words == "blue, teal, red"
    assert suggested_palettes([]) == []
    assert [one.name for one in suggested_palettes(["white", "grey"])] == ["All my colours"]
    assert [one.name for one in suggested_palettes(["teal"])] == ["All my colours", "Teal"]


def test_a_palette_is_called_by_what_it_asks_for_or_leaves_out() -> None:
    families = tuple(WantedFamily(name) for name in ("teal", "blue", "teal", "red", "pink"))
    assert name_of_palette(Palette("", families=families)) == "Teal, blue and red"
    told = Target(lab_of_hex(NAVY), name="sea glass")
    assert name_of_palette(Palette("", targets=(told,))) == "Sea glass"
    assert name_of_palette(Palette("", families=families[:1], targets=(told,))) == "Teal"
    assert name_of_palette(Palette("", without=("pink", "red", "tan"))) == "Without pink and red"


def test_a_taken_name_gets_the_next_free_number(store: FolderStore) -> None:
    assert free_name(store, "quilt", "raffle") == "raffle"
    for name in ("raffle", "raffle 2", "raffle 4"):
        store.keep_document(Document("quilt", name, {}), why="a test")
    assert free_name(store, "quilt", "raffle") == "raffle 3"
    assert free_name(store, "palette", "raffle") == "raffle"


@pytest.mark.parametrize(
    ("fabrics", "across", "rows"),
    [(1, 1, 1), (6, 2, 3), (12, 3, 4), (20, 4, 5)],
)
def test_the_largest_quilt_is_a_little_longer_than_wide_and_takes_no_fabric_twice(
    store: FolderStore, fabrics: int, across: int, rows: int
) -> None:
    # Across is the root of 0.8 x the fabrics, rounded; rows are what is left in whole rows.
    for _ in range(fabrics):
        put(store)
    asked = QuiltRequest("raffle", "square", "4", rows=1, across=1, charm=True)
    quilt = largest_quilt(store, asked, fabrics=fabrics)
    assert (quilt.plan.across, quilt.plan.rows) == (across, rows)
    assert allot_quilt(store, "raffle").possible


def test_the_largest_quilt_has_fewer_rows_where_fewer_fabrics_can_go_in(store: FolderStore) -> None:
    for _ in range(7):
        put(store)
    asked = QuiltRequest("raffle", "square", "4", rows=1, across=1, charm=True)
    quilt = largest_quilt(store, asked, fabrics=12)  # 3 across; 7 fabrics fill two rows
    assert (quilt.plan.across, quilt.plan.rows) == (3, 2)


# Counts of larger quilts: told from small ones, and the same as when each is laid.


@pytest.mark.parametrize(
    ("family", "setting"),
    [("square", ""), ("hexagon", ""), ("tumbler", ""), ("clamshell", ""),
     ("apple-core", ""), ("half-square-triangle", ""), ("equilateral-triangle", "")],
)  # fmt: skip
def test_pieces_of_larger_quilts_are_told_as_they_come_out_when_laid(
    family: str, setting: str
) -> None:
    from stash.errors import SettingError
    from stash.quilt.setting import setting_named

    named = setting_named(family, setting or None).name if setting != "on point" else setting
    try:
        setting_named(family, named)
    except SettingError:
        pytest.skip("no such setting")
    plan = Plan(family, "4", named, False, 4, 4)

    def laid(**counts: int) -> int | None:
        try:
            return len(pattern_of(replace(plan, **counts)).places)
        except SettingError:
            return None

    rows, across = row_counter(plan), across_counter(plan)
    for count in (1, 2, 6, 7, 9, 12, 13):
        assert rows(count) == laid(rows=count)
        assert across(count) == laid(across=count)
    larger = next_count(across, 4)
    counts = [count for count in range(5, 29) if laid(across=count) is not None]
    assert larger == (counts[0] if counts else None)


def test_the_next_count_is_looked_for_no_further_than_asked() -> None:
    assert next_count(lambda count: 1 if count == 9 else None, 4, within=5) == 9
    assert next_count(lambda count: 1 if count == 9 else None, 4, within=4) is None
    assert next_count(lambda _: 1, 4) == 5


# Cloth that may be the same, shown at one scale.


def test_all_squares_of_a_group_show_as_much_as_its_smallest_scrap_has(store: FolderStore) -> None:
    # The widest square at any turn of a 2-in square is 1.414 in; three inches are the most shown.
    small = put(store, size=(2.0, 2.0), picture=picture_of(NAVY))
    large = put(store, size=(9.0, 9.0), picture=picture_of(NAVY))
    bare = put(store, size=(1.0, 1.0))
    tiny = put(store, size=(0.4, 0.4), picture=picture_of(NAVY))
    assert one_scale_in([small, large]) == pytest.approx(2**0.5, rel=0.05)
    assert one_scale_in([large, bare]) == 3.0
    assert one_scale_in([tiny]) == 0.5
    assert one_scale_in([]) == 3.0
    assert level_square(store, bare, 1.0) == b""
    seen = Image.open(io.BytesIO(level_square(store, small, 1.0)))
    assert np.asarray(seen).reshape(-1, 3).mean(axis=0) == pytest.approx([31, 63, 122], abs=4)


def test_a_group_is_told_by_its_scraps_its_bins_and_the_inches_it_shows(store: FolderStore) -> None:
    for place in ("tin", "bin 3", ""):
        put(store, size=(2.1, 2.1), picture=picture_of(NAVY), place=place)
    drawing = twins_picture(store, [(1, 2, 99), (3,)], svg=True).decode()
    assert ">#1<" in drawing and ">#2<" in drawing and "#99" not in drawing
    assert ">bin tin<" in drawing and ">bin 3<" in drawing and "bin bin" not in drawing
    assert drawing.count("of each<") == 2 and ">1⅜ in of each<" in drawing
    assert drawing.count("<image") == 3
    (page,) = pages(twins_sheet(store, [(1, 2), (3,)], LETTER))
    assert len(page.pictures) == 3


# Photos that a repaired stash still holds.


def test_photos_found_again_wait_for_a_card_and_say_so(store: FolderStore) -> None:
    (outcome,) = log_again(store, ["ab" * 32 + ".jpg"], card=None)
    assert (outcome.status, outcome.file) == ("refused", "found-abababababab.jpg")
    assert outcome.reason.endswith("Then repair the stash again; the photo stays in it.")


def test_a_photo_that_is_lost_is_told_beside_the_others(
    store: FolderStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    from stash.usecases.photos import repair_stash
    from stash.usecases.photos.add_photo import PhotoOutcome
    from stash.usecases.photos.manage_cards import add_chart

    add_chart(store, "pocket", 0.55)
    monkeypatch.setattr(store, "picture", {"cd" * 32: b"bytes"}.__getitem__, raising=False)
    seen = []

    def logged(_store, data, *, file_name, cards, options):  # type: ignore[no-untyped-def]
        seen.append((data, file_name, [card.name for card in cards], options.washed))
        return PhotoOutcome(file_name, "logged")

    monkeypatch.setattr(repair_stash, "log_photo", logged)
    (one,) = log_again(store, ["cd" * 32 + ".png"], card="pocket")
    assert one.status == "logged"
    assert seen == [(b"bytes", "found-cdcdcdcdcdcd.png", ["pocket"], False)]


# Colours of any picture, cloth from a picture of it.


def halves() -> bytes:
    image = Image.new("RGB", (120, 90), NAVY)
    ImageDraw.Draw(image).rectangle((90, 0, 120, 90), fill=CREAM)
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def test_the_colours_of_any_picture_are_read_as_filed_with_their_shares() -> None:
    seen = look_of_photo(halves(), name="sea.png")
    first, second = seen.colours
    assert first.lab == pytest.approx(lab_of_hex(NAVY), abs=1.0)
    assert second.lab == pytest.approx(lab_of_hex(CREAM), abs=1.0)
    assert (first.share, second.share) == pytest.approx((0.75, 0.25), abs=0.02)
    with pytest.raises(PhotoError):
        look_of_photo(b"no photo", name="sea.png")


def test_cloth_is_read_from_a_picture_of_it(tmp_path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "cloth.png"
    file.write_bytes(halves())
    cloth, odd = cloth_in_picture(file, size_from_words("12x9"))
    assert odd == ()
    assert cloth.appearance.colours[0].lab == pytest.approx(lab_of_hex(NAVY), abs=2.0)
    with pytest.raises(UserFileError, match=r"gone\.png cannot be opened"):
        cloth_in_picture(tmp_path / "gone.png", size_from_words("12x9"))
    with pytest.raises(MeasureError):
        cloth_in_picture(file, size_from_words("12x9"), px_per_in=-1.0)


# Layouts by hand.


def test_only_the_named_places_are_shuffled_and_pins_stay(store: FolderStore) -> None:
    for colour in (NAVY, TEAL, SKY, RED, CREAM, PINK):
        put(store, colour)
    make_quilt(store, QuiltRequest("raffle", "square", "4", rows=2, across=3, charm=True))
    with pytest.raises(PlanError, match="no pieces to lay out"):
        lay_out(store, "raffle", LayoutRequest())
    allot_quilt(store, "raffle")
    with pytest.raises(PlanError, match="not laid out yet"):
        lay_out(store, "raffle", LayoutRequest(swaps=(("1.1", "1.2"),)))
    before, _ = lay_out(store, "raffle", LayoutRequest(seed=1))
    after, _ = lay_out(store, "raffle", LayoutRequest(seed=5, only=("1.1", "2.3")))
    assert after.piece_at[1:5] == before.piece_at[1:5]
    assert after.seed == 5
    pinned, _ = lay_out(store, "raffle", LayoutRequest(seed=2, pin=("1.2",)))
    for seed in range(3, 6):
        again, _ = lay_out(store, "raffle", LayoutRequest(seed=seed))
        assert again.piece_at[1] == pinned.piece_at[1] and again.pinned == ("1.2",)
    kept, _ = lay_out(store, "raffle", LayoutRequest(keep=True, unpin=("1.2",), pin=("2.1",)))
    assert kept.piece_at == again.piece_at and kept.pinned == ("2.1",)
    swapped, _ = lay_out(store, "raffle", LayoutRequest(swaps=(("1.1", "2.3"),)))
    assert swapped.piece_at[0] == kept.piece_at[5] and swapped.piece_at[5] == kept.piece_at[0]
    assert swapped.piece_at[1:5] == kept.piece_at[1:5]
    with pytest.raises(PlanError, match=r"no place “3\.1”"):
        lay_out(store, "raffle", LayoutRequest(pin=("3.1",)))


# Bins.


def test_a_bin_that_holds_nothing_is_told_with_those_that_do(store: FolderStore) -> None:
    with pytest.raises(NotFoundError, match="Bins with scraps: none yet"):
        bin_labels(store, ["jar"])
    for place in ("tin", "box", ""):
        put(store, NAVY, place=place)
    with pytest.raises(NotFoundError, match="Bins with scraps: box, tin"):
        bin_labels(store, ["tin", "jar"])
    assert [label.place for label in bin_labels(store)] == ["box", "tin"]
    assert [label.place for label in bin_labels(store, ["tin"])] == ["tin"]
