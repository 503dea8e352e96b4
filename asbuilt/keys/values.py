"""What a key may hold: kinds of values that several tables share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any, Literal, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, field_validator

from asbuilt.keys.fields import CHECK_FIELDS, GROUND_FIELDS, RECORD_FIELDS, SHOT_FIELDS, TIE_FIELDS


def listed(value: object) -> object:
    """Take one text as a list of one."""
    return [value] if isinstance(value, str) else value


def tables(value: object) -> object:
    """Take one table as a list of one."""
    return [value] if isinstance(value, dict) else value


def several(value: object) -> object:
    """Take one value as a list of one."""
    return value if isinstance(value, list | tuple) else [value]


def column_or_names(value: object) -> object:
    """Refuse what names no column, in words that say what would."""
    names = isinstance(value, list | tuple) and bool(value) and all(isinstance(one, str) for one in value)
    if not names and (not isinstance(value, str | int) or isinstance(value, bool)):
        raise ValueError("a column is given by its name, by its number, or by a list of the names that sheets give it")
    return value


Paths = Annotated[tuple[str, ...], BeforeValidator(listed)]
Values = Annotated[tuple[str | bool | int | float, ...], BeforeValidator(several), Field(min_length=1)]
"""What a column may hold: one value, or a list of them."""
RowRange = Annotated[str, Field(pattern=r"^\s*[1-9]\d{0,8}\s*(-\s*[1-9]\d{0,8}\s*)?$")]
RowRanges = Annotated[tuple[RowRange, ...], BeforeValidator(listed)]
if TYPE_CHECKING:
    RecordField = str
    ShotField = str
    TieField = str
    CheckField = str
    GroundField = str
else:
    RecordField = Literal[RECORD_FIELDS]
    ShotField = Literal[SHOT_FIELDS]
    TieField = Literal[TIE_FIELDS]
    CheckField = Literal[CHECK_FIELDS]
    GroundField = Literal[GROUND_FIELDS]
Column = str | Annotated[int, Field(ge=1)]
Columns = Annotated[Column | tuple[str, ...], BeforeValidator(column_or_names)]
"""A column, or the names that it has in several sheets or files of one log."""
Sigma = Annotated[float, Field(ge=0, le=1e6)]
"""A standard error: one sigma."""
Length = Annotated[float, Field(gt=0, le=1e6)]
Positive = Annotated[float, Field(gt=0, le=1e9)]
Coordinate = Annotated[float, Field(ge=-1e9, le=1e9)]
Station = str | Coordinate
Compass = Literal["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"]
"""The end of a line, as seen from its other end."""


class Table(BaseModel):
    """A table of the job file: keys that it does not know are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _no_truth_for_a_number(cls, value: Any, info: ValidationInfo) -> Any:
        if isinstance(value, bool) and not _takes(cls.model_fields[str(info.field_name)].annotation, bool):
            raise ValueError(f"{str(value).lower()} is neither a number nor a text; write the value itself")
        return value


def _takes(annotation: Any, kind: type) -> bool:
    """Say whether a value of some kind is among what a key may hold."""
    return annotation is kind or any(_takes(one, kind) for one in get_args(annotation))


def each_once(given: Sequence[BaseModel], what: str) -> None:
    """Refuse a table that stands twice among several of one kind."""
    first: dict[BaseModel, int] = {}
    for number, one in enumerate(given, 1):
        before = first.setdefault(one, number)
        if before != number:
            raise ValueError(f"no. {before} and no. {number} are the same {what}; remove one of the two")
