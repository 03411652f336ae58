"""Where a stencil lies right again: the moves worked out from the shapes by hand."""

import math

import pytest

from stash.quilt.pattern import make_pattern
from stash.quilt.seams import seams_of
from stash.quilt.setting import setting_named
from stash.quilt.stencil_moves import stencil_moves
from stash.shape.templates.template import make_template


@pytest.mark.parametrize(
    ("family", "along", "across"),
    [
        ("square", 4, 4),
        # wide end 4 and narrow end 2 2/3 meet by turns, in the next row too
        ("tumbler", 4 + 8 / 3, 8),
        # cells of 4 / sqrt 2 with every second core turned, both ways
        ("apple-core", 8 / math.sqrt(2), 8 / math.sqrt(2)),
        # rows of clamshells lie half a shell aside and 2 in apart
        ("clamshell", 4, 4),
        # side 4: columns sqrt 3 x 4 apart, straight up every second row of 6 in
        ("hexagon", 4 * math.sqrt(3), 12),
    ],
)
def test_a_stencil_moves_on_to_a_piece_that_lies_the_same_way(family, along, across):
    template = make_template(family, 4)
    pattern = make_pattern(template.finished_ring(), setting_named(family, None), 6, 7)
    seams = seams_of(pattern, template.finished)
    assert stencil_moves(seams.outlines) == pytest.approx((along, across), abs=0.01)


def test_one_piece_alone_has_no_move():
    assert stencil_moves([((0, 0), (4, 0), (4, 4), (0, 4))]) == (None, None)
