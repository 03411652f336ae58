"""A seeded walk of commands and faults over one stash: what was acknowledged is always there.

A book is kept beside the stash of what it must hold after every step. ``STASH_WALK_STEPS`` walks
further than the few hundred steps of a check, ``STASH_WALK_SEED`` elsewhere.
"""

from __future__ import annotations

import contextlib
import os
import random
import resource
import shutil
import signal
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from stash.errors import NotFoundError, StorageError
from stash.scrap import ScrapState
from stash.storage.sqlite_store import FolderStore
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette, palettes
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilts
from stash.wiring import open_store, restore_backup
from tests.running import run_stash
from tests.storage.made_records import made_photo
from tests.usecases.cloth import NAVY, put

STEPS = int(os.environ.get("STASH_WALK_STEPS", "200"))
SEED = int(os.environ.get("STASH_WALK_SEED", "22"))
MOST_SCRAPS = 60

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills processes it forked")

Seen = tuple[tuple[tuple[int, int, str, str], ...], tuple[str, ...], tuple[str, ...]]


def seen_in(store: FolderStore) -> Seen:
    """Everything the walk changes: scraps with fabric, bin and state; palettes; quilts."""
    scraps = tuple((s.number, s.fabric, s.place, str(s.state)) for s in store.scraps())
    names = tuple(one.name for one in palettes(store))
    return scraps, tuple(sorted(names)), tuple(sorted(one.name for one in quilts(store)))


@dataclass
class Walk:
    """One stash, what it must hold, and what can be taken back."""

    home: Path
    rng: random.Random
    store: FolderStore = field(init=False)
    book: Seen = ((), (), ())
    past: list[Seen] = field(default_factory=list)
    future: list[Seen] = field(default_factory=list)
    photos: list[int] = field(default_factory=list)
    number: int = 0

    def __post_init__(self) -> None:
        self.store = open_store(self.home)

    def note(self) -> None:
        """Write down what was acknowledged just now."""
        now = seen_in(self.store)
        self.past.append(self.book)
        self.future.clear()
        self.book = now

    def some(self) -> int | None:
        """Choose a scrap."""
        numbers = [scrap[0] for scrap in self.book[0]]
        return self.rng.choice(numbers) if numbers else None

    # Commands.

    def add(self) -> None:
        before = len(self.book[0])
        put(self.store, NAVY, (5.0, 5.0), place=self.rng.choice(("tin", "drawer", "")))
        self.note()
        assert len(self.book[0]) == before + 1

    def log(self) -> None:
        before = len(self.book[0])
        self.number += 1
        self.store.log_photo(made_photo(self.number, scraps=2, size=500))
        self.photos.append(self.number)
        # A photo stays logged, its scraps are cut off from what could be taken back before.
        self.book, self.past, self.future = seen_in(self.store), [], []
        assert len(self.book[0]) == before + 2

    def log_again(self) -> None:
        if self.photos:
            again = made_photo(self.rng.choice(self.photos), scraps=2, size=500)
            self.store.log_photo(again)

    def move(self) -> None:
        if (number := self.some()) is not None:
            scrap = self.store.scrap(number)
            place = f"bin {self.rng.random():.6f}"
            self.store.change_scrap(replace(scrap, place=place), seen=scrap, why="moved")
            self.note()
            assert self.store.scrap(number).place == place

    def cut_up(self) -> None:
        if (number := self.some()) is not None:
            scrap = self.store.scrap(number)
            if scrap.state is not ScrapState.CUT_UP:
                gone = replace(scrap, state=ScrapState.CUT_UP)
                self.store.change_scrap(gone, seen=scrap, why="cut")
                self.note()

    def drop(self) -> None:
        if (number := self.some()) is not None:
            self.store.delete_scrap(number, why="dropped")
            self.note()
            assert number not in [scrap[0] for scrap in self.book[0]]

    def join(self) -> None:
        fabrics = sorted({scrap[1] for scrap in self.book[0]})
        if len(fabrics) > 1:
            keep, other = self.rng.sample(fabrics, 2)
            self.store.join_fabrics(keep, other, why="joined")
            self.note()
            assert other not in {scrap[1] for scrap in self.book[0]}

    def plan(self) -> None:
        self.number += 1
        make_palette(self.store, PaletteRequest(f"p{self.number}", words="blues"))
        self.note()
        make_quilt(
            self.store, QuiltRequest(f"q{self.number}", "square", "4", rows=1, across=2)
        )  # fmt: skip
        self.note()

    def typed(self) -> None:
        """A whole command, in a process of its own beside this open store."""
        if (number := self.some()) is not None:
            place = f"box {self.rng.random():.6f}"
            done = run_stash("scrap", number, "--bin", place, home=self.home)
            assert done.returncode == 0, done.stderr
            self.note()
            assert self.store.scrap(number).place == place

    def empty(self) -> None:
        """Deleted scraps are gone for good; all that is not deleted stays."""
        self.store.empty_bin()
        self.past, self.future = [], []
        # A photo of which nothing was left went too: logged again it would be new.
        kept = {photo.file_name for photo in self.store.photos()}
        self.photos = [number for number in self.photos if f"table {number}.jpg" in kept]
        assert self.store.bin() == ()

    def thin(self) -> None:
        """Give many away, so that a long walk is not one through an ever larger stash."""
        while len(self.book[0]) > MOST_SCRAPS:
            self.drop()

    def undo(self) -> None:
        if self.past:
            self.store.undo()
            self.future.append(self.book)
            self.book = self.past.pop()

    def redo(self) -> None:
        if self.future:
            self.store.redo()
            self.past.append(self.book)
            self.book = self.future.pop()

    # Faults.

    def reopen(self) -> None:
        """Go away without a word and come back."""
        self.store = open_store(self.home)

    def kill(self) -> None:
        """Kill a process while it adds scraps; what it had acknowledged by then is there."""
        before = len(self.store.scraps())
        self.store.database.close()
        told, tell = os.pipe()
        child = os.fork()
        if child == 0:
            with contextlib.suppress(BaseException):
                store = open_store(self.home)
                for _ in range(50):
                    put(store, NAVY, (5.0, 5.0))
                    os.write(tell, b".")
            os._exit(0)
        os.close(tell)
        os.read(told, 1)
        time.sleep(self.rng.uniform(0, 0.05))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        acknowledged = 1
        while more := os.read(told, 100):
            acknowledged += len(more)
        os.close(told)
        self.reopen()
        now = seen_in(self.store)
        # At most the one it was about to acknowledge is there besides.
        assert acknowledged <= len(now[0]) - before <= acknowledged + 1
        self.book, self.past, self.future = now, [], []

    def no_room(self) -> None:
        """Nothing can be written; that is told, and nothing is changed by it."""
        limits = resource.getrlimit(resource.RLIMIT_FSIZE)
        try:
            resource.setrlimit(resource.RLIMIT_FSIZE, (256, limits[1]))
            with pytest.raises(StorageError):
                self.store.log_photo(made_photo(-1 - self.number, scraps=1, size=5000))
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)

    def replaced(self) -> None:
        """Another stash is put in its place; it is neither read as this one nor written."""
        self.store.scraps()
        kept = self.home.with_name("kept")
        self.home.rename(kept)
        other = open_store(self.home)
        put(other, NAVY, (5.0, 5.0))
        foreign = seen_in(other)
        other.database.close()
        with pytest.raises(StorageError):
            put(self.store, NAVY, (5.0, 5.0))
        assert seen_in(open_store(self.home)) == foreign
        shutil.rmtree(self.home)
        kept.rename(self.home)
        self.reopen()

    def lost(self) -> None:
        """The database is gone; no new one is begun in its place while photos lie there."""
        if not self.photos:
            return
        self.store.database.close()
        taken = {path: path.with_name(f"kept-{path.name}") for path in self.home.glob("stash.db*")}
        for path, kept in taken.items():
            path.rename(kept)
        with pytest.raises(StorageError):
            put(open_store(self.home), NAVY, (5.0, 5.0))
        for path, kept in taken.items():
            path.unlink(missing_ok=True)
            kept.rename(path)
        self.reopen()

    def backup(self) -> None:
        """A backup, brought back elsewhere, holds what this stash holds."""
        file, other = self.home.with_name("kept.zip"), self.home.with_name("brought back")
        self.store.backup(str(file), replace=True)
        restore_backup(file, other)
        assert seen_in(open_store(other)) == self.book
        shutil.rmtree(other)

    def look(self) -> None:
        """Nothing is found amiss, and mending takes nothing away."""
        assert [one.text for one in self.store.check()] == []
        self.store.check(mend=True)


