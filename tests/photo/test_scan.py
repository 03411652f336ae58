"""A flatbed scan, laid out here without any lens: inches by resolution, colours by the file."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image, ImageCms
from shapely import affinity
from shapely.geometry import Polygon, box

from stash.colour.difference import colour_difference
from stash.colour.spaces import lab_of_linear, srgb_of_linear
from stash.demo.fabrics import FABRICS, weave
from stash.demo.lens import MadeLens
from stash.demo.table import Shadow, Table
from stash.errors import NotAPhotoError
from stash.photo.files.reading import Photo, read_photo
from stash.photo.measuring import MeasuredPhoto, measure_scan
from stash.photo.scan_plate import plate_of
from stash.usecases.photos.add_photo import LogOptions, log_photo
from stash.usecases.photos.mark_scrap import mark_scrap
from stash.wiring import open_store
from tests.running import run_stash

DPI, SIZE_IN = 150, (7.0, 5.0)
SCRAP = affinity.rotate(box(1.2, 1.1, 4.7, 3.6), 17)
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def scan(lid: float, shape: Polygon = SCRAP, **file) -> bytes:
    """Scan a scrap of coral under a lid of that reflectance; its shadow is soft and short."""
    width, height = (round(side * DPI) for side in SIZE_IN)
    board = np.array([[DPI, 0, -0.5], [0, DPI, -0.5], [0, 0, 1.0]])
    rng = np.random.default_rng(4)
    table = Table(MadeLens(board, (width, height), 0.0), "white flannel", Shadow(0.02, 0.02, 0.3),
                  rng=rng)  # fmt: skip
    table.colour[:] = lid
    cloth = FABRICS["coral"]
    side = cloth.repeat_in or 2.0
    table.cover(shape, weave(cloth), side_in=(side, side), origin=np.zeros(2), turn_deg=17.0)
    seen = np.clip(table.colour * table.shade[..., None], 0, 1)
    seen = seen + rng.normal(scale=0.004, size=seen.shape)
    out = io.BytesIO()
    levels = np.rint(255 * srgb_of_linear(seen)).astype(np.uint8)
    Image.fromarray(levels).save(out, "PNG", **({"dpi": (DPI, DPI), "icc_profile": SRGB} | file))
    return out.getvalue()


def measured(data: bytes) -> MeasuredPhoto:
    return measure_scan(read_photo(data, name="scan.png"))


@pytest.mark.parametrize("lid", [0.85, 0.02], ids=["white lid", "black lid"])
def test_a_scrap_under_either_lid_has_its_inches_and_its_colour(lid):
    answer = measured(scan(lid))
    (scrap,) = answer.scraps
    # The frame's origin is the scan's middle, its y runs up; the board's runs down.
    moved = affinity.translate(SCRAP, -SIZE_IN[0] / 2, -SIZE_IN[1] / 2)
    upright = affinity.scale(moved, 1, -1, origin=(0, 0))
    off = scrap.outline.polygon.exterior.hausdorff_distance(upright.exterior)
    assert off < min(0.03, scrap.outline.error_in)
    assert scrap.outline.area_sq_in == pytest.approx(3.5 * 2.5, rel=0.01)
    true = lab_of_linear(weave(FABRICS["coral"]).reshape(-1, 3).mean(axis=0, dtype=np.float64))
    assert colour_difference(np.array(scrap.appearance.reads_as), true[None])[0] < 1
    assert (answer.card.kind, answer.card.error_de00, answer.card.absolute) == ("scan", 4.0, True)


def test_a_scan_without_a_profile_is_not_absolute_and_says_so():
    answer = measured(scan(0.85, icc_profile=None))
    assert (answer.card.absolute, answer.scraps[0].appearance.absolute) == (False, False)
    assert any("no colour profile" in text for text in answer.warnings)
    assert answer.card.error_de00 > 4


@pytest.fixture(scope="module")
def plain() -> Photo:
    return read_photo(scan(0.85), name="scan.png")


@pytest.mark.parametrize(
    ("dots", "why"),
    [(None, "does not tell"), ((72, 72), "says 72"), ((9600, 9600), "says 9600"),
     ((100, 4800), "")],
)  # fmt: skip
def test_a_resolution_that_no_scanner_has_is_refused(plain: Photo, dots, why):
    if why:
        with pytest.raises(NotAPhotoError, match=why):
            plate_of(replace(plain, dots_per_in=dots))
    else:  # unlike ways are brought to one
        height, width = plain.pixels_srgb.shape[:2]
        assert plate_of(replace(plain, dots_per_in=dots)).size_px == (round(height / 48), width)


def test_a_camera_s_photo_is_no_scan_whatever_resolution_it_states(plain: Photo):
    with pytest.raises(NotAPhotoError, match="camera"):
        plate_of(replace(plain, focal_35mm=26.0))


def test_a_scan_on_its_side_has_its_resolutions_the_right_way_round():
    exif = Image.Exif()
    exif[0x0112] = 6
    data = scan(0.85, dpi=(300, 150), exif=exif.tobytes())
    assert read_photo(data, name="a").dots_per_in == pytest.approx((150, 300), abs=0.1)


def test_a_scan_is_logged_without_any_card_and_more_can_be_marked_on_it(tmp_path):
    store = open_store(tmp_path)
    data = scan(0.85)
    outcome = log_photo(store, data, file_name="s.png", cards=(), options=LogOptions(scan=True))
    assert (outcome.status, len(outcome.scraps)) == ("logged", 1)
    beside = [(750, 600), (1000, 600), (1000, 720), (750, 720)]  # bare lid, for a hand to mark
    more = mark_scrap(store, outcome.sha256, beside)
    assert more.outline.area_sq_in == pytest.approx(250 * 120 / DPI**2, rel=0.001)


def test_the_command_logs_scans_and_refuses_what_is_none(tmp_path):
    (tmp_path / "scan.png").write_bytes(scan(0.02))
    (tmp_path / "phone.png").write_bytes(scan(0.02, dpi=(72, 72)))
    done = run_stash("log", "--scan", "scan.png", "phone.png", "--json", home=tmp_path / "stash",
                     cwd=tmp_path)  # fmt: skip
    logged, refused = json.loads(done.stdout)["photos"]
    assert (done.returncode, logged["card"]["kind"], len(logged["scraps"])) == (1, "scan", 1)
    assert (refused["status"], "300 dots" in refused["reason"]) == ("refused", True)
