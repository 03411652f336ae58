"""Every command, run once: what it says reads like a person's sentence."""

import re
import shlex

import pytest
from typer.testing import CliRunner

from stash.cli.app import make_app
from stash.cli.messages import print_table

# In this order on one stash; what needs photos is read in the pages' own commands.
LINES = """
scrap add '9 x 11' --colour '#1f3f7a' --name harbour --bin tin --kind stripe
scrap add '4 x 5' --colour '#dccaa6' --kind print
scrap add 'fat quarter' --colour '#2f8f8f' --washed
scraps
scraps --unit cm
fabrics
scrap 1
scrap 1 --grain 177.01672665088307 --unit cm
scrap 1-2 --bin tin
palette make sea --words 'blues, teals and tan'
palette list
palette show sea --explain
clash --palette sea
clash --scraps 1-3
tally
uses 1
substitutes 1
match --palette sea --template square --size 3
match --palette sea --template square --size 3 --sizes
template list
template show apple-core --size 5
template show tumbler --size 177.01672665088307
template print square --size 2 --out OUT/square.pdf
card add pocket --kind chart24 --pitch 0.55
card list
card print OUT/card.pdf
quilt make one --template apple-core --size 6 --rows 1 --across 1
quilt make row --template square --size 3 --rows 1 --across 3
quilt list
quilt enough one
quilt enough row
quilt allot row
quilt layout row --picture OUT/row.png
quilt show row --unit cm
quilt cutsheets row --out OUT/cut.pdf
quilt sewing row --out OUT/sew.pdf
quilt sewing one --out OUT/sewone.pdf
quilt guide row --out OUT/guide.pdf
quilt finishing row
quilt finishing --finished 60x72 --unit cm
quilt cut row --scrap 1-3
quilt set-aside one
labels --out OUT/labels.pdf
history
backup OUT/kept.zip
verify
export OUT/open
bin
undo
redo
settings
""".strip().splitlines()

UNLIKE_A_PERSON = {
    "a plural after one": r"(?<![\d./,½¼¾⅛⅜⅝⅞-])\b1 (?!(is|has|was|gives)\b)[a-z]+[^s\s]s\b",
    "digits nobody measures": r"\d\.\d{4,}",
    "a before a vowel": r"\b[Aa] (?=[aeio]|u(?!s|ni))(?!one\b)",
    "Python": r"None\b|\bTrue\b|\bFalse\b|<[a-z]+\[|\{'|\['",
}


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """Give what every command printed."""
    place = tmp_path_factory.mktemp("said")
    (place / "OUT").mkdir()
    runner, app, texts = CliRunner(), make_app(), {}
    patch = pytest.MonkeyPatch()
    patch.setenv("STASH_SETTINGS", str(place / "settings.toml"))
    patch.setenv("STASH_HOME", str(place / "stash"))
    for line in LINES:
        words = shlex.split(line.replace("OUT", str(place / "OUT")))
        done = runner.invoke(app, words, catch_exceptions=False)
        assert done.exit_code == 0, f"{line}: {done.output}"
        texts[line] = done.output.replace(str(place), "")
    patch.undo()
    return texts


def test_a_column_has_a_head():
    with pytest.raises(ValueError, match="without a head"):
        print_table(["scrap", ""], [["1", "odd"]])


def test_what_is_said_reads_like_a_persons_sentence(said):
    found = {
        (what, line): hit.group(0)
        for what, odd in UNLIKE_A_PERSON.items()
        for line, text in said.items()
        if (hit := re.search(odd, text))
    }
    assert found == {}
