"""Small files that would take much memory or time are refused, or answered in little of either."""

from __future__ import annotations

import pytest

from stash.colour.palette_files import palette_of_gpl
from stash.errors import PaletteError, TemplateError
from stash.shape.containment import pose_room
from stash.shape.containment.piece_fit import find_placement
from stash.shape.plane.outline import outline_of
from stash.shape.templates.own_shape import read_own_shape
from stash.shape.templates.template import make_template
from stash.shape.templates.turning import Turning


def test_a_drawing_of_a_hundred_thousand_curves_is_refused_before_they_are_worked_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    curves = " ".join(f"C {k % 7} 1 2 {k % 5} {k % 4} {k * 3 % 4}" for k in range(100_000))
    drawing = f'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0 {curves} Z"/></svg>'
    worked_out = []
    one_curve = read_own_shape.__globals__["_on_bezier"]
    monkeypatch.setitem(
        read_own_shape.__globals__,
        "_on_bezier",
        lambda *given: worked_out.append(1) or one_curve(*given),
    )
    with pytest.raises(TemplateError, match="more than 20,000 corners"):
        read_own_shape(drawing.encode(), ".svg")
    assert len(worked_out) < 20_010


def test_a_palette_of_a_million_colours_is_refused_and_one_of_256_is_read() -> None:
    rows = [f"{k % 256} {k // 256 % 256} {k // 65536}\tshade" for k in range(1_000_000)]
    head = "GIMP Palette\n"
    assert len(palette_of_gpl("usual", head + "\n".join(rows[:256])).targets) == 256
    with pytest.raises(PaletteError, match="more than 500 colours"):
        palette_of_gpl("bomb", head + "\n".join(rows))


def test_many_holes_are_looked_at_in_portions_and_the_answer_is_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    holes = [
        [(x, y), (x + 0.4, y), (x, y + 0.4)]
        for x in (1.0, 3.0, 5.0, 9.0, 11.0)
        for y in (1.0, 4.0, 6.5, 10.0)
    ]
    scrap = outline_of([(0, 0), (12, 0), (12, 12), (0, 12)], holes, error_in=0.02)

    def asked() -> list[object]:
        sizes = (2.0, 2.5, 3.0)
        return [
            find_placement(scrap, make_template("square", size), turning=Turning.free())
            for size in sizes
        ]

    whole = asked()
    most = []
    near = pose_room._near_corners_of
    monkeypatch.setattr(pose_room, "_PAIRS_AT_ONCE", 300)
    monkeypatch.setattr(
        pose_room,
        "_near_corners_of",
        lambda area, probe, scrap, poses: (
            most.append(len(poses)) or near(area, probe, scrap, poses)
        ),
    )
    assert asked() == whole
    assert max(most) <= 300 // 60 + 1 < len(most)
