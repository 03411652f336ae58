"""Cards, palettes written out, photos told, twins, shapes of one's own, quilts taken away: asked
in this process, each answer known beforehand."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from stash.cli import match_commands, palette_commands, photo_commands, progress, safety_commands
from stash.cli.photo_commands import outcome_body, say_outcome
from stash.cli.plain_text import spelled_out
from stash.cli.sheet_answers import say_scraps
from stash.errors import NoCardError, PaletteError, PlanError, TemplateError, TwinsError
from stash.quilt.one_cloth import FabricCount
from stash.scrap import CardReport
from stash.shape.plane.outline import outline_of
from stash.storage.sqlite_store import FolderStore
from stash.usecases.photos.add_photo import PhotoOutcome, cards_to_use
from stash.usecases.ports import ScrapToLog
from stash.usecases.quilts.plan_quilt import quilt_named
from stash.usecases.quilts.quilt_words import amount_range, names_in, three_shares
from stash.usecases.twins.imprints import take_imprints
from stash.wiring import open_store
from tests.cli.in_process import Commands
from tests.usecases.cloth import NAVY, RED, TEAL, put, rectangle
from tests.usecases.twin_cloth import checks, looks


@pytest.fixture
def asked(tmp_path: Path) -> tuple[Commands, FolderStore, Path]:
    home = tmp_path / "home"
    return Commands(home), open_store(home), tmp_path


# Cards.


def test_cards_are_printed_registered_and_listed(asked) -> None:
    run, store, folder = asked
    put(store, RED)
    paper = folder / "card.pdf"
    told = run.told(f"card print {paper} --paper a4")
    assert told == {"file": str(paper), "paper": "a4", "check_line_in": 6.0}
    assert paper.read_bytes()[:5] == b"%PDF-"
    corners = folder / "corners.pdf"
    assert run.told(f"card print {corners} --corners")["corners"] is True
    assert corners.read_bytes() != paper.read_bytes()
    assert run.ends(f"card print {paper} --paper legal") == 2
    said = run.said(f"card print {folder / 'again.pdf'}")
    assert "Print it at 100 %" in said and "stash card add NAME --kind printed" in said
    assert "No card is registered yet" in run.said("card list")
    assert run.ends("card add pocket") == 2  # a chart wants its pitch
    assert run.ends("card add pocket --kind round") == 2
    chart = run.told("card add pocket --pitch '1.5 cm'")
    assert (chart["name"], chart["kind"]) == ("pocket", "chart24")
    assert chart["pitch_in"] == pytest.approx(1.5 / 2.54, abs=1e-3)
    said = run.said("card add home --kind printed --line '6 in'")
    assert "Registered home" in said and "inks are not measured" in said
    assert "rough, not absolute" in run.said("card add sheet --kind a4")
    assert [row["name"] for row in run.told("card list")] == ["pocket", "home", "sheet"]
    assert run.ends(f"card learn home {paper} {corners}") == 2  # two photos of a printed card


def test_a_learnt_card_is_told_by_what_it_was_measured_beside(
    asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    from stash.photo.cards.card import CHART24_LINEAR, chart24
    from stash.usecases.photos import manage_cards

    run, _, folder = asked
    calls = []

    def learnt(_store, name, photos, *, pitch_in, beside):  # type: ignore[no-untyped-def]
        calls.append((name, photos, pitch_in, beside))
        values = "learnt" if beside else "own"
        card = chart24(
            name, pitch_in, values=values, patch_linear=CHART24_LINEAR, absolute=bool(beside)
        )
        return card, 1.26

    monkeypatch.setattr(manage_cards, "learn_chart", learnt)
    (folder / "a.jpg").write_bytes(b"one")
    line = f"card learn mine {folder / 'a.jpg'} --pitch 0.4"
    said = run.said(line)
    assert "Measured mine by itself; it differs from the usual chart by 1.3." in said
    assert "not absolute" in said
    said = run.said(f"{line} --beside usual")
    assert "Measured mine; the card beside it read true within 1.3 (CIEDE2000)." in said
    assert run.told(line)["error_de00"] == 1.26
    assert calls[0] == ("mine", [("a.jpg", b"one")], 0.4, "")
    assert calls[1][3] == "usual"


# Palettes written out.


def test_a_palette_is_written_in_the_form_its_name_ends_in(asked) -> None:
    run, _, folder = asked
    run.said(f"palette make sea --colours '{NAVY},{TEAL}'")
    gpl, table = folder / "sea.gpl", folder / "sea.csv"
    told = run.told(f"palette export sea {gpl}")
    assert told == {"palette": "sea", "file": str(gpl), "format": "gpl"}
    lines = gpl.read_text().splitlines()
    assert lines[0] == "GIMP Palette"
    assert {tuple(line.split()[:3]) for line in lines if line[:3].strip().isdigit()} == {
        ("31", "63", "122"), ("47", "143", "143"),
    }  # fmt: skip
    assert "Wrote sea to" in run.said(f"palette export sea {table}")
    rows = list(csv.DictReader(io.StringIO(table.read_text())))
    assert len(rows) == 2 and NAVY in ",".join(rows[0].values()).lower()
    assert run.said("palette export sea -").startswith("GIMP Palette")
    on_screen = run.said("palette export sea - --csv")
    assert on_screen.replace("\r", "") == table.read_text().replace("\r", "")
    assert isinstance(run.problem(f"palette export sea {folder / 'sea.png'}"), PaletteError)
    assert isinstance(run.problem(f"palette export sea {gpl} --csv"), PaletteError)
    assert run.told("palette forget sea") == {"forgotten": "sea"}
    run.said("undo")
    assert "Forgot the palette sea." in run.said("palette forget sea")


def test_limits_are_read_as_names_and_numbers() -> None:
    assert palette_commands._limits(["a = 0.2", "b=1"]) == {"a": 0.2, "b": 1.0}
    assert palette_commands._limits(None) == {}
    with pytest.raises(PaletteError, match="is not a limit"):
        palette_commands._limits(["a=much"])


# Photos.


def outcome(store: FolderStore, **more) -> PhotoOutcome:  # type: ignore[no-untyped-def]
    hole = [(1.0, 1.0), (2.0, 1.0), (2.0, 2.0), (1.0, 2.0)]
    cloth = outline_of([(0, 0), (5.00004, 0), (5, 4), (0, 4)], [hole], error_in=0.03)
    scrap = put(store, NAVY, cloth, direction_deg=12.3456)
    told = PhotoOutcome(
        "in/a.jpg", "logged", card=CardReport("chart24", 1.23456, 4.0), scraps=(scrap,),
        warnings=("dim",), cut_off=1,
    )  # fmt: skip
    return replace(told, **more)


def test_a_logged_photo_for_programs_is_rounded_to_what_it_knows(asked) -> None:
    _, store, _ = asked
    told = outcome_body(outcome(store))
    assert told["card"] == {
        "kind": "chart24", "error_de00": 1.235, "error_worst_de00": 4.0, "absolute": True,
    }  # fmt: skip
    (scrap,) = told["scraps"]
    assert scrap["outline_in"] == [[0, 0], [5.0, 0], [5, 4], [0, 4]]
    assert scrap["holes_in"][0][0] in [[1, 1], [2, 1], [2, 2], [1, 2]]
    assert (scrap["area_sq_in"], scrap["outline_error_in"]) == (19.0, 0.03)
    assert scrap["direction_deg"] == 12.35 and told["cut_off"] == 1
    assert (told["reason"], told["cause"], told["warnings"]) == (None, None, ["dim"])
    refused = outcome_body(PhotoOutcome("a", "refused", reason="no card", cause="no card"))
    assert (refused["card"], refused["scraps"], refused["reason"]) == (None, [], "no card")


def test_a_photo_is_told_in_a_line_and_its_notes(asked, capsys) -> None:
    _, store, _ = asked
    one = outcome(store)
    scrap = replace(one.scraps[0], notes="may be a thread")
    say_outcome(replace(one, scraps=(scrap,), alike={1: ()}))
    assert capsys.readouterr().out.splitlines() == [
        "a.jpg: logged, 1 scrap, colours within 1.2 CIEDE2000",
        "  #1 may be of cloth that is here already; stash twins shows them side by side",
        "  #1 may be a thread; take it out: stash scrap 1 --delete",
        "  note: dim",
    ]
    say_outcome(replace(one, status="already logged", scraps=(scrap, scrap), card=None))
    assert capsys.readouterr().out.splitlines() == [
        "a.jpg: already logged, 2 scraps", "  note: dim",
    ]  # fmt: skip
    say_outcome(PhotoOutcome("b.jpg", "refused", reason="No card.", warnings=("cut",)))
    assert capsys.readouterr().out.splitlines() == ["b.jpg: not logged. No card.", "  note: cut"]


def test_a_batch_is_summed_up(asked, capsys) -> None:
    _, store, _ = asked
    one = outcome(store)
    all_of_them = [one, replace(one, status="already logged"), PhotoOutcome("b.jpg", "refused")]
    photo_commands._say_summary(all_of_them, FabricCount(2, 3, 1))
    said = capsys.readouterr()
    assert said.out.splitlines()[0] == "1 photo logged (1 scrap), 1 already there, 1 not logged."
    assert said.out.splitlines()[1].endswith("Look: stash twins")
    assert said.err == "not logged: b.jpg\n"
    photo_commands._say_summary([PhotoOutcome("b.jpg", "refused")], FabricCount(0, 0))
    assert len(capsys.readouterr().out.splitlines()) == 1


def test_a_reason_that_many_photos_share_is_said_once(capsys) -> None:
    again = [PhotoOutcome(f"found-{at}.jpg", "refused", reason="No card.") for at in (1, 2)]
    safety_commands._say_logged_again([PhotoOutcome("found-0.jpg", "logged"), *again])
    assert capsys.readouterr().out.splitlines() == [
        "found-0.jpg: logged again, 0 scraps",
        "found-1.jpg, found-2.jpg: not logged. No card.",
    ]


def test_a_stash_that_knows_no_card_names_all_that_can_serve_as_one(asked) -> None:
    run, store, _ = asked
    with pytest.raises(NoCardError) as told:
        cards_to_use(store, None)
    for kind in ("a4", "letter", "bank-card"):
        assert kind in told.value.at_terminal
        run.said(f"card add {kind} --kind {kind}")  # each is one that the command takes


# Twins.


def test_twins_are_listed_answered_and_drawn(asked) -> None:
    run, store, folder = asked
    for seed, ink in enumerate([(40, 60, 140)] * 2 + [(170, 40, 50)] * 2):
        store.add_scrap(
            ScrapToLog(rectangle(4, 4), looks(), checks(ink, seed=seed), 60.0, top_in=4.0), why="t"
        )
    take_imprints(store)
    rows = run.rows("twins")
    assert [(row["group"], row["scraps"]) for row in rows] == [("1", "#1, #2"), ("2", "#3, #4")]
    sheet, picture = folder / "twins.pdf", folder / "twins.svg"
    run.said(f"twins --sheet {sheet} --picture {picture} --show 3,4")
    drawn = picture.read_text()
    assert "#3" in drawn and ">#1<" not in drawn and sheet.read_bytes()[:5] == b"%PDF-"
    assert isinstance(run.problem("twins --rest perhaps"), TwinsError)
    told = run.told("twins --same 1,2")
    assert [one["state"] for one in told["groups"]] == ["open", "same"] and told["changed"]
    assert told["groups"][0]["scraps"] == [3, 4]
    assert store.scraps()[0].fabric == store.scraps()[1].fabric
    said = run.said("twins --rest Not-sure")
    assert "All taken back with: stash undo" in said and "Nothing waits for a look." in said
    assert "Nothing to change" in run.said("twins --not-sure 3,4")


# Shapes and quilts.


def test_a_shape_of_ones_own_is_kept_and_listed(asked) -> None:
    run, _, folder = asked
    file = folder / "kite.json"
    file.write_text('{"cut": [[0, 0], [2, 3], [0, 4], [-2, 3]]}')
    told = run.told(f"template add kite {file}")
    assert told == {"name": "kite", "cut_width_in": 4.0, "cut_height_in": 4.0}
    assert "Kept big kite: cut 10.16 cm x 10.16 cm." in run.said(
        f"template add 'big kite' {file} --unit cm"
    )
    names = [one["name"] for one in run.told("template list")]
    assert {"kite", "square", "hexagon"} <= set(names)
    assert run.told("history")["changes"][-1]["what"] == "kept template kite"
    for name in ("square", "' '", "kite.svg"):
        assert isinstance(run.problem(f"template add {name} {file}"), TemplateError)
    facts = run.told("template show kite")
    assert facts["cut_area_sq_in"] == pytest.approx(8.0)
    assert (facts["cut_width_in"], facts["name"]) == (4.0, "kite")


def test_a_quilt_is_copied_sewn_and_taken_away(asked) -> None:
    run, store, _ = asked
    for colour in (NAVY, TEAL):
        put(store, colour)
    run.said("quilt make raffle --template square --size 4 --rows 2 --across 1 --charm")
    run.said("quilt allot raffle")
    run.said("quilt layout raffle")
    run.said("quilt cut raffle --all")
    assert run.told("quilt copy raffle winter") == {"quilt": "winter", "copied_from": "raffle"}
    assert run.said("quilt sew raffle --rows 1") == "1 of 2 pieces of “raffle” are sewn.\n"
    assert run.told("quilt sew raffle --rows 2") == {"quilt": "raffle", "sewn": ["1.1", "2.1"]}
    run.said("quilt sew raffle --rows 1-2 --back")
    assert quilt_named(store, "raffle").sewn == ()
    said = run.said("quilt delete raffle")
    assert "“raffle” is taken away" in said and "2 pieces are cut for it" in said
    assert run.told("quilt delete winter") == {"quilt": "winter", "deleted": True, "cut": 0}


def test_amounts_names_and_shares_are_read_from_words() -> None:
    assert amount_range("teal 20") == ("teal", (0.2, 0.2))
    assert amount_range("dark blue 0-100%") == ("dark blue", (0.0, 1.0))
    assert amount_range(" teal ANY ") == ("teal", None)
    for wrong in ("teal", "20-30", "teal 30-20", "teal -5-10", "teal 20-101", "teal few"):
        with pytest.raises(PlanError, match="no amount"):
            amount_range(wrong)
    assert three_shares("30,40,30") == {"light": 0.3, "medium": 0.4, "dark": 0.3}
    assert three_shares("33,33,33%") == {"light": 0.33, "medium": 0.33, "dark": 0.33}
    assert three_shares("") is None
    for wrong in ("50,50", "30,40,35", "-10,60,50", "a,b,c"):
        with pytest.raises(PlanError, match="three shares"):
            three_shares(wrong)
    assert names_in(None) is None
    assert names_in("Any") == () and names_in(" tide , , sea") == ("tide", "sea")


# Small words.


def test_letters_a_screen_lacks_are_spelled_out() -> None:
    assert spelled_out("5⅞ × 7½ in", "ascii") == "5 7/8 x 7 1/2 in"
    assert spelled_out("½ in", "ascii") == "1/2 in"
    assert spelled_out("“Grün” … 20°", "ascii") == '"Grun" ... 20 deg'
    assert spelled_out("Maße: œuvre → 藍", "ascii") == "Masse: oeuvre -> ?"
    assert spelled_out("e\u0301 a\u200db", "ascii") == "e ab"
    assert spelled_out("Grün ½", "latin-1") == "Grün ½"


def test_bytes_of_files_and_folders_are_summed(tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    (tmp_path / "a").write_bytes(b"12345")
    (tmp_path / "sub" / "b").write_bytes(b"123")
    assert progress.bytes_in(tmp_path) == 8.0
    assert progress.bytes_in(tmp_path / "a", tmp_path / "gone") == 5.0
    assert progress.bytes_in() == 0.0


def test_work_that_nobody_watches_is_done_in_silence(capsys) -> None:
    with progress.counted_work("Logging") as tell:
        tell(1, 2, "a.jpg")
    with progress.watched_work("Exporting", total=lambda: 1 / 0):
        pass
    assert capsys.readouterr() == ("", "")


def test_scraps_of_a_bin_are_listed_in_the_unit_asked_for(asked, capsys) -> None:
    _, store, _ = asked
    some = [put(store, RED, (4.0, 6.0)), put(store, RED, (10.0, 2.0))]
    say_scraps(some)
    said = capsys.readouterr().out
    assert "4 × 6 in" in said and "2 × 10 in" in said
    say_scraps(some, unit="cm")
    assert "10.2 × 15.2 cm" in capsys.readouterr().out


def test_a_backup_is_looked_at_by_itself(asked) -> None:
    run, store, folder = asked
    put(store, RED)
    file = folder / "copy.zip"
    run.said(f"backup {file}")
    assert run.told(f"verify --backup {file}") == {"sound": True, "problems": []}
    assert "is whole" in run.said(f"verify --backup {file}")
    file.write_bytes(file.read_bytes()[:-200])
    assert run.ends(f"verify --backup {file}") == 1


def test_cloth_added_by_a_ruler_is_told_in_a_line(asked) -> None:
    run, _, _ = asked
    said = run.said(f"scrap add '4 x 6' --colour '{NAVY}' --washed")
    assert said.startswith("Added scrap 1 of fabric 1: ") and "4 × 6" in said


@pytest.mark.parametrize(("pieces", "sizes", "told"), [(2, 0, True), (0, 3, True), (0, 0, False)])
def test_what_is_not_counted_yet_is_told_with_how_to_count_it(pieces, sizes, told, capsys) -> None:
    answer = SimpleNamespace(uncounted=pieces, unsized=sizes)
    match_commands._say_uncounted(answer)  # type: ignore[arg-type]
    said = capsys.readouterr().out
    assert (f"({pieces} and {sizes} scraps). To count: --count" in said) is told
    assert bool(said) is told
