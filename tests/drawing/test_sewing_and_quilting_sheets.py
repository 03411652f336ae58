"""Sewing and quilting pages: every setting draws, lines at true size, words where needed."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from stash.drawing.paper import A4, LETTER
from stash.drawing.quilting_sheet import guide_svg, stencil_pdf
from stash.drawing.sewing_sheet import sewing_pdf
from stash.quilt.pattern import make_pattern
from stash.quilt.quilting_lines import LineStyle, quilting_guide
from stash.quilt.seams import seams_of
from stash.quilt.setting import setting_named, settings_of
from stash.quilt.sewing_order_and_pressing import sewing_plan
from stash.shape.templates.template import families, make_template
from tests.drawing.measuring_pdf import DPI, page_pixels, page_text, pages_of

SIZES = {"rectangle": "2x4", "wedge": "3x5"}
SETTINGS = [(family, one.name) for family in families() for one in settings_of(family)]


def top_of(family, name=None, *, rows=3, across=None):
    template = make_template(family, SIZES.get(family, 4))
    setting = setting_named(family, name)
    rows = 1 if setting.name == "ring" else rows
    across = across or (4 if setting.group == 1 else 4 * setting.group)
    pattern = make_pattern(template.finished_ring(), setting, rows, across)
    return template, pattern, seams_of(pattern, template.finished)


@pytest.mark.parametrize(("family", "name"), SETTINGS)
def test_every_setting_has_a_sewing_sheet_with_cautions_on_it(family, name):
    template, pattern, seams = top_of(family, name)
    data = sewing_pdf(sewing_plan(pattern, seams), template, LETTER)
    curved = family in ("clamshell", "apple-core")
    parts = curved or family == "hexagon"
    assert pages_of(data) == 1 + curved + parts
    words = page_text(data).replace("\r\n", " ")
    assert "Set up" in words
    assert "Iron and steam burn" in words
    assert "Pins out" in words


@pytest.mark.parametrize("paper", [LETTER, A4], ids=["letter", "a4"])
def test_nothing_on_a_sewing_sheet_runs_off_the_paper(paper):
    template, pattern, seams = top_of("apple-core")
    data = sewing_pdf(sewing_plan(pattern, seams), template, paper)
    for page in range(pages_of(data)):
        pixels = page_pixels(data, page, dpi=72)
        border = 24  # a third of an inch
        inner = pixels[border:-border, border:-border]
        assert (pixels < 250).sum() == (inner < 250).sum()
        assert (inner < 100).sum() > 1000


def test_a_curved_seam_says_which_piece_lies_on_top_and_that_nothing_is_clipped():
    template, pattern, seams = top_of("clamshell")
    words = page_text(sewing_pdf(sewing_plan(pattern, seams), template, LETTER), 1)
    assert "on top" in words
    assert "Nothing is clipped" in words


@pytest.mark.parametrize("paper", [LETTER, A4], ids=["letter", "a4"])
def test_the_stencil_is_at_true_size(paper):
    template = make_template("square", 2)
    pattern = make_pattern(template.finished_ring(), setting_named("square"), 9, 9)
    seams = seams_of(pattern, template.finished)
    guide = quilting_guide(seams, LineStyle.SEAMS)
    pixels = page_pixels(stencil_pdf(guide, seams, "Square 2 in", paper), 1)
    inside = pixels[round(1.3 * DPI) : round((paper.height_in - 3.0) * DPI)]
    inside = inside[:, round(0.7 * DPI) : round((paper.width_in - 0.7) * DPI)]
    for axis in (0, 1):
        full = np.flatnonzero((inside < 60).mean(axis=axis) > 0.8)
        lines = [group.mean() for group in np.split(full, np.flatnonzero(np.diff(full) > 5) + 1)]
        assert len(lines) >= 3
        # a grid of 2 in, line to line (0.3 mm)
        apart_in = np.diff(lines) / DPI
        assert apart_in == pytest.approx([2.0] * (len(lines) - 1), abs=0.3 / 25.4)


def test_the_guide_as_svg_has_one_path_a_pass_at_true_size():
    _, pattern, seams = top_of("apple-core")
    guide = quilting_guide(seams)
    root = ElementTree.fromstring(guide_svg(guide, seams, "Apple core & co"))
    paths = [one for one in root.iter() if one.get("id", "").startswith("pass-")]
    assert len(paths) == guide.passes == 1
    # half an inch of white all round
    assert float(root.get("width").removesuffix("in")) == pytest.approx(
        pattern.width_in + 1, abs=0.01
    )
    points = [tuple(map(float, pair.split(","))) for pair in paths[0].get("d").lstrip("M").split()]
    drawn_in = sum(np.hypot(*np.subtract(a, b)) for a, b in pairwise(points))
    assert drawn_in == pytest.approx(guide.length_in, rel=0.001)
