"""Fit, palettes, cards, shapes, corrections, bins, files and numbers: one fact each."""

from __future__ import annotations

import io
import json
import os
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from stash.colour.appearance import PrintKind
from stash.colour.spaces import hex_of_lab
from stash.errors import (
    CardNotFoundError,
    MeasureError,
    NotFoundError,
    PaletteError,
    PlanError,
    ScrapNumbersError,
    TemplateError,
    UserFileError,
)
from stash.quilt.finishing import FinishingWish
from stash.scrap import ScrapState
from stash.shape.templates.template import OWN_SHAPE, make_template, template_of_file
from stash.storage.sqlite_store import FolderStore
from stash.usecases.palettes.manage_palettes import (
    PaletteChange,
    PaletteRequest,
    change_palette,
    compose_palette,
    forget_palette,
    make_palette,
    palette_named,
    palette_record,
    palettes,
)
from stash.usecases.papers.print_sheets import (
    bin_labels,
    find_by_code,
    finishing_of,
    first_rows_of,
    thread_of,
    top_of_quilt,
    top_of_shape,
)
from stash.usecases.photos.add_photo import LogOptions, already_logged, cards_to_use, identity_of
from stash.usecases.photos.manage_cards import add_chart, add_printed, cards, cards_for_photo
from stash.usecases.pieces.fit_pieces import FitRequest, fit_pieces, read_outlines
from stash.usecases.pieces.manage_templates import template_of
from stash.usecases.ports import Document
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt
from stash.usecases.ruler_sizes import rectangle_of, size_from_words
from stash.usecases.scrap_numbers import scrap_numbers
from stash.usecases.scraps.correct_scraps import (
    Correction,
    RuledScrap,
    add_ruled_scrap,
    corners_from_words,
    correct_scrap,
    correct_scraps,
)
from stash.usecases.user_files import plain_name, read_file, read_photo_file, write_beside
from tests.usecases.cloth import NAVY, RED, SKY, TEAL, put, rectangle

SQUARE = [[0, 0], [5, 0], [5, 5], [0, 5]]


# Fit.


def scraps_of(*records: object) -> list:
    return read_outlines(json.dumps(records).encode())


def test_each_outline_is_answered_in_its_turn_those_that_are_none_with_why() -> None:
    scraps = scraps_of(
        {"outline": SQUARE},
        {"id": "b", "outline": [[0, 0], [1, 1]]},
        {"id": 7, "outline": [[0, 0], [10, 0], [10, 5], [0, 5]]},
        {"id": [1], "outline": "round"},
        {"outline": SQUARE, "one_way": "yes"},
        {"outline": SQUARE, "grain_deg": float("inf")},
        {"outline": SQUARE, "error_in": 0.3},
        {},
    )
    found = list(fit_pieces(scraps, FitRequest(make_template("square", "4 1/2"))))
    assert [one.scrap.name for one in found] == [1, "b", 7, 4, 5, 6, 7, 8]
    assert [one.pieces for one in found] == [1, 0, 2, 0, 0, 0, 0, 0]
    assert [bool(one.problem) for one in found] == [
        False, True, False, True, True, True, False, True,
    ]  # fmt: skip
    assert "one_way" in found[4].problem
    # 5 in less 0.3 in all round are 4.4 in of cloth: 3.9 in finished.
    assert found[6].largest_size_in == pytest.approx(3.9, abs=0.02)
    assert found[0].largest_size_in == pytest.approx(4.5, abs=0.02)
    body = found[2].body(make_template("square", "4 1/2"))
    assert (body["id"], body["fits"], body["pieces"], len(body["placements"])) == (7, True, 2, 2)
    assert body["upper_bound"] >= 2
    assert "problem" not in body
    told = found[1].body(make_template("square", "4 1/2"))
    assert (told["fits"], told["pieces"], told["placements"]) == (False, 0, [])
    assert told["problem"] == found[1].problem
    assert [one.face_down for one in found] == [0] * 8


@pytest.mark.parametrize("data", [b"", b"{}", b"[1]", b"null", b"[" * 100_000])
def test_what_is_no_list_of_outlines_is_refused_whole(data: bytes) -> None:
    with pytest.raises(MeasureError):
        read_outlines(data)


