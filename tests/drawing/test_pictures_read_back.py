"""Pictures and drawings for a screen: what stands where, read from the SVG or the pixels."""

from __future__ import annotations

import io
import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image
from shapely.geometry import Point, Polygon

from stash.colour.appearance import ColourShare
from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_hex
from stash.drawing.canvas import Canvas, png_of, svg_of
from stash.drawing.cloth_cut import snip, square_of, widest_square_in
from stash.drawing.contact_sheet import Group, SheetSwatch, draw_contact_sheet
from stash.drawing.lettering import letter_width
from stash.drawing.palette_picture import draw_palette
from stash.drawing.photo_picture import Outlined, draw_photo, draw_with_words
from stash.drawing.photo_view import to_inches, to_pixels
from stash.drawing.placement_picture import PlacedScrap, draw_placements
from stash.drawing.quilt_picture import hung
from stash.drawing.size_curve import CurvePoint, draw_size_curve
from stash.drawing.twin_picture import draw_twins
from stash.drawing.twin_sheet import TwinCloth, TwinRow
from stash.errors import MeasureError
from stash.scrap import PhotoView, Picture
from stash.shape.containment.piece_fit import Placement
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template

NAVY, CORAL, SAND = "#1f3f7a", "#ff7f50", "#d8c49c"


class Drawing:
    """The elements of an SVG, each as its attributes."""

    def __init__(self, svg: bytes) -> None:
        root = ElementTree.fromstring(svg)
        self.width, self.height = float(root.get("width")), float(root.get("height"))
        self.all = [(one.tag.rpartition("}")[2], one) for one in root.iter()]

    def kind(self, name: str) -> list[ElementTree.Element]:
        return [one for kind, one in self.all if kind == name]

    def boxes(self) -> list[tuple[float, float, float, float, str]]:
        """Left, top, width, height and colour of every rectangle but the paper."""
        found = []
        for one in self.kind("rect")[1:]:
            sides = [float(one.get(name)) for name in ("x", "y", "width", "height")]
            found.append((*sides, one.get("fill")))
        return found

    def says(self, words: str) -> tuple[float, float, str]:
        """Where a line of type stands, and at which end of it."""
        for one in self.kind("text"):
            if "".join(one.itertext()) == words:
                return float(one.get("x")), float(one.get("y")), one.get("text-anchor") or "start"
        raise AssertionError(words)


def picture(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)


def where(pixels: np.ndarray, code: str, *, within: int = 6) -> np.ndarray:
    """Rows and columns of one colour."""
    rgb = np.array([int(code[k : k + 2], 16) for k in (1, 3, 5)])
    return np.argwhere(np.abs(pixels - rgb).max(axis=2) <= within)


def jpeg_of(pixels: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels.astype(np.uint8)).save(out, "JPEG", quality=95)
    return out.getvalue()


# The sheet that SVG and PNG are written from.


def test_a_sheet_reads_the_same_as_svg_and_as_png():
    canvas = Canvas(200, 100)
    canvas.rect(10, 20, 60, 30, fill=NAVY)
    canvas.frame(100, 20, 60, 30)
    canvas.line(10, 80, 190, 80, fill=CORAL)
    canvas.picture(100, 55, 30, 20, Image.new("RGB", (5, 5), SAND))
    drawing = Drawing(svg_of(canvas))
    assert (drawing.width, drawing.height) == (200, 100)
    assert drawing.boxes()[0] == (10, 20, 60, 30, NAVY)
    assert drawing.boxes()[1][:4] == (100, 20, 60, 30) and drawing.boxes()[1][4] == "none"
    assert drawing.kind("path")[0].get("d") == "M10 80L190 80"
    image = drawing.kind("image")[0]
    assert [image.get(k) for k in ("x", "y", "width", "height")] == ["100", "55", "30", "20"]
    for scale in (1.0, 2.0):
        pixels = picture(png_of(canvas, scale=scale))
        assert pixels.shape[:2] == (100 * scale, 200 * scale)
        at = where(pixels, NAVY) / scale
        assert at.min(axis=0).tolist() == [20, 10]
        assert at.max(axis=0) == pytest.approx([50, 70], abs=1.01)
        rows, columns = where(pixels, CORAL).T / scale
        assert rows == pytest.approx([80] * len(rows), abs=1.5) and np.ptp(columns) > 175
        at = where(pixels, SAND) / scale
        assert at.min(axis=0).tolist() == [55, 100] and len(at) == 600 * scale**2
        assert (pixels[round(35 * scale), round(130 * scale)] == 255).all()  # a frame is not filled


