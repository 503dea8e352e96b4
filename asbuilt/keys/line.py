"""The keys of the line: as surveyed, as designed, the ground above it, and how well it was shot."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, field_validator

from asbuilt.keys.values import (
    CheckField,
    Column,
    Compass,
    Coordinate,
    GroundField,
    Length,
    Positive,
    ShotField,
    Sigma,
    Station,
    Table,
    TieField,
    Values,
    each_once,
    listed,
)
from asbuilt.units import Unit


class Equation(Table):
    """A station equation: the same point of `route` is `back` from one side and `ahead` from the other."""

    route: str | None = None
    back: Station
    ahead: Station


class Tie(Table):
    """A tie: a point of `route` whose station and coordinates are both known."""

    route: str | None = None
    station: Station
    easting: Coordinate
    northing: Coordinate


class Centerline(Table):
    """`[centerline]`: the surveyed route lines and how their stations run."""

    path: str | None = None
    from_joints: bool = False
    source: Literal["survey", "drawn", "design"] | None = None
    layer: str | None = None
    sheet: str | None = None
    where: dict[str, Values] = Field(default_factory=dict)
    route: str | None = None
    route_name: str | None = None
    start_station: Station | dict[str, Station] | None = None
    reversed: tuple[str, ...] = ()
    unit: Unit | None = None
    elevation: Literal["top-of-pipe", "pipe-center", "invert", "none"] | None = None
    elevation_unit: Unit | None = None
    wall_thickness: Positive | dict[str, Positive] | None = None
    combined_factor: Annotated[float, Field(gt=0.9, lt=1.1)] = 1.0
    equations: tuple[Equation, ...] = ()
    ties: tuple[Tie, ...] = ()
    ties_path: str | None = None
    ties_columns: dict[TieField, Column] = Field(default_factory=dict)
    max_closure_ppm: Positive | None = None
    columns: dict[ShotField, Column] = Field(default_factory=dict)
    codes: dict[str, str] = Field(default_factory=dict)
    joint_after: Annotated[str, Field(min_length=1)] | None = None
    codes_left_out: Annotated[tuple[str, ...], BeforeValidator(listed)] = ()
    order: Literal["point", "station", "file"] = "point"
    shots_at_joints: bool | None = None
    between: Literal["chord", "curve"] = "chord"
    accuracy_rests_on: Literal["turns", "allowables"] = "turns"
    shots_checked: Annotated[tuple[str, ...], BeforeValidator(listed)] = ()
    shots_left_out: Annotated[tuple[str, ...], BeforeValidator(listed)] = ()
    starts: Compass | Literal["as-drawn"] | dict[str, Compass] | None = None
    encoding: str | None = None
    join_tolerance: Positive | None = None
    profile: Annotated[str, Field(min_length=1)] | None = None
    surveyed_on: dt.date | None = None
    sigma_horizontal: Sigma | str | None = None
    sigma_vertical: Sigma | str | None = None

    @field_validator("equations")
    @classmethod
    def _each_equation_once(cls, given: tuple[Equation, ...]) -> tuple[Equation, ...]:
        each_once(given, "station equation")
        return given


class Design(Table):
    """`[design]`: the line that the main was to be laid to, and how far from it a joint may lie."""

    path: str
    layer: str | None = None
    route: str | None = None
    routes: dict[str, str] = Field(default_factory=dict)
    start_station: Station | dict[str, Station] | None = None
    equations: tuple[Equation, ...] = ()
    elevation: Literal["top-of-pipe", "pipe-center", "invert"] | None = None
    max_offset: Length | None = None
    max_height: Length | None = None


class Cover(Table):
    """`[cover]`: the ground over the pipe, and the least cover that is asked for."""

    path: str | None = None
    log_column: str | None = None
    surface: str | None = None
    columns: dict[GroundField, Column] = Field(default_factory=dict)
    unit: Unit | None = None
    sigma: Annotated[float, Field(ge=0, le=1e3)] | None = None
    least: Length | None = None


class Profile(Table):
    """`[profile]`: what is asked of the grades as they lie."""

    least_grade: Annotated[float, Field(gt=0, le=100)] | None = None
    least_rise: Length | None = None


class SurveyCheck(Table):
    """`[survey_check]`: points of the survey that were shot again, independently and better."""

    path: str
    columns: dict[CheckField, Column] = Field(default_factory=dict)
