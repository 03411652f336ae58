"""A printed cutting sheet, laid over the photo, shows the same cloth at the same place."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from pypdfium2 import PdfDocument

from stash.drawing.cutting_sheet import CutList, cutting_pdf
from stash.drawing.paper import LETTER
from stash.drawing.photo_view import to_pixels
from stash.quilt.cutting import ScrapToCut
from stash.quilt.stacks import StackPlan
from stash.scrap import Scrap
from stash.shape.templates.template import make_template
from stash.storage.sqlite_store import FolderStore
from stash.usecases.photos.add_photo import LogOptions, cards_to_use, log_photo
from stash.usecases.photos.manage_cards import add_chart
from stash.wiring import open_store
from tests.running import REPO
from tests.usecases.seen_scraps import outline_on_sheet

SCENE = REPO / "fixtures" / "scenes" / "four_scraps.jpg"
PITCH_IN = 0.55
PX_PER_IN = 60.0
FARTHEST_PX = 12  # a fifth of an inch any way


@pytest.fixture(scope="module")
def logged(tmp_path_factory: pytest.TempPathFactory) -> FolderStore:
    store = open_store(tmp_path_factory.mktemp("stash"))
    add_chart(store, "chart", PITCH_IN)
    outcome = log_photo(
        store,
        SCENE.read_bytes(),
        file_name=SCENE.name,
        cards=cards_to_use(store, None),
        options=LogOptions(),
    )
    assert outcome.status == "logged"
    return store


def squares(scrap: Scrap) -> np.ndarray:
    """Give a grid over the scrap in the card's frame, y up, shape (rows, columns, 2), inches."""
    left, bottom, right, top = scrap.outline.bounds
    across = np.arange(left, right, 1 / PX_PER_IN)
    down = np.arange(top, bottom, -1 / PX_PER_IN)
    return np.stack(np.meshgrid(across, down), axis=-1)


def grey_at(picture: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Read a grey picture at places (rows, columns, 2), pixels."""
    x, y = places.astype(np.float32).transpose(2, 0, 1)
    return cv2.remap(picture.astype(np.float32), x, y, cv2.INTER_LINEAR)


def of_photo(store: FolderStore, scrap: Scrap, grid: np.ndarray) -> np.ndarray:
    """Give the cloth as the photo shows it, by the photo's own measured view."""
    photo = store.photo(scrap.photo or "")
    assert photo is not None and photo.view is not None
    picture = cv2.cvtColor(cv2.imread(str(SCENE)), cv2.COLOR_BGR2GRAY)
    return grey_at(picture, to_pixels(photo.view, grid.reshape(-1, 2)).reshape(grid.shape))


def of_sheet(store: FolderStore, scrap: Scrap, grid: np.ndarray) -> np.ndarray:
    """Give the cloth as the printed sheet shows it inside the line printed round it."""
    assert scrap.picture is not None
    shown = scrap.picture
    to_cut = ScrapToCut(
        *(scrap.number, 1, "", "", scrap.outline, ()),
        picture=store.picture(shown.sha256),
        px_per_in=shown.px_per_in,
        left_in=shown.left_in,
        top_in=shown.top_in,
    )
    cuts = CutList("one", make_template("square", 1), (to_cut,), StackPlan((), (), 0))
    with PdfDocument(cutting_pdf(cuts, LETTER)) as document:
        line = outline_on_sheet(document, len(scrap.outline.points))  # points of the page, y up
        scale = 200 / 72
        raster = np.asarray(
            document[len(document) - 1].render(scale=scale).to_pil().convert("L"), float
        )
    true = np.array(scrap.outline.points)
    turn = np.linalg.lstsq(np.column_stack([true, np.ones(len(true))]), line, rcond=None)[0]
    flat = np.column_stack([grid.reshape(-1, 2), np.ones(grid.shape[0] * grid.shape[1])]) @ turn
    down = np.column_stack([flat[:, 0], raster.shape[0] / scale - flat[:, 1]]) * scale
    return grey_at(raster, down.reshape(grid.shape))


def inside(scrap: Scrap, grid: np.ndarray) -> np.ndarray:
    """Give what lies well inside the scrap."""
    middle = scrap.outline.polygon.buffer(-0.3)
    left, _, _, top = scrap.outline.bounds
    mask = np.zeros(grid.shape[:2], np.uint8)
    ring = (np.array(middle.exterior.coords) - (left, top)) * (PX_PER_IN, -PX_PER_IN)
    return cv2.fillPoly(mask, [ring.round().astype(np.int32)], 1).astype(bool)


def alike(one: np.ndarray, other: np.ndarray, mask: np.ndarray) -> float:
    """Give the correlation of two pictures where the mask says."""
    return float(np.corrcoef(one[mask], other[mask])[0, 1])


def best_shift(sheet: np.ndarray, photo: np.ndarray, mask: np.ndarray) -> tuple[float, float]:
    """Give how far the sheet's cloth must be moved to lie on the photo's, inches, and how well.

    A stripe may slide along itself: of moves as good as the best the shortest counts.
    """
    moves = range(-FARTHEST_PX, FARTHEST_PX + 1)
    found = [
        (alike(np.roll(sheet, (down, right), axis=(0, 1)), photo, mask), np.hypot(down, right))
        for down in moves
        for right in moves
    ]
    best = max(found)[0]
    return min(far for like, far in found if like > best - 0.01) / PX_PER_IN, best


def test_the_sheet_shows_the_photos_cloth_within_a_twentieth_of_an_inch(
    logged: FolderStore,
) -> None:
    told = []
    for scrap in logged.scraps():
        grid = squares(scrap)
        mask, photo = inside(scrap, grid), of_photo(logged, scrap, grid)
        if photo[mask].std() < 8:
            continue  # plain cloth looks the same anywhere
        sheet = of_sheet(logged, scrap, grid)
        off_in, like = best_shift(sheet, photo, mask)
        mirrored = max(
            best_shift(turned, photo, mask)[1] for turned in (sheet[::-1], sheet[:, ::-1])
        )
        told.append((scrap.number, off_in, like, mirrored))
    assert len(told) >= 2
    for number, off_in, like, mirrored in told:
        assert off_in <= 0.05 and like > 0.8, f"scrap {number}"
        assert mirrored < like - 0.2, f"scrap {number}"