def test_lines_of_type_stand_at_their_left_their_middle_or_their_right():
    canvas = Canvas(300, 120)
    for row, align in enumerate(("left", "middle", "right")):
        canvas.text((150, 10 + 35 * row), "HHHH", size=20, align=align)
    drawing = Drawing(svg_of(canvas))
    anchors = [one.get("text-anchor") for one in drawing.kind("text")]
    assert anchors == ["start", "middle", "end"]
    # An SVG places the base line, and that lies below the top that was asked for.
    assert [float(one.get("y")) for one in drawing.kind("text")] == pytest.approx(
        [28.6, 63.6, 98.6]
    )
    dark = picture(png_of(canvas, scale=1.0)).max(axis=2) < 128
    spans = []
    for row in range(3):
        columns = np.flatnonzero(dark[10 + 35 * row : 38 + 35 * row].any(axis=0))
        spans.append((columns.min(), columns.max()))
        lines = np.flatnonzero(dark[:, spans[-1][0] : spans[-1][1]].any(axis=1))
        assert lines.min() >= 10
    assert spans[0][0] == pytest.approx(151, abs=2)
    assert sum(spans[1]) / 2 == pytest.approx(150, abs=2)
    assert spans[2][1] == pytest.approx(149, abs=3)


def test_what_is_too_long_for_its_place_ends_in_dots_and_fits():
    canvas = Canvas(300, 40)
    canvas.text((0, 0), "an indigo ditsy with anchors", size=16, width=120)
    canvas.text((0, 20), "short", size=16, width=120)
    cut, short = ("".join(one.itertext()) for one in Drawing(svg_of(canvas)).kind("text"))
    assert cut.endswith("...") and "an indigo ditsy with anchors".startswith(cut[:-3])
    assert letter_width(cut, 16) <= 120 < letter_width(cut[:-3] + "mm...", 16)
    assert short == "short"


# Contact sheets.


def swatches(count: int, **more: object) -> tuple[SheetSwatch, ...]:
    colours = ((lab_of_hex(NAVY), 0.75), (lab_of_hex(CORAL), 0.25))
    return tuple(
        SheetSwatch(f"{k}", ("a line",), b"", colours, **more) for k in range(1, count + 1)
    )


def test_seven_swatches_stand_side_by_side_and_the_next_below_the_first():
    drawing = Drawing(draw_contact_sheet([Group("belongs", swatches(8))], title="t", svg=True))
    frames = [box[:4] for box in drawing.boxes() if box[4] == "none"]
    assert len(frames) == 8
    side = frames[0][2]
    assert all(frame[2:] == (side, side) for frame in frames)
    lefts = [frame[0] for frame in frames]
    assert lefts[:7] == sorted(set(lefts)) and lefts[7] == lefts[0]
    assert {frame[1] for frame in frames[:7]} == {frames[0][1]} and frames[7][1] > frames[0][
        1
    ] + side
    assert lefts[6] + side <= drawing.width - lefts[0] + 0.01  # as much white right as left
    for frame, number in zip(frames, range(1, 9), strict=True):
        x, y, anchor = drawing.says(str(number))
        assert x == frame[0] and anchor == "start"
        assert frame[1] + side < y < frame[1] + side + 50
    x, y, anchor = drawing.says("8 fabrics")
    assert anchor == "end" and x == drawing.width - lefts[0]
    assert drawing.says("t")[1] < drawing.says("belongs")[1] < frames[0][1]
    assert drawing.height > frames[7][1] + side + 40


