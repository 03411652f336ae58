"""A scrap that was missed is marked on its logged photo: measured, kept once, undoable."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Polygon

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.drawing.photo_view import to_pixels
from stash.errors import MeasureError, NotFoundError
from stash.scrap import Scrap
from stash.usecases.add_photo import LogOptions, cards_to_use, log_photo
from stash.usecases.manage_cards import add_chart
from stash.usecases.mark_scrap import mark_scrap
from stash.wiring import open_store

PITCH_IN = 0.55


@pytest.fixture(scope="module")
def missed(tmp_path_factory: pytest.TempPathFactory):
    """A stash with one photo of which a scrap was taken out again, and that scrap."""
    store = open_store(tmp_path_factory.mktemp("stash"))
    add_chart(store, "practice chart", PITCH_IN)
    spec = SceneSpec(
        (Leftover("deep water", "crumb", 4.0), Leftover("dry sand", "crumb", 4.0)),
        pitch_in=PITCH_IN,
    )
    data = render_scene(spec, seed=5).jpeg()
    options = LogOptions(place="Blue tin", washed=True)
    logged = log_photo(
        store, data, file_name="one.jpg", cards=cards_to_use(store, None), options=options
    )
    gone = logged.scraps[0]
    store.delete_scrap(gone.number, why="not seen by the finder")
    return store, gone


def corners_of(store, scrap: Scrap) -> list[tuple[float, float]]:
    view = store.photo(scrap.photo).view
    return [(float(x), float(y)) for x, y in to_pixels(view, np.array(scrap.outline.points))]


def test_a_marked_scrap_is_measured_as_the_finder_measured_it_and_undone_whole(missed) -> None:
    store, gone = missed
    before = store.scraps()
    marked = mark_scrap(store, gone.photo, corners_of(store, gone))
    assert (marked.photo, marked.place, marked.washed) == (gone.photo, "Blue tin", True)
    assert marked.fabric not in {scrap.fabric for scrap in before}
    away = marked.outline.polygon.hausdorff_distance(gone.outline.polygon)
    assert away <= marked.outline.error_in
    assert np.linalg.norm(np.subtract(marked.appearance.reads_as, gone.appearance.reads_as)) < 2
    assert store.picture(marked.picture.sha256)[:2] == b"\xff\xd8"
    store.undo()
    assert store.scraps() == before
    store.redo()
    assert store.scrap(marked.number).outline == marked.outline
    store.undo()


def test_a_card_registered_since_does_not_change_the_inches(missed) -> None:
    store, gone = missed
    add_chart(store, "a smaller chart", PITCH_IN / 2)
    marked = mark_scrap(store, gone.photo, corners_of(store, gone))
    # Half the pitch would make a quarter of the area.
    assert marked.outline.area_sq_in == pytest.approx(gone.outline.area_sq_in, rel=0.02)
    store.undo()
    store.undo()


def test_what_the_finger_may_miss_by_is_added_to_the_error(missed) -> None:
    store, gone = missed
    sure = mark_scrap(store, gone.photo, corners_of(store, gone)).outline
    store.undo()
    unsure = mark_scrap(store, gone.photo, corners_of(store, gone), hit_px=20.0).outline
    store.undo()
    # The same corners: pixels to an inch from the two areas, 20 of them from that.
    area_px = Polygon(corners_of(store, gone)).area
    px_per_in = (area_px / gone.outline.area_sq_in) ** 0.5
    assert unsure.error_in - sure.error_in == pytest.approx(20 / px_per_in, rel=0.05)


def test_cloth_already_there_is_not_kept_twice(missed) -> None:
    store, gone = missed
    (sister,) = store.scraps()
    with pytest.raises(MeasureError, match=f"Scrap {sister.number} lies there already"):
        mark_scrap(store, gone.photo, corners_of(store, sister))


@pytest.mark.parametrize(
    ("corners", "told"),
    [
        ([(0, 0), (50, 0)], "three corners"),
        ([(0, 0), (90, 90), (90, 0), (0, 80)], "once round"),
        ([(10, 10), (1e5, 10), (10, 60)], "outside the photo"),
    ],
)
def test_corners_that_are_no_scrap_are_told(missed, corners, told: str) -> None:
    store, gone = missed
    before = store.scraps()
    with pytest.raises(MeasureError, match=told):
        mark_scrap(store, gone.photo, corners)
    assert store.scraps() == before


def test_a_photo_that_was_never_logged_is_not_marked(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError):
        mark_scrap(open_store(tmp_path), "0" * 64, [(0, 0), (9, 0), (0, 9)])
