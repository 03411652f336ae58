"""How answers are said: plurals, lists, what is left unsaid, and the same for programs.

Each answer is put together here, so that its sentences can be read off it.
"""

from __future__ import annotations

import json
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

from stash.cli import messages
from stash.cli.quilt_answers import (
    allot_record,
    change_text,
    cut_record,
    enough_record,
    layout_record,
    progress_record,
    say_allot,
    say_cut,
    say_enough,
    say_layout,
    say_progress,
)
from stash.quilt.evenness import Evenness
from stash.quilt.feasibility import Enough, PalettePart
from stash.quilt.layout import Arrangement
from stash.quilt.one_cloth import FabricCount
from stash.quilt.plan import Plan, Quilt, QuiltPiece
from stash.quilt.regret import Regret
from stash.quilt.smallest_changes import CutOnSale, Purchase, Remedy
from stash.usecases.quilts.quilt_allot import AllotAnswer
from stash.usecases.quilts.quilt_cut import CutAnswer, CutScrap, Progress
from stash.usecases.quilts.quilt_enough import EnoughAnswer, Growth, StandIn

LAB = (30.0, 4.0, -30.0)


def piece(scrap: int, fabric: int, *, amount: str = "", cut: bool = False) -> QuiltPiece:
    return QuiltPiece(scrap, fabric, LAB, "blue", "dark", amount=amount, cut=cut)


def quilt(*pieces: QuiltPiece, **more: Any) -> Quilt:
    return Quilt("raffle", Plan("square", "4", "straight", False, 2, 3), pieces, **more)


def part(**more: Any) -> PalettePart:
    return replace(PalettePart("family", "blue", 3, 4), **more)


def enough(**more: Any) -> Enough:
    plain = Enough(True, 6, 0, 2, 8, 3, FabricCount(3, 3), (), ())
    return replace(plain, **more)


def answer(one: Enough, **more: Any) -> EnoughAnswer:
    plain = EnoughAnswer(quilt(), one, Growth(3, 9, True, 4), Growth(4, 8, False, 1), 8, 0, (), ())
    return replace(plain, **more)


def lines(capsys: pytest.CaptureFixture[str]) -> list[str]:
    return capsys.readouterr().out.splitlines()


# Enough.


def test_enough_is_said_with_what_is_needed_given_and_possible_besides(capsys) -> None:
    say_enough(answer(enough()))
    assert lines(capsys) == [
        "Yes, there is enough for “raffle”.",
        "It needs 6 pieces of at least 2 fabrics; the stash gives 8 pieces of 3 fabrics.",
        "One row more (9 pieces) is possible too.",
        "The longest quilt so wide has 4 rows.",
        "The widest quilt so long has rows of 1.",
    ]


def test_what_is_cut_and_what_is_not_counted_is_told(capsys) -> None:
    one = enough(pieces_cut=1, pieces_needed=1, fabrics_needed=1, pieces=1)
    rows, across = Growth(None, 0, False, 1), Growth(4, 8, True, 5)
    say_enough(answer(one, uncounted=2, rows=rows, across=across))
    assert lines(capsys) == [
        "Yes, there is enough for “raffle”.",
        "It needs 1 piece of at least 1 fabric; 1 is cut, the stash gives at least 1 piece more "
        "of 3 fabrics.",
        "2 scraps are not counted out yet. To count: --count",
        "One row more is not possible.",
        "The longest quilt so wide has at least 1 row.",
        "Rows of 4 (8 pieces) are possible too.",
        "The widest quilt so long has rows of at least 5.",
    ]
    say_enough(answer(replace(one, pieces_cut=2)))
    assert "2 are cut, the stash" in lines(capsys)[1]


def test_a_no_lists_parts_what_alone_helps_and_what_does_not(capsys) -> None:
    parts = (part(least=5, most=6), part(by="value", name="dark", least=None))
    changes = (
        Remedy("limit", {"limit": 2}),
        Remedy("decide", {"pieces": 1}, (3, 4), enough=False),
    )
    nothing = Growth(None, 0, False, 0)
    substitute = StandIn("blue", 7, 5, 12.4, "teal", "dark", "it is hardly in the palette")
    one = enough(possible=False, parts=parts, changes=changes)
    say_enough(answer(one, rows=nothing, across=nothing, substitutes=(substitute,)))
    said = lines(capsys)
    assert said[0] == "No, it cannot be made as planned for “raffle”."
    assert said[2].split() == ["part", "by", "fabrics", "pieces", "wanted", "short"]
    assert said[3].split() == ["blue", "family", "3", "4", "5", "to", "6", "1"]
    assert said[4].split() == ["dark", "value", "3", "4"]
    assert said[5] == "Any one of these makes it possible:"
    assert said[6].startswith("  - Allow 2 pieces of one fabric. (stash quilt change raffle")
    assert said[6].endswith("--limit-per-fabric 2)")
    assert said[7].startswith("Not enough by itself: Look at what may be one cloth")
    assert said[8] == (
        "Near blue: scrap 7 (dark teal, 12 away); left out because it is hardly in the palette."
    )
    assert len(said) == 9


