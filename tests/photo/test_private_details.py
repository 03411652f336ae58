"""Photos lose place, time and device, and not one pixel."""

from __future__ import annotations

import io
import json
import random
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import ExifTags, Image, PngImagePlugin

from stash.errors import PhotoError
from stash.photo.files.private_details import without_details
from stash.photo.files.reading import read_photo
from tests.shared_data import shared

pillow_heif.register_heif_opener()

SECRETS = (b"Pentaflex 9", b"2031:05:04", b"Grandmother", b"GPSPLACE", b"rdf:RDF")


def _picture(mode: str = "RGB") -> Image.Image:
    rng = np.random.default_rng(3)
    pixels = rng.integers(0, 256, (24, 36, 3), dtype=np.uint8)
    return Image.fromarray(np.kron(pixels, np.ones((4, 4, 1), np.uint8))).convert(mode)


def _details(orientation: int) -> bytes:
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Make] = "Pentaflex 9"
    exif[ExifTags.Base.DateTime] = "2031:05:04 10:00:00"
    exif[ExifTags.Base.Artist] = "Grandmother"
    gps = exif.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSAreaInformation] = b"GPSPLACE"
    gps[ExifTags.GPS.GPSLatitudeRef] = "N"
    return exif.tobytes()


XMP = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF>Grandmother</rdf:RDF></x:xmpmeta>"


def _file(kind: str, orientation: int, **more: object) -> bytes:
    out = io.BytesIO()
    exif = _details(orientation)
    if kind == "PNG":
        notes = PngImagePlugin.PngInfo()
        notes.add_text("Author", "Grandmother")
        notes.add_itxt("XML:com.adobe.xmp", XMP.decode())
        more = {**more, "pnginfo": notes}
    elif kind == "JPEG":
        more = {"comment": b"Grandmother", "quality": 95, **more}
    if kind in ("JPEG", "WEBP", "HEIF", "AVIF"):
        more = {**more, "xmp": XMP}
    _picture().save(out, kind, exif=exif, **more)
    return out.getvalue()


def _pixels(data: bytes) -> np.ndarray:
    return read_photo(data, name="table.jpg").pixels_srgb


KINDS = ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("orientation", [1, 6, 8])
def test_private_details_go_and_every_pixel_stays(kind: str, orientation: int) -> None:
    if kind == "AVIF" and "AVIF" not in Image.SAVE:
        pytest.skip("no AVIF writer is installed")
    data = _file(kind, orientation)
    assert any(secret in data for secret in SECRETS)
    plain = without_details(data)
    assert plain is not None
    assert [secret for secret in SECRETS if secret in plain] == []
    before, after = _pixels(data), _pixels(plain)
    assert np.array_equal(before, after)


def test_scans_restart_marks_and_a_second_picture_are_told_apart() -> None:
    out = io.BytesIO()
    _picture().save(
        out, "JPEG", exif=_details(3), progressive=True, restart_marker_blocks=2, quality=90
    )
    data = out.getvalue() + _file("JPEG", 1)  # what phones append: a second picture with details
    plain = without_details(data)
    assert plain is not None
    assert plain.endswith(b"\xff\xd9")
    assert [secret for secret in SECRETS if secret in plain] == []
    assert np.array_equal(_pixels(plain), _pixels(out.getvalue()))


def test_a_colour_profile_stays() -> None:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for kind in ("JPEG", "PNG", "WEBP"):
        plain = without_details(_file(kind, 1, icc_profile=profile))
        assert plain is not None
        with Image.open(io.BytesIO(plain)) as image:
            assert image.info["icc_profile"] == profile


def test_what_is_broken_or_of_another_kind_is_left_to_the_caller() -> None:
    tiff = io.BytesIO()
    _picture().save(tiff, "TIFF")
    for data in (b"", b"\xff\xd8", b"hello", tiff.getvalue(), _file("JPEG", 1)[:300]):
        assert without_details(data) is None


def test_any_damage_gives_a_picture_or_nothing_but_never_a_crash() -> None:
    rng = random.Random(1)
    for kind in ("JPEG", "PNG", "WEBP", "HEIF"):
        data = _file(kind, 6)
        for _ in range(60):
            broken = bytearray(data)
            for _ in range(3):
                broken[rng.randrange(min(len(broken), 700))] = rng.randrange(256)
            answer = without_details(bytes(broken[: rng.randrange(len(broken))]))
            assert answer is None or isinstance(answer, bytes)


def test_awkward_photos_read_the_same_without_their_details() -> None:
    folder = shared("data/awkward_photos")
    manifest = json.loads((folder / "MANIFEST.json").read_text("utf-8"))
    text = json.dumps(manifest)
    checked = 0
    for path in sorted(Path(folder).iterdir()):
        if path.suffix.lower() not in (".jpg", ".png", ".heic", ".avif", ".webp"):
            continue
        if path.name not in text or path.stat().st_size > 3_000_000:
            continue
        data = path.read_bytes()
        try:
            before = _pixels(data)
        except PhotoError:
            continue  # refused photos are not in a stash
        plain = without_details(data)
        if plain is not None:
            assert np.array_equal(before, _pixels(plain)), path.name
            checked += 1
    assert checked >= 10