STEP: dict[Callable[[Walk], None], int] = {
    Walk.add: 14, Walk.log: 8, Walk.log_again: 3, Walk.move: 14, Walk.cut_up: 4, Walk.drop: 8,
    Walk.join: 6, Walk.plan: 4, Walk.undo: 14, Walk.redo: 8, Walk.reopen: 5, Walk.kill: 2,
    Walk.no_room: 4, Walk.replaced: 2, Walk.lost: 2, Walk.backup: 1, Walk.look: 2, Walk.typed: 2,
    Walk.empty: 1, Walk.thin: 3,
}  # fmt: skip


def steps(rng: random.Random) -> Iterator[Callable[[Walk], None]]:
    """Every kind of step once, then by their weights."""
    yield from STEP
    yield from rng.choices(list(STEP), list(STEP.values()), k=max(0, STEPS - len(STEP)))


def test_a_walk_of_commands_and_faults_loses_nothing_acknowledged(tmp_path: Path) -> None:
    rng = random.Random(SEED)
    walk, done = Walk(tmp_path / "stash", rng), Counter[str]()
    for number, step in enumerate(steps(rng), 1):
        step(walk)
        done[step.__name__] += 1
        assert seen_in(walk.store) == walk.book, f"step {number}, {step.__name__}, seed {SEED}"
    assert len(done) == len(STEP)
    assert [one.text for one in walk.store.check()] == []
    with contextlib.suppress(NotFoundError):
        while walk.past:
            walk.undo()
            assert seen_in(walk.store) == walk.book
