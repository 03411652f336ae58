"""Seeds for the fuzzing: one small file of each kind, made by our own code."""

from __future__ import annotations

import io
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

import pillow_heif
from PIL import Image, ImageCms

from stash.wiring import open_store
from tests.storage.made_records import made_photo

__all__ = ["seeds_of"]


def seeds_of(target: str) -> list[bytes]:
    """Give the seeds of one target."""
    return list(_SEEDS[target]())


def _picture() -> Image.Image:
    image = Image.new("RGB", (72, 64), (30, 120, 125))
    image.paste((178, 40, 62), (50, 0, 72, 20))
    return image


def _saved(image: Image.Image, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def _photos() -> Iterator[bytes]:
    image = _picture()
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769)[0xA405] = 26
    block = exif.tobytes()
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    yield _saved(image, "JPEG", exif=block)
    yield _saved(image, "JPEG", progressive=True, icc_profile=profile)
    yield _saved(image.convert("CMYK"), "JPEG")
    yield _saved(image.convert("L"), "JPEG")
    yield _saved(image, "MPO", save_all=True, append_images=[image])
    yield _saved(image, "PNG", exif=block)
    yield _saved(image.quantize(4), "PNG", transparency=0)
    yield _saved(image, "PNG", save_all=True, append_images=[image.rotate(180)])
    yield _saved(image, "WEBP", exif=block)
    yield _saved(image.convert("RGBA"), "WEBP", lossless=True)
    yield _saved(image, "GIF", save_all=True, append_images=[image.rotate(180)])
    for packing in ("raw", "tiff_lzw", "tiff_adobe_deflate", "jpeg"):
        yield _saved(image, "TIFF", compression=packing)
    yield _saved(image, "BMP")
    yield _saved(image, "AVIF", quality=30)
    out = io.BytesIO()
    heif = pillow_heif.from_pillow(image)
    heif.info["exif"] = block
    heif.save(out, quality=30)
    yield out.getvalue()


def _drawings() -> Iterator[bytes]:
    for path in (
        "M0 0 L2 0 L2 3 Z",
        "m 1,1 h 4 v 4 h -4 z",
        "M0 0 C 1 0 2 1 2 2 S 1 4 0 4 z",
        "M0 0 Q 4 0 4 4 T 0 8 z",
        "M0 0 A 3 2 30 0 1 4 4 L 0 4 z",
    ):
        yield (
            '<svg xmlns="http://www.w3.org/2000/svg" width="4in" viewBox="0 0 4 4">'
            f'<path d="{path}"/></svg>'
        ).encode()


def _templates() -> Iterator[bytes]:
    yield b'{"cut": [[0, 0], [3, 0], [2.5, 4.5], [0.5, 4.5]]}'
    yield b'{"cut": [[0, 0], [3, 0], [3, 3], [0, 3], [0, 0]], "name": "square"}'


def _palette_files() -> Iterator[bytes]:
    yield b"GIMP Palette\nName: Tide\nColumns: 2\n# mine\n 31 63 122\tdeep\n47 143 143\tuntitled\n"
    yield "\ufeffGIMP Palette\r\n255 127 80 coral \u2014 touch\r\n".encode()


def _words() -> Iterator[bytes]:
    yield b"dark blues and teals mostly, sand, a touch of coral; no pinks, no purples, no neutrals"
    yield b"#1f3f7a,#2f8f8f,#fff"
    yield b"0,0 5.5,0 5.5,4 0,4"
    yield b"4 1/2 in"
    yield "4½".encode()
    yield b"11.5 cm"


def _outlines() -> Iterator[bytes]:
    square = [[0, 0], [5, 0], [5, 4], [0, 4]]
    hole = [[1, 1], [1.5, 1], [1, 1.5]]
    yield json.dumps([{"id": 1, "outline": square, "error_in": 0.05, "grain_deg": 12.5}]).encode()
    yield json.dumps([{"id": "a", "outline": square, "holes": [hole]}, {"outline": []}]).encode()


def _exports() -> Iterator[bytes]:
    with TemporaryDirectory() as place:
        store = open_store(Path(place) / "stash")
        store.log_photo(made_photo(1, scraps=1, size=50))
        store.delete_scrap(1, why="gone")
        store.export(str(Path(place) / "export"))
        store.database.close()
        yield (Path(place) / "export" / "stash.json").read_bytes()


def _backups() -> Iterator[bytes]:
    with TemporaryDirectory() as place:
        store = open_store(Path(place) / "stash")
        store.log_photo(made_photo(1, scraps=1, size=50))
        store.delete_scrap(1, why="gone")
        store.backup(str(Path(place) / "kept.zip"))
        store.database.close()
        yield (Path(place) / "kept.zip").read_bytes()
        with closing(sqlite3.connect(Path(place) / "stash" / "stash.db")) as raw:
            raw.execute("PRAGMA journal_mode = DELETE")
            raw.execute("PRAGMA page_size = 512")  # the smallest there is
            raw.execute("VACUUM")
        yield (Path(place) / "stash" / "stash.db").read_bytes()


def _arguments() -> Iterator[bytes]:
    for line in (
        "scraps --family blue --json",
        "scrap 1 --bin tin --notes frays --washed",
        "match --palette sea --template square --size 4 --unit cm",
        "palette make sea --colours #1f3f7a,#2f8f8f --without pink",
        "fit --template hexagon --size 2 1/2 --outlines x.json",
        "card add desk --kind chart24 --pitch 0.55",
        "quilt make lap --template tumbler --size 3 --rows 4 --across 5",
        "quilt finishing lap --backing 6",
        "undo 2",
        "uses 1 --size 3",
        "template show square --size 3",
        "backup x.zip --replace",
        "log a.jpg b.png --bin tin",
    ):
        yield line.replace(" ", "\0").encode()


_SEEDS = {
    "photo": _photos,
    "drawing": _drawings,
    "template": _templates,
    "palette_file": _palette_files,
    "words": _words,
    "outlines": _outlines,
    "import": _exports,
    "backup": _backups,
    "arguments": _arguments,
}
