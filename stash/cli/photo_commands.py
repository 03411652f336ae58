"""Photograph and log scraps."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from stash.cli.messages import print_json, say, warn
from stash.cli.options import Home, Json, Unit
from stash.cli.progress import counted_work
from stash.units import parse_length
from stash.usecases.pieces.grain import grain_of
from stash.usecases.user_files import plain_name
from stash.wording import counted

if TYPE_CHECKING:
    from stash.quilt.one_cloth import FabricCount
    from stash.usecases.photos.add_photo import PhotoOutcome

__all__ = ["register", "say_outcome"]


class Underlay(StrEnum):
    """What lies under the scraps."""

    PLAIN = "plain"
    FIGURED = "figured"


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("log")(log)


def log(
    photos: Annotated[list[Path], typer.Argument(help="Photos, or folders of photos.")],
    home: Home = None,
    card: Annotated[
        Optional[str],
        typer.Option(help="The reference card on the photos (default: the newest registered)."),
    ] = None,
    place: Annotated[str, typer.Option("--bin", help="The bin these scraps go to.")] = "",
    washed: Annotated[bool, typer.Option(help="The cloth has been washed already.")] = False,
    backing: Annotated[
        Underlay, typer.Option(help="What lies under the scraps; a plain one shows the light.")
    ] = Underlay.PLAIN,
    corners: Annotated[
        Optional[list[str]],
        typer.Option(
            help="Mark a scrap by hand where finding fails: its corners in pixels of the upright "
            'photo, "x,y x,y x,y". Give it again for more scraps.'
        ),
    ] = None,
    corner_line: Annotated[
        Optional[str],
        typer.Option(
            help="What a ruler says of the 6-inch line on the sheet of loose corner markers, if "
            "it is not 6 inches.",
            show_default=False,
        ),
    ] = None,
    scan: Annotated[
        bool,
        typer.Option(
            "--scan",
            help="These are flatbed scans without a card: inches by their resolution, colours by "
            "their profile.",
        ),
    ] = False,
    details: Annotated[
        bool,
        typer.Option(
            help="Keep in the stash what a photo's file tells of place, time and device; without "
            "them its pixels stay as they are."
        ),
    ] = True,
    picture: Annotated[
        Optional[Path],
        typer.Option(metavar="FOLDER", help="Draw each photo with its outlines into this folder."),
    ] = None,
    unit: Unit = "in",
    as_json: Json = False,
) -> None:
    """Photograph and log. Every scrap on these photos is measured and kept in the stash."""
    from stash.usecases.photos.add_photo import LogOptions  # loads the picture libraries
    from stash.usecases.photos.log_batch import Batch, log_batch
    from stash.wiring import open_store

    rings = tuple(_ring_px(words) for words in corners or ())
    if rings and len(photos) != 1:
        raise typer.BadParameter("--corners marks scraps of one photo; name just that one")
    store = open_store(home)
    line_in = None if corner_line is None else parse_length(corner_line, unit=unit)
    options = LogOptions(place, washed, backing is Underlay.PLAIN, rings, line_in, scan, details)
    batch = Batch(tuple(photos), card, options, picture, unit)
    outcomes: list[PhotoOutcome] = []
    first = not store.photos()  # what is to be known once is said in the first run
    try:
        with counted_work("Logging") as tell:
            for done, total, outcome in log_batch(store, batch):
                outcomes.append(outcome)
                tell(done, total, plain_name(Path(outcome.file).name))
                if not as_json:
                    say_outcome(outcome)
    finally:
        if as_json:
            count = _fabrics_of(store)
            photos_told = [outcome_body(one) for one in outcomes]
            telling = sum(one.tells_more for one in outcomes)
            answer = {"photos": photos_told, "fabrics": count.as_json()}
            print_json({**answer, "photos_with_details": telling})
        elif outcomes:
            _say_summary(outcomes, _fabrics_of(store))
            if first:
                _offer_no_details(outcomes)
    if any(one.status == "refused" for one in outcomes):
        raise typer.Exit(1)


def _ring_px(words: str) -> tuple[tuple[float, float], ...]:
    try:
        pairs = [tuple(float(part) for part in pair.split(",")) for pair in words.split()]
        return tuple((x, y) for x, y in pairs)
    except ValueError:
        raise typer.BadParameter(
            f"“{words}” are no corners; write pixels such as 310,220 1440,260 1390,1100"
        ) from None


def outcome_body(outcome: PhotoOutcome) -> dict[str, Any]:
    """Give one photo's line of the log as JSON-able data."""
    card = outcome.card
    return {
        "file": outcome.file,
        "status": outcome.status,
        "reason": outcome.reason or None,
        "cause": outcome.cause or None,
        "warnings": list(outcome.warnings),
        "card": card
        and {
            "kind": card.kind,
            "error_de00": round(card.error_de00, 3),
            "error_worst_de00": round(card.error_worst_de00, 3),
            "absolute": card.absolute,
        },
        "cut_off": outcome.cut_off,
        "scraps": [
            {
                "scrap": scrap.number,
                "fabric": scrap.fabric,
                "outline_in": [[round(x, 4), round(y, 4)] for x, y in scrap.outline.points],
                "holes_in": [
                    [[round(x, 4), round(y, 4)] for x, y in hole] for hole in scrap.outline.holes
                ],
                "outline_error_in": round(scrap.outline.error_in, 4),
                "area_sq_in": round(scrap.outline.area_sq_in, 3),
                "reads_as_lab": [round(value, 2) for value in scrap.appearance.reads_as],
                "colours": [
                    {"lab": [round(value, 2) for value in one.lab], "share": round(one.share, 4)}
                    for one in scrap.appearance.colours
                ],
                "kind": str(scrap.appearance.kind),
                "direction_deg": _rounded(scrap.appearance.direction_deg),
                "grain_deg": _rounded(grain_of(scrap).deg),
                "grain_from": str(grain_of(scrap).told_by),
                "notes": scrap.notes,
                "alike": [
                    {"fabric": one.fabric, "likeness": round(one.likeness, 3)}
                    for one in outcome.alike.get(scrap.number, ())
                ],
            }
            for scrap in outcome.scraps
        ],
    }


