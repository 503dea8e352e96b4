"""What a question finds, counted by job, crew, year and the like: joints, length of main, how complete it is."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from asbuilt import units
from asbuilt.arrays import Floats, Ints
from asbuilt.errors import AsbuiltError
from asbuilt.register import aside, known, question, service
from asbuilt.register.inventory import STATES
from asbuilt.register.neighbours import ALONG, ALONG_UNIT, LAID
from asbuilt.register.opening import reading
from asbuilt.register.over import Overs, shared
from asbuilt.register.question import Question
from asbuilt.register.search import choose
from asbuilt.register.store import Store, floats, ints
from asbuilt.register.waiting import counted
from asbuilt.register.wording import size_words

if TYPE_CHECKING:
    import pandas as pd

KEYS = ("job", "main", "crew", "inspector", "year", "month", "size", "type", "kind", "verdict", "finding", "service")
"""What joints can be grouped by."""
_OF_RECORDS = ("crew", "inspector", "year", "month")
_COLUMN = "column="
_NONE = {"size": "size unknown", "type": "type unknown", "kind": "kind unknown", "finding": "no finding"}
_UNNAMED = {"crew": "not named", "inspector": "not named", "year": "undated", "month": "undated"}
NO_RECORD = "no record"
BLANK = "blank"


@dataclass(frozen=True)
class Groups:
    """What a question finds, counted by groups."""

    register: str
    by: tuple[str, ...]
    unit: str
    """Unit of lengths."""
    total: dict[str, Any]
    """All joints found, each once."""
    groups: list[dict[str, Any]]
    """Each with its values under the names of `by`; a joint that several jobs or crews speak of is in several."""
    waits: list[dict[str, Any]]
    gone: list[dict[str, Any]]
    unknown: str | None = None
    """A name of the question that nothing in the register has, and those that may be meant."""
    unsure: list[str] = field(default_factory=list)
    """Options of the question that joints that wait are not held against."""
    stations_read_as: str | None = None
    """How the stations asked for were read, with their unit."""
    set_aside: list[dict[str, Any]] = field(default_factory=list)
    """Records that the question may mean and that were set aside: they are in no joint, and so in no count."""
    aside_unsure: list[str] = field(default_factory=list)
    """Options of the question that records set aside are not held against."""
    may_be_over: str | None = None
    """Where a deflection is asked for: how many joints more may be deflected so, as nothing bounds what they are."""

    def as_json(self) -> dict[str, Any]:
        """Give what `find --group-by --json` prints."""
        return {
            "register": self.register, "group_by": list(self.by), "length_unit": self.unit, "total": self.total,
            "groups": self.groups, "waiting": counted(self.waits), "waiting_not_held_against": self.unsure,
            "gone": self.gone, "unknown": self.unknown, "stations_read_as": self.stations_read_as,
            "set_aside": self.set_aside, "set_aside_not_held_against": self.aside_unsure,
            "may_be_over": self.may_be_over,
        }  # fmt: skip


def group(register: Path | str, asked: Question, by: Sequence[str]) -> Groups:
    """Count what a question finds by groups.

    Parameters
    ----------
    register : path of a register, or a postgresql:// address
    asked : Question
    by : sequence of str
        Of `KEYS`, or `column=NAME` for a column of the contractor's log; several are crossed, each record and each
        finding with the job that it is of. Crew, inspector, year, month and column are those of the records that meet
        the question; findings are those that it asks for, where it names any.

    Returns
    -------
    Groups
        "length" is that of the main from the joint before to each joint, on its route in the job that laid it: of a
        job's first joint it is 0. "out_of_service" counts the joints that were replaced or abandoned: they are among
        the others.

    Raises
    ------
    AsbuiltError
        When the question cannot be understood, or the register cannot be read.
    """
    for one in by:
        if one not in KEYS and not _column(one):
            said = question.meant(one, KEYS)
            raise AsbuiltError(
                f"--group-by: {one!r} is not one of {', '.join(KEYS)}, nor a column of the log, like column=Lot{said}"
            )
    with reading(register) as store:
        chosen = choose(store, asked)
        store.stage("found", {"fid": chosen.fid})
        unit = chosen.unit or store.unit
        joints, overs = _joints(store, unit), shared(store)
        keyed = _keyed(store, asked, joints, tuple(by))
        total = _count(joints.assign(nr=np.arange(len(joints))), overs)
        set_aside = aside.meant(store, asked)
        return Groups(
            store.name, tuple(by), unit, total, _grouped(keyed, by, overs), chosen.waits, chosen.gone, chosen.unknown,
            chosen.unsure, chosen.stations_read_as, set_aside, aside.unsure(asked) if set_aside else [],
            chosen.may_be_over,
        )  # fmt: skip


def _joints(store: Store, unit: str) -> pd.DataFrame:
    """Give the joints found, a row each in the order of the answer, with the length of main up to each."""
    import pandas as pd

    names = ("fid", "main", "size", "size_unit", "type", "kind", "verdict", "inspection")
    found = store.columns(
        "SELECT j.fid, j.route, j.size, j.size_unit, j.joint_type, j.kind, j.verdict, j.inspection FROM found t "
        "JOIN joints j ON j.fid = t.fid ORDER BY t.nr",
        len(names),
    )
    joints = pd.DataFrame({name: pd.Series(values, dtype=object) for name, values in zip(names, found, strict=True)})
    joints["size"] = [size_words(*one) for one in zip(joints["size"], joints["size_unit"], strict=True)]
    out = dict(store.rows(f"SELECT t.nr, s.service FROM found t JOIN joints j ON j.fid = t.fid JOIN ({service.LATEST}) "
                          "s ON s.joint_uid = j.joint_uid"))  # fmt: skip
    joints["service"] = [out.get(nr, "in-service") for nr in range(len(joints))]
    joints["length"] = _lengths(store, ints(found[0])) / float(units.METRES[unit])
    return joints


def _lengths(store: Store, fid: Ints) -> Floats:
    """Give the length of main from the joint before to each joint, metres.

    Joints keep the place along their route that the first job gave them: a leak dug up has a line of its own.
    """
    found = store.columns(
        f"SELECT j.fid, j.route, f.job, {ALONG}, {ALONG_UNIT} FROM joints j {LAID} "
        "WHERE j.route IN (SELECT k.route FROM found t JOIN joints k ON k.fid = t.fid) ORDER BY j.fid",
        5,
    )
    if not len(fid):
        return np.zeros(0)
    number = ints(found[0])
    lines = np.array([f"{route}\t{job}" for route, job in zip(*found[1:3], strict=True)])
    line = np.unique(lines, return_inverse=True)[1]
    along = floats(found[3]) * floats([float(units.METRES[one]) for one in found[4]])
    order = np.lexsort((along, line))
    length = np.diff(along[order], prepend=0.0)
    length[np.flatnonzero(np.diff(line[order], prepend=-1))] = 0.0
    by_number = np.zeros(len(number))
    by_number[order] = length
    return by_number[np.searchsorted(number, fid)]


def _keyed(store: Store, asked: Question, joints: pd.DataFrame, by: tuple[str, ...]) -> pd.DataFrame:
    """Give a row for each joint and each combination of the keys' values that it has."""
    keyed = joints.assign(nr=np.arange(len(joints)))
    for key in ("size", "type", "kind"):
        keyed[key] = keyed[key].fillna(_NONE[key])
    on = ["nr"]
    how: Literal["inner", "left"]
    if "job" in by:
        # A record or a finding is of one job: beside another job's name it would make a group that is not there.
        on = ["nr", "job"]
        keyed = keyed.merge(_pairs(store, _JOBS, on), on="nr", how="left")
    wanted = [key for key in by if key in _OF_RECORDS or _column(key)]
    if wanted:
        records, narrowed = _records(store, asked, [key for key in wanted if _column(key)])
        how = "inner" if narrowed else "left"
        keyed = keyed.merge(records[[*on, *wanted]].drop_duplicates(), on=on, how=how)
    if "finding" in by or ("job" in by and asked.findings):
        values: dict[str, Any] = {}
        found = _pairs(store, _findings(asked, values), ["nr", "finding", "job"], **values)
        # Who asks for a finding asks who has it, and not what else there is at the same joints.
        how = "inner" if asked.findings else "left"
        told = [*on, "finding"] if "finding" in by else on
        keyed = keyed.merge(found[told].drop_duplicates(), on=on, how=how)
    for key in by:
        keyed[key] = keyed[key].fillna(_NONE.get(key, NO_RECORD))
    return keyed.drop_duplicates(["nr", *by])


