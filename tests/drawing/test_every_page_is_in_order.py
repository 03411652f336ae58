"""What holds on every page, whatever it shows: type and lines on the paper, none on another's."""

from __future__ import annotations

from itertools import pairwise

import pytest

from tests.drawing.made_sheets import SHEETS, sheet
from tests.drawing.reading_pdf import Lettering

EDGE_IN = 0.24  # home printers leave up to a quarter inch white
EVERY_SHEET = pytest.mark.parametrize("name", SHEETS)
BOTH_PAPERS = pytest.mark.parametrize("paper", ["letter", "a4"])


def over_each_other(one: Lettering, other: Lettering) -> bool:
    # A tenth of the type's size is what ascents and tails may share.
    slack = 0.1 * min(one.size_pt, other.size_pt) / 72
    across = min(one.box[2], other.box[2]) - max(one.box[0], other.box[0])
    up = min(one.box[3], other.box[3]) - max(one.box[1], other.box[1])
    return across > slack and up > slack


@BOTH_PAPERS
@EVERY_SHEET
def test_all_type_and_every_line_stand_on_the_part_of_the_paper_that_prints(name, paper):
    for page in sheet(name, paper):
        assert page.lettering
        # A template's own name lies across the pages it is cut up into.
        words = [one for one in page.lettering if one.text != "Square 12 in" or one.size_pt > 16]
        boxes = [one.box for one in (*words, *page.pictures)]
        if name not in ("stencil", "template on four pages"):  # cut off at a frame
            boxes += [one.box for one in page.shapes]
        for left, bottom, right, top in boxes:
            assert left >= EDGE_IN and right <= page.width - EDGE_IN
            assert bottom >= EDGE_IN and top <= page.height - EDGE_IN


@BOTH_PAPERS
@EVERY_SHEET
def test_no_line_of_type_lies_on_another(name, paper):
    for page in sheet(name, paper):
        for k, one in enumerate(page.lettering):
            hidden = [other.text for other in page.lettering[:k] if over_each_other(one, other)]
            assert hidden == [], one.text


@EVERY_SHEET
def test_lines_of_a_paragraph_run_down_the_page(name):
    for page in sheet(name):
        for one, after in pairwise(page.lettering):
            alike = (one.x, one.size_pt) == (after.x, after.size_pt)
            if alike and len(one.text) > 40 and one.turn_deg == 0:
                assert after.y < one.y
