"""The job file: which centerline, which log, which limits, and where the result goes.

A job is validated whole, so that every problem is reported at once, each under its own key.
"""

from __future__ import annotations

import datetime as dt
import difflib
import re
import tomllib
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PrivateAttr,
    ValidationError,
    field_validator,
    model_validator,
)

from asbuilt.errors import JobFileError
from asbuilt.units import SmallUnit, Unit, factor
from asbuilt.vocabulary import FILLED_DOWN, OURS, joint_type, plain_word

CLOCK_HOURS = (12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)
"""Clock positions around a pipe, looking ahead, at which a joint may be read."""
GAP_FIELDS = tuple(f"gap_{hour}" for hour in CLOCK_HOURS)
GAUGE_FIELDS = tuple(f"gauge_{hour}" for hour in CLOCK_HOURS)

RECORD_FIELDS = (
    "route", "joint", "station", "offset", "kind", "size", "outside_diameter", "joint_type", "pipe_class",
    "laid_length", "cut", "restrained", "bend_angle", "bend_plane", "inspected_on", "inspector", "crew", "groove_clean",
    "spigot_clean", "gasket_clean", "gasket_temperature", "gasket_seated", "lubricated", "insertion_mark",
    "gauge", *GAP_FIELDS, *GAUGE_FIELDS,
    "bolt_torque", "easting", "northing", "elevation", "remarks", "photo",
)  # fmt: skip
"""Every field that a joint record can carry, in the order in which layers show them."""

SHOT_FIELDS = ("point", "northing", "easting", "elevation", "description", "route", "station", "joint")
"""Every field of a survey shot."""

TIE_FIELDS = ("route", "station", "easting", "northing")
"""Every field of a tie."""

CHECK_FIELDS = (
    "point", "easting", "northing", "elevation", "measured_easting", "measured_northing", "measured_elevation",
)  # fmt: skip
"""Every field of a check shot."""

GROUND_FIELDS = ("easting", "northing", "elevation", "route")
"""Every field of a shot of the ground; its elevation is the ground's."""

FALLBACK_REQUIRED = "*"
_FAMILIES_REQUIRED = {
    FALLBACK_REQUIRED: ("inspector", "inspected_on", "insertion_mark", "gauge"),
    "mechanical": ("inspector", "inspected_on", "bolt_torque"),
    "flanged": ("inspector", "inspected_on"),
}


def _listed(value: object) -> object:
    return [value] if isinstance(value, str) else value


def _tables(value: object) -> object:
    return [value] if isinstance(value, dict) else value


def _several(value: object) -> object:
    return value if isinstance(value, list | tuple) else [value]


Paths = Annotated[tuple[str, ...], BeforeValidator(_listed)]
Values = Annotated[tuple[str | bool | int | float, ...], BeforeValidator(_several), Field(min_length=1)]
"""What a column may hold: one value, or a list of them."""
RowRange = Annotated[str, Field(pattern=r"^\s*[1-9]\d{0,8}\s*(-\s*[1-9]\d{0,8}\s*)?$")]
RowRanges = Annotated[tuple[RowRange, ...], BeforeValidator(_listed)]
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
Sigma = Annotated[float, Field(ge=0, le=1e6)]
"""A standard error: one sigma."""
Length = Annotated[float, Field(gt=0, le=1e6)]
Positive = Annotated[float, Field(gt=0, le=1e9)]
Coordinate = Annotated[float, Field(ge=-1e9, le=1e9)]
Station = str | Coordinate
Compass = Literal["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"]
"""The end of a line, as seen from its other end."""
LAYING_LENGTHS_M = (0.1, 100.0)
"""No pipe is laid in lengths beyond these."""
_KINDS_OF_VALUE = ("str", "float", "int", "bool", "constrained-int", "constrained-float")
RENAMED = {"centerline.grid_factor": "combined_factor"}
"""Keys that have another name now."""


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Equation(_Table):
    """A station equation: the same point of `route` is `back` from one side and `ahead` from the other."""

    route: str | None = None
    back: Station
    ahead: Station


