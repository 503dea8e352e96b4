"""What the checks look at and what they answer with: all that was judged of a job, and the form of a finding."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask, empty_ints
from asbuilt.inputs.fields import PASSED_FIELDS
from asbuilt.judging.pipes import pipe_back

if TYPE_CHECKING:
    from asbuilt.inputs.log import Log
    from asbuilt.job import Job
    from asbuilt.judging.against_design import AgainstDesign
    from asbuilt.judging.cover import Covered
    from asbuilt.judging.deflection import Segments, Turns
    from asbuilt.judging.doubted import Doubted
    from asbuilt.judging.out_of_order import OutOfOrder
    from asbuilt.judging.places import KnownTo
    from asbuilt.judging.pressure import PressureTests
    from asbuilt.judging.readings import Readings
    from asbuilt.judging.restraint import Restraint
    from asbuilt.judging.stretches import Stretches
    from asbuilt.judging.survey import Seen
    from asbuilt.judging.unlogged import Unlogged
    from asbuilt.judging.usual import Usual
    from asbuilt.judging.verdicts import Judgement
    from asbuilt.notes import OfRoutes
    from asbuilt.placing.joints import Joints
    from asbuilt.placing.records import Records
    from asbuilt.placing.sequence import JointNumbers


ROUNDING = 1e-9
"""A reading this little over its limit is rounding."""


@dataclass(frozen=True)
class Judged:
    """Everything that the checks look at; arrays of shape (joints,) unless said otherwise."""

    job: Job
    log: Log
    joints: Joints
    segments: Segments
    missing: Ints
    """Joints that must lie in each straight but do not stand there in the log, shape (segments,)."""
    absent: Ints
    """Those of them that the log lacks, shape (segments,): a joint out of order that belongs there is in the log."""
    apart: Bools
    """Where the log covers a part of its line, straights between joints that are not neighbours, shape (segments,)."""
    scale: float
    """Coordinate units in a station unit."""
    seen: Seen
    """What the survey says of each joint's deflection, radians."""
    turns: Turns
    judgement: Judgement
    """The verdict on each joint, and what it came from."""
    allowable_deg: Floats
    allowable_source: pa.Array
    not_restrained: pa.Array
    """Type of which the job's tables have an allowable where a joint has none since it is recorded as restrained."""
    confidence: float
    """Of the verdict on one joint."""
    fitting_deg: Floats
    """Angle of the fitting at each joint; NaN for none."""
    unknown_kind: pa.Array
    """What the log says was laid where that cannot be read, so that it may be a bend; null elsewhere."""
    bend_without_angle: Bools
    bend_other_way: Floats
    """What the line turns, radians, right positive and up positive, where that is to the other side than the log's
    bend."""
    bend_upright: Bools
    """True where the bend turns up or down."""
    records: Records
    joint_of_record: Ints
    """Joint of each record of the log; -1 where it is set aside."""
    family: pa.Array
    """Joint family by which allowables and required fields are looked up."""
    today: dt.date
    usual: Usual
    """What the whole log says of its joints and records."""
    readings: Readings
    """What was read at each joint: how far in the spigot is, and the deflection that the gaps show."""
    misread: tuple[OfRoutes, ...]
    """Where gaps agree with the survey only as if written down in another way."""
    restraint: Restraint
    tests: PressureTests
    design: AgainstDesign
    """How far each joint lies from the design."""
    cover: Covered
    """How far the ground lies above the pipe."""
    known_to: KnownTo
    """How well each joint's place is known, at 95 percent, on a line that runs as it is drawn."""
    unit: str
    """Unit of the coordinates."""
    doubted: Doubted
    """What is doubtful in the survey, before any pipe is blamed."""
    by_stations: Bools
    """True where stations alone tell that the shot there is the joint's, and the job does not say whether it is."""
    unlogged: Unlogged
    """Turns of the line that no joint of the log has a part in."""
    unlogged_shot: pa.Array
    """Names of the shots that show them."""
    numbers: JointNumbers
    """The number of each joint, taken apart."""
    out_of_order: OutOfOrder
    """Joints whose numbers do not run with their stations."""
    slips: Floats
    """How far each joint stands off by a slip of its own station, coordinate units; 0 where nothing says so."""

    @property
    def deflection_deg(self) -> Floats:
        """Deflection by the survey, the readings or both; NaN where only bounds of it are known."""
        return np.degrees(self.judgement.deflection)

    @property
    def verdict(self) -> pa.Array:
        """The verdict on each joint."""
        return self.judgement.verdict

    @property
    def assumes(self) -> pa.Array:
        """What the verdict rests on without its being measured; null where all was."""
        return self.judgement.assumes

    @cached_property
    def overruled(self) -> dict[int, tuple[list[str], Ints]]:
        """By joint, the items that did not pass in records before the one that counts, which says they did."""
        counts = self.joints.record
        record = np.flatnonzero(self.joint_of_record >= 0)
        record = record[self.joints.records[self.joint_of_record[record]] > 1]
        fields: dict[int, tuple[list[str], Ints]] = {}
        for field in (one for one in PASSED_FIELDS if one in self.log.fields):
            failed = record[as_mask(pc.equal(self.log.fields[field].take(pa.array(record)), "no"))]
            passes = pc.equal(self.log.fields[field].take(pa.array(counts[self.joint_of_record[failed]])), "yes")
            failed = failed[as_mask(passes)]
            for joint in np.unique(self.joint_of_record[failed]).tolist():
                said, rows = fields.get(joint, ([], failed[:0]))
                fields[joint] = ([*said, field], np.union1d(rows, failed[self.joint_of_record[failed] == joint]))
        return fields

    def text(self, field: str) -> pa.Array:
        """Give a field of each joint's present record, all null where the log has none."""
        if field not in self.log.fields:
            return pa.nulls(len(self.joints), pa.string())
        return self.joints.of_log(self.log.fields[field])

    def number(self, field: str) -> Floats:
        """Give a number field of each joint's present record, NaN where blank."""
        return self.log.number(field)[self.joints.record]

    @property
    def symbol(self) -> str:
        """Symbol of the station unit."""
        return units.SYMBOLS[self.job.records.station_unit]