def test_a_grain_is_wanted_where_the_template_may_not_be_turned() -> None:
    # A 5 x 5 in scrap holds a 4 1/2-in square on its own grain and not at 45 degrees.
    scraps = scraps_of(
        {"outline": SQUARE, "grain_deg": 0.0},
        {"outline": SQUARE, "grain_deg": 45.0},
        {"outline": SQUARE, "grain_deg": 90.0},
        {"outline": SQUARE},
    )
    request = FitRequest(make_template("square", "4"), grain_tolerance_deg=3)
    found = list(fit_pieces(scraps, request))
    assert [one.pieces for one in found] == [1, 0, 1, 0]
    assert "grain" in found[3].problem
    free = list(fit_pieces(scraps, FitRequest(make_template("square", "4"))))
    assert [one.pieces for one in free] == [1, 1, 1, 1]


def test_a_one_way_print_takes_the_first_turn_only() -> None:
    # A triangle with its legs along x and y: half a turn puts its corner at the other end.
    legs = [[0, 0], [5, 0], [0, 5]]
    shape = template_of_file(json.dumps({"cut": legs}).encode(), ".json")
    row = {"outline": [[-0.01, -0.01], [5.05, -0.01], [-0.01, 5.05]], "one_way": True}
    scraps = scraps_of(row | {"grain_deg": 0.0}, row | {"grain_deg": 180.0})
    found = fit_pieces(scraps, FitRequest(shape, grain_tolerance_deg=2))
    assert [one.pieces for one in found] == [1, 0]


def test_a_shape_may_lie_face_down_only_where_that_is_said() -> None:
    ell = [[0, 0], [6, 0], [6, 1], [1, 1], [1, 3], [0, 3]]
    mirrored = [[-x, y] for x, y in ell]
    shape = template_of_file(json.dumps({"cut": ell}).encode(), ".json")
    roomy = [[x * 1.02 - 0.01, y * 1.02 - 0.01] for x, y in mirrored]
    rows = scraps_of({"outline": roomy}, {"outline": roomy, "may_turn_over": True})
    assert [one.pieces for one in fit_pieces(rows, FitRequest(shape))] == [0, 1]
    both = list(fit_pieces(rows, FitRequest(shape, may_turn_over=True)))
    assert [(one.pieces, one.face_down) for one in both] == [(1, 1), (1, 1)]


def test_a_number_of_pieces_nobody_cuts_is_a_wrong_unit() -> None:
    # 100 x 100 in of 1/2-in cuts are 40,000 pieces; of 1-in cuts 10,000.
    huge = scraps_of({"outline": [[0, 0], [100, 0], [100, 100], [0, 100]]})
    half = template_of_file(b'{"cut": [[0,0],[0.5,0],[0.5,0.5],[0,0.5]]}', ".json")
    (found,) = fit_pieces(huge, FitRequest(half))
    assert "40,000 pieces" in found.problem


def test_straight_strips_are_told_when_asked_for() -> None:
    scraps = scraps_of({"outline": [[0, 0], [9, 0], [9, 4.5], [0, 4.5]]})
    template = make_template("square", "4")
    (plain,) = fit_pieces(scraps, FitRequest(template))
    (asked,) = fit_pieces(scraps, FitRequest(template, straight_cuts=True))
    assert plain.strips is None
    (strip,) = asked.body(template)["strips"]
    assert (strip["width_in"], strip["pieces"]) == (pytest.approx(4.5), 2)


# Palettes.


def test_a_palette_of_several_sources_holds_them_all(store: FolderStore) -> None:
    put(store, TEAL)
    asked = PaletteRequest(
        " tide ", words="blues", colours=(RED,), scraps=(1,), without=("pink", "pink"),
        neutrals=False, limits={"outside_clash": 0.6},
    )  # fmt: skip
    palette = make_palette(store, asked)
    assert (palette.name, palette.without, palette.neutrals) == ("tide", ("pink",), False)
    assert [one.family for one in palette.families] == ["blue"]
    assert [hex_of_lab(one.lab) for one in palette.targets] == [RED, TEAL]
    assert palette.thresholds.outside_clash == 0.6
    assert palette_named(store, "tide") == palette
    assert compose_palette(store, PaletteRequest("x", words="blues; no neutrals")).neutrals is False
    assert [one.name for one in palettes(store)] == ["tide"]


