"""Flips random bits in a stash and its backup and counts those that ``stash verify`` does not see.

Run as ``python tests/reliability/flip_bits.py --flips 10000``, with ``--folder`` for a backup that
is a folder of three generations; prints one JSON line and ends with 1 if a single flip passes. A
flip is one bit of one byte, drawn evenly over all bytes of the database, the photos and pictures,
the note beside the database and the backup. With ``--killed`` the database has no note, as after a
kill; then what lies between the rows can change unseen, and what a person would be told is compared
instead.
"""

from __future__ import annotations

import argparse
import json
import random
import tempfile
from dataclasses import replace
from pathlib import Path

from stash.errors import StashError
from stash.storage.open_format import dump
from stash.storage.seal import SEAL
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import Document, SizeKey
from stash.wiring import check_backup, open_store
from tests.storage.made_records import made_photo


def make_stash(home: Path, backup: Path) -> None:
    """Log, correct, delete, name, take back: rows in every table, and freed room in the file."""
    store = open_store(home)
    for seed in range(6):
        store.log_photo(made_photo(seed, size=3_000))
    scrap = store.scrap(4)
    store.change_scrap(replace(scrap, notes="frays " * 900), seen=scrap, why="noted")
    scrap = store.scrap(4)
    store.change_scrap(replace(scrap, notes="frays"), seen=scrap, why="noted less")
    store.keep_document(
        Document("palette", "sea", {"name": "sea", "without": ["pink"]}), why="palette"
    )
    store.keep_largest_sizes(SizeKey("square", "any"), {1: 2.5, 7: 4.0})
    store.delete_scrap(5, why="lost")
    store.undo()
    for turn in range(3 if backup.suffix == "" else 1):
        store.log_photo(made_photo(10 + turn, scraps=1, size=3_000))
        store.backup(str(backup), replace=True)
    store.database.close()


def is_seen(home: Path, *, in_backup: bool = False) -> bool:
    """Whether ``verify``, which looks at the stash and at its last backup, finds anything.

    Where the backup alone was changed the stash, sound as it is, would say nothing.
    """
    if in_backup:
        return bool(check_backup(home))
    store: FolderStore | None = None
    try:
        store = open_store(home, must_exist=True)
        found = [one for one in store.check() if one.kind != "orphan"]
        return bool(found) or bool(check_backup(home))
    except StashError:
        return True
    finally:
        if store is not None:
            store.database.close()


def _said(home: Path) -> str:
    """Give all that the records say."""
    store = open_store(home)
    try:
        with store.database.reading() as connection:
            return json.dumps(dump(connection))
    finally:
        store.database.close()


def flip_many(
    flips: int, *, seed: int, killed: bool = False, folder: bool = False
) -> dict[str, object]:
    """Flip one bit at a time, each put back again; gives the tally."""
    rng = random.Random(seed)
    unseen: list[str] = []
    by_kind: dict[str, int] = {}
    with tempfile.TemporaryDirectory(prefix="stash-flips-") as place:
        home = Path(place) / "stash"
        backup = home.parent / ("kept" if folder else "kept.zip")
        make_stash(home, backup)
        if killed:
            (home / SEAL).unlink()
        files = [home / "stash.db", *sorted(home.glob("p*/*"))]
        in_backup = sorted(backup.rglob("stash.zip*")) + sorted(backup.glob("files/*"))
        files += [] if killed else [home / SEAL, *(in_backup if folder else [backup])]
        if is_seen(home):
            raise RuntimeError("the stash is not sound before the first flip")
        said = _said(home)
        whole = {path: path.read_bytes() for path in files}
        sizes = [len(whole[path]) for path in files]
        for _ in range(flips):
            path = rng.choices(files, sizes)[0]
            at, bit = rng.randrange(len(whole[path])), rng.randrange(8)
            data = bytearray(whole[path])
            data[at] ^= 1 << bit
            path.write_bytes(data)
            is_backup = backup in (path, *path.parents)
            where = "backup" if is_backup else path.suffix
            by_kind[where] = by_kind.get(where, 0) + 1
            # Without the note, what lies between the rows may change: it says nothing.
            if not is_seen(home, in_backup=is_backup) and not (killed and _said(home) == said):
                unseen.append(f"{path.name} byte {at} bit {bit}")
            for there in home.glob("stash.db-*"):
                there.unlink()
            path.write_bytes(whole[path])
            (home / "stash.db").write_bytes(whole[home / "stash.db"])
    return {"flips": flips, "in": by_kind, "unseen": len(unseen), "which": unseen[:20]}


def main() -> None:
    """Run from the command line."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--flips", type=int, default=200)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--killed", action="store_true")
    options.add_argument("--folder", action="store_true")
    given = options.parse_args()
    tally = flip_many(given.flips, seed=given.seed, killed=given.killed, folder=given.folder)
    print(json.dumps(tally))
    raise SystemExit(1 if tally["unseen"] else 0)


if __name__ == "__main__":
    main()