def test_colours_fill_a_swatch_and_its_strip_by_their_shares():
    drawing = Drawing(draw_contact_sheet([Group("all", swatches(1))], svg=True))
    navy = [box for box in drawing.boxes() if box[4] == NAVY]
    coral = [box for box in drawing.boxes() if box[4] == CORAL]
    assert len(navy) == len(coral) == 2
    for broad, narrow in zip(navy, coral, strict=True):
        assert broad[2] == pytest.approx(3 * narrow[2])
        assert broad[0] + broad[2] == pytest.approx(narrow[0])
        assert broad[1] == narrow[1] and broad[3] == narrow[3]
    (square, strip), (_, frame) = navy, [box[:4] for box in drawing.boxes() if box[4] == "none"] * 2
    assert square[3] == frame[2] and strip[1] >= square[1] + square[3] and strip[3] < 20


def test_groups_follow_each_other_and_a_remark_has_four_lines_at_most():
    note = "it wanders off from every colour of the palette and from all that keep it company " * 3
    groups = [Group("belongs", swatches(1)), Group("clashes", swatches(2, note=note), "pair")]
    drawing = Drawing(draw_contact_sheet(groups, svg=True))
    assert drawing.says("belongs")[1] < drawing.says("clashes")[1]
    assert drawing.says("1 fabric")[1] < drawing.says("2 pairs")[1]
    said = ["".join(one.itertext()) for one in drawing.kind("text")]
    notes = [words for words in said if words in note or words.endswith(" ...")]
    assert len(notes) == 8 and notes[3].endswith("...")
    assert notes[0].startswith("it wanders")


def test_a_sheet_of_values_says_so_at_its_right():
    drawing = Drawing(
        draw_contact_sheet([Group("all", swatches(1))], title="t", values=True, svg=True)
    )
    x, _, anchor = drawing.says("values (L*)")
    assert anchor == "end" and x > drawing.width / 2
    assert all(box[4] not in (NAVY, CORAL) for box in drawing.boxes())


def test_a_swatch_shows_the_middle_of_its_picture():
    rim = np.full((100, 200, 3), (40, 160, 60))
    rim[12:88, 62:138] = (170, 40, 50)
    item = SheetSwatch("1", (), jpeg_of(rim), ((lab_of_hex(SAND), 1.0),))
    pixels = picture(draw_contact_sheet([Group("all", (item,))]))
    red = (np.abs(pixels - (170, 40, 50)).max(axis=2) < 30).sum()
    green = (np.abs(pixels - (40, 160, 60)).max(axis=2) < 30).sum()
    assert red > 250 * 250 * 0.85
    assert green < 0.15 * red


# Palettes.