def test_a_palette_of_a_fabric_takes_its_largest_scrap(store: FolderStore) -> None:
    small = put(store, RED, (2.0, 2.0))
    put(store, NAVY, (9.0, 9.0), fabric=small.fabric)
    palette = compose_palette(store, PaletteRequest("x", fabric=1))
    assert [hex_of_lab(one.lab) for one in palette.targets] == [NAVY]


@pytest.mark.parametrize(
    ("request_", "problem"),
    [
        (PaletteRequest(" ", words="blues"), PaletteError),
        (PaletteRequest("x"), PaletteError),
        (PaletteRequest("x", scraps=(9,)), NotFoundError),
        (PaletteRequest("x", fabric=9), NotFoundError),
        (PaletteRequest("x", words="blues", limits={"odd": 1.0}), PaletteError),
    ],
)
def test_a_palette_of_nothing_is_refused(
    store: FolderStore, request_: PaletteRequest, problem: type[Exception]
) -> None:
    with pytest.raises(problem):
        make_palette(store, request_)
    assert palettes(store) == ()


def test_a_palette_may_rule_out_only(store: FolderStore) -> None:
    assert make_palette(store, PaletteRequest("x", without=("pinks",))).without == ("pink",)


def test_a_palette_is_changed_colour_by_colour(store: FolderStore) -> None:
    make_palette(store, PaletteRequest("tide", words="mostly blues, some teals; no pinks, no reds"))
    change_palette(store, "tide", PaletteChange(drop=("teal",), add="a touch of coral"))
    now = palette_named(store, "tide")
    assert "teal" not in [one.family for one in now.families]
    assert [one.family for one in now.families] == ["blue"]
    assert {(one.name, one.amount.value) for one in now.targets} == {("coral", "touch")}
    change_palette(store, "tide", PaletteChange(amounts={"blue": "touch"}, allow=("reds",)))
    now = palette_named(store, "tide")
    assert [one.amount.value for one in now.families if one.family == "blue"] == ["touch"]
    assert now.without == ("pink",)
    change_palette(store, "tide", PaletteChange(without=("greens",), limits={"tan_chroma": 20.0}))
    change_palette(store, "tide", PaletteChange(add="some oranges; no yellows"))
    now = palette_named(store, "tide")
    assert (now.without, now.thresholds.tan_chroma) == (("pink", "green", "yellow"), 20.0)
    assert [(one.family, one.amount.value) for one in now.families] == [
        ("blue", "touch"), ("orange", "some"),
    ]  # fmt: skip
    for wrong in (
        PaletteChange(drop=("mauve",)),
        PaletteChange(amounts={"mauve": "main"}),
        PaletteChange(amounts={"blue": "plenty"}),
    ):
        with pytest.raises(PaletteError):
            change_palette(store, "tide", wrong)
    assert palette_named(store, "tide") == now
    assert store.undo() == "changed the palette tide"
    assert palette_named(store, "tide").without == ("pink", "green")


def test_a_forgotten_palette_can_be_brought_back(store: FolderStore) -> None:
    make_palette(store, PaletteRequest("tide", words="blues"))
    forget_palette(store, "tide")
    assert palettes(store) == ()
    with pytest.raises(NotFoundError):
        forget_palette(store, "tide")
    store.undo()
    assert [one.name for one in palettes(store)] == ["tide"]


def test_a_palettes_record_names_each_colour_and_explains_its_limits(store: FolderStore) -> None:
    palette = make_palette(store, PaletteRequest("tide", colours=(NAVY,)))
    plain, explained = palette_record(palette), palette_record(palette, explain=True)
    (target,) = plain["targets"]  # type: ignore[misc]
    assert (target["hex"], target["family"], target["amount"]) == (NAVY, "blue", "main")
    assert "limits" not in plain
    limits = {one["name"]: one["value"] for one in explained["limits"]}  # type: ignore[attr-defined]
    assert limits["ruled_out_clash"] == palette.thresholds.ruled_out_clash


# Cards.