class Tie(_Table):
    """A tie: a point of `route` whose station and coordinates are both known."""

    route: str | None = None
    station: Station
    easting: Coordinate
    northing: Coordinate


class Centerline(_Table):
    """`[centerline]`: the surveyed route lines and how their stations run."""

    path: str | None = None
    layer: str | None = None
    sheet: str | None = None
    where: dict[str, Values] = Field(default_factory=dict)
    route: str | None = None
    route_name: str | None = None
    start_station: Station | dict[str, Station] | None = None
    reversed: tuple[str, ...] = ()
    unit: Unit | None = None
    elevation: Literal["top-of-pipe", "pipe-center", "invert", "none"] | None = None
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
    codes_left_out: Annotated[tuple[str, ...], BeforeValidator(_listed)] = ()
    order: Literal["point", "station", "file"] = "point"
    between: Literal["chord", "curve"] = "chord"
    accuracy_rests_on: Literal["turns", "allowables"] = "turns"
    shots_checked: Annotated[tuple[str, ...], BeforeValidator(_listed)] = ()
    shots_left_out: Annotated[tuple[str, ...], BeforeValidator(_listed)] = ()
    starts: Compass | dict[str, Compass] | None = None
    encoding: str | None = None
    join_tolerance: Positive | None = None
    sigma_horizontal: Sigma | str | None = None
    sigma_vertical: Sigma | str | None = None


class Records(_Table):
    """`[records]`: the joint log, one file or several that are one log."""

    path: Paths = ()
    sheet: Annotated[tuple[str, ...], BeforeValidator(_listed)] = ()
    layer: str | None = None
    rows: RowRanges = ()
    encoding: str | None = None
    decimal: Literal[".", ","] | None = None
    columns: dict[RecordField, Column] = Field(default_factory=dict)
    fixed: dict[RecordField, str] = Field(default_factory=dict)
    words: dict[str, dict[str, str]] = Field(default_factory=dict)
    fill_down: Annotated[tuple[str, ...], BeforeValidator(_listed)] = ()
    station_unit: Unit
    station_from: Literal["log", "laid_length"] = "log"
    station_format: Literal["hundreds", "thousands", "decimal"] | None = None
    stationing: Literal["horizontal", "slope"] = "horizontal"
    station_tolerance: Annotated[float, Field(ge=0, le=1e6)] | None = None
    sigma_station: Sigma = 0.0
    use_coordinates: bool = True
    crs: str | None = None
    elevation_unit: Unit | None = None
    position_tolerance: Length | None = None
    laying_length: Length
    pipe: Literal["ahead", "back"] = "ahead"
    spacing_tolerance: Length | None = None
    size_unit: SmallUnit | None = None
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
                raise ValueError(f"there are no words for {field!r}{_nearest_of(field, tuple(OURS))}")
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


class Limits(_Table):
    """`[limits]`: the allowable deflections, and what part of them the job allows."""

    table: str | None = None
    project: str | None = None
    fraction: Annotated[float, Field(gt=0, le=1)] = 1.0
    confidence: Annotated[float, Field(ge=0.5, lt=1)] = 0.95
    confidence_of: Literal["joint", "main"] = "joint"


class Inspection(_Table):
    """`[inspection]`: what a complete record must hold."""

    required: tuple[RecordField, ...] | None = None
    required_for: dict[str, tuple[RecordField, ...]] = Field(default_factory=dict)
    min_gasket_temperature_f: Annotated[float, Field(ge=-100, le=200)] = 40.0
    insertion_band: tuple[Coordinate, Coordinate] | None = None
    sigma_reading: Positive | None = None
    gauge_spread: Positive | None = None
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


class Restraint(_Table):
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


class PressureTest(_Table):
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


class Design(_Table):
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


class Cover(_Table):
    """`[cover]`: the ground over the pipe, and the least cover that is asked for."""

    path: str
    surface: str | None = None
    columns: dict[GroundField, Column] = Field(default_factory=dict)
    unit: Unit | None = None
    least: Length | None = None


