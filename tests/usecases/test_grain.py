"""The grain is told by what says so most surely, and the answer says what that was."""

from dataclasses import replace

import pytest

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.scrap import Scrap
from stash.shape.plane.outline import outline_of
from stash.usecases.pieces.grain import Grain, GrainFrom, grain_of
from stash.usecases.pieces.piece_counts import CutRule

BLUE = (40.0, 0.0, -30.0)
STRIPE = Appearance(BLUE, (ColourShare(BLUE, 1.0),), PrintKind.STRIPE, direction_deg=25.0)
# Its longest side runs at 0 degrees.
SCRAP = Scrap(1, 1, outline_of([(0, 0), (6, 0), (5, 3), (0, 2)]), STRIPE)


@pytest.mark.parametrize(
    ("scrap", "deg", "told_by"),
    [
        (replace(SCRAP, grain_deg=70.0), 70.0, GrainFrom.SAID),
        (SCRAP, 25.0, GrainFrom.PRINT),
        (replace(SCRAP, appearance=replace(STRIPE, selvage_deg=110.0)), 25.0, GrainFrom.PRINT),
        (
            replace(SCRAP, appearance=replace(STRIPE, kind=PrintKind.PRINT, selvage_deg=110.0)),
            110.0,
            GrainFrom.SELVAGE,
        ),
        # A stripe measured with a ruler: no picture tells which way it runs.
        (replace(SCRAP, appearance=replace(STRIPE, direction_deg=None)), 0.0, GrainFrom.EDGE),
    ],
)
def test_the_grain_is_as_said_else_by_print_selvage_or_longest_edge(scrap, deg, told_by) -> None:
    grain = grain_of(scrap)
    assert (grain.deg, grain.told_by) == (deg, told_by)
    assert told_by is GrainFrom.SAID or str(told_by) in grain.words()


@pytest.mark.parametrize(
    ("grain", "said"),
    [
        (Grain(12.6, GrainFrom.PRINT), "13° print"),
        (Grain(179.7, GrainFrom.EDGE), "0° edge"),  # a half turn is the same line
        (Grain(-20.0, GrainFrom.SAID), "160° set"),
        (Grain(90.0, GrainFrom.SELVAGE), "90° selvage"),
    ],
)
def test_a_table_tells_the_grain_and_what_tells_it_in_two_words(grain, said) -> None:
    assert grain.short() == said


def test_pieces_of_a_stripe_follow_its_lines_and_not_an_edge() -> None:
    turning = CutRule(grain_tolerance_deg=2).turning(SCRAP, one_way=False)
    assert turning.allows(25.0) and turning.allows(205.0)
    assert not turning.allows(0.0) and not turning.allows(115.0)
