"""A job file taken apart into its keys, for a form that is filled in from it."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from datetime import date, time
from pathlib import Path
from typing import Any

from asbuilt.inputs.allowables import SHIPPED
from asbuilt.job import load_job

FILES = frozenset(
    {
        "centerline.path", "centerline.ties_path", "records.path", "records.photos", "limits.table", "limits.project",
        "restraint.path", "survey_check.path", "design.path", "cover.path", "map.into", "output.path",
    }
)  # fmt: skip
"""Keys that name files; a form that is kept elsewhere needs their full paths."""
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def job_keys(path: Path) -> list[dict[str, Any]]:
    """Take a job file apart: each of its keys in full, its value, and its value as TOML.

    Parameters
    ----------
    path : path of a job file

    Returns
    -------
    list of dict
        `key` (dotted), `value` (dates and times as text) and `text`, in the order of the file. Files are named by
        their full paths.

    Raises
    ------
    JobFileError
        When it is no job file, or its keys are wrong.
    """
    load_job(path)
    values = tomllib.loads(path.read_text("utf-8-sig"))
    folder = path.resolve().parent
    found = [(key, plain, _in_full(plain, value, folder)) for key, plain, value in _leaves(values, "", "")]
    return [
        {"key": plain, "value": json.loads(json.dumps(value, default=str)), "text": f"{key} = {toml(value)}"}
        for key, plain, value in found
    ]


def toml(value: Any) -> str:
    """Write a value as TOML, in one line.

    Examples
    --------
    >>> print(toml([{"route": "A", "back": "24+50"}, {"when": date(2026, 3, 2), "cut": True, "length": 20.0}]))
    [{route = "A", back = "24+50"}, {when = 2026-03-02, cut = true, length = 20.0}]
    """
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(name)} = {toml(one)}" for name, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return value.isoformat() if isinstance(value, date | time) else repr(value)


def _leaves(values: dict[str, Any], written: str, plain: str) -> Iterator[tuple[str, str, Any]]:
    for name, value in values.items():
        key, dotted = f"{written}{_key(name)}", f"{plain}{name}"
        if isinstance(value, dict):
            yield from _leaves(value, f"{key}.", f"{dotted}.")
        else:
            yield key, dotted, value


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else toml(name)


def _in_full(key: str, value: Any, folder: Path) -> Any:
    if isinstance(value, list):
        return [_in_full(key, one, folder) for one in value]
    if isinstance(value, dict):
        return {name: _in_full(f"{key}.{name}", one, folder) for name, one in value.items()}
    if key not in FILES or not isinstance(value, str) or value in SHIPPED or "://" in value:
        return value
    return str(folder / value)