class Profile(_Table):
    """`[profile]`: what is asked of the grades as they lie."""

    least_grade: Annotated[float, Field(gt=0, le=100)] | None = None
    least_rise: Length | None = None


class SurveyCheck(_Table):
    """`[survey_check]`: points of the survey that were shot again, independently and better."""

    path: str
    columns: dict[CheckField, Column] = Field(default_factory=dict)


class Output(_Table):
    """`[output]`: the file that is written, and the utility's map coordinates."""

    path: str = "joints.gpkg"
    crs: str | None = None


class Map(_Table):
    """`[map]`: the utility's own layer, and how joints are written into it."""

    into: str
    layer: str | None = None
    crs: str | None = None
    key: Annotated[tuple[str, ...], BeforeValidator(_listed), Field(min_length=1)] = ("joint_uid",)
    update: bool = False
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
                raise ValueError(f"columns.{field}: joints have no field {field!r}{_nearest_of(field, known)}")
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


class Job(_Table):
    """One job: what `asbuilt place` needs to know, with paths relative to `folder`.

    Examples
    --------
    >>> job = Job.from_mapping({
    ...     "name": "Quarry Lane", "crs": "EPSG:6418",
    ...     "centerline": {"path": "line.gpkg"},
    ...     "records": {"path": "log.csv", "station_unit": "us-ft", "laying_length": 20.0},
    ... })
    >>> job.records.path
    ('log.csv',)
    """

    name: str
    crs: str | None = None
    centerline: Centerline
    records: Records
    limits: Limits = Limits()
    inspection: Inspection = Inspection()
    restraint: Annotated[tuple[Restraint, ...], BeforeValidator(_tables)] = ()
    pressure_tests: Annotated[tuple[PressureTest, ...], BeforeValidator(_tables)] = ()
    design: Design | None = None
    profile: Profile | None = None
    cover: Cover | None = None
    survey_check: SurveyCheck | None = None
    output: Output = Output()
    map: Map | None = None

    _folder: Path = PrivateAttr(default=Path())
    _source: str = PrivateAttr(default="the job")
    _text: str = PrivateAttr(default="")

    @property
    def folder(self) -> Path:
        """The folder to which the job's paths are relative."""
        return self._folder

    @property
    def source(self) -> str:
        """The job file's name for messages."""
        return self._source

    @property
    def text(self) -> str:
        """The job file as written (empty for a job made in memory)."""
        return self._text

    def file(self, path: str) -> Path:
        """Give a path of the job file as a path from here."""
        return self._folder / path

    @classmethod
    def from_mapping(cls, values: dict[str, Any], *, folder: Path | str = ".", source: str = "the job") -> Job:
        """Validate a job given as nested mappings with the job file's keys.

        Raises
        ------
        JobFileError
            Naming every key that is wrong, and what to do about each.
        """
        _refuse_nul(values, source)
        try:
            job = cls.model_validate(values)
        except ValidationError as error:
            raise JobFileError(_explain(error, source)) from None
        job._folder, job._source = Path(folder), source
        return job


def load_job(path: Path | str) -> Job:
    """Read and validate a job file.

    Parameters
    ----------
    path : path of a TOML file

    Raises
    ------
    JobFileError
        When the file is missing, is not TOML, or has wrong or unknown keys: all of them named at once.

    Examples
    --------
    >>> load_job("no-such-job.toml")
    Traceback (most recent call last):
        ...
    asbuilt.errors.JobFileError: no-such-job.toml: there is no such file; name a job file, ...
    """
    path = Path(path)
    text = _read_text(path)
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise JobFileError(f"{path}: this is not valid TOML: {error}; correct that line") from None
    except ValueError:
        raise JobFileError(f"{path}: a whole number has thousands of digits; correct that line") from None
    except RecursionError:
        raise JobFileError(f"{path}: brackets stand in brackets without end; correct that line") from None
    job = Job.from_mapping(values, folder=path.parent, source=str(path))
    job._text = text
    return job


