"""What a command does without: pyarrow and pyogrio load pandas and GeoPandas wherever these are installed.

Neither needs them for what `place` and `find` ask, and loading them takes longer than placing a small job. So a command
that hands no data frame to anybody says so before it loads pyarrow. Where one is wanted all the same, the command fails
loudly: pyarrow would take its blanks for numbers from then on, and so is never let find it again.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
from collections.abc import Sequence

SPARED = ("pandas", "geopandas")
COORDINATES = ("pyproj", "shapely")

_alone = False
"""Whether this process was started for one command, and ends with it."""


def for_one_command() -> None:
    """Note that this process was started for one command: no other code in it can want what the command spares."""
    global _alone
    _alone = True
    # What libraries make as they are loaded stays: looking through it each 700 objects is a twentieth of a small job.
    gc.set_threshold(50_000)
    # At the end the system takes all back: to look through it for garbage once more takes 0.05 s.
    atexit.register(gc.freeze)
    # Threads that wait for the next product of matrices take a tenth of what a job takes, and gain nothing. With one of
    # them a sum has the same last digit however many cores a machine has.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def data_frames() -> None:
    """Let nothing that is loaded from now on find pandas, if this process is a command's own and has not loaded it."""
    _spare(SPARED)


def coordinates() -> None:
    """Let nothing that is loaded from now on find pyproj or shapely, as `data_frames` does: rows have their places."""
    _spare(COORDINATES)


def _spare(names: Sequence[str]) -> None:
    if _alone and not any(name in sys.modules for name in names):
        sys.meta_path.insert(0, _Spared(names))


class _Spared:
    """Finds nothing under the names that are spared, as if they were not installed."""

    def __init__(self, names: Sequence[str]) -> None:
        self._names = names

    def find_spec(self, name: str, path: Sequence[str] | None = None, target: object = None) -> None:
        if name in self._names:
            raise ModuleNotFoundError(f"{name} was spared: commands.spared says why, and what follows", name=name)
