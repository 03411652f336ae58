"""Names in any script, on pictures and on paper."""

import io

import numpy as np
import pypdfium2
import pytest
from PIL import Image, ImageDraw
from reportlab.pdfbase.ttfonts import TTFontFile

from stash.drawing.lettering import _HOLDS, letter, letter_width, typeface
from stash.drawing.paper import paper_named
from stash.drawing.pdf_page import Pdf
from stash.drawing.typefaces import FACES, OWN, face_file, in_faces, in_reading_order

NAMES = ("Grün ö ß ł", "голубой", "שלום", "藍色の布 シャツ", "🧵🪡", "Ελλάδα")


def drawn(text):
    image = Image.new("L", (700, 60), 255)
    letter(ImageDraw.Draw(image), (5, 5), text, size_px=40, fill="#000000")
    return np.asarray(image) < 128


def columns_of(ink):
    """Cut drawn letters apart at the empty columns between them."""
    filled = ink.any(axis=0)
    starts = np.flatnonzero(filled & ~np.roll(filled, 1))
    ends = np.flatnonzero(filled & ~np.roll(filled, -1)) + 1
    return [ink[:, start:end] for start, end in zip(starts, ends, strict=True)]


@pytest.mark.parametrize("face", FACES)
def test_every_letter_that_a_typeface_is_asked_for_is_in_its_file(face):
    there = TTFontFile(str(face_file(face))).charToGlyph  # read by the PDF library
    signs = [chr(number) for number in range(0x20, 0x1FFFF)]
    asked = {ord(one) for run_face, run in in_faces("".join(signs), lambda _: False)
             if run_face == face for one in run}  # fmt: skip
    assert len(asked) > 200
    assert asked <= set(there)


@pytest.mark.parametrize("name", NAMES)
def test_names_of_many_scripts_have_all_their_letters(name):
    shown = in_reading_order(name)
    runs = list(in_faces(shown, str.isascii))
    assert "".join(run for _, run in runs) == shown  # nothing became an empty square
    assert drawn(name).any()


def test_the_pictures_own_typeface_holds_what_it_is_said_to_hold():
    font = typeface(40)
    missing = bytes(font.getmask("\u0378"))
    for sign in _HOLDS | {chr(number) for number in range(0x21, 0x7F)}:
        assert bytes(font.getmask(sign)) != missing, f"{sign} is a box"


def test_what_no_typeface_has_is_an_empty_square_among_the_others():
    assert list(in_faces("a𐎀b", str.isascii)) == [(OWN, "a"), ("letters", "□"), (OWN, "b")]


def test_a_word_from_the_right_is_drawn_from_the_right():
    # Its first letter stands rightmost: the letters of the picture, one by one.
    first, second = columns_of(drawn("ש"))[0], columns_of(drawn("ר"))[0]
    left, right = columns_of(drawn("שר"))
    assert np.array_equal(right, first)
    assert np.array_equal(left, second)


def test_numbers_and_plain_words_keep_their_order_beside_it():
    assert in_reading_order("5½ in, שלום 12") == "5½ in, 12 םולש"


def test_an_accent_typed_apart_is_joined_to_its_letter():
    assert np.array_equal(drawn("Gru\u0308n"), drawn("Grün"))
    assert not np.array_equal(drawn("Grün"), drawn("Grun"))


def test_what_is_measured_is_what_is_drawn():
    for name in NAMES:
        ink = np.flatnonzero(drawn(name).any(axis=0))
        assert ink[-1] - ink[0] <= letter_width(name, 40) <= ink[-1] - ink[0] + 20, name  # bearings


def test_a_pdf_embeds_the_letters_of_names_and_gives_them_back():
    paper = paper_named("letter")
    pdf = Pdf(paper, title="names")
    pdf.new_page()
    for row, name in enumerate(NAMES):
        pdf.text((1, 9 - row), name, size_pt=30, bold=True)
    pages = pypdfium2.PdfDocument(io.BytesIO(pdf.finish()))
    text = pages[0].get_textpage().get_text_range()
    for name in (one for one in NAMES if max(one) <= "\uffff"):  # a reader's code for these fails
        assert name in text or name[::-1] in text, name
    page = np.asarray(pages[0].render(scale=1, grayscale=True).to_numpy()).squeeze()
    rows = [72 * (11 - 9 + row) for row in range(len(NAMES))]
    assert all((page[row - 25 : row + 5] < 128).any() for row in rows)