def test_colours_of_a_palette_are_as_wide_as_their_amounts_the_main_ones_first():
    palette = palette_of_words(
        "Tide", "teals, blues mostly, a touch of coral; no pinks, no purples"
    )
    drawing = Drawing(draw_palette(palette, svg=True))
    frames = [box for box in drawing.boxes() if box[4] == "none" and box[3] > 100]
    assert len(frames) == 3
    assert [frame[0] for frame in frames] == sorted(frame[0] for frame in frames)
    main, some, touch = (frame[2] for frame in frames)
    # 92 units are there for every name, the rest is shared as 4 : 2 : 1.
    assert (main - 92) == pytest.approx(2 * (some - 92), rel=1e-4)
    assert (main - 92) == pytest.approx(4 * (touch - 92), rel=1e-4)
    assert frames[0][0] == pytest.approx(drawing.width - frames[2][0] - frames[2][2])
    for frame, name, amount in zip(
        frames, ("blue", "teal", "coral"), ("mostly", "some", "a touch"), strict=True
    ):
        x, y, _ = drawing.says(name)
        assert x == frame[0] and frame[1] + frame[3] < y < drawing.says(amount)[1]
        parts = [box for box in drawing.boxes() if box[1] == frame[1] and box[4] != "none"]
        own = [box for box in parts if frame[0] - 0.1 <= box[0] < frame[0] + frame[2] - 0.1]
        assert sum(box[2] for box in own) == pytest.approx(frame[2], rel=1e-4)
    lines = [tuple(map(float, re.findall(r"[\d.]+", one.get("d")))) for one in drawing.kind("path")]
    out = [box for box in drawing.boxes() if box[4] == "none" and box[3] < 100]
    assert len(out) == 2 and len(lines) == 4
    for k, (x, y, width, height, _) in enumerate(out):
        crossed = {(round(a, 3), round(b, 3)) for a, b, c, d in lines[2 * k : 2 * k + 2]
                   for a, b in ((a, b), (c, d))}  # fmt: skip
        assert crossed == {(x, y), (x + width, y + height), (x, y + height), (x + width, y)}
    assert out[0][0] < drawing.says("pink")[0] < out[1][0] < drawing.says("purple")[0]
    assert drawing.says("ruled out")[1] < out[0][1]
    assert drawing.says("neutrals welcome")[2] == "end"


def test_a_seventh_colour_of_a_palette_begins_a_second_row():
    words = "blue, teal, coral, red, yellow, orange, purple; no neutrals"
    drawing = Drawing(draw_palette(palette_of_words("Many", words), svg=True))
    tops = [box[1] for box in drawing.boxes() if box[4] == "none"]
    assert [tops.count(top) for top in sorted(set(tops))] == [6, 1]
    assert drawing.says("no neutrals")
    assert drawing.height > max(tops) + 190 + 38


# Twins.


def test_groups_of_twins_are_numbered_and_share_a_line_while_there_is_room():
    cloths = tuple(TwinCloth(k, ("blue", "5 x 5 in"), b"") for k in range(1, 4))
    drawing = Drawing(draw_twins([TwinRow(cloths[:2], "2 in"), TwinRow(cloths, "3 in"),
                                  TwinRow(cloths, "4 in"), TwinRow(cloths[:1] * 9, "5 in")],
                                 svg=True))  # fmt: skip
    heads = [drawing.says(str(number)) for number in (1, 2, 3, 4)]
    assert heads[0][1] == heads[1][1] < heads[2][1] < heads[3][1]
    assert heads[0][0] < heads[1][0] and heads[2][0] == heads[3][0] == heads[0][0]
    frames = [box for box in drawing.boxes() if box[4] == "none"]
    assert len(frames) == 2 + 3 + 3 + 9
    assert max(box[0] + box[2] for box in frames) <= drawing.width
    assert drawing.height > max(box[1] + box[3] for box in frames) + 40
    assert drawing.says("2 in")[1] < frames[0][1]
    x, y, _ = drawing.says("#1")
    assert x == frames[0][0] and y > frames[0][1] + frames[0][3]
    nothing = Drawing(draw_twins([], svg=True))
    assert nothing.says("Nothing waits for a look.") and not nothing.boxes()


# Placements.


def placed(suffix: str, *scraps: PlacedScrap, size: float = 2) -> bytes:
    return draw_placements(scraps, make_template("square", size), suffix)


def rings(drawing: Drawing, name: str, *, dashed: bool | None = None) -> list[np.ndarray]:
    found = []
    for one in drawing.kind(name):
        if dashed is None or bool(one.get("stroke-dasharray")) is dashed:
            words = one.get("points") or one.get("d")
            numbers = [float(word) for word in re.findall(r"-?[\d.]+", words)]
            found.append(np.array(numbers).reshape(-1, 2))
    return found