_JOBS = (
    "SELECT t.nr, l.job FROM found t JOIN joints j ON j.fid = t.fid JOIN loads l ON l.load_id = j.load_id "
    "UNION SELECT t.nr, l.job FROM found t JOIN joints j ON j.fid = t.fid "
    "JOIN joints_earlier e ON e.joint_uid = j.joint_uid JOIN loads l ON l.load_id = e.load_id "
    "WHERE l.state = 'standing' "
    "UNION SELECT t.nr, l.job FROM found t JOIN joints j ON j.fid = t.fid "
    "JOIN inspections i ON i.joint_uid = j.joint_uid JOIN loads l ON l.load_id = i.load_id WHERE l.state = 'standing'"
)
"""The jobs that speak of each joint found."""
_STANDING = "i.state = 'standing'"


def _findings(asked: Question, values: dict[str, Any]) -> str:
    """Give SQL for the findings of each joint found: those that stand, or those asked for, which an earlier job has."""
    which = question.of_findings(asked, values) if asked.findings else "f.state = 'standing'"
    return (
        "SELECT DISTINCT t.nr, f.code, l.job FROM found t JOIN joints j ON j.fid = t.fid "
        f"JOIN findings f ON f.joint_uid = j.joint_uid JOIN loads l ON l.load_id = f.load_id WHERE {which}"
    )