def test_parts_tell_what_is_cut_once_something_is(capsys) -> None:
    say_enough(answer(enough(pieces_cut=1, parts=(part(cut=1, least=2, most=3),))))
    said = lines(capsys)
    assert said[2].split() == ["part", "by", "fabrics", "pieces", "cut", "wanted", "short"]
    assert said[3].split() == ["blue", "family", "3", "4", "1", "2", "to", "3"]


def test_programs_are_told_the_same(capsys) -> None:
    one = enough(
        possible=False,
        pieces=4,
        fabrics=1,
        fabrics_needed=3,
        parts=(part(least=6, most=6),),
        changes=(Remedy("fewer", {"pieces": 3, "rows": 1}),),
    )
    bought = Purchase("any", CutOnSale("", 1, 25.0), 2, 1)
    told = enough_record(
        answer(one, uncounted=3, to_buy=(bought, replace(bought, cut=CutOnSale("ten", 4, 100.0))))
    )
    assert told["quilt"] == "raffle" and told["possible"] is False
    assert told["pieces"] == {"needed": 6, "available": 4, "short": 2}
    assert (told["fabrics"]["needed"], told["fabrics"]["short"]) == (3, 2)
    assert told["parts"][0]["short"] == 2 and told["uncounted"] == 3
    assert told["one_row_more"] == {"possible": True, "pieces": 9}
    assert told["one_piece_wider"] == {"possible": False, "pieces": 8}
    assert told["largest"] == {"rows": 4, "pieces": 8} and told["widest"] == {"across": 1}
    assert told["changes"][0]["amounts"] == {"pieces": 3, "rows": 1}
    assert told["changes"][0]["size"] is None and told["changes"][0]["enough"] is True
    assert [one["cut"] for one in told["buy"]] == [None, "ten"]
    assert enough_record(answer(enough()))["fabrics"]["short"] == 0


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (Remedy("fewer", {"pieces": 4, "rows": 1}),
         "Make it 1 row: 4 pieces. (stash quilt change raffle --rows 1)"),
        (Remedy("fewer", {"pieces": 1}), "Make it smaller: 1 piece. "),
        (Remedy("borderline", {"pieces": 2}, (3, 5)),
         "Look twice at scraps 3, 5 and take them: 2 pieces. "
         "(stash quilt change raffle --borderline)"),
        (Remedy("decide", {"pieces": 0}, tuple(range(1, 26))),
         "Look at what may be one cloth (stash twins): answers about scraps "
         + ", ".join(map(str, range(1, 25))) + " ... help if they are different."),
        (Remedy("decide", {"pieces": 1}, (1, 2)),
         "Look at what may be one cloth (stash twins): answers about scraps 1, 2 give 1 more "
         "piece if they are different."),
        (Remedy("shares", {"blue": -2, "teal": 1}),
         "Let the amounts bend: 2 fewer blue, 1 more teal than they allow. "
         "(stash quilt change raffle --amount 'NAME LEAST-MOST')"),
        (Remedy("release", {"wide": 1, "lap": 2}, (3, 4, 9)),
         "Take 1 scrap from “wide” and 2 scraps from “lap”: 3, 4, 9."),
        (Remedy("size", {}, size="3 1/2"),
         "Make the piece smaller: 3½ in finished. (stash quilt change raffle --size '3 1/2 in')"),
        (Remedy("buy", {"any": 1}), "Buy 1 more fabric, larger than the cuts that are sold."),
        (Remedy("buy", {"any": 1, "blue": 2}),
         "Buy 3 more fabrics (2 blue), larger than the cuts that are sold."),
    ],
)  # fmt: skip
def test_what_would_help_is_said_with_the_command_that_does_it(change: Remedy, said: str) -> None:
    assert change_text(change, "raffle") == said


def test_what_to_buy_is_said_by_part_cut_and_pieces() -> None:
    some = (
        Purchase("blue", CutOnSale("fat quarter", 9, 378.0), 1, 9),
        Purchase("any", CutOnSale("fat quarter", 9, 378.0), 2, 1),
    )
    said = change_text(Remedy("buy", {"blue": 1, "any": 2}, purchases=some), "raffle")
    assert said.startswith("Buy 1 blue fabric, a fat quarter") and said.endswith(
        "of each (1 piece)."
    )
    assert "of each (9 pieces); 2 fabrics, a fat quarter" in said


