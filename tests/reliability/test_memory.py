"""How much memory logging takes, measured on real processes by the system's own account."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from stash.demo.laying import Leftover
from stash.demo.scene import SceneSpec, render_scene
from stash.usecases.photos.manage_cards import add_chart
from stash.wiring import open_store
from tests.running import REPO

pytest.importorskip("resource", reason="this system does not tell the memory of a process")

# A small process between: a child's account begins with the memory of whoever started it.
_ACCOUNT = """
import resource, subprocess, sys
code = subprocess.run(sys.argv[1:]).returncode
print("peak", resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
sys.exit(code)
"""
PITCH_IN = 0.55


def log_in_a_process(home: Path, *photos: Path) -> tuple[int, str, float]:
    """Run ``stash log``; give its exit code, its words and its peak memory in MB."""
    add_chart(open_store(home), "practice chart", PITCH_IN)
    command = [sys.executable, "-m", "stash", "log", *map(str, photos), "--home", str(home)]
    done = subprocess.run(
        [sys.executable, "-c", _ACCOUNT, *command],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(REPO), "STASH_TRACE": "1"},
        timeout=600,
        check=False,
    )
    peak = int(done.stdout.rsplit("peak ", 1)[1])
    words = done.stdout + done.stderr
    return done.returncode, words, peak / (1e6 if sys.platform == "darwin" else 1024)


def test_a_photo_of_108_megapixels_takes_less_than_1500_mb(tmp_path: Path) -> None:
    leftovers = (Leftover("deep water", "crumb", 4.0), Leftover("dry sand", "crumb", 4.0))
    scene = render_scene(SceneSpec(leftovers, pitch_in=PITCH_IN), seed=5).pixels_srgb
    photo = tmp_path / "large.jpg"
    Image.fromarray(scene).resize((12000, 9000), Image.Resampling.BILINEAR).save(photo, quality=80)
    code, words, peak_mb = log_in_a_process(tmp_path / "stash", photo)
    assert code == 0 and "logged, 2 scraps" in words, words
    assert peak_mb < 1500


def bombs() -> dict[str, bytes]:
    """Pack pictures of one colour as small as their kinds can, whole so that they would decode."""
    kinds = {
        "b.png": ("RGB", (6000, 6000), "PNG", {"compress_level": 9}),
        "deep.png": ("I;16", (8000, 8000), "PNG", {"compress_level": 9}),
        "just_harmless.png": ("RGB", (3150, 3150), "PNG", {}),
        "b.tif": ("RGB", (7000, 6000), "TIFF", {"compression": "tiff_adobe_deflate"}),
        "grey.tif": ("L", (8000, 8000), "TIFF", {"compression": "tiff_lzw"}),
        "b.gif": ("L", (7000, 6000), "GIF", {}),
        "b.webp": ("RGB", (5000, 4000), "WEBP", {"lossless": True, "method": 0}),
        "b.avif": ("RGB", (5000, 4000), "AVIF", {"quality": 30, "speed": 10}),
    }
    made = {}
    for name, (mode, size, kind, options) in kinds.items():
        out = io.BytesIO()
        Image.new(mode, size).save(out, kind, **options)
        made[name] = out.getvalue()
    return made


def test_no_bomb_takes_300_mb(tmp_path: Path) -> None:
    folder = tmp_path / "photos"
    folder.mkdir()
    made = bombs()
    for name, data in made.items():
        (folder / name).write_bytes(data)
    photos = [folder / name for name in made]
    code, words, peak_mb = log_in_a_process(tmp_path / "stash", *photos)
    assert code == 1
    refused = [name for name in made if f"{name}: not logged." in words]
    assert refused == list(made), words
    assert words.count("far too small to hold such a photo") == len(made) - 1, words
    assert peak_mb < 300
