"""What Arrow holds a value of each kind in: for rows that are written, where a question reads none."""

from __future__ import annotations

import pyarrow as pa

from asbuilt.schema import Kind

ARROW: dict[Kind, pa.DataType] = {
    "text": pa.string(),
    "number": pa.float64(),
    "whole": pa.int64(),
    "date": pa.date32(),
}
