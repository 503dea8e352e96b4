"""The job file: which centerline, which log, which limits, and where the result goes.

A job is validated whole, so that every problem is reported at once, each under its own key.
"""

from __future__ import annotations

import os
import tomllib
from importlib import resources
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, PrivateAttr, ValidationError, field_validator

from asbuilt import stores
from asbuilt.addresses import address_of, beside, scheme_of, without_secrets
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.keys.asked import Bounds, Inspection, Limits, PressureTest, Restraint
from asbuilt.keys.line import Centerline, Cover, Design, Profile, SurveyCheck
from asbuilt.keys.log import Records
from asbuilt.keys.outputs import Map, Output
from asbuilt.keys.problems import explain, refuse_nul, refuse_secrets
from asbuilt.keys.values import Table, each_once, tables


class Job(Table):
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
    accept_accuracy_m: Annotated[float, Field(gt=0, le=100)] | None = None
    centerline: Centerline
    records: Records
    limits: Limits = Limits()
    bounds: Bounds = Bounds()
    inspection: Inspection = Inspection()
    restraint: Annotated[tuple[Restraint, ...], BeforeValidator(tables)] = ()
    pressure_tests: Annotated[tuple[PressureTest, ...], BeforeValidator(tables)] = ()
    design: Design | None = None
    profile: Profile | None = None
    cover: Cover | None = None
    survey_check: SurveyCheck | None = None
    output: Output = Output()
    map: Map | None = None

    _folder: Path = PrivateAttr(default=Path())
    _source: str = PrivateAttr(default="the job")
    _text: str = PrivateAttr(default="")
    _fetched: set[Path] = PrivateAttr(default_factory=set)

    @field_validator("restraint")
    @classmethod
    def _each_length_once(cls, given: tuple[Restraint, ...]) -> tuple[Restraint, ...]:
        each_once(given, "length, or file of lengths")
        return given

    @field_validator("pressure_tests")
    @classmethod
    def _each_test_once(cls, given: tuple[PressureTest, ...]) -> tuple[PressureTest, ...]:
        each_once(given, "test")
        return given

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
        """Give a path of the job file as a path from here; of an address, that of a copy made when first asked for.

        Backslashes part folders where no name holds them. In a job at an address, paths are relative to it.

        Raises
        ------
        JobFileError
            When it is an address that cannot be read.

        Examples
        --------
        >>> log = {"path": "log.csv", "station_unit": "us-ft", "laying_length": 20.0}
        >>> job = Job.from_mapping({"name": "Quarry Lane", "centerline": {}, "records": log}, folder="jobs")
        >>> job.file("logs\\\\log.csv").as_posix()
        'jobs/logs/log.csv'
        """
        named = self.path_of(path)
        if named not in self._fetched:
            try:
                stores.fetch(named)
            except InputFileError as error:
                raise JobFileError(f"{self._source}: {error}") from None
            self._fetched.add(named)
        return named

    def path_of(self, path: str) -> Path:
        """Give a path as `file` does, without reading anything: of an address, the path of its copy to be.

        Raises
        ------
        JobFileError
            When it is an address that is not read at all.
        """
        folder = address_of(self._folder)
        name = path
        if scheme_of(path) is None and folder is not None and not Path(path).is_absolute():
            found = beside(folder, path)
            if found is None:
                raise JobFileError(f"{self._source}: {path}: would lie above its bucket; correct it")
            name = found
        if scheme_of(name) is not None:
            # What follows a question mark is often a key, and the placed file keeps the text of the job file.
            if scheme_of(path) is not None and ("?" in path or "#" in path):
                raise JobFileError(
                    f"{self._source}: {without_secrets(path)}: an address in a job file holds no ? and no #, since "
                    "what follows may be a key, and would stand in the placed file; copy the file and name the copy"
                )
            try:
                return stores.path_of(name)
            except InputFileError as error:
                raise JobFileError(f"{self._source}: {error}") from None
        named = self._folder / path
        # A job written on Windows, run elsewhere.
        return named if "\\" not in path or os.path.lexists(named) else self._folder / path.replace("\\", "/")

    @classmethod
    def from_mapping(cls, values: dict[str, Any], *, folder: Path | str = ".", source: str = "the job") -> Job:
        """Validate a job given as nested mappings with the job file's keys.

        Raises
        ------
        JobFileError
            Naming every key that is wrong, and what to do about each.
        """
        refuse_nul(values, source)
        try:
            job = cls.model_validate(values)
        except ValidationError as error:
            raise JobFileError(explain(error, cls, source)) from None
        job._folder, job._source = Path(folder), source
        return job


def load_job(path: Path | str) -> Job:
    """Read and validate a job file.

    Parameters
    ----------
    path : path or address of a TOML file

    Raises
    ------
    JobFileError
        When the file is missing, is not TOML, or has wrong or unknown keys: all of them named at once. When an address
        in it holds a password, which would stand in the placed file.

    Examples
    --------
    >>> load_job("no-such-job.toml")
    Traceback (most recent call last):
        ...
    asbuilt.errors.JobFileError: no-such-job.toml: there is no such file; name a job file, ...
    """
    try:
        path = stores.local(path)
    except InputFileError as error:
        raise JobFileError(str(error)) from None
    return read_job(_read_text(path), path)


def read_job(text: str, path: Path) -> Job:
    """Validate a job file by its text, without reading it.

    Parameters
    ----------
    text : str
    path : where it was read from: paths in it are relative to its folder, and messages name it

    Raises
    ------
    JobFileError
        When it is not TOML, has wrong or unknown keys, or has a password in an address.
    """
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise JobFileError(f"{path}: this is not valid TOML: {error}; correct that line") from None
    except ValueError:
        raise JobFileError(f"{path}: a whole number has thousands of digits; correct that line") from None
    except RecursionError:
        raise JobFileError(f"{path}: brackets are nested too deep; correct that line") from None
    job = Job.from_mapping(values, folder=path.parent, source=str(path))
    refuse_secrets(text, str(path))
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
