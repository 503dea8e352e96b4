"""A register as plain Python has it, and a machine that holds the real one against it, step by step.

Three jobs speak of the four joints of one main: two contracts with inspections, and a survey without any. Each comes in
several forms, which differ in dates, results and places. What a register must hold is told by going through the loads
that stand, from the first to the last; so a load that is undone must leave no trace in what is known now.
"""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar, NamedTuple

import laying
import numpy as np
import pytest
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from asbuilt.errors import InputFileError
from asbuilt.placed import PlacedFile, read_placed
from asbuilt.register import doubts, keeping, layout, loading, without
from asbuilt.register.incoming import read_incoming
from asbuilt.register.loading import load
from asbuilt.register.marks import mark
from asbuilt.register.opening import make_register
from asbuilt.register.question import Question
from asbuilt.register.search import find
from asbuilt.register.service import note_service
from asbuilt.register.undo import undo

JOINTS = ("1", "2", "3", "4")
TODAY = dt.date(2026, 7, 1)


class Form(NamedTuple):
    """One form of a job."""

    job: str
    date: str | None
    """Day of its inspections; None for a survey, which has none."""
    failed: int | None
    """Row whose gauge reading did not pass."""
    east: float
    surveyed_on: str | None


DAYS = ("2026-03-01", "2026-04-01", "2026-05-01", "2062-04-01")
FORMS = (
    *(Form(job, day, failed, east, None) for job, east in (("Contract 1", 0.0), ("Contract 2", 0.25))
      for day in DAYS for failed in (None, 1)),
    *(Form("Survey", None, None, east, day) for east, day in ((0.5, None), (0.75, "2026-05-10"))),
    Form("Contract 1", "2026-04-01", None, 0.4, "2026-05-20"),
    Form("Contract 2", "2026-04-01", 2, 0.25, "2026-04-20"),
)  # fmt: skip


def place_forms(folder: Path) -> dict[Form, Path]:
    """Place every form of every job."""
    placed = {}
    for number, form in enumerate(FORMS):
        points = laying.pipe(np.zeros(len(JOINTS) - 1)) + np.array([form.east, 0.0, 0.0])
        log = laying.log(points[: len(JOINTS)], route="A")
        if form.date is None:
            log = log[["joint", "station", "route", "size", "joint type"]]
        else:
            log = log.assign(date=form.date, inspector=form.job)
            if form.failed is not None:
                log.loc[form.failed, "gauge"] = "no"
        line = {"surveyed_on": form.surveyed_on} if form.surveyed_on else {}
        placed[form] = folder / f"form_{number}.gpkg"
        laying.place(laying.lines(A=points), log, name=form.job, centerline=line).write(placed[form])
    return placed


@dataclass
class Known:
    """What is known of one joint now."""

    inspection: tuple[str, str | None] = ("none", None)
    inspected_by: str = ""
    east: float = 0.0
    placed_by: str = ""
    surveyed_on: str | None = None


def says(form: Form, row: int) -> tuple[str, str | None]:
    """Give what a form says of the inspection of a joint."""
    return ("none", None) if form.date is None else ("failed" if row == form.failed else "complete", form.date)


def earlier(day: str | None, known: str | None) -> bool:
    """Tell whether a day gives way: it is earlier than one that can be, or still to come."""
    if day is None or known is None or known > TODAY.isoformat():
        return False
    return day > TODAY.isoformat() or day < known


def replay(loads: list[Form]) -> list[Known]:
    """Tell what is known of each joint after some loads."""
    return [_of_joint(loads, row) for row in range(len(JOINTS))]


def _of_joint(loads: list[Form], row: int) -> Known:
    known = Known()
    held: dict[tuple[str, str], Any] = {}
    said: dict[str, Form] = {}
    for form in loads:
        inspection, before = says(form, row), said.get(form.job)
        said[form.job] = form
        if before is not None and (says(before, row), before.east, known.east) == (inspection, form.east, form.east):
            continue  # unchanged, and where it is: nothing is said anew
        ours = not known.placed_by
        old = held.get((form.job, "inspection"))
        stays = not ours and known.inspected_by != form.job and (
            inspection[0] == "none" or (known.inspection[0] != "none" and (
                old == inspection or earlier(inspection[1], known.inspection[1]))))  # fmt: skip
        if not stays:
            known.inspection, known.inspected_by = inspection, form.job
            held[(form.job, "inspection")] = inspection
        old = held.get((form.job, "place"))
        stays = not ours and known.placed_by != form.job and (
            old == form.east or earlier(form.surveyed_on, known.surveyed_on))  # fmt: skip
        if not stays:
            known.east, known.placed_by, known.surveyed_on = form.east, form.job, form.surveyed_on
            held[(form.job, "place")] = form.east
    return known


@contextmanager
def on_the_day() -> Iterator[None]:
    """Let loads happen on the day of the model."""
    with pytest.MonkeyPatch.context() as patch:
        for module in (keeping, doubts, without):
            patch.setattr(module, "today", lambda: TODAY)
        yield