class Found(NamedTuple):
    """What one check found: shapes (found,)."""

    joint: Ints
    """Joint of each finding; -1 for a finding on a length of a route, which `length` then gives."""
    message: pa.Array
    value: Floats | None = None
    limit: Floats | None = None
    unit: pa.Array | str | None = None
    basis: pa.Array | str | None = None
    length: Stretches | None = None
    shot: Ints | None = None
    """Shot of the survey that each finding is about, as a vertex of the routes; -1 for none."""
    point: pa.Array | None = None
    """Name of that shot."""
    record: Ints | None = None
    """Record of the log that each finding is about; where the check gives none, the joint's latest."""
    first: Ints | None = None
    """First of the joints among which each finding lies, or at which it asks for a shot; -1 for its joint alone."""
    last: Ints | None = None
    """The last of them."""


def stretch_of(judged: Judged, first: Ints, last: Ints) -> pa.Array:
    """Say from which station to which each stretch between two joints lies."""
    station = judged.joints.station
    begin, end = station.take(pa.array(first)), station.take(pa.array(last))
    return pc.if_else(pa.array(first == last), say("at ", begin), say("from ", begin, " to ", end))


def piece_joint(judged: Judged) -> Ints:
    """Give the joint whose record describes the pipe between each pair of joints."""
    return pipe_back(judged.job, judged.segments)


def at_fittings(judged: Judged) -> Bools:
    """Tell which joints join anything but two pipes."""
    return as_mask(pc.not_equal(judged.text("kind"), "pipe"))


def say(*parts: pa.Array | str) -> pa.Array:
    """Join texts, each one for all rows or one a row."""
    return pc.binary_join_element_wise(*parts, "")


def plain(value: Floats, decimals: int = 2) -> pa.Array:
    """Write numbers as a message shows them."""
    return pc.cast(pc.round(pa.array(value, pa.float64()), decimals), pa.string())


def any_of(masks: Iterable[Bools], size: int) -> Bools:
    """Tell where any of the masks holds; nowhere where there are none."""
    found = np.zeros(size, dtype=np.bool_)
    for mask in masks:
        found |= mask
    return found


def rows_of(mask: pa.Array) -> Ints:
    """Give the rows where a mask holds; a null does not."""
    return np.flatnonzero(as_mask(mask))


def nothing_found() -> Found:
    """Give the answer of a check that found nothing."""
    return Found(empty_ints(), pa.array([], pa.string()))
