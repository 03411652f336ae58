"""What the solver's library prints of its own stays out of a command's answer."""

from __future__ import annotations

import ctypes
from typing import Any

import pytest
import scipy.optimize

from stash.quilt.program import Program


def test_a_line_of_the_solver_goes_to_standard_error(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    solve = scipy.optimize.milp

    def talking(*given: Any, **more: Any) -> Any:
        ctypes.CDLL(None).puts(b"tmpSolver.run();")  # held back by the C library, as HiGHS's are
        return solve(*given, **more)

    monkeypatch.setattr(scipy.optimize, "milp", talking)
    print("before", flush=True)
    asked = Program()
    asked.add_row({asked.add_variable(5.0, cost=1.0): 2.0}, 3.0, 9.0)
    best, gap = asked.solve()
    print("after", flush=True)
    assert (best is not None and best.tolist(), gap) == ([2.0], 0.0)
    said = capfd.readouterr()
    assert said.out.split() == ["before", "after"]
    assert "tmpSolver" in said.err
