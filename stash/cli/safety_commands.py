"""Nothing is lost: backup, restore, verify, history, undo, bin."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Home, Json
from stash.cli.progress import bytes_in, watched_work
from stash.errors import HistoryEndError, RecordDamagedError, as_word
from stash.usecases.ports import Finding
from stash.wiring import (
    check_backup,
    home_folder,
    open_store,
    rebuild_stash,
    restore_backup,
    settle_on_server,
)
from stash.wording import counted

if TYPE_CHECKING:
    from stash.scrap import Scrap
    from stash.usecases.photos.add_photo import PhotoOutcome
    from stash.usecases.ports import RepairReport, SafeStore

__all__ = ["register"]

INCOMPLETE = 3  # done, but something was missing


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("backup")(backup)
    app.command("restore")(restore)
    app.command("verify")(verify)
    app.command("repair")(repair)
    app.command("aside")(aside)
    app.command("details")(details)
    app.command("export")(export)
    app.command("import")(take_in)
    app.command("history")(history)
    app.command("undo")(undo)
    app.command("redo")(redo)
    app.command("bin")(show_bin)


def backup(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FOLDER",
            help="A folder that grows, e.g. stash-backup: only what is new is written "
            "into it. Or one file, e.g. stash-backup.zip, which is written whole each time.",
        ),
    ],
    replace: Annotated[
        bool,
        typer.Option(
            "--replace",
            help="Make a backup of that name anew, in a folder by what is new; the two before it "
            "are kept.",
        ),
    ] = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Back the whole stash up, also while it is in use. Ends with 3 if incomplete."""
    store = open_store(home, must_exist=True)
    with watched_work(
        "Backing up",
        total=lambda: bytes_in(home_folder(home)),
        done=lambda: bytes_in(*file.parent.glob(".backup-*")),
    ):
        report = store.backup(str(file), replace=replace)
    if as_json:
        answer = {
            "file": report.file,
            "photos_and_pictures": report.files,
            "complete": not report.missing,
            "missing": list(report.missing),
            "size_bytes": report.size_bytes,
            "written_bytes": report.written_bytes,
            "photos_with_details": report.telling,
        }
        print_json(answer)
        if report.missing:
            raise typer.Exit(INCOMPLETE)
        return
    size = f"{report.size_bytes / 1e6:.1f} MB"
    if report.written_bytes < report.size_bytes:
        size += f" ({report.written_bytes / 1e6:.1f} MB of it written now)"
    elif replace and file.is_file():
        size += " (all of it written anew; a folder takes only what is new)"
    say(f"Backed up: {report.files} photos and pictures and the database, {size}, in {file}.")
    for what in report.missing:
        say(f"Not in it, because the stash has lost it or it was changed: {what}.")
    if report.telling:
        say(
            f"Photos in it that tell where, when or with what they were taken: {report.telling}. "
            "Take that off for good with: stash details --take-off"
        )
    say(f"Bring it back with: stash restore {as_word(file)} --home NEW_FOLDER")
    if report.missing:
        raise typer.Exit(INCOMPLETE)