def test_the_card_registered_last_is_the_one_photos_are_read_with(store: FolderStore) -> None:
    with pytest.raises(NotFoundError, match="stash card add"):
        cards_to_use(store, None)
    with pytest.raises(CardNotFoundError):
        cards_for_photo(store)
    for name in ("one", "two", "one"):
        add_chart(store, name, 0.55)
    assert [card.name for card in cards(store)] == ["two", "one"]
    assert [card.name for card in cards_for_photo(store)] == ["one", "two"]
    assert [card.name for card in cards_to_use(store, None)] == ["one"]
    assert [card.name for card in cards_to_use(store, "two")] == ["two"]
    assert [card.name for card in cards_for_photo(store, "two")] == ["two"]
    with pytest.raises(NotFoundError):
        cards_to_use(store, "three")


@pytest.mark.parametrize(("pitch", "sold"), [(0.1, True), (6.0, True), (0.09, False), (6.1, False)])
def test_a_chart_has_a_pitch_from_a_tenth_to_six_inches(
    store: FolderStore, pitch: float, sold: bool
) -> None:
    if sold:
        assert add_chart(store, "c", pitch).name == "c"
        return
    with pytest.raises(MeasureError):
        add_chart(store, "c", pitch)
    assert cards(store) == []


@pytest.mark.parametrize(
    ("line", "printed"), [(4.8, True), (7.2, True), (4.7, False), (7.3, False), (60.0, False)]
)
def test_a_printed_card_was_not_fitted_to_another_page(
    store: FolderStore, line: float, printed: bool
) -> None:
    if printed:
        assert not add_printed(store, "c", check_line_in=line).absolute
        return
    with pytest.raises(MeasureError):
        add_printed(store, "c", check_line_in=line)


@pytest.mark.parametrize(("line", "said"), [(5.0, True), (7.0, True), (4.9, False), (7.1, False)])
def test_the_line_of_corner_markers_measures_about_six_inches(line: float, said: bool) -> None:
    if said:
        assert LogOptions(corner_line_in=line).corner_line_in == line
        return
    with pytest.raises(MeasureError):
        LogOptions(corner_line_in=line)


def test_a_photo_never_logged_is_not_known(store: FolderStore) -> None:
    assert already_logged(store, b"photo", identity_of(b"photo"), file_name="a.jpg") is None


# Shapes.


def test_a_shape_is_of_the_library_or_kept_or_a_file(store: FolderStore, tmp_path: Path) -> None:
    with pytest.raises(TemplateError, match="--size"):
        template_of(store, "square", size=None)
    with pytest.raises(TemplateError, match="tumbler"):
        template_of(store, "starfish", size="3")
    assert template_of(store, "square", size="4").cut_polygon().area == pytest.approx(20.25)
    wide = template_of(store, "square", size="4", seam_allowance_in=0.5)
    assert wide.cut_polygon().area == pytest.approx(25)
    file = tmp_path / "Own.JSON"
    file.write_text('{"cut": [[0, 0], [4, 0], [0, 2]]}')
    assert template_of(None, str(file), size=None).cut_polygon().area == pytest.approx(4)
    # Twice as wide is four times the cloth.
    assert template_of(None, str(file), size="8").cut_polygon().area == pytest.approx(16)
    body = {"suffix": ".json", "text": file.read_text()}
    store.keep_document(Document("template", "fin", body), why="t")
    assert template_of(store, "fin", size=None).cut_polygon().area == pytest.approx(4)
    with pytest.raises(TemplateError, match="no cloth"):
        template_of(None, str(file), size="0")
    with pytest.raises(UserFileError):
        template_of(None, str(tmp_path / "gone.svg"), size=None)


# Corrections of many, by ruler.


def test_many_scraps_are_corrected_as_one_change(store: FolderStore) -> None:
    for _ in range(8):
        put(store, place="old")
    same = put(store, place="tin")
    (why,) = correct_scraps(
        store, range(1, 10), Correction(place="tin", washed=False, notes="soft")
    )
    assert "1, 2, 3, 4, 5, 6 ..." in why
    assert {(one.place, one.washed, one.notes) for one in store.scraps()} == {
        ("tin", False, "soft")
    }
    store.undo()
    assert [one.place for one in store.scraps()] == ["old"] * 8 + ["tin"]
    (why,) = correct_scraps(store, [1, 9], Correction(place="tin"))
    assert "1" in why
    assert "9" not in why
    assert "bin “tin”" in why
    assert correct_scraps(store, [9], Correction(place="tin")) == ()
    assert same.number == 9


