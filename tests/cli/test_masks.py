"""An outline painted over a photo, or over a scrap's own picture, becomes the scrap's."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw
from shapely.geometry import Polygon

from stash.drawing.photo_view import to_inches, to_pixels
from stash.wiring import open_store
from tests.running import REPO, run_stash

PHOTO = REPO / "fixtures" / "scenes" / "four_scraps.jpg"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("masks") / "stash"
    run_stash("card", "add", "chart", "--kind", "chart24", "--pitch", "0.55", "--home", str(home))
    assert run_stash("log", str(PHOTO), "--home", str(home)).returncode == 0
    return home


def painted(path: Path, size: tuple[int, int], ring: np.ndarray) -> Path:
    picture = Image.new("L", size, 0)
    ImageDraw.Draw(picture).polygon([tuple(point) for point in ring], fill=255)
    picture.save(path)
    return path


def outline_after(home: Path, mask: Path) -> Polygon:
    told = run_stash("scrap", "1", "--mask", str(mask), "--home", str(home), "--json")
    assert told.returncode == 0, told.stderr
    run_stash("undo", "--home", str(home))
    return Polygon(json.loads(told.stdout)["outline_in"])


def test_a_square_painted_over_the_photo_is_measured(home: Path, tmp_path: Path) -> None:
    store = open_store(home)
    scrap = store.scrap(1)
    assert scrap.photo is not None
    view = store.photo(scrap.photo).view
    square = Polygon([(-6, -2), (-4, -2), (-4, 0), (-6, 0)])
    corners = np.array(square.exterior.coords)
    assert np.allclose(to_inches(view, to_pixels(view, corners)), corners, atol=1e-6)
    size = Image.open(io.BytesIO(store.picture(scrap.photo))).size
    seen = outline_after(home, painted(tmp_path / "p.png", size, to_pixels(view, corners)))
    # A pixel is about a hundredth of an inch here; half of one is lost all round.
    assert seen.hausdorff_distance(square) < 0.03
    assert not seen.difference(square.buffer(0.015)).area


def test_a_lopsided_shape_painted_over_the_scraps_own_picture_is_measured(
    home: Path, tmp_path: Path
) -> None:
    store = open_store(home)
    picture = store.scrap(1).picture
    assert picture is not None
    size = Image.open(io.BytesIO(store.picture(picture.sha256))).size
    corner = np.array([picture.left_in + 0.5, picture.top_in - 0.5])
    lopsided = Polygon(corner + np.array([(0, 0), (1, 0), (0, -2)]))
    from_corner = (np.array(lopsided.exterior.coords) - [picture.left_in, picture.top_in]) * [1, -1]
    pixels = from_corner * picture.px_per_in - 0.5
    seen = outline_after(home, painted(tmp_path / "s.png", size, pixels))
    assert seen.hausdorff_distance(lopsided) < 0.03


def test_a_picture_of_another_size_or_with_nothing_white_is_refused(
    home: Path, tmp_path: Path
) -> None:
    other = Image.new("L", (300, 200), 255)
    other.paste(0, (0, 0, 20, 200))
    other.save(tmp_path / "other.png")
    Image.new("L", (300, 200), 0).save(tmp_path / "black.png")
    for name, part in (("other.png", "300 x 200"), ("black.png", "nothing in it is white")):
        told = run_stash("scrap", "1", "--mask", str(tmp_path / name), "--home", str(home))
        assert told.returncode == 1
        assert part in told.stderr and "Traceback" not in told.stderr
