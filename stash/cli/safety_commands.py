"""Nothing is lost: backup, restore, verify, history, undo, bin."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Home, Json
from stash.errors import HistoryEndError, RecordDamagedError, as_word
from stash.wiring import home_folder, open_store, restore_backup, settle_on_server

if TYPE_CHECKING:
    from stash.usecases.ports import SafeStore

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("backup")(backup)
    app.command("restore")(restore)
    app.command("verify")(verify)
    app.command("export")(export)
    app.command("import")(take_in)
    app.command("history")(history)
    app.command("undo")(undo)
    app.command("redo")(redo)
    app.command("bin")(show_bin)


def backup(
    file: Annotated[Path, typer.Argument(help="The file to write, e.g. stash-backup.zip.")],
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace a file of that name.")
    ] = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Write the whole stash into one file, also while it is in use."""
    report = open_store(home, must_exist=True).backup(str(file), replace=replace)
    if as_json:
        answer = {
            "file": report.file,
            "photos_and_pictures": report.files,
            "missing": list(report.missing),
            "size_bytes": report.size_bytes,
        }
        print_json(answer)
        return
    size = f"{report.size_bytes / 1e6:.1f} MB"
    say(f"Backed up: {report.files} photos and pictures and the database, {size}, in {file}.")
    for what in report.missing:
        say(f"Not in it, because the stash has lost it: {what}.")
    say(f"Bring it back with: stash restore {as_word(file)} --home NEW_FOLDER")


def restore(
    file: Annotated[Path, typer.Argument(help="A file written by stash backup.")],
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Bring a backup back. It goes into an empty folder; nothing is ever overwritten."""
    report = restore_backup(file, home)
    folder = home_folder(home)
    scraps = len(open_store(folder, must_exist=True).scraps())
    if as_json:
        print_json({"home": str(folder), "photos_and_pictures": report.files, "scraps": scraps})
        return
    say(f"Brought back {scraps} scraps, {report.files} photos and pictures, into {folder}.")


def _scrap_count(store: SafeStore) -> int | None:
    """Count the scraps; None where one of them is so damaged that they cannot be listed."""
    try:
        return len(store.scraps())
    except RecordDamagedError:
        return None


def verify(
    mend: Annotated[
        bool, typer.Option("--mend", help="Remove files that nothing refers to any more.")
    ] = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Check database, outlines and photos. Ends with 1 if something is wrong."""
    store = open_store(home, must_exist=True)
    found = store.check(mend=mend)
    problems = [finding for finding in found if finding.kind != "orphan"]
    unused = [finding.subject for finding in found if finding.kind == "orphan"]
    counts = {"photos": len(store.photos()), "scraps": _scrap_count(store)}
    if as_json:
        told = [{"kind": f.kind, "subject": f.subject, "text": f.text} for f in problems]
        print_json({"sound": not problems, **counts, "problems": told, "unused_files": unused})
    else:
        for finding in problems:
            say(finding.text)
        if problems:
            say(f"{len(problems)} thing{'' if len(problems) == 1 else 's'} to look at.")
        else:
            say(f"All is well: {counts['photos']} photos and {counts['scraps']} scraps are sound.")
        if unused:
            say(f"Files that nothing refers to: {len(unused)}; --mend removes them.")
    if problems:
        raise typer.Exit(1)


def export(
    folder: Annotated[Path, typer.Argument(help="A new folder for the files.")],
    with_details: Annotated[
        bool,
        typer.Option("--with-details", help="Keep place, time and device inside the photos."),
    ] = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Write everything as open files. JSON, CSV, photos without place and device."""
    store = open_store(home, must_exist=True)
    report = store.export(str(folder), with_details=with_details)
    if as_json:
        left_out = list(report.missing)
        print_json({"folder": report.file, "files": report.files, "left_out": left_out})
        return
    say(f"Exported into {folder}: stash.json, scraps.csv, {report.files} photos and pictures.")
    for what in report.missing:
        say(f"Left out: {what}.")


def take_in(
    folder: Annotated[Path, typer.Argument(help="A folder written by stash export.")],
    server: Annotated[
        str,
        typer.Option(
            help="Keep the rows on a database server from now on, e.g. "
            "postgresql+psycopg://user@host/name; pictures stay in the stash folder."
        ),
    ] = "",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Bring an exported folder into a stash that holds nothing yet."""
    if server:
        settle_on_server(home, server)
    store = open_store(home)
    report = store.take_in(str(folder))
    scraps = len(store.scraps())
    if as_json:
        missing = list(report.missing)
        print_json({"scraps": scraps, "files": report.files, "missing": missing})
        return
    say(f"Imported {scraps} scraps, {report.files} photos and pictures.")
    for what in report.missing:
        say(f"Not in the export, or changed: {what}.")


def history(
    limit: Annotated[int, typer.Option("--limit", min=1, help="How many, newest first.")] = 30,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Say what was changed when, newest first."""
    lines = open_store(home, must_exist=True).history()[:limit]
    if as_json:
        rows = [{"number": x.number, "at": x.at, "what": x.why, "state": x.state} for x in lines]
        print_json({"changes": rows})
    elif not lines:
        say("Nothing was changed yet.")
    else:
        shown = {"done": "", "undone": "taken back", "final": "cannot be undone"}
        table = [[str(x.number), _local(x.at), x.why, shown[x.state]] for x in lines]
        print_table(["no.", "when", "what", "state"], table)


def _local(at: str) -> str:
    """Give a time of the record as a clock on the wall here showed it."""
    return datetime.fromisoformat(at).astimezone().strftime("%Y-%m-%d %H:%M")


def undo(
    steps: Annotated[int, typer.Argument(min=1, help="How many changes to take back.")] = 1,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Take back the newest change; again for the one before it."""
    store = open_store(home, must_exist=True)
    possible = sum(line.state == "done" for line in store.history())
    if steps > max(possible, 1):
        raise HistoryEndError(
            f"Only {possible} changes can be taken back, not {steps}; nothing was changed. "
            "stash history lists them."
        )
    undone = [store.undo() for _ in range(steps)]
    if as_json:
        print_json({"taken_back": undone})
        return
    for what in undone:
        say(f"Taken back: {what}.")
    say("stash redo does it again, until something else is changed.")


def redo(home: Home = None, as_json: Json = False) -> None:
    """Do again what was taken back last. Possible until something else is changed."""
    done = open_store(home, must_exist=True).redo()
    if as_json:
        print_json({"done_again": done})
    else:
        say(f"Done again: {done}.")


def show_bin(
    empty: Annotated[
        bool, typer.Option("--empty", help="Remove them for good; earlier changes become final.")
    ] = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """List deleted scraps. `stash undo` brings them back until the bin is emptied."""
    store = open_store(home, must_exist=True)
    scraps = store.bin()
    if empty:
        store.empty_bin()
    if as_json:
        print_json({"scraps": [scrap.number for scrap in scraps], "emptied": empty})
    elif not scraps:
        say("The bin is empty.")
    elif empty:
        say(f"Removed {len(scraps)} scraps for good.")
    else:
        numbers = ", ".join(str(scrap.number) for scrap in scraps)
        say(f"Deleted, and brought back by stash undo: {numbers}.")
