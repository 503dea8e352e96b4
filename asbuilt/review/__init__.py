"""The engineer's deflection review: pages, plots and tables of a placed file, one page for each route.

`plot_route` draws one plot of a route, as large as you want it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__all__ = ["Review", "Route", "plot_route", "read_review", "write_review"]

if TYPE_CHECKING:
    from asbuilt.review.figures import plot_route
    from asbuilt.review.pages import write_review
    from asbuilt.review.reading import Review, Route, read_review

_HOMES = {
    "Review": "reading",
    "Route": "reading",
    "read_review": "reading",
    "plot_route": "figures",
    "write_review": "pages",
}


def __getattr__(name: str) -> Any:
    # Looked up when asked for: reading placed files and writing pages load what is slow to load.
    if name not in _HOMES:
        raise AttributeError(f"module 'asbuilt.review' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"asbuilt.review.{_HOMES[name]}"), name)