# Allotted, laid out, cut.


def allotted(**more: Any) -> AllotAnswer:
    pieces = (piece(3, 1, amount="blue"), piece(3, 1, amount="blue"), piece(8, 2, amount="teal"),
              piece(9, 2))  # fmt: skip
    plain = AllotAnswer(quilt(*pieces), True, 2, 55.0, 0.0, 0, 0, ())
    return replace(plain, **more)


def test_an_allotment_counts_pieces_scraps_and_fabrics(capsys) -> None:
    say_allot(allotted())
    assert lines(capsys) == [
        "4 pieces of “raffle” come from 3 scraps of 2 fabrics; they are held for it now.",
        "The scraps cut into measure 55 sq in in all: no choice opens less.",
        "Colours: blue 50 %, teal 25 %.",
    ]
    one = quilt(piece(3, 1), reserve=(piece(4, 1),))
    say_allot(allotted(quilt=one, gap=0.0123, reluctant=1, reserve_rows=1))
    assert lines(capsys) == [
        "1 piece of “raffle” comes from 1 scrap of 1 fabric; it is held for it now.",
        "Held back besides: 1 piece, enough for 1 row more.",
        "The scraps cut into measure 55 sq in in all: at most 1.2 % above the least there is.",
        "1 piece comes of fabrics to look at twice.",
    ]
    say_allot(allotted(possible=False, changes=(Remedy("limit", {"limit": 3}),)))
    said = lines(capsys)
    assert said[0] == "“raffle” cannot be made as planned." and len(said) == 3


def test_an_allotment_for_programs_numbers_its_pieces_by_scrap() -> None:
    told = allot_record(allotted(gap=1e-5))
    assert told["scraps"] == [
        {"scrap": 3, "fabric": 1, "pieces": 2, "numbers": [0, 1]},
        {"scrap": 8, "fabric": 2, "pieces": 1, "numbers": [2]},
        {"scrap": 9, "fabric": 2, "pieces": 1, "numbers": [3]},
    ]
    assert (told["pieces"], told["limit_per_fabric"], told["optimal"]) == (4, 2, True)
    assert (told["shares"]["blue"], told["shares"]["teal"]) == (2, 1)
    assert told["reserve"] == {"rows": 0, "pieces": 0}
    assert allot_record(allotted(gap=0.01))["optimal"] is False
    no = allot_record(allotted(possible=False))
    assert (no["scraps"], no["pieces"], no["optimal"], no["shares"]) == ([], 0, False, {})


def laid(**more: Any) -> Arrangement:
    even = SimpleNamespace(
        score=0.834, by_class={("family", "blue"): 0.5, ("fabric", "1"): 0.2},
        discrepancy=0.25, bound=0.1,
    )  # fmt: skip
    return replace(Arrangement((1, 0), cast("Evenness", even), 0, 0.33333, 0.5), **more)


def test_a_layout_tells_how_even_it_is_and_what_still_touches(capsys) -> None:
    one = quilt(piece(3, 1), piece(8, 2))
    say_layout(one, laid())
    assert lines(capsys) == [
        "“raffle” is laid out: evenness 83 of 100, where 0 is what chance gives and 100 a bound "
        "no layout may reach.",
        "No fabric touches itself.",
    ]
    say_layout(replace(one, pinned=("1.1", "1.2")), laid(same_fabric_pairs=1, undecided_pairs=2))
    assert lines(capsys)[1:] == [
        "1 pair of one fabric still touches.",
        "2 pairs that may be of one cloth touch; look at them: stash twins",
        "Pinned: 1.1, 1.2.",
    ]
    told = layout_record(replace(one, seed=4), laid(), ["1.1", "1.2"])
    assert [(at["place"], at["piece"], at["scrap"], at["fabric"]) for at in told["places"]] == [
        ("1.1", 1, 8, 2), ("1.2", 0, 3, 1),
    ]  # fmt: skip
    assert told["evenness_by_class"] == {"family: blue": 0.5}
    assert (told["seed"], told["evenness"], told["neighbour_likeness"]) == (4, 0.834, 0.3333)


