"""Joint logs and surveyed centerlines of buried pressure mains, as joint records on a utility's map.

The public functions; each does what a command, or one of its options, does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from asbuilt.version import __version__

__all__ = [
    "AsbuiltError",
    "InputFileError",
    "Job",
    "JobFileError",
    "OutputError",
    "Placement",
    "Question",
    "__version__",
    "conflicts",
    "find",
    "load",
    "load_job",
    "mark",
    "place",
    "undo",
    "write_map",
    "write_return",
]

if TYPE_CHECKING:
    from asbuilt.errors import AsbuiltError, InputFileError, JobFileError, OutputError
    from asbuilt.job import Job, load_job
    from asbuilt.owner_map.map_layers import write_map
    from asbuilt.placement import Placement
    from asbuilt.processor import place
    from asbuilt.register.loading import load
    from asbuilt.register.marks import mark
    from asbuilt.register.question import Question
    from asbuilt.register.search import find
    from asbuilt.register.undo import undo
    from asbuilt.register.waiting import conflicts
    from asbuilt.returned.markup import write_return

_HOMES = {
    "AsbuiltError": "errors",
    "InputFileError": "errors",
    "JobFileError": "errors",
    "OutputError": "errors",
    "Job": "job",
    "load_job": "job",
    "Placement": "placement",
    "Question": "register.question",
    "find": "register.search",
    "load": "register.loading",
    "mark": "register.marks",
    "place": "processor",
    "undo": "register.undo",
    "conflicts": "register.waiting",
    "write_map": "owner_map.map_layers",
    "write_return": "returned.markup",
}


def __getattr__(name: str) -> Any:
    # Looked up when asked for, so that `asbuilt --help` does not load the geometry libraries.
    if name not in _HOMES:
        raise AttributeError(f"module 'asbuilt' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"asbuilt.{_HOMES[name]}"), name)
