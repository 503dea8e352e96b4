"""The keys of the joint log: which files and columns it is, and how its cells are meant."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, field_validator, model_validator

from asbuilt.keys.problems import nearest_of
from asbuilt.keys.values import Columns, Length, Paths, RecordField, RowRanges, Sigma, Table, listed
from asbuilt.units import SmallUnit, Unit, factor
from asbuilt.vocabulary import FILLED_DOWN, OURS, plain_word

LAYING_LENGTHS_M = (0.1, 100.0)
"""No pipe is laid in lengths beyond these."""


class Records(Table):
    """`[records]`: the joint log, one file or several that are one log."""

    path: Paths = ()
    sheet: Annotated[tuple[str, ...], BeforeValidator(listed)] = ()
    layer: str | None = None
    rows: RowRanges = ()
    struck_out: Literal["set-aside", "read"] = "set-aside"
    encoding: str | None = None
    decimal: Literal[".", ","] | None = None
    columns: dict[RecordField, Columns] = Field(default_factory=dict)
    fixed: dict[RecordField, str] = Field(default_factory=dict)
    words: dict[str, dict[str, str]] = Field(default_factory=dict)
    fill_down: Annotated[tuple[str, ...], BeforeValidator(listed)] = ()
    station_unit: Unit
    station_from: Literal["log", "laid_length"] = "log"
    numbers_unused: Annotated[tuple[str, ...], BeforeValidator(listed)] = ()
    station_format: Literal["hundreds", "thousands", "decimal"] | None = None
    stationing: Literal["horizontal", "slope"] = "horizontal"
    station_tolerance: Annotated[float, Field(ge=0, le=1e6)] | None = None
    sigma_station: Sigma | None = None
    use_coordinates: bool = True
    crs: str | None = None
    elevation_unit: Unit | None = None
    position_tolerance: Length | None = None
    laying_length: Length
    pipe: Literal["ahead", "back"] = "ahead"
    spacing_tolerance: Length | None = None
    size_unit: SmallUnit | None = None
    diameters: Literal["ductile-iron", "iron-pipe"] | None = None
    reading_unit: SmallUnit | None = None
    temperature_unit: Literal["F", "C"] | None = None
    torque_unit: Literal["ft-lb", "N-m"] = "ft-lb"
    date_order: Literal["mdy", "dmy", "ymd"] | None = None
    photos: Paths = ()
    covers: Literal["whole", "part"] = "whole"

    @model_validator(mode="after")
    def _each_file_once(self) -> Self:
        twice = [path for path in self.path if self.path.count(path) > 1]
        if twice:
            raise ValueError(f"path names {twice[0]} twice; name each file once")
        return self

    @field_validator("sheet")
    @classmethod
    def _each_sheet_once(cls, sheets: tuple[str, ...]) -> tuple[str, ...]:
        twice = [name for name in sheets if sheets.count(name) > 1]
        if twice:
            raise ValueError(f"names {twice[0]!r} twice; name each sheet once")
        if "*" in sheets and len(sheets) > 1:
            raise ValueError('"*" stands for every sheet; leave the other names out')
        return sheets

    @field_validator("fill_down")
    @classmethod
    def _may_be_filled_down(cls, fields: tuple[str, ...]) -> tuple[str, ...]:
        for field in fields:
            if field not in FILLED_DOWN:
                raise ValueError(f"{field!r} is not taken from the row above; it may be {', '.join(FILLED_DOWN)}")
        return fields

    @field_validator("words")
    @classmethod
    def _words_are_known(cls, given: dict[str, dict[str, str]]) -> dict[str, dict[str, str]]:
        for field, words in given.items():
            if field not in OURS:
                raise ValueError(f"there are no words for {field!r}{nearest_of(field, tuple(OURS))}")
            known = OURS[field]
            for theirs, ours in words.items():
                if known is not None and ours and ours not in known:
                    raise ValueError(
                        f"{field}: {theirs!r} is said to be {ours!r}; it may be {', '.join(known)} or blank"
                    )
                if field == "route" and not ours:
                    raise ValueError(f"route: {theirs!r} is said to be nothing; name a route of the centerline")
            plain = [plain_word(theirs) for theirs in words] if field != "route" else []
            twice = sorted({one for one in plain if plain.count(one) > 1})
            if twice:
                raise ValueError(f"{field}: {twice[0]!r} is said twice, apart from case and spaces; say it once")
        return given

    @model_validator(mode="after")
    def _rows_are_of_one_file(self) -> Self:
        if self.rows and len(self.path) > 1:
            raise ValueError("rows are those of one file, but path names several; name one, or leave rows out")
        if self.rows and (len(self.sheet) > 1 or "*" in self.sheet):
            raise ValueError("rows are those of one sheet, but sheet names several; name one, or leave rows out")
        backward = [one for one, (first, last) in zip(self.rows, self.row_ranges, strict=True) if last < first]
        if backward:
            raise ValueError(f"rows: {backward[0]!r} ends before it begins; write the lower number first")
        return self

    @property
    def row_ranges(self) -> list[tuple[int, int]]:
        """First and last row of each range of rows that is taken; none where all of them are.

        Examples
        --------
        >>> Records(rows=["6-210", "215"], station_unit="ft", laying_length=20).row_ranges
        [(6, 210), (215, 215)]
        """
        ends = [one.split("-") for one in self.rows]
        return [(int(one[0]), int(one[-1])) for one in ends]

    @model_validator(mode="after")
    def _laying_length_is_a_pipe_s(self) -> Self:
        least, most = (factor("m", self.station_unit) * one for one in LAYING_LENGTHS_M)
        if not least <= self.laying_length <= most:
            raise ValueError(
                f"laying_length {self.laying_length:g} is not a length in which pipe is laid ({least:.4g} to "
                f"{most:.4g} {self.station_unit}); correct it, or station_unit"
            )
        return self

    @property
    def temperatures_in(self) -> Literal["F", "C"]:
        """Unit of gasket temperatures: as said, or that which goes with the stations."""
        return self.temperature_unit or ("C" if self.station_unit == "m" else "F")

    @property
    def sizes_in(self) -> SmallUnit:
        """The unit of nominal sizes: as the job says, else millimetres for metric stations and inches for feet."""
        return self.size_unit or ("mm" if self.station_unit == "m" else "in")

    @property
    def readings_in(self) -> SmallUnit:
        """The unit of readings at the joint: as the job says, else millimetres for metric stations, inches for feet."""
        return self.reading_unit or ("mm" if self.station_unit == "m" else "in")