def _rounded(degrees: float | None) -> float | None:
    return None if degrees is None else round(degrees, 2)


def say_outcome(outcome: PhotoOutcome) -> None:
    """Print what became of one photo."""
    name = plain_name(Path(outcome.file).name)
    if outcome.status == "refused":
        say(f"{name}: not logged. {outcome.reason}")
        for text in outcome.warnings:
            say(f"  note: {text}")
        return
    card = outcome.card
    colour = f", colours within {card.error_de00:.1f} CIEDE2000" if card else ""
    say(f"{name}: {outcome.status}, {counted(len(outcome.scraps), 'scrap')}{colour}")
    if outcome.alike:
        numbers = ", ".join(f"#{scrap}" for scrap in outcome.alike)
        say(
            f"  {numbers} may be of cloth that is here already; stash twins shows them side by side"
        )
    if outcome.status == "logged":  # later the notes are the quilter's own
        for odd in outcome.scraps:
            if odd.notes:
                say(f"  #{odd.number} {odd.notes}; take it out: stash scrap {odd.number} --delete")
    for text in outcome.warnings:
        say(f"  note: {text}")


def _fabrics_of(store: Any) -> FabricCount:
    from stash.usecases.twins.one_cloth_questions import review  # loads NumPy

    return review(store).count


def _say_summary(outcomes: list[PhotoOutcome], count: FabricCount) -> None:
    by_status = {
        status: [one for one in outcomes if one.status == status]
        for status in ("logged", "already logged", "refused")
    }
    scraps = sum(len(one.scraps) for one in by_status["logged"])
    say(
        f"{counted(len(by_status['logged']), 'photo')} logged ({counted(scraps, 'scrap')}), "
        f"{len(by_status['already logged'])} already there, {len(by_status['refused'])} not logged."
    )
    if scraps or by_status["already logged"]:
        say(f"The stash holds {count}." + (" Look: stash twins" if count.undecided else ""))
    for one in by_status["refused"]:
        warn(f"not logged: {plain_name(one.file)}")


def _offer_no_details(outcomes: list[PhotoOutcome]) -> None:
    """Say once that photos are kept as they came, and what can be done about it."""
    if telling := sum(one.tells_more for one in outcomes):
        say(
            f"{counted(telling, 'photo')} kept with what the file tells of place, time and device. "
            "To take that off: stash details --take-off, and --no-details from the next photo on."
        )
