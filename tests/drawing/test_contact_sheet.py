"""Contact sheets and palette pictures, read back as pictures."""

import io
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from stash.colour.palette_words import palette_of_words
from stash.colour.spaces import lab_of_hex, lab_of_srgb
from stash.drawing.contact_sheet import Group, SheetSwatch, draw_contact_sheet
from stash.drawing.palette_picture import draw_palette

CORAL, NAVY = "#ff7f50", "#1f3f7a"


def jpeg(code):
    out = io.BytesIO()
    Image.new("RGB", (300, 200), code).save(out, "JPEG", quality=95)
    return out.getvalue()


def swatch(label, code, *, picture=True):
    data = jpeg(code) if picture else b""
    return SheetSwatch(label, ("a line",), data, ((lab_of_hex(code), 1.0),), note="a remark " * 12)


def pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).reshape(-1, 3).astype(int)


def pixels_near(png, rgb):
    return int((np.abs(pixels(png) - rgb).max(axis=1) <= 6).sum())


ONE_SWATCH = 250 * 250  # a square of 142 units, two pixels to the unit, without its frame


@pytest.mark.parametrize("picture", [True, False])
def test_a_swatch_shows_the_cloth_or_else_its_colours(picture):
    sheet = draw_contact_sheet([Group("belongs", (swatch("1", CORAL, picture=picture),))])
    assert pixels_near(sheet, (255, 127, 80)) > ONE_SWATCH


def test_values_are_the_greys_of_the_cloths_own_lightness():
    sheet = draw_contact_sheet([Group("all", (swatch("1", CORAL),))], values=True)
    found = pixels(sheet)
    assert np.ptp(found, axis=1).max() <= 60  # the ink of the lettering is the strongest tint
    level = round(255 * 0.641)  # L* 67.3 of coral is Y 0.370, which sRGB writes as 0.641
    assert abs(lab_of_hex(CORAL)[0] - lab_of_srgb(np.array([0.641] * 3))[0]) < 0.2
    assert pixels_near(sheet, (level,) * 3) > ONE_SWATCH


def test_names_stand_beside_the_swatches_in_svg():
    groups = [Group("dark & blue", (swatch("12 <navy>", NAVY),)), Group("empty", ())]
    root = ElementTree.fromstring(draw_contact_sheet(groups, title="Sheet", svg=True))
    texts = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"Sheet", "dark & blue", "12 <navy>", "a line", "1 fabric"} <= set(texts)
    assert "empty" not in texts


def test_a_long_line_under_a_swatch_wraps_and_loses_no_word():
    line = "64% moderate purplish blue beside brilliant bluish green"
    item = SheetSwatch("3", (line,), b"", ((lab_of_hex(NAVY), 1.0),))
    words = draw_contact_sheet([Group("belongs", (item,))], svg=True)
    texts = ["".join(node.itertext()) for node in ElementTree.fromstring(words).iter()]
    written = [text for text in texts if text and text in line]
    assert line.split() == " ".join(written).split()
    assert len(written) > 1


def test_a_sheet_of_nothing_says_so():
    root = ElementTree.fromstring(draw_contact_sheet([], svg=True))
    texts = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts == ["Nothing to show."]


def test_a_palette_picture_names_every_colour_and_every_no():
    palette = palette_of_words("Tidewater", "blues mostly, a touch of coral; no pinks")
    root = ElementTree.fromstring(draw_palette(palette, svg=True))
    texts = {element.text for element in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"Tidewater", "blue", "mostly", "coral", "a touch", "ruled out", "pink"} <= texts
    assert pixels_near(draw_palette(palette), (255, 127, 80)) > 10_000
