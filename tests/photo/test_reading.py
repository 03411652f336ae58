"""Photos from bytes: what people really have, and what hostile files try."""

import io
import json
import struct
import zlib

import colour
import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms

from stash.errors import (
    DamagedPhotoError,
    EmptyPhotoError,
    NotAPhotoError,
    PhotoError,
    TooLargePhotoError,
    TooSmallPhotoError,
)
from stash.photo.files.reading import read_photo
from tests.shared_data import shared

TEAL, RED = (30, 120, 125), (178, 40, 62)


def picture() -> Image.Image:
    """Draw a 120 x 80 picture: teal, with a red corner at the upper right."""
    image = Image.new("RGB", (120, 80), TEAL)
    image.paste(RED, (90, 0, 120, 20))
    return image


def saved(image: Image.Image, kind: str, **options) -> bytes:
    """Save a picture into bytes."""
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def with_turn(turn: int) -> bytes:
    """Give EXIF that says how the picture is turned."""
    exif = Image.Exif()
    exif[0x0112] = turn
    return exif.tobytes()


# Which operation undoes each EXIF turn (EXIF 2.32, tag 274), so that upright is `picture()`.
STORED_AS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


@pytest.mark.parametrize("turn", range(1, 9))
@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF", "JPEG", "MPO", "AVIF"])
def test_every_exif_turn_reads_as_the_same_upright_picture(turn, kind):
    stored = picture() if turn == 1 else picture().transpose(STORED_AS[turn])
    options = {"lossless": True} if kind == "WEBP" else {"quality": 95}
    photo = read_photo(saved(stored, kind, exif=with_turn(turn), **options), name="a")
    off = np.abs(photo.pixels_srgb.astype(int) - np.asarray(picture()))
    assert off.mean() < 2 if kind in {"JPEG", "MPO", "AVIF"} else off.max() == 0


def test_a_heic_is_turned_once_though_it_says_so_twice():
    image = picture()
    out = io.BytesIO()
    heif = pillow_heif.from_pillow(image)
    heif.info["exif"] = with_turn(6)
    heif.save(out, quality=100)
    pixels = read_photo(out.getvalue(), name="a").pixels_srgb
    plain = pillow_heif.open_heif(io.BytesIO(out.getvalue()))
    assert pixels.shape[1::-1] == plain.size
    assert pixels.shape[0] == 120  # turned by a quarter, so 80 wide and 120 high


def test_sixteen_bits_scale_by_257():
    values = np.zeros((80, 120), dtype=np.uint16)
    values[:, 60:] = 94 * 257
    photo = read_photo(saved(Image.fromarray(values), "PNG"), name="a")
    assert photo.pixels_srgb[0, 119].tolist() == [94, 94, 94]


def test_a_dark_picture_of_sixteen_bits_stays_dark():
    values = np.full((80, 120), 200, dtype=np.uint16)
    photo = read_photo(saved(Image.fromarray(values), "PNG"), name="a")
    assert photo.pixels_srgb.max() == 1  # 200 / 65535 of full scale, not 200 / 255


def test_a_tiff_counted_from_white_is_turned_round():
    values = np.full((80, 120), 94 * 257, dtype=np.uint16)
    data = bytearray(saved(Image.fromarray(values), "TIFF"))
    at = data.index(struct.pack("<HHI", 262, 3, 1))  # TIFF 6.0, tag 262: 0 counts from white
    data[at + 8 : at + 10] = b"\0\0"
    assert read_photo(bytes(data), name="a").pixels_srgb[0, 0].tolist() == [161] * 3


def test_a_grey_picture_is_read_but_called_black_and_white():
    photo = read_photo(saved(picture().convert("L"), "JPEG"), name="a")
    assert not photo.has_colour
    assert "black-and-white" in photo.warnings[0]


def test_a_see_through_ground_becomes_white():
    image = picture().convert("RGBA")
    image.putpixel((3, 3), (255, 0, 255, 0))
    photo = read_photo(saved(image, "PNG"), name="a")
    assert photo.pixels_srgb[3, 3].tolist() == [255, 255, 255]
    assert photo.pixels_srgb[4, 4].tolist() == list(TEAL)


def test_a_palette_picture_with_a_see_through_colour_becomes_white_there():
    image = picture().quantize(4)
    image.info["transparency"] = image.getpixel((0, 79))
    photo = read_photo(saved(image, "GIF"), name="a")
    assert photo.pixels_srgb[79, 0].tolist() == [255, 255, 255]


def test_the_first_of_several_frames_is_used_and_that_is_said():
    other = Image.new("RGB", (120, 80), "white")
    data = saved(picture(), "WEBP", lossless=True, save_all=True, append_images=[other])
    photo = read_photo(data, name="a")
    assert photo.pixels_srgb[0, 0].tolist() == list(TEAL)
    assert "first" in photo.warnings[0]


