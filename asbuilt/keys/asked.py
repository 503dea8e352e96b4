"""The keys of what is asked of the work: allowables, a complete record, restraint, pressure tests."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from asbuilt.keys.fields import FALLBACK_REQUIRED
from asbuilt.keys.values import Coordinate, Positive, RecordField, Station, Table
from asbuilt.vocabulary import joint_type

_FAMILIES_REQUIRED = {
    FALLBACK_REQUIRED: ("inspector", "inspected_on", "insertion_mark", "gauge"),
    "mechanical": ("inspector", "inspected_on", "bolt_torque"),
    "flanged": ("inspector", "inspected_on"),
}


class Limits(Table):
    """`[limits]`: the allowable deflections, what part of them the job allows, and what a pressure test must be."""

    table: str | None = None
    project: str | None = None
    fraction: Annotated[float, Field(gt=0, le=1)] = 1.0
    confidence: Annotated[float, Field(ge=0.5, lt=1)] = 0.95
    confidence_of: Literal["joint", "main"] = "joint"
    test_pressure_psi: Positive | None = None
    test_pressure_kpa: Positive | None = None
    test_pressure_bar: Positive | None = None
    test_hours: Positive | None = None

    @field_validator("confidence", "fraction", mode="before")
    @classmethod
    def _a_part_of_one(cls, value: Any, info: ValidationInfo) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return value
        if 2.0 <= value <= 100.0:
            raise ValueError(f"{value:g} is a part of 1, not percent: if {value:g} % are meant, say {value / 100.0:g}")
        if info.field_name == "confidence" and 0.0 < value < 0.5:
            raise ValueError(
                f"{value:g} is less than chance: it is how sure a verdict must be; if {100.0 * value:g} of 100 may be "
                f"wrong, say {1.0 - value:g}"
            )
        return value

    @model_validator(mode="after")
    def _one_test_pressure(self) -> Self:
        if sum(one is not None for one in (self.test_pressure_psi, self.test_pressure_kpa, self.test_pressure_bar)) > 1:
            raise ValueError(
                "give the test pressure asked for once: test_pressure_psi, test_pressure_kpa or test_pressure_bar"
            )
        return self


class Inspection(Table):
    """`[inspection]`: what a complete record must hold."""

    required: tuple[RecordField, ...] | None = None
    required_for: dict[str, tuple[RecordField, ...]] = Field(default_factory=dict)
    min_gasket_temperature_f: Annotated[float, Field(ge=-100, le=200)] = 40.0
    insertion_band: tuple[Coordinate, Coordinate] | None = None
    sigma_reading: Positive | None = None
    gauge_spread: Positive | None = None
    remark_words: tuple[Annotated[str, Field(min_length=2)], ...] | None = None
    laid_from: dt.date | None = None
    laid_to: dt.date | None = None

    @model_validator(mode="after")
    def _dates_in_order(self) -> Self:
        if self.laid_from and self.laid_to and self.laid_from > self.laid_to:
            raise ValueError("laid_from is later than laid_to; exchange the two dates")
        return self

    @field_validator("insertion_band")
    @classmethod
    def _band_in_order(cls, band: tuple[float, float] | None) -> tuple[float, float] | None:
        if band and band[0] >= band[1]:
            raise ValueError("give the least and then the most that the mean gap may be")
        return band

    def required_by_family(self) -> dict[str, tuple[str, ...]]:
        """Give the required fields of each joint family; the key "*" stands for all other families."""
        families: dict[str, tuple[str, ...]] = dict(_FAMILIES_REQUIRED)
        if self.required is not None:
            families = {FALLBACK_REQUIRED: self.required}
        return families | {joint_type(family) or family: fields for family, fields in self.required_for.items()}

    def says(self, family: str) -> bool:
        """Tell whether the job itself says what is required of a joint family; else the usual fields are.

        Examples
        --------
        >>> asked = Inspection(required_for={"mechanical": ("inspector",)})
        >>> asked.says("restrained-mechanical"), asked.says("flanged"), Inspection(required=()).says("flanged")
        (True, False, True)
        """
        by_family = self.required_by_family()
        names = (family, family.removeprefix("restrained-"), FALLBACK_REQUIRED)
        name = next(one for one in names if one in by_family)
        return self.required is not None or name in {joint_type(one) or one for one in self.required_for}


class Restraint(Table):
    """`[[restraint]]`: a length that the design wants restrained, or a CSV file of such lengths."""

    path: str | None = None
    route: str | None = None
    start: Station | None = Field(default=None, alias="from")
    end: Station | None = Field(default=None, alias="to")
    why: str | None = None

    @model_validator(mode="after")
    def _length_or_file(self) -> Self:
        length = {"from": self.start, "to": self.end, "why": self.why}
        given = [key for key, value in ({"route": self.route} | length).items() if value is not None]
        if self.path is not None and given:
            raise ValueError(f"has a path and {given[0]}; give a file of lengths or one length, not both")
        missing = [key for key, value in length.items() if value is None]
        if self.path is None and missing:
            raise ValueError(f"{missing[0]} is required; give from, to and why (or the path of a file that has them)")
        return self


class PressureTest(Table):
    """`[[pressure_tests]]`: a length under test, and the make-up water measured."""

    route: str | None = None
    start: Station = Field(alias="from")
    end: Station = Field(alias="to")
    pressure_psi: Positive | None = None
    pressure_kpa: Positive | None = None
    pressure_bar: Positive | None = None
    duration_h: Positive
    makeup_gal: Annotated[float, Field(ge=0, le=1e9)] | None = None
    makeup_l: Annotated[float, Field(ge=0, le=1e9)] | None = None
    tested_on: dt.date | None = None

    @model_validator(mode="after")
    def _one_unit_each(self) -> Self:
        if sum(value is not None for value in (self.pressure_psi, self.pressure_kpa, self.pressure_bar)) != 1:
            raise ValueError("give the average test pressure once: pressure_psi, pressure_kpa or pressure_bar")
        if self.makeup_gal is not None and self.makeup_l is not None:
            raise ValueError("give the make-up water once: makeup_gal or makeup_l")
        return self


class Bounds(Table):
    """`[bounds]`: how much of a file is read; more is refused before memory is gone."""

    megabytes: Annotated[int, Field(ge=1, le=10**9)] | None = None
    rows: Annotated[int, Field(ge=1, le=10**12)] | None = None
    sheet_cells: Annotated[int, Field(ge=1, le=10**12)] | None = None
    xml_depth: Annotated[int, Field(ge=1, le=10_000)] | None = None
