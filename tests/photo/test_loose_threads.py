"""A thread beside an edge is taken off, and so is what was closed between; the print stays."""

from __future__ import annotations

import numpy as np

from stash.photo.table.loose_threads import loose_threads, without_threads
from stash.photo.table.true_shape import Look

STEP = 60.0  # pixels an inch
NAVY, GREY, RED = (25.0, 5.0, -30.0), (60.0, 0.0, 0.0), (50.0, 60.0, 40.0)


def scene(ink: tuple[float, float, float]) -> tuple[np.ndarray, np.ndarray, np.ndarray, Look]:
    """A 3 inch square of navy dotted with red; a thread leaves it and runs along its right edge.

    Returns the cloth, the thread, what finding made of both, and the look.
    """
    lab = np.full((300, 300, 3), GREY, dtype=np.float32)
    cloth, thread = np.zeros((2, 300, 300), dtype=bool)
    cloth[60:240, 60:240] = True
    lab[cloth] = NAVY
    for row in range(75, 240, 30):
        lab[row : row + 9, 75:230:30] = lab[row : row + 9, 80:230:30] = RED
    thread[100:103, 240:250] = thread[100:140, 247:250] = True
    lab[thread] = ink
    part = cloth | thread
    part[100:140, 240:250] = True  # the gap between was closed
    return cloth, thread, part, Look(cloth | thread, cloth | thread, lab)


def test_a_thread_of_another_colour_goes_with_all_it_had_bridged() -> None:
    cloth, thread, part, look = scene(ink=(70.0, -40.0, 40.0))
    loose = loose_threads(part, look, STEP)
    assert (loose & ~thread).sum() == 0 and (thread & ~loose).sum() < 0.2 * thread.sum()
    kept = without_threads(part, loose, look.bold, STEP)
    assert (kept & cloth).sum() == cloth.sum()
    assert not kept[:, 245:].any()  # a stub shorter than a tenth of an inch may stay


def test_what_has_the_colours_of_the_print_is_no_thread() -> None:
    _, _, part, look = scene(ink=RED)
    assert not loose_threads(part, look, STEP).any()