def test_the_srgb_profile_changes_nothing():
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    photo = read_photo(saved(picture(), "PNG", icc_profile=profile), name="a")
    assert np.array_equal(photo.pixels_srgb, np.asarray(picture()))
    assert photo.warnings == ()


def test_a_broken_profile_is_left_aside_and_that_is_said():
    photo = read_photo(saved(picture(), "JPEG", icc_profile=b"nonsense" * 40), name="a")
    assert "profile" in photo.warnings[0]


def test_broken_photo_details_are_left_aside_and_that_is_said():
    block = b"Exif\0\0II*\0\x08\0\0\0" + struct.pack("<H", 60000) + b"\xff" * 40
    photo = read_photo(saved(picture(), "JPEG", exif=block), name="a")
    assert photo.pixels_srgb.shape == (80, 120, 3)
    assert "details" in photo.warnings[0]


def test_a_camera_that_says_wide_colour_without_a_profile_is_believed():
    # Adobe RGB (1998): a pure green of 219/255 at gamma 563/256 lies outside sRGB; the grey
    # stays grey. Value by hand: 0.5 ** (563/256) = 0.2177 linear = 0.5039 sRGB-encoded.
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA005] = {1: "R03"}
    image = Image.new("RGB", (120, 80), (128, 128, 128))
    image.paste((0, 255, 0), (0, 0, 60, 80))
    photo = read_photo(saved(image, "PNG", exif=exif.tobytes()), name="a")
    assert photo.pixels_srgb[0, 119].tolist() == pytest.approx([129, 129, 129], abs=1)
    assert photo.pixels_srgb[0, 0].tolist() == [0, 255, 0]


def with_chunk(data: bytes, kind: bytes, body: bytes) -> bytes:
    """Put a chunk in front of the pixels of a PNG."""
    chunk = struct.pack(">I", len(body)) + kind + body
    chunk += struct.pack(">I", zlib.crc32(kind + body))
    at = data.index(b"IDAT") - 4
    return data[:at] + chunk + data[at:]


def as_srgb(space: str, colour_rgb: tuple[int, int, int]) -> list[int]:
    """Give a colour of a wider space in sRGB, by a library of colour science."""
    wide = colour.RGB_COLOURSPACES[space]
    linear = colour.RGB_to_RGB(
        np.array(colour_rgb) / 255, wide, "sRGB", apply_cctf_decoding=True, apply_cctf_encoding=True
    )
    return np.rint(255 * np.clip(linear, 0, 1)).astype(int).tolist()


def test_a_png_that_codes_its_wide_colours_is_believed():
    # ISO/IEC 23091-2: primaries 12 = P3 with white D65, transfer 13 = sRGB.
    data = with_chunk(saved(picture(), "PNG"), b"cICP", bytes([12, 13, 0, 1]))
    pixels = read_photo(data, name="a").pixels_srgb
    assert pixels[70, 5].tolist() == pytest.approx(as_srgb("Display P3", TEAL), abs=1)
    assert pixels[5, 110].tolist() == pytest.approx(as_srgb("Display P3", RED), abs=1)


def test_a_png_that_states_its_primaries_is_believed():
    corners = (31270, 32900, 64000, 33000, 21000, 71000, 15000, 6000)  # Adobe RGB (1998) 4.3.1.1
    data = with_chunk(saved(picture(), "PNG"), b"gAMA", struct.pack(">I", 45470))
    data = with_chunk(data, b"cHRM", struct.pack(">8I", *corners))
    pixels = read_photo(data, name="a").pixels_srgb
    wide = "Adobe RGB (1998)"
    assert pixels[70, 5].tolist() == pytest.approx(as_srgb(wide, TEAL), abs=1)
    assert pixels[5, 110].tolist() == pytest.approx(as_srgb(wide, RED), abs=1)


def test_wide_colours_are_kept_as_the_file_codes_them():
    """Two reds and two greens that sRGB cannot hold, and that it would make one of."""
    image = Image.new("RGB", (120, 80), (250, 20, 30))
    image.paste((255, 0, 0), (0, 0, 60, 80))
    data = with_chunk(saved(image, "PNG"), b"cICP", bytes([12, 13, 0, 1]))
    photo = read_photo(data, name="a")
    assert np.array_equal(photo.pixels, np.asarray(image))
    assert photo.pixels_srgb[0, 0].tolist() == [255, 0, 0]


