"""Words that several commands of the register show on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from asbuilt.register.loaded import Loaded

NAMED = 10
"""Joints of a kind that are named; the others are counted."""


def named(joints: list[dict[str, Any]], count: int) -> str:
    """Name the first of so many joints."""
    names = ", ".join(f"{one['route']} {one['joint']}" for one in joints[:NAMED])
    return f"{names} and {count - NAMED} more" if count > NAMED else names


def many(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def passed_by(loaded: Loaded) -> list[str]:
    """Say which joints of the register a load passed by: those that were settled before, and those it does not name."""
    said = []
    if loaded.settled:
        said.append(f"left out as settled: {many(loaded.settled, 'joint')}; the register's stay as they are")
    if loaded.not_mentioned:
        names = named(loaded.not_mentioned, len(loaded.not_mentioned))
        said.append(f"the file says nothing of joints that this job brought earlier; they stay: {names}")
    return said
