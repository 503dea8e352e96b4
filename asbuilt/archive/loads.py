"""Many placed files loaded into a register in one go, each whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from asbuilt.addresses import shown
from asbuilt.errors import AsbuiltError, OutputError
from asbuilt.register.loaded import Loaded
from asbuilt.register.loading import load
from asbuilt.stores import later

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class FileTold:
    """What became of a file among many."""

    file: str
    loaded: Loaded | None
    """None where the file could not be loaded."""
    message: str = ""
    """What is wrong with it."""


def load_files(
    files: Sequence[Path | str], into: str, *, progress: Progress | None = None, **options: Any
) -> list[FileTold]:
    """Load placed files one after another; one that is wrong is told of and changes nothing, and the others go in.

    Parameters
    ----------
    files : sequence of paths
    into : str
        Path of the register, or a postgresql:// address.
    progress : function of (step, files done, files), optional
    **options
        Those of `asbuilt.load`, for every file.

    Returns
    -------
    list of FileTold
        In the order of the files, in which they were loaded.

    Raises
    ------
    OutputError
        When a file is named twice; nothing is loaded then.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     load_files([f"{folder}/gone.gpkg"], f"{folder}/register.gpkg")[0].loaded is None
    True
    """
    report = progress or (lambda step, done, of: None)
    paths = [later(file) for file in files]
    seen: set[Path] = set()
    for path in paths:
        if path.resolve() in seen:
            raise OutputError(f"{path}: is named twice; name each file once. Nothing was loaded")
        seen.add(path.resolve())
    told = []
    for number, path in enumerate(paths):
        report(f"load {path}", number, len(paths))
        try:
            told.append(FileTold(shown(str(path)), load(path, into, **options)))
        except AsbuiltError as error:
            told.append(FileTold(shown(str(path)), None, str(error)))
    report("loaded", len(paths), len(paths))
    return told
