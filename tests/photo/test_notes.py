"""A photo says which outlines are known too roughly, and what would help."""

from __future__ import annotations

from stash.photo.notes import thread_notes, unsure_notes
from stash.photo.outlines.outlining import MeasuredOutline
from stash.photo.table.lying import Lying
from stash.shape.outline import Outline, outline_of


def square(error_in: float) -> Outline:
    return outline_of([(0, 0), (4, 0), (4, 4), (0, 4)], error_in=error_in)


def test_outlines_known_well_need_no_word() -> None:
    assert unsure_notes([square(0.05), square(0.19)]) == ()


def test_the_worst_of_the_rough_outlines_is_told_with_their_number() -> None:
    (note,) = unsure_notes([square(0.05), square(0.25), square(0.37)])
    assert note.startswith("2 outlines are sure to no better than ⅜ in")
    assert "another colour" in note


def test_several_narrow_things_may_be_the_stripes_of_one_scrap():
    assert "stripes" in " ".join(Lying(narrow=2).notes(on_sheet=False))
    assert "stripes" not in " ".join(Lying(narrow=1).notes(on_sheet=False))


def test_scraps_whose_threads_were_left_off_are_counted() -> None:
    plain, hairy = (
        MeasuredOutline(square(0.05), 20.0, 0.0, 0.0, threads=on) for on in (False, True)
    )
    assert thread_notes([plain]) == ()
    (note,) = thread_notes([plain, hairy, hairy])
    assert note.startswith("Threads or pins stick out of 2 scraps")
