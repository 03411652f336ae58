"""Lets OpenCV load on a Linux that has no window system.

OpenCV's own wheel draws windows with Qt, so its file asks the system for four libraries of the
desktop that a server, a container or a notebook does not have. Nothing here opens a window: where
one of them is missing, an empty library of that name is lent to the process. The linker looks a
library up by its name among those already loaded (System V ABI, Dynamic Linking, "Shared Object
Dependencies"), so OpenCV then loads; were a window ever asked for, it would fail as it must.

Where the real library is there it is used, and nothing is lent.
"""

from __future__ import annotations

import ctypes
import importlib.util
import os
import platform
import re
import struct
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path

__all__ = ["WINDOW_LIBRARIES", "empty_library", "lend_missing"]

# The libraries, which of the wheel's own files want names of each, and what those look like.
WINDOW_LIBRARIES = {
    "libxcb.so.1": (("libx", "libavdevice"), re.compile(rb"\0(xcb_\w+)(?=\0)")),
    "libGL.so.1": (("libQt",), re.compile(rb"\0(gl[A-Z]\w+)(?=\0)")),
    "libglib-2.0.so.0": (("libQt5Core",), re.compile(rb"\0(g_\w+)(?=\0)")),
    "libgthread-2.0.so.0": (("libQt5Core",), re.compile(rb"\0(g_thread_\w+)(?=\0)")),
}
# ELF machine number and a function that answers 0: "xor eax, eax; ret" and "mov x0, #0; ret".
_MACHINES = {
    "x86_64": (62, b"\x31\xc0\xc3"),
    "aarch64": (183, b"\x00\x00\x80\xd2\xc0\x03\x5f\xd6"),
}
_PAGE = 0x10000  # the largest page Linux uses on these machines
_HEADERS = 64 + 3 * 56  # of the file and of its segments


def lend_missing() -> tuple[str, ...]:
    """Lend this process the window libraries it cannot load; gives their names.

    Where that is not possible nothing is done, and OpenCV says itself what it misses.
    """
    if platform.machine() not in _MACHINES:
        return ()
    missing = [name for name in WINDOW_LIBRARIES if not _loads(name)]
    with ExitStack() as held:  # all until the end: a number used again is the library before
        return tuple(name for name in missing if _loads(_in_memory(name, held)))


def _loads(name: str) -> bool:
    try:
        ctypes.CDLL(name)
    except OSError:
        return False
    return True


def _in_memory(name: str, held: ExitStack) -> str:
    """Write the empty library into memory; gives a path to it, or none that loads."""
    try:
        handle = os.memfd_create(name)
    except OSError:
        return "/"
    held.callback(os.close, handle)
    os.write(handle, empty_library(name, _names_wanted(name), platform.machine()))
    return f"/proc/self/fd/{handle}"


def _names_wanted(library: str) -> list[bytes]:
    """Give the names that OpenCV's files want of a library; Python has all of them looked up."""
    spec = importlib.util.find_spec("cv2")
    if spec is None or spec.origin is None:
        return []
    starts, pattern = WINDOW_LIBRARIES[library]
    names: set[bytes] = set()
    for file in (Path(spec.origin).parents[1] / "opencv_python.libs").glob("lib*"):
        if file.name.startswith(starts):
            names.update(pattern.findall(file.read_bytes()))
    return sorted(names)


def empty_library(name: str, functions: Sequence[bytes], machine: str) -> bytes:
    """Build a 64-bit ELF library of a name whose functions all answer 0.

    Layout and numbers: System V ABI, "Object Files" and "Dynamic Linking". One segment holds
    tables and code, a second, writable one the dynamic section, which the linker fills in.

    Parameters
    ----------
    name : str
        The name it is looked up by, such as ``libGL.so.1``.
    functions : sequence of bytes
        What it defines.
    machine : str
        "x86_64" or "aarch64".
    """
    number, code = _MACHINES[machine]
    strings = b"\0".join([b"", name.encode(), *functions, b""])
    hashes = _hash_table(len(functions))
    symbols_at = _HEADERS + 16  # after the code
    hash_at = symbols_at + 24 * (len(functions) + 1)
    strings_at = hash_at + len(hashes)
    end = strings_at + len(strings)
    dynamic_at = -(-end // _PAGE) * _PAGE
    dynamic = struct.pack(
        "<14Q",
        14, 1,  # DT_SONAME: the first of the strings
        4, hash_at, 5, strings_at, 6, symbols_at,  # DT_HASH, DT_STRTAB, DT_SYMTAB
        10, len(strings), 11, 24,  # DT_STRSZ, DT_SYMENT
        0, 0,
    )  # fmt: skip
    tables = b"".join([
        _file_header(number),
        _segment(1, 5, 0, end),  # PT_LOAD, read and run
        _segment(1, 6, dynamic_at, len(dynamic)),  # PT_LOAD, read and write
        _segment(2, 6, dynamic_at, len(dynamic)),  # PT_DYNAMIC
        code.ljust(16, b"\0"),
        _symbols(functions, first_at=len(name) + 2),
        hashes,
        strings,
    ])  # fmt: skip
    return tables.ljust(dynamic_at, b"\0") + dynamic


def _file_header(machine: int) -> bytes:
    fields = (3, machine, 1, 0, 64, 0, 0, 64, 56, 3, 0, 0, 0)  # a shared object, three segments
    return b"\x7fELF\x02\x01\x01" + bytes(9) + struct.pack("<HHIQQQIHHHHHH", *fields)


def _segment(kind: int, rights: int, at: int, size: int) -> bytes:
    return struct.pack("<IIQQQQQQ", kind, rights, at, at, at, size, size, _PAGE)


def _symbols(functions: Sequence[bytes], *, first_at: int) -> bytes:
    table, at = bytes(24), first_at
    for name in functions:  # 0x12: global, a function; all of them are the code after the headers
        table += struct.pack("<IBBHQQ", at, 0x12, 0, 1, _HEADERS, 16)
        at += len(name) + 1
    return table


def _hash_table(functions: int) -> bytes:
    """Chain all names in one bucket: their hashes need not be known then."""
    chain = [0, *range(2, functions + 1), 0][: functions + 1]
    words = [1, functions + 1, min(1, functions), *chain]
    return struct.pack(f"<{len(words)}I", *words)