def test_many_scraps_can_be_said_to_be_of_one_fabric_and_nothing_of_one_only(
    store: FolderStore,
) -> None:
    for _ in range(3):
        put(store)
    (why,) = correct_scraps(store, [1, 2, 3], Correction(same_as=2))
    assert {one.fabric for one in store.scraps()} == {2}
    assert "1, 3" in why
    for single in (
        Correction(name="sea"), Correction(one_way=True), Correction(own_fabric=True),
        Correction(outline=rectangle(1, 1)), Correction(stains=(((0, 0), (1, 0), (0, 1)),)),
    ):  # fmt: skip
        with pytest.raises(MeasureError):
            correct_scraps(store, [1, 2], single)
    with pytest.raises(NotFoundError):
        correct_scraps(store, [1, 99], Correction(place="x"))
    with pytest.raises(NotFoundError):
        correct_scraps(store, [1], Correction(same_as=99))


def test_a_correction_says_what_it_did(store: FolderStore) -> None:
    put(store, grain_deg=30.0, place="tin")
    told = correct_scrap(
        store, 1, Correction(place="", washed=False, grain_deg=89.6, fibre="linen", name="sea")
    )
    assert told == (
        "scrap 1: no bin, not washed, fibre “linen”, grain at 90°", "fabric 1: named “sea”",
    )  # fmt: skip
    assert correct_scrap(store, 1, Correction(forget_grain=True)) == ("scrap 1: grain not known",)
    assert store.scrap(1).grain_deg is None
    assert correct_scrap(store, 1, Correction(forget_grain=True)) == ()
    assert correct_scrap(store, 1, Correction(one_way=True)) == ("fabric 1: one-way print",)
    assert correct_scrap(store, 1, Correction(one_way=False, name="")) == (
        "fabric 1: no name, print runs both ways",
    )
    assert correct_scrap(store, 1, Correction(washed=True)) == ("scrap 1: washed",)


def test_corners_in_centimetres_come_as_inches() -> None:
    assert corners_from_words("0,0 2.54,0; 0,5.08", unit="cm") == [
        (0, 0), (pytest.approx(1), 0), (0, pytest.approx(2)),
    ]  # fmt: skip


def test_a_scrap_by_ruler_has_what_was_said_of_it(store: FolderStore) -> None:
    ruled = RuledScrap(
        rectangle(5, 9), (NAVY, SKY), kind=PrintKind.STRIPE, name="sea", place="tin", washed=True
    )
    one, other = add_ruled_scrap(store, ruled, words="5 x 9", count=2)
    assert (one.place, one.washed, one.appearance.kind) == ("tin", True, PrintKind.STRIPE)
    assert (one.fabric, store.fabrics()[0].name) == (other.fabric, "sea")
    assert [round(colour.share, 6) for colour in one.appearance.colours] == [0.5, 0.5]
    assert one.appearance.absolute
    # A name given with a fabric that is there already does not rename that one.
    add_ruled_scrap(store, RuledScrap(rectangle(1, 1), fabric=1, name="new"), words="1 x 1")
    assert store.fabrics()[0].name == "sea"
    assert "added a scrap by ruler (1 x 1)" in [line.why for line in store.history()]


def test_sizes_have_the_limits_of_cloth_and_lie_where_they_are_put() -> None:
    assert size_from_words("3600 x 1").width_in == 3600
    for words in ("3601 x 1", "1 x 3601", "0 x 1", "1 x 0"):
        with pytest.raises(MeasureError):
            size_from_words(words)
    assert size_from_words("1 m").height_in == pytest.approx(100 / 2.54)
    size = size_from_words("4 x 6")
    assert rectangle_of(size, error_in=0.1).bounds == (0, 0, 4, 6)
    assert rectangle_of(size, error_in=0.1).error_in == 0.1
    assert rectangle_of(size, middle=(10, 20)).bounds == (8, 17, 12, 23)