class RegisterMachine(RuleBasedStateMachine):
    """Loads, undoes, marks and notes at random, and compares with the model after each step."""

    placed: ClassVar[dict[Form, Path]]
    empty: ClassVar[Callable[[], str]]
    """Gives the name of a register that is not there yet."""
    sequences: ClassVar[int] = 0
    steps: ClassVar[int] = 0

    @initialize(form=st.sampled_from(FORMS))
    def begin(self, form: Form) -> None:
        type(self).sequences += 1
        self.register = type(self).empty()
        self.loads: list[tuple[int, Form]] = []
        self.out: set[str] = set()
        self.load_form(form)

    @rule(form=st.sampled_from(FORMS))
    def load_form(self, form: Form) -> None:
        standing = [one for _, one in self.loads]
        own = [one for one in standing if one.job == form.job]
        with on_the_day():
            loaded, refused = _tried(lambda: load(type(self).placed[form], self.register, by="model"))
        if loaded is None:
            # To go back to what was corrected since, the correction is undone.
            assert form in own[:-1], refused
            return
        assert loaded.conflicts == []
        assert loaded.joints["new"] == (0 if standing else len(JOINTS))
        assert loaded.changed == (not own or own[-1] != form) or _same_but_dated(own[-1], form)
        if loaded.load is not None:
            self.loads.append((loaded.load, form))

    @precondition(lambda self: self.loads)
    @rule(data=st.data())
    def undo_one(self, data: st.DataObject) -> None:
        at = data.draw(st.integers(0, len(self.loads) - 1))
        number, form = self.loads[at]
        later = self.loads[at + 1 :]
        undone, refused = _tried(lambda: undo(number, self.register, by="model"))
        if undone is None:
            assert later, refused
            return
        assert not [one for _, one in later if one.job == form.job]
        assert undone.load == number
        del self.loads[at]

    @precondition(lambda self: self.loads)
    @rule(joint=st.sampled_from(JOINTS), service=st.sampled_from(("abandoned", "in-service")))
    def note(self, joint: str, service: str) -> None:
        station = 20 * (int(joint) - 1)
        note_service(self.register, f"A 0+{station:02d}..0+{station:02d}", service, by="model")
        (self.out.add if service == "abandoned" else self.out.discard)(joint)

    @precondition(lambda self: self.loads)
    @rule()
    def mark_one(self) -> None:
        for joint in find(self.register, Question(findings=("inspection-failed",))).joints[:1]:
            for finding in joint["findings"][:1]:
                mark(self.register, finding["finding_uid"], note="seen", by="model")

    @invariant()
    def holds(self) -> None:
        if not hasattr(self, "register"):
            return
        type(self).steps += 1
        found = {one["joint"]: one for one in find(self.register, Question()).joints}
        standing = [form for _, form in self.loads]
        assert sorted(found) == (sorted(JOINTS) if standing else [])
        for known, name in zip(replay(standing), JOINTS, strict=True):
            if name not in found:
                continue
            one = found[name]
            there = (one["inspection"], one["inspected_on"]), round(one["easting"] - laying.EAST, 3), one["service"]
            service = "abandoned" if name in self.out else "in-service"
            assert there == (known.inspection, known.east, service), (name, standing)
            records = [record for record in one["history"] if record["state"] == "standing"]
            assert len(records) == len({form.job for form in standing}), (name, standing)
            failed = any(finding["code"] == "inspection-failed" for finding in one["findings"])
            assert failed == (known.inspection[0] == "failed"), (name, standing)


def _tried(work: Callable[[], Any]) -> tuple[Any, str]:
    """Do what may be refused: what came of it, or None and the words of the refusal."""
    try:
        return work(), ""
    except InputFileError as error:
        return None, str(error)


def _same_but_dated(before: Form, form: Form) -> bool:
    """Tell whether forms differ in nothing but the day of the survey, which is no content of a joint."""
    return before._replace(surveyed_on=None) == form._replace(surveyed_on=None)


@contextmanager
def read_once() -> Iterator[None]:
    """Read each placed job once for all loads: sequences are about what a register makes of it."""
    kept: dict[tuple[Any, ...], Any] = {}
    files: dict[Path, PlacedFile] = {}

    def reading(file: PlacedFile, register_crs: Any, main: str | None = None, accept_m: float | None = None) -> Any:
        key = file.path, register_crs.to_wkt(), main, accept_m
        if key not in kept:
            kept[key] = read_incoming(file, register_crs, main, accept_m)
        return kept[key]

    def opening(path: Path) -> PlacedFile:
        if path not in files:
            files[path] = read_placed(path)
        return files[path]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(loading, "read_incoming", reading)
        patch.setattr(loading, "read_placed", opening)
        yield


def fresh_files(folder: Path) -> Callable[[], str]:
    """Give a maker of empty registers in a folder, each without the one before it, and copied from one."""
    numbers = iter(range(10**9))
    template = folder / "empty.gpkg"
    make_register(str(template), laying.CRS).close()

    def empty() -> str:
        for old in folder.glob("model_*"):
            old.unlink() if old.is_file() else shutil.rmtree(old)
        return str(shutil.copyfile(template, folder / f"model_{next(numbers)}.gpkg"))

    return empty


def fresh_schema(address: str) -> Callable[[], str]:
    """Give a maker of empty registers in a database: the one that there is, emptied, as making one takes a second."""
    import psycopg

    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute("DROP SCHEMA IF EXISTS asbuilt CASCADE")
    make_register(address, laying.CRS).close()
    tables = ", ".join(f"asbuilt.{table}" for table in layout.REGISTER_LAYERS if table != "register")

    def empty() -> str:
        with psycopg.connect(address, autocommit=True) as connection:
            connection.execute(f"TRUNCATE {tables} RESTART IDENTITY")
        return address

    return empty
