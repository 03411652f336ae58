"""Every command that shows a length says the same in inches and in centimetres."""

from __future__ import annotations

import json
import re

import pypdfium2
import pytest

from stash.units import parse_length
from tests.cli.in_process import Commands
from tests.make_commands_page import commands
from tests.quilt.tidewater import tidewater

_PART = "¼½¾⅛⅜⅝⅞"
_NUMBER = rf"-?(?:\d+(?:\.\d+)?(?: ?[{_PART}]| \d+/\d+)?|[{_PART}]|\d+/\d+)"
_LENGTH = re.compile(
    rf"(?P<many>{_NUMBER}(?: ?[×x] ?{_NUMBER})*) ?(?P<unit>sq in|sq cm|in|cm|yd|m)\b"
    rf"|(?P<bare>{_NUMBER} × {_NUMBER})(?! ?×)"  # lists of sizes say inches by saying nothing
)
_CHECK_SQUARES = ("1 in 5 cm", "1 in\r\n5 cm")
# How far two roundings of one length may lie apart, inches: eighths and millimetres; yards up to
# the next eighth; whole inches of stitching and hundredths of a metre. Areas in square inches.
_APART = {
    ("in", "in"): 0.105, ("yd", "m"): 4.6, ("m", "m"): 0.0, ("in", "m"): 0.8,
    ("sq in", "sq in"): 0.6,
}  # fmt: skip

LINES = {
    "scraps": "",
    "fabrics": "",
    "labels": "--out OUT",
    "match": "--palette sea --template square --size '7 in'",
    "uses": "3",
    "fit": "--template square --size '2 in' --outlines OUTLINES --straight-cuts",
    "scrap look": "3",
    "template show": "apple-core --size '3 in'",
    "template print": "tumbler --size '3 in' --out OUT",
    "quilt enough": "tide",
    "quilt allot": "tide",
    "quilt layout": "tide --chart OUT",
    "quilt show": "tide",
    "quilt change": "tide --rows 3",
    "quilt list": "",
    "quilt papers": "tide --out OUT",
    "quilt cutsheets": "tide --out OUT",
    "quilt sewing": "tide --out OUT",
    "quilt guide": "tide --style echo --out OUT",
    "quilt finishing": "--finished '60 x 72 in'",
    "quilt cloth": "tide --for binding",
}
ONLY_READ = {  # what they print holds no length, or they change the stash
    "log", "card add", "card learn", "card list", "scrap add", "template add", "quilt make",
    "quilt cut", "quilt spoil", "web",
}  # fmt: skip


@pytest.fixture(scope="module")
def asked(tmp_path_factory):
    home = tmp_path_factory.mktemp("units")
    tidewater(home, 14, seed=3)
    outlines = home / "outlines.json"
    shape = [[0, 0], [11.3, 0], [11.3, 7.1], [0, 7.1]]
    outlines.write_text(json.dumps([{"id": "a", "outline": shape, "error_in": 0.02}]))
    run = Commands(home)
    run.said("palette make sea --colours '#1f3f7a,#2f8f8f'")
    run.said("quilt make tide --template tumbler --size '3 in' --rows 3 --across 4")
    run.said("quilt allot tide")
    run.said("quilt layout tide")
    return run, home, outlines


def words_of(path):
    document = pypdfium2.PdfDocument(path.read_bytes())
    try:
        return "\n".join(page.get_textpage().get_text_range() for page in document)
    finally:
        document.close()


def lengths(text):
    """Give every length and area told: what kind it is, and inches or square inches."""
    for squares in _CHECK_SQUARES:
        text = text.replace(squares, "")
    found = []
    for hit in _LENGTH.finditer(" ".join(text.split())):
        unit = hit["unit"] or "in"
        for number in re.split(r" ?[×x] ?", hit["many"] or hit["bare"]):
            sign = -1 if number.startswith("-") else 1
            value = sign * parse_length(number.lstrip("-"))
            if unit.startswith("sq"):
                found.append(("sq in", value / (6.4516 if unit == "sq cm" else 1)))
            elif unit in ("yd", "m"):
                found.append((unit, value * (36 if unit == "yd" else 39.37)))
            else:
                found.append(("in", value / (2.54 if unit == "cm" else 1)))
    return found


def answer(run, home, outlines, name, unit):
    out = home / f"{name.replace(' ', '-')}-{unit}.pdf"
    line = LINES[name].replace("OUTLINES", str(outlines)).replace("OUT", str(out))
    said = run.said(f"{name} {line} --unit {unit}").replace(str(out), "")
    return said + ("\n" + words_of(out) if out.exists() else "")


def test_a_command_that_takes_a_unit_is_walked_here_or_shows_no_length():
    with_unit = {
        name.removeprefix("stash ")
        for name, command in commands()
        if any(one.name == "unit" for one in command.params)
    }
    assert with_unit == set(LINES) | ONLY_READ


@pytest.mark.parametrize("name", LINES)
def test_every_number_is_the_same_in_inches_and_in_centimetres(asked, name):
    inches, centimetres = (answer(*asked, name, unit) for unit in ("in", "cm"))
    left_over = re.findall(r"[^\n]*\d ?(?:in|yd|inch|inches|sq in)\b[^\n]*", _bare(centimetres))
    assert left_over == []
    told, converted = lengths(_bare(inches)), lengths(_bare(centimetres))
    far = [
        (one, other)
        for one, other in zip(told, converted, strict=True)
        if abs(one[1] - other[1]) > _APART.get((one[0], other[0]), -1)
    ]
    assert far == []


def _bare(text):
    """Leave out what is made for the unit: squares to measure, strips to test, sizes to sort by."""
    flat = " ".join(text.split())
    for words in (
        r"1 in 5 cm",
        r"(?:at least|under) [^ ]+ (?:in|cm)\b",
        r"\(\d[\d.]* yd\)",
        r"three strips .*? measure [^.]*(?:\.\d cm)?\.",
    ):
        flat = re.sub(words, "", flat)
    return flat