def test_what_was_cut_names_what_is_left(capsys) -> None:
    whole = quilt(piece(3, 1, cut=True), piece(8, 2, cut=True), piece(9, 2))
    done = CutAnswer(
        whole,
        (CutScrap(3, 1, 1, (3, 12), 20.0, 1.25), CutScrap(8, 2, 2, (), 0.0, 4.0)),
        (Regret(2, "teal", 6.0, 0.0),),
    )
    say_cut(done)
    assert lines(capsys) == [
        "Scrap 3: 1 piece cut; left over: scrap 3, scrap 12, 20 sq in.",
        "Scrap 8: 2 pieces cut; nothing worth keeping is left.",
        "This took the last 6 in square of teal (fabric 2); not even 3 in squares are left.",
        "2 pieces cut, 1 to cut.",
    ]
    told = cut_record(done)
    assert (told["pieces_cut"], told["pieces_to_cut"]) == (2, 1)
    assert told["regrets"] == [{"fabric": 2, "name": "teal", "side_in": 6.0, "left_in": 0.0}]
    assert told["cut"][0] == {
        "scrap": 3, "fabric": 1, "pieces": 1, "left": [3, 12], "left_sq_in": 20.0,
        "dropped_sq_in": 1.25,
    }  # fmt: skip


def test_progress_tells_only_what_there_is_besides(capsys) -> None:
    say_progress(Progress(6, 1, 3, 2, ()))
    assert lines(capsys) == ["1 of 6 pieces cut, 3 to cut, 2 missing."]
    some = Progress(6, 1, 3, 2, tuple(range(1, 11)), spare=1, spoilt=0, sewn=2, reserve=3)
    say_progress(some)
    assert lines(capsys)[1:] == [
        "Besides: 2 sewn, 1 cut and without a place, 3 held back for more rows.",
        "Gone since the quilt was allotted: scraps 1, 2, 3, 4, 5, 6, 7, 8. Allot it again.",
    ]
    assert progress_record(some) == {
        "needed": 6, "cut": 1, "to_cut": 3, "missing": 2, "spare": 1, "spoilt": 0, "sewn": 2,
        "reserve": 3, "scraps_gone": list(range(1, 11)),
    }  # fmt: skip


# Tables, JSON and spreadsheets.


def test_json_is_what_was_given_with_an_item_of_a_list_to_a_line(capsys) -> None:
    given = {"a": [{"b": [1, [2, 3]], "c": "naïve “x”"}, {}], "long": list(range(501)), "none": []}
    messages.print_json(given)
    said = capsys.readouterr().out
    assert json.loads(said) == given
    out = said.splitlines()
    assert out[0] == "{" and out[-1] == "}"
    assert '  {"b": [1, [2, 3]], "c": "naïve “x”"},' in out
    assert any(line.startswith(' "long": [0, 1, 2') and line.endswith("500],") for line in out)


def test_a_table_stands_under_its_heads_and_never_moves_the_cursor(capsys, monkeypatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    messages.print_table(["no.", "what"], [["1", "a \x1b[2J name"], ["100", "布 x"]])
    said = lines(capsys)
    assert said[0] == "no.  what" and said[2] == "100  布 x"
    assert "\x1b" not in said[1] and said[1].startswith("1    a ")
    with pytest.raises(ValueError, match="without a head"):
        messages.print_table(["no.", ""], [])


def test_the_last_column_goes_on_below_its_head_where_a_person_reads(capsys, monkeypatch) -> None:
    row = ["12", "one two three four five six seven eight"]
    monkeypatch.setenv("COLUMNS", "32")
    messages.print_table(["fabric", "why"], [row])
    assert lines(capsys)[1:] == ["12      one two three four five", "        six seven eight"]
    # In less room than 24 letters beside the other columns a line is left whole.
    monkeypatch.setenv("COLUMNS", "31")
    messages.print_table(["fabric", "why"], [row])
    assert lines(capsys)[1:] == ["12      one two three four five six seven eight"]


def test_a_spreadsheet_gets_one_value_each_and_no_formula(capsys) -> None:
    record = {"scrap": 1, "name": "=1+1", "bin": "tin", "size_in": [1.23456, 2.0],
              "reads_as_lab": [1.234, 2.0, -3.0], "outline_in": [[0, 0]], "area": 1.00004,
              "washed": True}  # fmt: skip
    messages.print_csv([record, {**record, "name": "@x", "bin": "-1"}])
    head, first, second = lines(capsys)
    assert head == "scrap,name,bin,size_in_short,size_in_long,L*,a*,b*,area,washed"
    assert first == "1,'=1+1,tin,1.2346,2.0,1.23,2.0,-3.0,1.0,True"
    assert second.startswith("1,'@x,'-1,")
    messages.print_csv([])
    assert lines(capsys) in ([""], [])