def test_pieces_are_drawn_on_their_scrap_where_they_are_laid_y_up():
    outline = outline_of([(0, 0), (6, 0), (6, 3), (0, 3)])
    # 2 1/2 in as cut: one in the lower left corner, one turned by 45 degrees at the right.
    laid = (Placement(1.25, 1.25, 0.0), Placement(4.25, 1.5, 30.0))
    drawing = Drawing(placed(".svg", PlacedScrap("one", outline, laid)))
    cloth, first, second = rings(drawing, "path")
    scale = np.ptp(cloth[:, 0]) / 6
    assert np.ptp(cloth[:, 1]) == pytest.approx(3 * scale, abs=0.02)
    left, low = cloth[:, 0].min(), cloth[:, 1].max()
    expected = [left, low - 2.5 * scale, left + 2.5 * scale, low]
    assert [*first.min(axis=0), *first.max(axis=0)] == pytest.approx(expected, abs=0.05)
    corners = [(4.25 + 1.25 * math.sqrt(2) * math.cos(math.radians(75 + 90 * k)),
                1.5 + 1.25 * math.sqrt(2) * math.sin(math.radians(75 + 90 * k)))
               for k in range(4)]  # fmt: skip
    for x, y in corners:
        at = (left + x * scale, low - y * scale)
        assert min(math.dist(at, one) for one in second) < 0.05
    for number, ring in (("1", first), ("2", second)):
        x, y, anchor = drawing.says(number)
        assert anchor == "middle" and Polygon(ring).centroid.distance(Point(x, y)) < 0.1
    seams = [ring for ring in rings(drawing, "polyline", dashed=True) if len(ring) == 5]
    assert len(seams) == 2 and np.ptp(seams[0][:, 0]) == pytest.approx(2 * scale, abs=0.05)
    assert drawing.says("square 2: 2 pieces from 1 scrap")
    assert drawing.says("one: 2 pieces")[1] > low
    assert drawing.says("6.0 x 3.0 in")[1] > drawing.says("one: 2 pieces")[1]


def test_the_sure_edge_is_dashed_inside_where_the_outline_has_an_error():
    sharp = outline_of([(0, 0), (6, 0), (6, 3), (0, 3)])
    blurred = outline_of([(0, 0), (6, 0), (6, 3), (0, 3)], error_in=0.25)
    assert rings(Drawing(placed("svg", PlacedScrap("a", sharp, ()))), "polyline", dashed=True) == []
    drawing = Drawing(placed("svg", PlacedScrap("a", blurred, ())))
    (cloth,) = rings(drawing, "path")
    (edge,) = rings(drawing, "polyline", dashed=True)
    scale = np.ptp(cloth[:, 0]) / 6
    assert np.ptp(edge, axis=0) == pytest.approx([5.5 * scale, 2.5 * scale], rel=0.01)
    assert drawing.says("a: no piece")


@pytest.mark.parametrize(("grain_deg", "rise"), [(0.0, 0.0), (90.0, math.inf), (45.0, 1.0)])
def test_the_grain_arrow_runs_as_the_grain_does_with_barbs_turned_inwards(grain_deg, rise):
    outline = outline_of([(0, 0), (6, 0), (6, 3), (0, 3)])
    drawing = Drawing(placed("svg", PlacedScrap("a", outline, (), grain_deg)))
    shaft, *barbs = [ring for ring in rings(drawing, "polyline") if len(ring) == 2]
    (x0, y0), (x1, y1) = shaft
    if math.isinf(rise):
        assert abs(x1 - x0) < 0.05 < abs(y1 - y0)
    else:
        assert -(y1 - y0) / (x1 - x0) == pytest.approx(rise, abs=0.01)
    assert len(barbs) == 4
    for foot, tip in barbs:
        assert min(math.dist(foot, end) for end in shaft) < 0.02
        middle = shaft.mean(axis=0)
        assert math.dist(tip, middle) < math.dist(foot, middle)


