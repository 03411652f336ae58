"""Facts about the tables a person reads in a terminal."""

import pytest

from stash.cli.messages import print_table

HEADS = ["fabric", "verdict", "why"]
WHY = "53 % of it is outside the palette, mostly gold; its colours are much stronger than the rest"
ROWS = [["27", "borderline", WHY], ["4", "belongs", "within the palette"]]


@pytest.mark.parametrize("columns", [50, 72, 100])
def test_long_reasons_go_on_below_their_head(monkeypatch, capsys, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    print_table(HEADS, ROWS)
    lines = capsys.readouterr().out.splitlines()
    at = lines[0].index("why")
    assert max(len(line) for line in lines) <= columns
    assert [line[:at].split() for line in lines if line[:at].strip()] == [
        ["fabric", "verdict"], ["27", "borderline"], ["4", "belongs"],
    ]  # fmt: skip
    assert " ".join(line[at:] for line in lines) == f"why {WHY} within the palette"


def test_a_program_that_reads_gets_a_row_on_each_line(monkeypatch, capsys):
    monkeypatch.delenv("COLUMNS", raising=False)
    print_table(HEADS, ROWS)
    assert len(capsys.readouterr().out.splitlines()) == 3


def test_a_window_too_narrow_for_a_column_of_words_keeps_the_line_whole(monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", "30")
    print_table(HEADS, ROWS)
    assert WHY in capsys.readouterr().out