def _column(key: str) -> str | None:
    """Give the column of the log that a key names.

    Examples
    --------
    >>> _column("column=Lot"), _column("crew")
    ('Lot', None)
    """
    return key.removeprefix(_COLUMN).strip() or None if key.startswith(_COLUMN) else None


def _pairs(store: Store, sql: str, names: Sequence[str], **values: Any) -> pd.DataFrame:
    import pandas as pd

    nr, *texts_of = store.columns(sql, len(names), **values)
    texts = {name: pd.Series(one, dtype=object) for name, one in zip(names[1:], texts_of, strict=True)}
    return pd.DataFrame({"nr": ints(nr)} | texts)


def _records(store: Store, asked: Question, columns: Sequence[str]) -> tuple[pd.DataFrame, bool]:
    """Give what the records that meet the question say of crew, inspector, date and the log's own columns.

    Names have one spelling. The second tells whether the question asks anything of records: all else of a joint is
    not asked for then.
    """
    values: dict[str, Any] = {}
    narrowing = question.of_records(asked, values)
    # A joint without a record is counted as such; of one that has several, only that which came to what is asked.
    conditions = narrowing or question.of_its_inspection(asked, values)
    names = ["nr", "crew", "inspector", "day", "job", "inspects", "original"]
    found = store.columns(
        f"SELECT t.nr, i.crew, i.inspector, CAST(i.inspected_on AS varchar(10)), l.job, "
        f"CASE WHEN {question.OF_AN_INSPECTION} THEN 1 ELSE 0 END, "
        f"{'i.original' if columns else 'NULL'} FROM found t "
        "JOIN joints j ON j.fid = t.fid JOIN inspections i ON i.joint_uid = j.joint_uid "
        "JOIN loads l ON l.load_id = i.load_id "
        f"WHERE {' AND '.join([*conditions, _STANDING])}",
        len(names),
        **values,
    )
    import pandas as pd

    records = pd.DataFrame({name: pd.Series(one, dtype=object) for name, one in zip(names, found, strict=True)})
    records["nr"] = records["nr"].astype(np.int64)
    for key in ("crew", "inspector"):
        records[key] = _one_spelling(records[key])
    records["year"], records["month"] = records["day"].str[:4], records["day"].str[:7]
    rows = [json.loads(row or "{}") for row in records.pop("original")] if columns else []
    told = records.pop("inspects").to_numpy() == 1
    for key in columns:
        cells = _cells(store, rows, _column(key) or "")
        told |= cells.notna().to_numpy()
        records[key] = _one_spelling(cells).fillna(BLANK)
    return records[told].fillna(_UNNAMED), bool(narrowing)


def _cells(store: Store, rows: list[dict[str, Any]], name: str) -> pd.Series[Any]:
    """Give the cells of a column of the log, by its name in any letters; None where a row has none or it is blank.

    Raises
    ------
    AsbuiltError
        When no log of the register has such a column.
    """
    import pandas as pd

    spelt = {column for row in rows for column in row if column.lower() == name.lower()}
    unknown = known.column(store, name) if not spelt else None
    if unknown is not None:
        raise AsbuiltError(unknown)
    cells = [next((str(row[column]).strip() for column in spelt if row.get(column)), None) for row in rows]
    return pd.Series([cell or None for cell in cells], dtype=object)


def _one_spelling(names: pd.Series[Any]) -> pd.Series[Any]:
    """Write names that differ in capitals alone as they are written most, as the filters take them for one."""
    lower = names.map(question.small, na_action="ignore")
    return lower.map(names.groupby(lower).agg(lambda same: same.mode().iloc[0]))


def _grouped(keyed: pd.DataFrame, by: Sequence[str], overs: Overs) -> list[dict[str, Any]]:
    groups = keyed.groupby(list(by), sort=True)
    return [dict(zip(by, values, strict=True)) | _count(rows, overs) for values, rows in groups]


def _count(joints: pd.DataFrame, overs: Overs) -> dict[str, Any]:
    """Count joints, the length of main, the states of inspections, and those over their allowable."""
    states = {state: int((joints["inspection"] == state).sum()) for state in STATES}
    length = round(float(np.nansum(joints["length"].to_numpy(np.float64))), 3)
    over = overs.count(joints["nr"][joints["verdict"] == "over"].tolist())
    return {"joints": len(joints), "length": length, **states, **over,
            "out_of_service": int((joints["service"] != "in-service").sum())}  # fmt: skip