def test_a_piece_cut_face_down_says_so():
    outline = outline_of([(0, 0), (6, 0), (6, 3), (0, 3)])
    laid = (Placement(1.25, 1.25, 0.0, turned_over=True), Placement(4.0, 1.25, 0.0))
    drawing = Drawing(placed("svg", PlacedScrap("a", outline, laid)))
    words = ["".join(one.itertext()) for one in drawing.kind("text")]
    assert words.count("face down") == 1
    x, y, _ = drawing.says("face down")
    assert x == drawing.says("1")[0] and y > drawing.says("1")[1]


def test_scraps_lie_in_lines_without_touching_and_a_hole_is_left_open():
    hole = [(2.0, 1.0), (3.0, 1.0), (3.0, 2.0), (2.0, 2.0)]
    outline = outline_of([(0, 0), (6, 0), (6, 3), (0, 3)], [hole])
    scraps = [PlacedScrap(f"s{k}", outline, (Placement(4.7, 1.5, 0.0),)) for k in range(5)]
    drawing = Drawing(placed("svg", *scraps))
    cloths = [one for one in drawing.kind("path") if one.get("d").count("M") == 2]
    assert len(cloths) == 5 and {one.get("fill-rule") for one in cloths} == {"evenodd"}
    boxes = [ring for ring in rings(drawing, "path") if len(ring) == 8]
    areas = [(ring.min(axis=0), ring.max(axis=0)) for ring in boxes]
    for k, (low, high) in enumerate(areas):
        assert (low > 0).all() and high[0] < drawing.width and high[1] < drawing.height
        for other_low, other_high in areas[:k]:
            apart = (other_high < low - 5).any() or (high < other_low - 5).any()
            assert apart
    assert len({round(low[1]) for low, _ in areas}) > 1
    pixels = picture(placed("png", *scraps))
    assert pixels.shape[:2] == (drawing.height, drawing.width)
    scale = np.ptp(boxes[0][:, 0]) / 6
    left, low = boxes[0][:, 0].min(), boxes[0][:, 1].max()

    def at(x: float, y: float) -> list[int]:
        return pixels[round(low - y * scale), round(left + x * scale)].tolist()

    cloth, paper = at(1.0, 0.5), at(2.5, 1.5)
    assert cloth == [0xDF, 0xE6, 0xE4] and paper == [0xFA, 0xF7, 0xF2]
    assert at(4.0, 2.2) == [0x2F, 0x6F, 0x86]  # the first piece's colour


def test_dashes_of_a_picture_cover_about_half_of_their_line():
    blurred = outline_of([(0, 0), (6, 0), (6, 3), (0, 3)], error_in=0.4)
    pixels = picture(placed("png", PlacedScrap("a", blurred, ())))
    cloth = where(pixels, "#dfe6e4", within=0)
    scale = (np.ptp(cloth[:, 1]) + 1) / 6
    row = cloth[:, 0].max() - round(0.4 * scale)
    line = pixels[row - 2 : row + 3, cloth[:, 1].min() + 40 : cloth[:, 1].max() - 40]
    dark = (line.min(axis=(0, 2)) < 180).mean()
    assert 0.3 < dark < 0.75


def test_a_picture_of_another_kind_is_refused():
    with pytest.raises(MeasureError, match=r"\.svg or \.png"):
        placed(".gif")


# The curve of sizes.


