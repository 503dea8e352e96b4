"""What Arrow holds a value of each kind in: for rows that are written, where a question reads none."""

from __future__ import annotations

from typing import Any

import pyarrow as pa

from asbuilt.register import layout
from asbuilt.register.store import floats
from asbuilt.schema import Kind

ARROW: dict[Kind, pa.DataType] = {
    "text": pa.string(),
    "number": pa.float64(),
    "whole": pa.int64(),
    "date": pa.date32(),
}


def typed(name: str, values: list[Any]) -> Any:
    """Give values of a column as both stores take them."""
    kind = layout.kind(name)
    if kind in ("text", "date"):
        return pa.array([None if value is None else str(value) for value in values], pa.string())
    return floats(values) if kind == "number" else pa.array(values, ARROW[kind])