def restore(
    file: Annotated[Path, typer.Argument(help="A file or folder written by stash backup.")],
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Bring a backup back. It goes into an empty folder; nothing is ever overwritten."""
    report = restore_backup(file, home)
    folder = home_folder(home)
    scraps = len(open_store(folder, must_exist=True).scraps())
    if as_json:
        answer = {"home": str(folder), "photos_and_pictures": report.files, "scraps": scraps}
        print_json({**answer, "missing": list(report.missing)})
    else:
        say(f"Brought back {scraps} scraps, {report.files} photos and pictures, into {folder}.")
        for what in report.missing:
            say(f"Not in the backup: {what}.")
    if report.missing:
        raise typer.Exit(INCOMPLETE)


def _verify_backup(file: Path, *, as_json: bool) -> None:
    fault = check_backup(None, file)
    if as_json:
        problems = [{"kind": "backup", "subject": str(file), "text": fault}] if fault else []
        print_json({"sound": not fault, "problems": problems})
    else:
        say(fault or f"All is well: {file} is whole.")
    if fault:
        raise typer.Exit(1)


def _scrap_count(store: SafeStore) -> int | None:
    """Count the scraps; None where one of them is so damaged that they cannot be listed."""
    try:
        return len(store.scraps())
    except RecordDamagedError:
        return None


def verify(
    backup: Annotated[
        Optional[Path],
        typer.Option(help="Look at this backup instead (default: also at the last one made)."),
    ] = None,
    mend: Annotated[
        bool, typer.Option("--mend", help="Put files aside that nothing refers to any more.")
    ] = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Check database, outlines, photos and backup. Ends with 1 if something is wrong."""
    if backup is not None:
        _verify_backup(backup, as_json=as_json)
        return
    store = open_store(home, must_exist=True)
    found = store.check(mend=mend)
    problems = [finding for finding in found if finding.kind != "orphan"]
    if of_backup := check_backup(home):
        problems.append(Finding("backup", "", of_backup))
    unused = [finding.subject for finding in found if finding.kind == "orphan"]
    counts = {"photos": len(store.photos()), "scraps": _scrap_count(store)}
    if as_json:
        told = [{"kind": f.kind, "subject": f.subject, "text": f.text} for f in problems]
        print_json({"sound": not problems, **counts, "problems": told, "unused_files": unused})
    else:
        for finding in problems:
            say(finding.text)
        if problems:
            say(f"{counted(len(problems), 'thing')} to look at.")
        else:
            say(f"All is well: {counts['photos']} photos and {counts['scraps']} scraps are sound.")
        if unused:
            say(
                f"Files that nothing refers to: {len(unused)}; `stash repair` logs photos among "
                "them again, --mend puts them aside, and `stash aside` lists them for 30 days."
            )
    if problems:
        raise typer.Exit(1)


def repair(
    backup: Annotated[
        Optional[Path],
        typer.Option(help="Take what is missing from this backup (default: the last one made)."),
    ] = None,
    card: Annotated[
        Optional[str],
        typer.Option(help="The reference card on photos that are measured again."),
    ] = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Make a damaged stash sound again. Rows that can be read, then history, backup, photos."""
    from stash.usecases.photos.repair_stash import log_again  # loads the picture libraries

    report = rebuild_stash(home, backup=backup)
    store = open_store(home, must_exist=True)
    again = list(log_again(store, report.unknown, card=card))
    refused = [one for one in again if one.status == "refused"]
    if as_json:
        answer = {
            "rebuilt": report.rebuilt,
            "old_database": report.aside or None,
            "scraps": len(store.scraps()),
            "scraps_from": dict(report.scraps_from),
            "files_brought_back": list(report.healed),
            "still_lost": list(report.lost),
            "logged_again": [one.file for one in again if one.status != "refused"],
            "not_logged": [{"file": one.file, "reason": one.reason} for one in refused],
        }
        print_json(answer)
    else:
        _say_repaired(report)
        _say_logged_again(again)
        say(f"The stash now holds {len(store.scraps())} scraps. Check it with: stash verify")
    if report.lost or refused:
        raise typer.Exit(INCOMPLETE)


def _say_repaired(report: RepairReport) -> None:
    if report.rebuilt:
        say("The database was made anew.")
        for where, count in report.scraps_from.items():
            say(f"Scraps from {where}: {count}.")
        if report.aside:
            say(f"The old one lies in {report.aside}, kept for 30 days.")
    else:
        say("The database is sound and was left as it is.")
    for what in report.healed:
        say(f"Brought back: {what}.")
    for what in report.lost:
        say(f"Still lost or changed: {what}.")


def _say_logged_again(again: Sequence[PhotoOutcome]) -> None:
    """Say what became of each photo; a reason that many share is said once."""
    of_reason: dict[str, list[str]] = {}
    for one in again:
        if one.status == "refused":
            of_reason.setdefault(one.reason, []).append(one.file)
        else:
            say(f"{one.file}: logged again, {counted(len(one.scraps), 'scrap')}")
    for reason, files in of_reason.items():
        say(f"{', '.join(files)}: not logged. {reason}")


def aside(
    bring_back: Annotated[
        str, typer.Option(help="Put the files of this folder back where they were.", metavar="DATE")
    ] = "",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """List what verify --mend, repair or log put aside. It is kept for 30 days."""
    store = open_store(home, must_exist=True)
    if bring_back:
        count = store.bring_back(bring_back)
        if as_json:
            print_json({"brought_back": count})
        else:
            say(f"Brought back: {counted(count, 'file')}.")
        return
    folders = store.aside()
    if as_json:
        shown = [
            {"date": x.name, "files": list(x.files), "kept_until": x.kept_until} for x in folders
        ]
        print_json({"folders": shown})
    elif not folders:
        say("Nothing is put aside.")
    else:
        rows = [[x.name, str(len(x.files)), x.kept_until] for x in folders]
        print_table(["date", "files", "kept until"], rows)
        say("Put back with: stash aside --bring-back DATE")


def details(
    take_off: Annotated[
        bool, typer.Option("--take-off", help="Take them off for good; pixels stay as they are.")
    ] = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """List the kept photos that tell of place, time or device, and take that off."""
    report = open_store(home, must_exist=True).details(take_off=take_off)
    if as_json:
        answer = {"telling": list(report.telling), "taken_off": report.taken_off}
        print_json({**answer, "kept_whole": list(report.whole), "backups": list(report.backups)})
        return
    if take_off:
        say(f"Taken off: {counted(report.taken_off, 'photo')}.")
    else:
        for name in report.telling:
            say(f"{name} may tell where, when and with what it was taken.")
        if not report.telling:
            say("No kept photo tells more than its picture.")
        else:
            say("Take that off for good with: stash details --take-off")
    for name in report.whole:
        say(f"{name}: nothing can be taken off a file of this kind; it is kept whole.")
    if report.backups and (report.telling or take_off):
        say("Backups made before still hold photos as they were then: back up anew, and delete:")
        for name in report.backups:
            say(f"  {name}")


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
    with watched_work(
        "Exporting", total=lambda: bytes_in(home_folder(home)), done=lambda: bytes_in(folder)
    ):
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
    else:
        say(f"Imported {scraps} scraps, {report.files} photos and pictures.")
        for what in report.missing:
            say(f"Not in the export, or changed: {what}.")
    if report.missing:
        raise typer.Exit(INCOMPLETE)


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


def _photos_of_none_else(store: SafeStore, binned: Sequence[Scrap]) -> list[str]:
    """Name the photos that go with deleted scraps, as no other scrap is of them."""
    going = {scrap.photo for scrap in binned} - {scrap.photo for scrap in store.scraps()}
    return [photo.file_name for photo in store.photos() if photo.sha256 in going]


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
    photos = _photos_of_none_else(store, scraps)
    if empty:
        store.empty_bin()
    if as_json:
        told = [scrap.number for scrap in scraps]
        print_json({"scraps": told, "photos": photos, "emptied": empty})
    elif not scraps:
        say("The bin is empty.")
    elif empty:
        say(f"Removed {counted(len(scraps), 'scrap')} for good.")
        for name in photos:
            say(f"With them went the photo {name}: nothing was left of it.")
    else:
        numbers = ", ".join(str(scrap.number) for scrap in scraps)
        say(f"Deleted, and brought back by stash undo: {numbers}.")
        for name in photos:
            say(f"Emptying takes the photo {name} with them: nothing would be left of it.")