def template() -> str:
    """Give a commented job file with every key, for a person to fill in.

    Examples
    --------
    >>> template().splitlines()[0]
    '# A job for asbuilt: one joint log and the surveyed centerline it belongs to.'
    """
    return resources.files("asbuilt").joinpath("data/job_template.toml").read_text("utf-8")


def _read_text(path: Path) -> str:
    try:
        return path.read_text("utf-8-sig")
    except FileNotFoundError:
        raise JobFileError(
            f"{path}: there is no such file; name a job file, or print one to fill in with `asbuilt check --template`"
        ) from None
    except IsADirectoryError:
        raise JobFileError(f"{path}: this is a folder; name the job file in it") from None
    except UnicodeDecodeError:
        raise JobFileError(f"{path}: this is not a text file in UTF-8; name a TOML job file") from None
    except OSError as error:
        raise JobFileError(
            f"{path}: cannot be read ({error.strerror}); check the path, and that you may read it"
        ) from None


def _refuse_nul(value: Any, source: str, key: str = "") -> None:
    """Refuse texts with NUL in them: no name of a file, a layer or a route has one, and libraries stop short at it."""
    if isinstance(value, str) and "\0" in value:
        raise JobFileError(f"{source}: {key}: {value[:60]!r} holds a NUL character; remove it")
    if isinstance(value, dict):
        for name, inner in value.items():
            _refuse_nul(str(name), source, key or "the job file")
            _refuse_nul(inner, source, f"{key}.{name}" if key else str(name))
    elif isinstance(value, list | tuple):
        for inner in value:
            _refuse_nul(inner, source, key)


def _explain(error: ValidationError, source: str) -> str:
    lines = [_problem(dict(problem)) for problem in error.errors()]
    count = "1 problem" if len(lines) == 1 else f"{len(lines)} problems"
    return "\n  ".join([f"{source}: {count} in the job file", *lines])


def _problem(problem: dict[str, Any]) -> str:
    place = [str(part) for part in problem["loc"] if part not in _KINDS_OF_VALUE]
    key = re.sub(r"\.(\d+)", lambda found: f" (no. {int(found[1]) + 1})", ".".join(place)) or "(whole file)"
    kind = problem["type"]
    if key in RENAMED:
        return f"{key}: this key is now called {RENAMED[key]}; rename it, its value stays as it is"
    if kind == "extra_forbidden":
        return f"{key}: unknown key{_nearest(place)}"
    if kind == "missing":
        return f"{key}: this key is required; add it"
    if kind == "literal_error":
        given, choices = problem["input"], problem["ctx"]["expected"]
        if place and place[-1] == "[key]":
            known = tuple(dict.fromkeys(RECORD_FIELDS + SHOT_FIELDS + CHECK_FIELDS + GROUND_FIELDS))
            return f"{'.'.join(place[:-1])}: unknown field{_nearest_of(str(given), known)}"
        if len(choices) > 200:
            return f"{key}: there is no field {given!r}{_nearest_of(str(given), RECORD_FIELDS)}"
        return f"{key}: {given!r} is not one of {choices}"
    message = str(problem["msg"]).removeprefix("Value error, ")
    if kind == "value_error":
        return f"{key}: {message}"
    return f"{key}: {message[0].lower()}{message[1:]} (given: {problem['input']!r})"


def _nearest(place: list[str]) -> str:
    model: Any = Job
    for part in place[:-1]:
        field = getattr(model, "model_fields", {}).get(part)
        model = _model_of(field.annotation) if field else model
    fields = getattr(model, "model_fields", {})
    return _nearest_of(place[-1], tuple(field.alias or name for name, field in fields.items()))


def _model_of(annotation: Any) -> Any:
    inner = [part for part in getattr(annotation, "__args__", ()) if isinstance(part, type)]
    return inner[0] if inner else annotation


def _nearest_of(name: str, known: tuple[str, ...]) -> str:
    close = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    if close:
        return f"; did you mean {close[0]!r}?"
    return f"; the keys here are {', '.join(known)}" if known else "; remove it"
