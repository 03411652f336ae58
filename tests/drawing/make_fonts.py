"""Make the files of stash/drawing/fonts: python -m tests.drawing.make_fonts FOLDER (fonttools).

FOLDER holds what Debian's packages fonts-dejavu-core 2.37 (DejaVuSans.ttf, DejaVuSans-Bold.ttf) and
fonts-droid-fallback 6.0.1r16 (DroidSansFallbackFull.ttf) install, and the files
noto-emoji-*-400-normal.woff of the npm package @fontsource/noto-emoji 5.3.2. Each is cut down to
the letters a name may hold and told in coverage.json, first and last of each range.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

FONTS = Path(__file__).resolve().parents[2] / "stash" / "drawing" / "fonts"
# Latin, Greek, Cyrillic, Armenian, Hebrew, Arabic, Georgian; punctuation, arrows, shapes, signs.
LETTERS = (
    (0x20, 0x587), (0x5D0, 0x5F4), (0x60C, 0x6FF), (0x10A0, 0x10FF), (0x1E00, 0x1FFF),
    (0x2010, 0x22FF), (0x25A0, 0x27BF), (0xFB1D, 0xFB4F),
)  # fmt: skip
KANA = ((0x3000, 0x30FF), (0xFF01, 0xFF9F))


def han() -> set[int]:
    """Give the characters of JIS X 0208 and of level 1 of GB 2312, by Python's own codecs."""
    found: set[int] = set()
    for codec, rows in (("euc_jp", range(0xA1, 0xF5)), ("gb2312", range(0xB0, 0xD8))):
        for row in rows:
            for cell in range(0xA1, 0xFF):
                text = bytes((row, cell)).decode(codec, errors="ignore")
                found.update(map(ord, text))
    return found


def cut_down(font: Any, letters: set[int], name: str) -> None:
    from fontTools import subset

    options = subset.Options()
    options.layout_features = []
    options.hinting = False
    options.name_IDs = ["*"]
    options.notdef_outline = True
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=letters)
    subsetter.subset(font)
    font.save(FONTS / name)


def ranges(letters: set[int]) -> list[list[int]]:
    """Give runs of numbers that follow each other."""
    made: list[list[int]] = []
    for number in sorted(letters):
        if made and made[-1][1] == number - 1:
            made[-1][1] = number
        else:
            made.append([number, number])
    return made


def main(folder: Path) -> None:
    from fontTools.merge import Merger
    from fontTools.ttLib import TTFont

    names = {one for first, last in LETTERS for one in range(first, last + 1)}
    asian = han() | {one for first, last in KANA for one in range(first, last + 1)}
    found = {file.name: file for file in folder.rglob("*") if file.suffix in (".ttf", ".woff")}
    cut_down(TTFont(found["DejaVuSans.ttf"]), names, "letters.ttf")
    cut_down(TTFont(found["DejaVuSans-Bold.ttf"]), names, "letters-bold.ttf")
    cut_down(TTFont(found["DroidSansFallbackFull.ttf"]), asian - names, "han.ttf")
    parts = [str(found[f"noto-emoji-{number}-400-normal.woff"]) for number in range(11)]
    emoji = Merger().merge(parts)
    emoji.flavor = None
    cut_down(emoji, set(emoji.getBestCmap()) - names - asian, "emoji.ttf")
    coverage = {
        file.stem: ranges(set(TTFont(file).getBestCmap())) for file in sorted(FONTS.glob("*.ttf"))
    }
    (FONTS / "coverage.json").write_text(json.dumps(coverage, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