def test_bars_are_as_high_as_what_they_count_and_borderline_stands_on_top():
    points = [CurvePoint(2.0, 10, 4), CurvePoint(3.0, 5, 0), CurvePoint(4.0, 0, 2)]
    pixels = picture(draw_size_curve(points, title="Tide", asked_in=3.0))
    sure, maybe = where(pixels[:820], "#2d6a72"), where(pixels[:820], "#c9b68e")
    third = (1600 - 220) / 3
    heights = []
    for k in range(3):
        inside = [(at[:, 1] > 110 + k * third) & (at[:, 1] < 110 + (k + 1) * third)
                  for at in (sure, maybe)]  # fmt: skip
        bars = [at[one] for at, one in zip((sure, maybe), inside, strict=True)]
        # Rows that are filled; the borderline part has an outline of the other colour.
        heights.append([(np.bincount(bar[:, 0], minlength=1) > 100).sum() for bar in bars])
        if len(bars[0]) > 3000 and len(bars[1]):
            assert bars[1][:, 0].max() < np.percentile(bars[0][:, 0], 5) + 5
    (ten, four), (five, none), (zero, two) = heights
    assert ten == pytest.approx(2 * five, rel=0.02) and none == 0 and zero <= 3
    assert four == pytest.approx(0.4 * ten, rel=0.04) and two == pytest.approx(0.2 * ten, rel=0.06)
    # The size that was asked is marked by an upright line through the middle of its bar.
    ink = where(pixels[110:760], "#22282e")
    assert np.median(ink[:, 1]) == pytest.approx(110 + 1.5 * third, abs=2)


def test_a_curve_of_nothing_is_an_empty_frame():
    pixels = picture(draw_size_curve([], title="Tide", asked_in=None))
    assert pixels.shape == (900, 1600, 3)
    assert len(where(pixels[:760], "#2d6a72")) == 0


# Photos.

VIEW = PhotoView((100.0, 0, 800.0, 0, -100.0, 600.0, 0, 0, 1.0), (800.0, 600.0), 1000.0, 0.0)


def test_a_point_of_the_table_is_found_again_in_the_photo_and_back():
    # Straight on, 100 px to the inch, y up, the origin in the middle.
    assert to_pixels(VIEW, np.array([[0, 0], [1, 2.0]])).tolist() == [[800, 600], [900, 400]]
    lens = PhotoView(VIEW.image_from_inches, (800.0, 600.0), 1000.0, 0.1)
    # A photo's pixel 500 from the axis lies at 500 x (1 + 0.1 x 0.25) = 512.5 without the lens.
    assert to_pixels(lens, np.array([[5.125, 0.0]]))[0] == pytest.approx([1300, 600])
    assert to_inches(lens, np.array([[1300.0, 600.0]]))[0] == pytest.approx([5.125, 0])
    spots = np.array([[-3.0, 2.0], [0.0, 0.0], [4.0, -5.0]])
    assert to_inches(lens, to_pixels(lens, spots)) == pytest.approx(spots, abs=1e-9)


def test_a_photo_shows_outlines_at_their_place_halved_with_the_photo():
    square = outline_of([(-3, -2), (3, -2), (3, 2), (-3, 2)],
                        [[(-1, 1.2), (-0.5, 1.2), (-0.5, 1.7), (-1, 1.7)]])  # fmt: skip
    shares = (ColourShare(lab_of_hex(NAVY), 0.75), ColourShare(lab_of_hex(CORAL), 0.25))
    grey = np.full((1200, 1600, 3), 120, np.uint8)
    large = np.full((2400, 3200, 3), 120, np.uint8)
    twice = PhotoView(
        (200.0, 0, 1600.0, 0, -200.0, 1200.0, 0, 0, 1.0), (1600.0, 1200.0), 2000.0, 0.0
    )
    for pixels, view in ((grey, VIEW), (large, twice)):
        seen = picture(draw_photo(pixels, view, [Outlined("7", square, shares)]))
        assert seen.shape == (1200, 1600, 3)
        for row, column in ((600, 500), (600, 1100), (400, 800), (800, 800), (455, 700)):
            assert seen[row - 1 : row + 2, column - 1 : column + 2].min() > 200
            assert seen[row - 6 : row + 7, column - 6 : column + 7].min() < 60  # its dark halo
        assert (np.abs(seen[300, 800] - 120) < 4).all()
        navy, coral = (where(seen[500:700], code, within=25) for code in (NAVY, CORAL))
        assert len(navy) == pytest.approx(3 * len(coral), rel=0.25)
        assert navy[:, 1].mean() < coral[:, 1].mean()


