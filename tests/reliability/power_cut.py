"""What a disk may hold after a power cut: every moment of a command, under several losses.

Debian's ``strace`` records the system calls by which a real ``stash`` changes files. A model of a
disk plays them up to each of them in turn and leaves out what nothing had yet made sure of:

- ``kill``: the process ends, the system lives on: all calls so far count.
- ``flushed``: only what was flushed: bytes by a flush of their file, names by one of their folder.
- ``names``: the names of all calls, of the bytes only those flushed (a renamed file is empty).
- ``bytes``: the bytes of all calls, of the names only those flushed.
- ``torn``: some of what was not flushed, drawn by seed: names up to any of them, each sector of 512
  bytes for itself.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LOSSES = ("kill", "flushed", "names", "bytes", "torn")
_SECTOR = 512
_CALLS = (
    "open,openat,creat,write,writev,pwrite64,pwritev,lseek,ftruncate,truncate,fallocate,rename,"
    "renameat,renameat2,link,linkat,symlink,symlinkat,unlink,unlinkat,rmdir,mkdir,mkdirat,fsync,"
    "fdatasync,sendfile,copy_file_range"
)
_LINE = re.compile(r"(\d+) +(\w+)\((.*)\) += (-?\d+)")
_HALF = re.compile(r"(\d+) +(.*) <unfinished \.\.\.>$")
_REST = re.compile(r"(\d+) +<\.\.\. \w+ resumed>(.*)$")
_MODEL_IGNORES = ("-shm",)  # shared memory of living processes: made anew by whoever opens


class NotRecordableError(Exception):
    """This system lets nobody record system calls; says why."""


@dataclass(frozen=True)
class Call:
    """One change of one file or folder, paths below the watched folder."""

    what: str  # make, write, cut, flush, rename, link, remove, folder, said
    path: str = ""
    other: str = ""
    at: int = 0
    data: bytes = b""


def record(words: list[str], watched: Path, log: Path) -> tuple[list[Call], str]:
    """Run ``stash`` with these words and give the changes it made, and what it said.

    Raises
    ------
    NotRecordableError
        If ``strace`` is not there or may not be used.
    """
    strace = shutil.which("strace")
    if strace is None:
        raise NotRecordableError("strace is not installed")
    command = [
        strace, "-f", "-y", "-xx", "-s", "100000000", "--seccomp-bpf", "-e", f"trace={_CALLS}",
        "-o", str(log), sys.executable, "-m", "stash", *words,
    ]  # fmt: skip
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"}
    done = subprocess.run(
        command, capture_output=True, text=True, env=environment, check=False, cwd=watched
    )
    if "ptrace" in done.stderr or not log.exists():
        raise NotRecordableError(f"strace may not be used here: {done.stderr[-200:]}")
    if done.returncode not in (0, 3):
        raise AssertionError(f"{words} ended with {done.returncode}: {done.stderr}")
    return list(_calls(log, watched)), done.stdout


def _calls(log: Path, watched: Path) -> Iterator[Call]:
    halves: dict[str, str] = {}
    reader = _Reader(watched)
    with log.open(encoding="ascii") as lines:
        for line in lines:
            if half := _HALF.match(line.rstrip("\n")):
                halves[half[1]] = half[2]
                continue
            rest = _REST.match(line)
            whole = line if rest is None else f"{rest[1]} {halves.pop(rest[1])}{rest[2]}"
            if found := _LINE.match(whole):
                _, name, words, result = found.groups()
                if int(result) >= 0:
                    yield from reader.read(name, words.split(", "), int(result), whole)


def _text(word: str) -> str:
    return os.fsdecode(_bytes(word))


def _bytes(word: str) -> bytes:
    inside = word[word.index('"') + 1 : word.rindex('"')]
    if word.endswith("..."):
        raise AssertionError("more was written than was recorded")
    return bytes.fromhex(inside.replace("\\x", ""))


class _Reader:
    """Turns lines of system calls into changes below the watched folder."""

    def __init__(self, watched: Path) -> None:
        self._watched = f"{watched}/"
        self._place: dict[str, int] = {}  # where the next write of a handle goes

    def _inside(self, path: str) -> str | None:
        path = os.path.normpath(path.removesuffix(" (deleted)"))
        if path == self._watched[:-1]:
            return ""
        if not path.startswith(self._watched) or path.endswith(_MODEL_IGNORES):
            return None
        return path.removeprefix(self._watched)

    def _named(self, handle: str) -> str:
        """Give the path that belongs to a handle such as ``3</a/b>``."""
        shown = handle[handle.index("<") + 1 : handle.rindex(">")] if "<" in handle else ""
        return os.fsdecode(bytes.fromhex(shown.replace("\\x", ""))) if "\\x" in shown else shown

    def _joined(self, folder: str, word: str) -> str | None:
        return self._inside(str(Path(self._named(folder), _text(word))))

    def _path(self, word: str) -> str | None:
        return self._inside(str(Path(self._watched, _text(word))))

    def read(self, name: str, words: list[str], result: int, line: str) -> Iterator[Call]:
        if name == "write" and words[0].startswith("1<"):
            yield Call("said", data=_bytes(words[1]))
        elif name in ("open", "openat", "creat"):
            yield from self._open(name, words, line)
        elif name in ("write", "pwrite64", "ftruncate", "lseek", "fsync", "fdatasync"):
            path = self._inside(self._named(words[0]))
            if path is not None:
                yield from self._on_handle(name, words, result, path)
        elif name in ("writev", "pwritev", "sendfile", "copy_file_range", "fallocate", "truncate"):
            handle = words[0] if name != "copy_file_range" else words[2]
            if "<" in handle and self._inside(self._named(handle)):
                raise AssertionError(f"the model does not know {name}")
        else:
            yield from self._on_names(name, words)

    def _open(self, name: str, words: list[str], line: str) -> Iterator[Call]:
        path = self._path(words[0]) if name != "openat" else self._joined(words[0], words[1])
        flags = words[1] if name == "open" else words[2] if name == "openat" else "O_CREAT|O_TRUNC"
        opened = line.rsplit(" = ", 1)[1].strip()
        if "O_TMPFILE" in flags:
            path = self._inside(self._named(opened))
            if path is not None:
                yield Call("make", path, other="nameless")
        elif path is not None and "O_CREAT" in flags:
            yield Call("make", path)
        if path is not None and "O_TRUNC" in flags:
            yield Call("cut", path, at=0)
        self._place[opened.split("<")[0]] = -1 if "O_APPEND" in flags else 0

    def _on_handle(self, name: str, words: list[str], result: int, path: str) -> Iterator[Call]:
        handle = words[0].split("<")[0]
        if name in ("fsync", "fdatasync"):
            yield Call("flush", path)
        elif name == "ftruncate":
            yield Call("cut", path, at=int(words[1]))
        elif name == "lseek":
            self._place[handle] = result
        elif name == "pwrite64":
            yield Call("write", path, at=int(words[3]), data=_bytes(words[1])[:result])
        else:
            place = self._place.get(handle, 0)
            yield Call("write", path, at=place, data=_bytes(words[1])[:result])
            if place >= 0:
                self._place[handle] = place + result

    def _on_names(self, name: str, words: list[str]) -> Iterator[Call]:
        if name in ("rename", "link", "symlink"):
            one, other = self._path(words[0]), self._path(words[1])
        elif name in ("renameat", "renameat2", "linkat"):
            by_handle = _text(words[1]).startswith("/proc/self/fd/")
            one = (
                self._inside(self._named(words[0])) if by_handle
                else self._joined(words[0], words[1])
            )  # fmt: skip
            other = self._joined(words[2], words[3])
        else:
            at = name.endswith("at")
            one, other = (self._joined(words[0], words[1]) if at else self._path(words[0])), None
        if name.startswith("mkdir") and one is not None:
            yield Call("folder", one)
        elif name.startswith(("unlink", "rmdir")) and one is not None:
            yield Call("remove", one)
        elif name.startswith("rename") and (one is not None or other is not None):
            yield Call("rename", one or "", other or "")
        elif name.startswith("link") and other is not None:
            yield Call("link", one or "", other)


@dataclass
class _File:
    """A file by its bytes: as they are, as they were flushed, and what was written since."""

    now: bytearray = field(default_factory=bytearray)
    flushed: bytes = b""
    since: list[Call] = field(default_factory=list)

    def change(self, call: Call) -> None:
        _change(self.now, call)
        self.since.append(call)

    def flush(self) -> None:
        self.flushed, self.since = bytes(self.now), []

    def torn(self, rng: random.Random) -> bytes:
        """Give the flushed bytes with some of the sectors written since."""
        left = bytearray(self.flushed)
        for call in self.since:
            if call.what == "cut":
                if rng.random() < 0.5:
                    _change(left, call)
                continue
            for start in range(0, len(call.data), _SECTOR):
                if rng.random() < 0.6:
                    piece = call.data[start : start + _SECTOR]
                    _change(left, Call("write", at=call.at + start, data=piece))
        return bytes(left)


def _change(data: bytearray, call: Call) -> None:
    if call.what == "cut":
        del data[call.at :]
        data.extend(bytes(call.at - len(data)))
        return
    at = len(data) if call.at < 0 else call.at
    data.extend(bytes(max(0, at - len(data))))
    data[at : at + len(call.data)] = call.data


_Entries = dict[str, "_File | _Folder"]


@dataclass
class _Folder:
    """A folder by its names: as they are, as they were flushed, and each step since."""

    now: _Entries = field(default_factory=dict)
    flushed: _Entries = field(default_factory=dict)
    since: list[_Entries] = field(default_factory=list)

    def changed(self) -> None:
        self.since.append(dict(self.now))

    def flush(self) -> None:
        self.flushed, self.since = dict(self.now), []


class Disk:
    """A folder and everything below it, on a disk that may lose what was not flushed."""

    def __init__(self, watched: Path) -> None:
        self.top = _read_in(watched)
        self._nameless: dict[str, _File] = {}

    def _folder(self, path: str) -> tuple[_Folder, str]:
        at = self.top
        *above, name = path.split("/")
        for one in above:
            inner = at.now[one]
            assert isinstance(inner, _Folder), path
            at = inner
        return at, name

    def _at(self, path: str) -> _File | _Folder | None:
        if not path:
            return self.top
        if path in self._nameless:
            return self._nameless[path]
        folder, name = self._folder(path)
        return folder.now.get(name)

    def do(self, call: Call) -> None:
        """Play one change."""
        if call.what == "make" and call.other:
            self._nameless[call.path] = _File()
        elif call.what in ("make", "folder"):
            folder, name = self._folder(call.path)
            if name not in folder.now:
                folder.now[name] = _File() if call.what == "make" else _Folder()
                folder.changed()
        elif call.what in ("write", "cut", "flush"):
            self._on_bytes(call)
        elif call.what == "remove":
            self._take(call.path)
        elif call.what in ("rename", "link"):
            there = self._at(call.path)
            if call.what == "rename":
                self._take(call.path)
            if call.other and there is not None:
                folder, name = self._folder(call.other)
                folder.now[name] = there
                folder.changed()

    def _on_bytes(self, call: Call) -> None:
        there = self._at(call.path)
        if call.what == "flush" and there is not None:
            there.flush()
        elif isinstance(there, _File):
            there.change(call)
        # What is written to a file that was removed stands nowhere.

    def _take(self, path: str) -> None:
        if path:
            folder, name = self._folder(path)
            folder.now.pop(name, None)
            folder.changed()

    def left(self, loss: str, seed: int) -> dict[str, bytes | None]:
        """Give what is there after a power cut now: bytes by path, None for a folder."""
        return dict(_left(self.top, "", loss, random.Random(seed)))


def _left(
    folder: _Folder, path: str, loss: str, rng: random.Random
) -> Iterator[tuple[str, bytes | None]]:
    if loss in ("kill", "names"):
        names = folder.now
    elif loss == "torn":
        names = rng.choice([folder.flushed, *folder.since])
    else:
        names = folder.flushed
    for name, there in sorted(names.items()):
        at = f"{path}{name}"
        if isinstance(there, _Folder):
            yield at, None
            yield from _left(there, f"{at}/", loss, rng)
        elif loss == "torn":
            yield at, there.torn(rng)
        else:
            yield at, bytes(there.now) if loss in ("kill", "bytes") else there.flushed


def _read_in(place: Path) -> _Folder:
    folder = _Folder()
    for path in place.iterdir():
        if path.is_dir():
            folder.now[path.name] = _read_in(path)
        elif not path.name.endswith(_MODEL_IGNORES):
            data = path.read_bytes()
            folder.now[path.name] = _File(bytearray(data), data)
    folder.flushed = dict(folder.now)
    return folder


def lay_out(left: dict[str, bytes | None], place: Path) -> None:
    """Put files where they would be found after the cut."""
    for path, data in left.items():
        at = place / path
        if data is None:
            at.mkdir(mode=0o700)
        else:
            at.write_bytes(data)