def profile_of(space: str, curve: float) -> bytes:
    """Make a profile with a space's primaries and a plain power curve (ICC.1, v2 matrix/TRC)."""
    wide = colour.RGB_COLOURSPACES[space]
    to_d50 = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(wide.whitepoint), np.array([0.9642, 1.0, 0.8249]), "Bradford"
    )
    columns = (to_d50 @ wide.matrix_RGB_to_XYZ).T
    gamma = b"curv\0\0\0\0" + struct.pack(">IHH", 1, round(256 * curve), 0)
    name = b"desc\0\0\0\0" + struct.pack(">I", 5) + b"wide\0" + b"\0" * 79
    tags = [(b"desc", name), (b"cprt", b"text\0\0\0\0none\0\0\0\0"), (b"wtpt", xyz(wide_white()))]
    tags += [(key, xyz(row)) for key, row in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True)]
    tags += [(key, gamma) for key in (b"rTRC", b"gTRC", b"bTRC")]
    table, body, at = b"", b"", 128 + 4 + 12 * len(tags)
    for key, value in tags:
        table += key + struct.pack(">II", at + len(body), len(value))
        body += value + b"\0" * (-len(value) % 4)
    size, kind = at + len(body), (b"mntr", b"RGB ", b"XYZ ")
    head = struct.pack(">I4sI4s4s4s12s4s", size, b"", 0x02400000, *kind, b"", b"acsp")
    head = head.ljust(68, b"\0") + xyz(wide_white())[8:]
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


def wide_white() -> tuple[float, float, float]:
    return 0.9642, 1.0, 0.8249


def xyz(values) -> bytes:
    return b"XYZ \0\0\0\0" + struct.pack(">3i", *(round(value * 65536) for value in values))


@pytest.mark.parametrize(("space", "curve"), [("Display P3", 2.2), ("Adobe RGB (1998)", 2.199)])
def test_a_camera_profile_says_what_kept_colours_mean(space, curve):
    photo = read_photo(saved(picture(), "PNG", icc_profile=profile_of(space, curve)), name="a")
    assert np.array_equal(photo.pixels, np.asarray(picture()))
    if space == "Adobe RGB (1998)":
        assert photo.pixels_srgb[70, 5].tolist() == pytest.approx(as_srgb(space, TEAL), abs=2)
    assert not np.array_equal(photo.pixels_srgb, photo.pixels)


def test_a_file_whose_greys_are_coded_unlike_srgb_is_turned_into_it():
    photo = read_photo(saved(picture(), "PNG", icc_profile=profile_of("sRGB", 1.0)), name="a")
    assert photo.own is None
    linear = TEAL[1] / 255  # IEC 61966-2-1
    assert photo.pixels[70, 5, 1] == pytest.approx(
        255 * (1.055 * linear ** (1 / 2.4) - 0.055), abs=2
    )


@pytest.mark.parametrize("transfer", [16, 18])
def test_a_picture_for_very_bright_screens_is_refused(transfer):
    data = with_chunk(saved(picture(), "PNG"), b"cICP", bytes([9, transfer, 0, 1]))
    with pytest.raises(NotAPhotoError, match="HDR"):
        read_photo(data, name="a")


def test_a_png_spoiled_before_its_pixels_is_called_damaged():
    data = with_chunk(saved(picture(), "PNG"), b"tEXt", b"a\0b").replace(b"a\0b", b"a\0c")
    with pytest.raises(DamagedPhotoError):
        read_photo(data, name="a")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "BMP", "WEBP", "AVIF"])
@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_a_photo_cut_off_anywhere_is_refused(kind, share):
    noise = np.random.default_rng(1).integers(0, 255, (80, 120, 3), dtype=np.uint8)
    data = saved(Image.fromarray(noise), kind)
    with pytest.raises(PhotoError):
        read_photo(data[: int(len(data) * share)], name="a")


def test_a_jpeg_cut_off_is_called_incomplete():
    data = saved(picture(), "JPEG")
    with pytest.raises(DamagedPhotoError, match="incomplete"):
        read_photo(data[: int(len(data) * 0.8)], name="a")