def test_a_refused_photo_keeps_its_pixels_and_says_why_below():
    grey = np.full((300, 400, 3), 120, np.uint8)
    seen = picture(draw_with_words(grey, "No card lies in this photo.", [(100.0, 150.0, 40.0)]))
    assert seen.shape[1] == 400 and seen.shape[0] in (300 + 76, 300 + 112)
    frame = seen[150, 70:90]  # 20 px and a rim left of the middle
    assert frame.max() > 200 and frame.min() < 70
    assert (np.abs(seen[150, 100] - 120) < 4).all() and (np.abs(seen[20, 20] - 120) < 4).all()
    assert (seen[305:370].min(axis=2) < 80).any()
    two = picture(draw_with_words(grey, "No card lies in this photo. " * 3))
    assert two.shape[0] > seen.shape[0]


# The quilt on a wall, and swatches of cloth.


def test_a_quilt_on_the_wall_throws_its_shadow_down_and_to_the_right():
    wall = np.asarray(hung(Image.new("RGBA", (300, 200), (200, 30, 40, 255)))).astype(int)
    margin = 18  # 6 % of the longer side
    assert wall.shape == (200 + 2 * margin, 300 + 2 * margin, 3)
    assert wall[margin + 5, margin + 5].tolist() == [200, 30, 40]
    assert wall[0, 0].tolist() == [238, 235, 229]
    below, above = wall[margin + 200, 168], wall[margin - 1, 168]
    right, left = wall[118, margin + 300], wall[118, margin - 1]
    assert below.sum() < above.sum() - 15 and right.sum() < left.sum()


@pytest.mark.parametrize("turn_deg", [0, 30, 75])
def test_a_square_of_stripes_comes_out_upright_however_they_lie(turn_deg):
    y, x = np.mgrid[:400, :400] - 200.0
    turn = math.radians(turn_deg)
    across = x * math.cos(turn) + y * math.sin(turn)
    lines = np.where((across // 10) % 2 == 0, 40, 220)
    pixels = np.repeat(lines[..., None], 3, axis=2)
    outline = outline_of([(0, 0), (4, 0), (4, 4), (0, 4)])
    cut = square_of(jpeg_of(pixels), Picture("0" * 64, 100.0, 0.0, 4.0), outline, 2.0)
    seen = np.asarray(Image.open(io.BytesIO(cut)).convert("L"), dtype=float)
    assert seen.shape == (320, 320)
    assert seen.mean(axis=0).std() > 5 * seen.mean(axis=1).std()
    # 2 in of stripes a tenth of an inch wide are ten dark and ten light ones.
    middle = seen[100:220].mean(axis=0) > 130
    assert np.abs(np.diff(middle.astype(int))).sum() in (19, 20, 21)


def test_the_widest_square_of_a_scrap_is_the_one_in_its_largest_circle():
    # Any turn: the square whose corners lie on the circle of radius 2.
    outline = outline_of([(0, 0), (4, 0), (4, 9), (0, 9)])
    assert widest_square_in(outline) == pytest.approx(2 * math.sqrt(2), rel=0.03)


def test_a_snip_is_taken_from_where_the_scrap_is_widest():
    # An ell: an arm an inch wide below a block of 4 x 3 in.
    ring = [(0, 0), (1, 0), (1, 6), (4, 6), (4, 9), (0, 9)]
    pixels = np.full((900, 400, 3), (40, 160, 60))
    pixels[:300] = (170, 40, 50)
    cut = snip(jpeg_of(pixels), Picture("0" * 64, 100.0, 0.0, 9.0), outline_of(ring))
    seen = np.asarray(Image.open(io.BytesIO(cut)), dtype=int)
    assert min(seen.shape[:2]) > 250
    assert (np.abs(seen - (170, 40, 50)).max(axis=2) < 30).mean() > 0.8