# Bins.


def test_a_label_tells_what_is_in_its_bin(store: FolderStore) -> None:
    # Widths the narrow way: 6 and 7 in are large, 3 in some, 2.9 small; the rest is elsewhere.
    put(store, NAVY, (6.0, 8.0), place="tin")
    first = put(store, NAVY, (7.0, 7.0), place="tin")
    put(store, RED, (3.0, 9.0), place="tin", fabric=first.fabric)
    put(store, NAVY, (9.0, 2.9), place="tin")
    put(store, NAVY, (9.0, 9.0), place="drawer")
    put(store, NAVY, (9.0, 9.0))
    gone = put(store, NAVY, (20.0, 20.0), place="tin")
    store.change_scrap(replace(gone, state=ScrapState.CUT_UP), seen=gone, why="cut")
    drawer, tin = bin_labels(store)
    assert (drawer.place, drawer.scraps, tin.place, tin.code) == ("drawer", 1, "tin", "bin:tin")
    assert (tin.scraps, tin.fabrics) == (4, 3)
    assert tin.lines == (
        "blue 3, red 1", "2 at least 6 in wide, 1 at least 3 in, 1 under 3 in", "largest 7 × 7 in",
    )  # fmt: skip
    (only,) = bin_labels(store, ["tin"], unit="cm")
    # 15 cm are 5.9 in, 8 cm are 3.15 in: the scrap of 3 in is a small one now.
    assert only.lines[1] == "2 at least 15.0 cm wide, 2 under 8.0 cm"
    assert [scrap.number for scrap in find_by_code(store, " bin:tin ")] == [1, 2, 3, 4]
    assert [scrap.number for scrap in find_by_code(store, "drawer")] == [5]
    for problem in (lambda: bin_labels(store, ["attic"]), lambda: find_by_code(store, "bin:attic")):
        with pytest.raises(NotFoundError):
            problem()


# Tops.


def test_thread_and_binding_follow_from_the_seams_of_the_top(store: FolderStore) -> None:
    # 3 x 4 squares of 4 in: 2 x 4 + 3 x 3 = 17 seams of 4 in are 68 in; the edge is 2 x (12 + 16).
    make_quilt(store, QuiltRequest("raffle", "square", "4", rows=4, across=3))
    top = top_of_quilt(store, "raffle")
    assert (top.title, top.pattern.width_in, top.pattern.length_in) == ("raffle", 12, 16)
    assert thread_of(top).seam_in == pytest.approx(68)
    assert top.seams.edge_in == pytest.approx(56)
    finished = finishing_of(top, FinishingWish())
    assert not top.seams.curved_edge
    assert finished.binding.length_in > 56
    sample = top_of_shape(make_template("square", "4"), None)
    assert (sample.pattern.width_in, sample.pattern.length_in) == (16, 12)
    wider = top_of_shape(make_template("square", "4"), None, rows=2, across=5)
    assert (wider.pattern.width_in, wider.pattern.length_in) == (20, 8)
    with pytest.raises(PlanError):
        top_of_shape(make_template("square", "4"), "spiral")


def test_a_sewing_sheet_of_a_quilt_names_no_piece_that_the_quilt_has_not(
    store: FolderStore,
) -> None:
    # Half-square triangles come in pairs: four across are two squares, not four groups.
    make_quilt(store, QuiltRequest("small", "half-square-triangle", "2", rows=2, across=4))
    top = top_of_quilt(store, "small")
    drawn = first_rows_of(top)
    assert drawn.pattern.places == top.pattern.places
    make_quilt(store, QuiltRequest("large", "hexagon", "2", rows=9, across=9))
    large = top_of_quilt(store, "large")
    names = [place.name for place in first_rows_of(large).pattern.places]
    assert names == [f"{row}.{piece}" for row in (1, 2, 3) for piece in (1, 2, 3, 4)]
    assert set(names) <= {place.name for place in large.pattern.places}


# Numbers and files.


