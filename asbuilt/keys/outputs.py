"""The keys of what is written: the placed file, and the utility's own layer."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Self

from pydantic import BeforeValidator, Field, model_validator

from asbuilt.keys.problems import nearest_of
from asbuilt.keys.values import Coordinate, Table, listed


class Output(Table):
    """`[output]`: the file that is written, and the utility's map coordinates."""

    path: str = "joints.gpkg"
    crs: str | None = None


class Map(Table):
    """`[map]`: the utility's own layer, and how joints are written into it."""

    into: str
    layer: str | None = None
    crs: str | None = None
    key: Annotated[tuple[str, ...], BeforeValidator(listed), Field(min_length=1)] = ("joint_uid",)
    update: bool = False
    renumbered: bool = False
    others_there: bool = False
    identity_changes: bool = False
    other_features: bool = False
    blanks: bool = False
    unknown_elevation: Coordinate | None = None
    columns: Annotated[dict[str, str], Field(min_length=1)]
    values: dict[str, dict[str, str | bool | int | float]] = Field(default_factory=dict)
    fixed: dict[str, str | bool | int | float | dt.date] = Field(default_factory=dict)
    types: dict[str, Annotated[str, Field(pattern=r"^(text(\(\d{1,5}\))?|integer|real|date|boolean)$")]] = Field(
        default_factory=dict
    )

    @model_validator(mode="after")
    def _fields_are_known(self) -> Self:
        from asbuilt.schema import LAYERS

        known = tuple(LAYERS["joints"].columns)
        for field in self.columns:
            if field not in known:
                raise ValueError(f"columns.{field}: joints have no field {field!r}{nearest_of(field, known)}")
        for field in (*self.key, *self.values):
            if field not in self.columns:
                raise ValueError(f"{field} must be in map.columns too: it is named in map.key or map.values")
        names = [name.casefold() for name in (*self.columns.values(), *self.fixed)]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"the column {twice[0]!r} is given twice; give each column one field or fixed value")
        for name in self.types:
            if name.casefold() not in names:
                raise ValueError(f"types.{name}: no field or fixed value goes to this column; remove it")
        if re.match(r"postgres(ql)?(\+\w+)?://[^/@]*:[^/@]*@", self.into):
            raise ValueError(
                "into: holds a password, and the job file is copied into every output; leave it out, and keep it in "
                "~/.pgpass or PGPASSWORD"
            )
        return self
