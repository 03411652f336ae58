"""A scrap that was missed is marked on its logged photo: measured, kept once, undoable."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.drawing.photo_view import to_pixels
from stash.errors import MeasureError, NotFoundError
from stash.scrap import Scrap
from stash.shape.plane.outline import outline_of
from stash.usecases.photos import mark_scrap as mark_module
from stash.usecases.photos.add_photo import LogOptions, cards_to_use, log_photo
from stash.usecases.photos.manage_cards import add_chart
from stash.usecases.photos.mark_scrap import find_scrap, mark_scrap
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


def spot_in(store, scrap: Scrap) -> tuple[float, float]:
    """Give a spot well inside a scrap, pixels, as a finger might tap it: not in its middle."""
    inside = scrap.outline.polygon.buffer(-0.5).exterior.coords[0]
    ((x, y),) = to_pixels(store.photo(scrap.photo).view, np.array([inside]))
    return float(x), float(y)


def test_one_tap_inside_finds_the_cloth_again_once(missed) -> None:
    store, gone = missed
    found = find_scrap(store, gone.photo, spot_in(store, gone))
    assert found.outline.polygon.hausdorff_distance(gone.outline.polygon) <= gone.outline.error_in
    with pytest.raises(MeasureError, match=f"Scrap {found.number} lies there"):
        find_scrap(store, gone.photo, spot_in(store, gone))
    store.undo()


def test_a_tap_on_cloth_that_is_hardly_seen_gives_it_straight_sides(missed, monkeypatch) -> None:
    store, gone = missed
    true = gone.outline.polygon
    corners = np.array(true.simplify(0.05).exterior.coords)
    longest = int(np.linalg.norm(np.diff(corners, axis=0), axis=1).argmax())
    bay = Point(*corners[longest : longest + 2].mean(axis=0)).buffer(0.25)
    faint = outline_of(list(true.difference(bay).exterior.coords)[:-1], error_in=0.26)
    whole = mark_module._measured

    def hardly_seen(store, photo, ring=()):
        measured = whole(store, photo, ring)
        spot = true.representative_point()
        (one,) = (one for one in measured.scraps if one.outline.polygon.contains(spot))
        return replace(measured, scraps=(replace(one, outline=faint),))

    monkeypatch.setattr(mark_module, "_measured", hardly_seen)
    found = find_scrap(store, gone.photo, spot_in(store, gone)).outline
    assert faint.polygon.hausdorff_distance(true) > 0.2
    assert found.polygon.intersection(bay).area > 0.8 * true.intersection(bay).area
    assert found.error_in >= 0.26
    store.undo()


def test_one_tap_finds_cloth_that_measuring_leaves_out(missed, monkeypatch) -> None:
    store, gone = missed
    whole = mark_module._measured

    def blind(store, photo, ring=()):
        measured = whole(store, photo, ring)
        return measured if ring else replace(measured, scraps=())

    monkeypatch.setattr(mark_module, "_measured", blind)
    one = find_scrap(store, gone.photo, spot_in(store, gone)).outline
    true = gone.outline.polygon
    shared = one.polygon.intersection(true).area / one.polygon.union(true).area
    assert shared > 0.9
    assert one.polygon.hausdorff_distance(true) <= one.error_in + gone.outline.error_in
    store.undo()


def test_a_tap_on_the_bare_backing_finds_nothing(missed) -> None:
    store, gone = missed
    scraps = [one.outline.polygon for one in store.scraps()] + [gone.outline.polygon]
    view = store.photo(gone.photo).view
    x0, y0, x1, y1 = gone.outline.polygon.buffer(2.5).bounds
    bare = [
        (x, y)
        for x in np.linspace(x0, x1, 12)
        for y in np.linspace(y0, y1, 12)
        if all(scrap.distance(Point(x, y)) > 1.2 for scrap in scraps) and np.hypot(x, y) > 4
    ]
    spot = tuple(float(one) for one in to_pixels(view, np.array(bare[:1]))[0])
    with pytest.raises(MeasureError):
        find_scrap(store, gone.photo, spot)