@pytest.mark.parametrize(
    ("data", "error", "word"),
    [
        (b"", EmptyPhotoError, "empty"),
        (b"%PDF-1.7 ...", NotAPhotoError, "PDF"),
        (b"<?xml version='1.0'?><svg onload='x()'/>", NotAPhotoError, "SVG"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0", NotAPhotoError, "video"),
        (b"II*\0\x10\0\0\0CR\x02\0", NotAPhotoError, "raw"),
        (b"RIFF\0\0\0\0AVI LIST", NotAPhotoError, "video"),
        (b"MMOR\0\0", NotAPhotoError, "raw"),
        (b"\xff\x0a\0\0", NotAPhotoError, "JPEG XL"),
        (b"\0\0\0\x0cjP  \r\n\x87\n", NotAPhotoError, "JPEG 2000"),
        (b"\r\n\r\n%PDF-1.4", NotAPhotoError, "PDF"),
        ("<svg/>".encode("utf-16"), NotAPhotoError, "SVG"),
        (b"<!-- drawn --><svg/>", NotAPhotoError, "SVG"),
        (b"<html></html>", NotAPhotoError, "text"),
        (b"hello, this is no picture at all", NotAPhotoError, "not a photo"),
    ],
)
def test_what_is_no_photo_is_refused_by_its_content(data, error, word):
    with pytest.raises(error, match=word):
        read_photo(data, name="photo.jpg")


def png_that_claims(width: int, height: int) -> bytes:
    """Build a PNG whose header claims a size; the pixels are zeros, packed small."""
    packer = zlib.compressobj(9)
    row = bytes(1 + 3 * width)
    body = b"".join(packer.compress(row) for _ in range(min(height, 200))) + packer.flush()
    chunks = [(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)), (b"IDAT", body)]
    out = b"\x89PNG\r\n\x1a\n"
    for kind, content in [*chunks, (b"IEND", b"")]:
        check = zlib.crc32(kind + content)
        out += struct.pack(">I", len(content)) + kind + content + struct.pack(">I", check)
    return out


@pytest.mark.parametrize("side", [10_000, 13_000, 30_000, 100_000])
def test_a_small_file_that_claims_a_huge_picture_is_refused_before_decoding(side):
    with pytest.raises(TooLargePhotoError, match="too large"):
        read_photo(png_that_claims(side, side), name="a")


def test_a_plain_drawing_of_a_phones_size_is_no_bomb():
    drawing = Image.new("RGB", (5000, 4000), "white")
    drawing.paste(picture().resize((3000, 2000)).rotate(10, fillcolor="white"), (900, 800))
    photo = read_photo(saved(drawing, "PNG"), name="a")
    assert photo.pixels_srgb.shape == (4000, 5000, 3)


def test_a_tracking_pixel_is_too_small():
    with pytest.raises(TooSmallPhotoError, match="1 × 1"):
        read_photo(saved(Image.new("RGB", (1, 1)), "PNG"), name="a")


def manifest() -> list[dict]:
    """Give the entries of the collection of awkward files."""
    return json.loads(shared("data/awkward_photos/MANIFEST.json").read_text())["files"]


def test_every_awkward_photo_does_what_its_manifest_says():
    folder = shared("data/awkward_photos")
    wrong = []
    for entry in manifest():
        try:
            photo = read_photo((folder / entry["file"]).read_bytes(), name=entry["file"])
        except PhotoError as problem:
            answer, words, photo = "refuse", str(problem), None
        else:
            answer = "import+warn" if photo.warnings else "import"
            words = " ".join(photo.warnings)
        allowed = {"import", "refuse"} if entry["must"] == "import-or-refuse" else {entry["must"]}
        asked = entry.get("message_should_mention_one_of", [])
        if answer not in allowed:
            wrong.append((entry["file"], answer, words))
        elif answer != "import" and not any(word.lower() in words.lower() for word in asked):
            wrong.append((entry["file"], words, asked))
        elif photo is not None:
            wrong += wrong_pixels(entry, photo.pixels_srgb)
    assert wrong == []


def wrong_pixels(entry: dict, pixels: np.ndarray) -> list:
    """List the stated points of an entry that read differently."""
    if list(pixels.shape[1::-1]) != entry["size_upright"]:
        return [(entry["file"], pixels.shape)]
    return [
        (entry["file"], point, pixels[point["y"], point["x"]])
        for point in entry["points"]
        if np.abs(pixels[point["y"], point["x"]].astype(int) - point["srgb"]).max() > point["tol"]
    ]


def test_the_angle_of_view_is_read_from_the_photo_details():
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 26
    photo = read_photo(saved(picture(), "JPEG", exif=exif.tobytes()), name="a")
    assert photo.focal_35mm == 26
    assert read_photo(saved(picture(), "JPEG"), name="a").focal_35mm is None


def test_a_jpeg_whose_end_was_never_copied_is_called_incomplete():
    rng = np.random.default_rng(3)
    noisy = Image.fromarray(rng.integers(0, 255, (160, 240, 3), dtype=np.uint8))
    thumbnail = saved(picture(), "JPEG")
    data = saved(noisy, "JPEG", comment=thumbnail)  # has an end mark of its own
    broken_off = data[: len(data) * 3 // 5].ljust(len(data), b"\0")
    with pytest.raises(DamagedPhotoError, match="incomplete"):
        read_photo(broken_off, name="a")
    assert read_photo(data + b"\0" * 5000, name="a").pixels_srgb.shape == (160, 240, 3)
