"""The words of a sewing plan; what they teach is common practice, no source."""

from __future__ import annotations

import pytest

from stash.quilt.cautions import TOOLS_FIRST, cautions_for
from stash.quilt.pattern import make_pattern
from stash.quilt.seams import seams_of
from stash.quilt.setting import setting_named, settings_of
from stash.quilt.sewing_order_and_pressing import sewing_plan
from stash.quilt.sewing_steps import curve_steps, sewing_steps
from stash.shape.templates.template import families, make_template

SIZES = {"rectangle": "2x4", "wedge": "3x5"}
SETTINGS = [(family, one.name) for family in families() for one in settings_of(family)]


def plan_of(family, name=None):
    template = make_template(family, SIZES.get(family, 4))
    setting = setting_named(family, name)
    rows = 1 if setting.name == "ring" else 3
    across = 4 if setting.group == 1 else 2 * setting.group
    pattern = make_pattern(template.finished_ring(), setting, rows, across)
    return sewing_plan(pattern, seams_of(pattern, template.finished))


def words_of(steps):
    return {step.heading: step.text for step in steps}


@pytest.mark.parametrize(("family", "name"), SETTINGS)
def test_every_plan_begins_with_a_scant_seam_and_ten_to_twelve_stitches(family, name):
    first = sewing_steps(plan_of(family, name))[0].text
    assert "scant ¼ in seam" in first
    assert "10 to 12 stitches an inch" in first
    assert "waste cloth" in first
    assert "3½ in" in first  # Melody Crust, Precision Piecing, 2015


@pytest.mark.parametrize("family", ["apple-core", "clamshell"])
def test_curves_are_sewn_hollow_on_top_with_nothing_clipped(family):
    words = words_of(curve_steps(plan_of(family)))
    assert "hollow edge on top" in words["Lay"]
    assert "middle" in words["Pin"]
    assert "both ends" in words["Pin"]
    assert "Nothing is clipped" in words["Sew"]
    assert "bulging" in words["Press"]


def test_straight_shapes_have_no_curve_steps():
    assert curve_steps(plan_of("square")) == ()


@pytest.mark.parametrize("family", ["apple-core", "hexagon", "clamshell"])
def test_seams_in_parts_overlap_three_or_four_stitches(family):
    text = " ".join(step.text for step in sewing_steps(plan_of(family)))
    assert "verlap three or four stitches" in text


def test_crossings_are_matched_a_quarter_inch_from_the_edge():
    assert "¼ in from the edge" in words_of(sewing_steps(plan_of("square")))["Join the rows"]


def test_only_where_four_meet_are_long_seams_pressed_open():
    squares = words_of(sewing_steps(plan_of("square")))["Press the long seams"]
    bricks = words_of(sewing_steps(plan_of("rectangle", "staggered")))["Press the long seams"]
    assert "Open where four" in squares
    assert "Downwards" in bricks


def test_a_ring_of_wedges_has_one_row_and_no_long_seams():
    words = words_of(sewing_steps(plan_of("wedge", "ring")))
    assert "Press the row" in words
    assert "Join the rows" not in words


@pytest.mark.parametrize("task", ["cut", "press"])
def test_cautions_for_blades_and_irons_put_the_tools_own_instructions_first(task):
    assert any(TOOLS_FIRST in words for words in cautions_for(task))
