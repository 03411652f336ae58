"""Start of the ``stash`` command."""

from __future__ import annotations

import errno
import os
import sys

from stash.errors import StashError

__all__ = ["main"]

# Packages that hold libGL, libglib and libxcb, by what installs them.
_SYSTEM_LIBRARIES = (
    "Install it and run the same again: apt-get install libgl1 libglib2.0-0 libxcb1 on Debian and "
    "Ubuntu, dnf install mesa-libGL glib2 libxcb on Fedora."
)

# What a system answers to a name that no file can have.
_NO_NAME = (errno.ENAMETOOLONG, errno.EILSEQ, errno.ELOOP)


def main() -> None:
    """Run the command line; a problem reads as one sentence and ends with exit code 1."""
    # Loaded here: ``import stash.__main__`` stays free.
    from stash.cli.app import read_words
    from stash.cli.plain_text import spell_out
    from stash.cli.settings_file import defaults_for

    spell_out(sys.stdout, sys.stderr)
    os.umask(0o077)  # what is written is this user's alone: photos of a home, what it holds

    # Else scikit-learn counts the processor's cores by programs that bare systems lack, and the
    # library that asks for it prints a warning with a trace.
    os.environ.setdefault("OMP_NUM_THREADS", str(_cores()))
    try:
        words, app = read_words(sys.argv[1:])
        app(words, prog_name="stash", default_map=defaults_for(words))
    except StashError as problem:
        _end(str(problem), 1)
    except KeyboardInterrupt:
        _end("stopped; what was logged is kept.", 130)
    except Exception as fault:
        known = _known_cause(fault)
        if known is None and os.environ.get("STASH_TRACE"):
            raise  # a fault of ours: a tester gets the trace, a quilter a sentence
        _end(
            known
            or f"something went wrong that is no fault of yours ({type(fault).__name__}: {fault}). "
            "What was logged is kept. Run the same with STASH_TRACE=1 to see where it happened.",
            1,
        )


def _cores() -> int:
    may_use = getattr(os, "sched_getaffinity", None)  # Linux alone tells it
    return len(may_use(0)) if may_use else os.cpu_count() or 1


def _known_cause(fault: Exception) -> str | None:
    """Say what lies behind a fault that is the system's or the name's."""
    if isinstance(fault, OSError) and fault.errno in _NO_NAME and fault.filename is not None:
        return f"{str(fault.filename)[:80]}… is no name a file can have ({fault.strerror})."
    if isinstance(fault, ImportError) and ".so" in str(fault):
        library = str(fault).partition(":")[0]
        return f"this system lacks the library {library}, which OpenCV needs. {_SYSTEM_LIBRARIES}"
    return None


def _end(sentence: str, code: int) -> None:
    print(f"stash: {sentence}", file=sys.stderr)  # noqa: T201
    raise SystemExit(code) from None


if __name__ == "__main__":
    main()