@pytest.mark.parametrize(
    ("words", "numbers"),
    [
        ("12", (12,)),
        ("1,3,7-9", (1, 3, 7, 8, 9)),
        ("3 1-3", (3, 1, 2)),
        ("#4, #5", (4, 5)),
        ("7–8", (7, 8)),
        ("5-5", (5,)),
        (["1-2", "9"], (1, 2, 9)),
        ("1-100000", tuple(range(1, 100001))),
    ],
)
def test_numbers_are_read_as_they_are_written(words, numbers) -> None:
    assert scrap_numbers(words) == numbers


@pytest.mark.parametrize(
    "words",
    ["", " , ", "a", "1-", "-1", "3-1", "1-2-3", "1.5", "1-100001", "1-60000 60001-110000",
     "1234567890", "1-1234567890", "²"],
)  # fmt: skip
def test_what_is_no_number_of_a_scrap_is_refused(words: str) -> None:
    with pytest.raises(ScrapNumbersError):
        scrap_numbers(words)


def png() -> bytes:
    out = io.BytesIO()
    Image.new("RGBA", (4, 4), "#1f3f7a80").save(out, "PNG")
    return out.getvalue()


def test_an_answers_file_is_of_the_kind_its_name_says(tmp_path: Path) -> None:
    inner = tmp_path / "new" / "folder"
    write_beside(inner / "a.png", png())
    write_beside(inner / "a.JPG", png())
    write_beside(inner / "bare", png())
    assert (inner / "a.png").read_bytes() == (inner / "bare").read_bytes() == png()
    assert (inner / "a.JPG").read_bytes().startswith(b"\xff\xd8\xff")  # a JPEG
    write_beside(inner / "a.txt", b"any text")
    for name, data in (
        ("a.pdf", png()), ("a.svg", png()), ("a.png", b"\xff\xd8\xff"), ("a.jpg", b"<svg/>"),
        ("a.png", b"%PDF-1.4"), ("a.pdf", b"<svg/>"), ("a.svg", b"%PDF-1.4"),
    ):  # fmt: skip
        with pytest.raises(UserFileError):
            write_beside(tmp_path / name, data)
        assert not (tmp_path / name).exists()
    write_beside(tmp_path / "real.jpeg", b"\xff\xd8\xff\xe0")
    assert (tmp_path / "real.jpeg").read_bytes() == b"\xff\xd8\xff\xe0"
    with pytest.raises(UserFileError):
        write_beside(tmp_path / "real.jpeg" / "below.png", png())


def test_only_an_ordinary_file_of_a_photos_size_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "a.jpg"
    file.write_bytes(b"x" * 1_000_001)
    assert len(read_photo_file(file)) == 1_000_001
    monkeypatch.setattr("stash.usecases.user_files._MOST_PHOTO_MB", 1)
    for wrong, words in ((file, "larger than 1 MB"), (tmp_path, "a folder"), ("/dev/null", "pipe")):
        with pytest.raises(OSError, match=words):
            read_photo_file(Path(wrong))
    file.write_bytes(b"x" * 1_000_000)
    assert len(read_photo_file(file)) == 1_000_000
    with pytest.raises(UserFileError, match=r"none\.json cannot be read"):
        read_file(tmp_path / "none.json")
    assert read_file(file) == b"x" * 1_000_000


def test_a_name_that_moves_the_cursor_is_shown_as_one_line() -> None:
    assert plain_name("a\x1b[2Jb\nc") == "a�[2Jb�c"
    assert plain_name("Körbchen 4 👩\u200d👧") == "Körbchen 4 👩\u200d👧"
    assert os.linesep not in plain_name("a" + os.linesep)


@pytest.mark.parametrize("words", ["Apple core", "apple-core", "apple_core", "APPLE  CORE"])
def test_a_shape_is_known_however_its_name_is_written(words: str) -> None:
    assert template_of(None, words, size="4").family == "apple-core"


def test_a_kept_shape_goes_before_one_of_the_library_that_is_written_otherwise(
    store: FolderStore,
) -> None:
    kite = {"suffix": ".json", "text": json.dumps({"cut": [[0, 0], [3, 0], [3, 2]]})}
    store.keep_document(Document("template", "Apple core", kite), why="kept")
    assert template_of(store, "Apple core", size=None).family == OWN_SHAPE
    assert template_of(store, "apple-core", size="4").family == "apple-core"
