"""Words that several commands of the register show on a terminal."""

from __future__ import annotations

from typing import Any

NAMED = 10
"""Joints of a kind that are named; the others are counted."""


def named(joints: list[dict[str, Any]], count: int) -> str:
    """Name the first of so many joints."""
    names = ", ".join(f"{one['route']} {one['joint']}" for one in joints[:NAMED])
    return f"{names} and {count - NAMED} more" if count > NAMED else names


def many(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
