"""What later loads make of joints without one that is undone: their states told anew, one load after the other.

What a load itself said of a joint stands in its state, also where it gave way to another load there (`gave_way`). What
was not kept, as by a load of an earlier version, is taken for nothing, or refused where it was something.
"""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NoReturn

import numpy as np
import pyarrow as pa

from asbuilt.checks import CHECK_KINDS
from asbuilt.errors import InputFileError
from asbuilt.register import fields, layout, merge
from asbuilt.register.arrow_kinds import typed
from asbuilt.register.layout import run_told
from asbuilt.register.merge import TOLERANCE_M
from asbuilt.register.store import Store, quoted, today

_STATE = tuple(dict.fromkeys((*fields.NEEDED, "first_load_id", "gave_way")))
_ALSO = ("route", "joint", "joint_uid")


@dataclass(frozen=True)
class Without:
    """What becomes of joints that later loads spoke of too."""

    present: list[int] = field(default_factory=list)
    """The register's number of each joint whose present state is another one then."""
    states: dict[tuple[str, int], dict[str, Any]] = field(default_factory=dict)
    """What each state that is another one holds then, by joint_uid and load."""
    gone: list[tuple[str, int, str]] = field(default_factory=list)
    """What gives way to an earlier load then: joint_uid, load and the load column of the group."""
    runs: dict[int, dict[str, Any]] = field(default_factory=dict)
    """What loads say of themselves that give way to other loads then, as those know places better."""


_SaidOf = Mapping[str, Mapping[str, Sequence[Mapping[str, Any]]]]
"""By job and load column, the states in which the job itself said something of a group or fact."""


@dataclass(frozen=True)
class _Load:
    number: int
    job: str
    run: Mapping[str, Any]
    tolerance_m: float


def without(store: Store, load: int) -> Without:
    """Tell what the states of later loads are without one load.

    Parameters
    ----------
    store : Store
    load : int
        Number of the load, of which the joints' states still tell.

    Returns
    -------
    Without

    Raises
    ------
    InputFileError
        Where that cannot be told, as what a later load said was not kept.
    """
    rows = store.rows("SELECT load_id, job, run, tolerance_m FROM loads WHERE state = 'standing' OR load_id = :load",
                      load=load)  # fmt: skip
    loads = {int(one[0]): _Load(int(one[0]), str(one[1]), run_told(one[2]), float(one[3])) for one in rows}
    told = _Told(store, load, loads)
    for states in _states(store, load):
        told.add(states)
    return told.end()


def _states(store: Store, load: int) -> Iterable[list[dict[str, Any]]]:
    """Give the states of each joint that a load and a later one spoke of, by load; those of undone loads are none."""
    names = (*_STATE, *_ALSO)
    of = "SELECT e.joint_uid FROM joints_earlier e WHERE e.load_id = :load"
    found = store.dicts(
        f"SELECT j.fid, 1 AS present, {quoted(names, 'j.')} FROM joints j WHERE j.load_id > :load "
        f"AND j.joint_uid IN ({of}) UNION ALL "
        f"SELECT e.fid, 0 AS present, {quoted(names, 'e.')} FROM joints_earlier e JOIN loads l "
        "ON l.load_id = e.load_id JOIN joints j ON j.joint_uid = e.joint_uid WHERE l.state = 'standing' "
        f"AND j.load_id > :load AND j.joint_uid IN ({of})",
        ["fid", "present", *names],
        load=load,
    )
    by_joint: dict[str, list[dict[str, Any]]] = {}
    for one in sorted(found, key=lambda one: int(one["load_id"])):
        by_joint.setdefault(one["joint_uid"], []).append(one)
    # A store gives them in any order, and the first joint that does not let the load be undone is named.
    yield from sorted(by_joint.values(), key=lambda states: [str(states[-1][name]) for name in _ALSO])


class _Told:
    """The states of joints told anew, one joint after the other."""

    def __init__(self, store: Store, load: int, loads: Mapping[int, _Load]) -> None:
        self.result = Without()
        self._store, self._load, self._loads = store, load, loads
        self._surer: dict[int, set[int]] = {}
        self._jobs = {number: one.job for number, one in loads.items()}
        self._today = today().isoformat()
        codes = store.rows(
            "SELECT DISTINCT f.joint_uid, f.load_id, f.code FROM findings f WHERE f.joint_uid IN "
            "(SELECT e.joint_uid FROM joints_earlier e WHERE e.load_id = :load) "
            f"AND f.code IN ({', '.join(map(repr, fields.OF_READINGS))})",
            load=load,
        )
        names = ("joint_uid", "load_id", "state", "ended_by", *fields.OF_RECORDS.values())
        self._records: dict[str, list[dict[str, Any]]] = {}
        for record in store.dicts(
            f"SELECT {quoted(names, 'i.')} FROM inspections i WHERE i.joint_uid IN "
            "(SELECT e.joint_uid FROM joints_earlier e WHERE e.load_id = :load)",
            names,
            load=load,
        ):
            self._records.setdefault(str(record["joint_uid"]), []).append(record)
        self._codes = {(str(uid), int(number), str(code)) for uid, number, code in codes}

    def add(self, states: Sequence[dict[str, Any]]) -> None:
        """Tell the states of one joint anew."""
        known: dict[str, Any] | None = None
        jobs: set[str] = set()
        said: dict[str, dict[str, list[dict[str, Any]]]] = {}
        first = next(int(one["load_id"]) for one in states if int(one["load_id"]) != self._load)
        for state in states:
            number = int(state["load_id"])
            if number == self._load:
                continue
            of = self._loads[number]
            known = state if number < self._load else self._anew(state, known, of, said, jobs, first)
            jobs.add(of.job)
            own = said.setdefault(of.job, {})
            for group in (*fields.GROUPS, *fields.FACTS):
                if (known[group.load_column] or number) == number:
                    own.setdefault(group.load_column, []).append(known)

    def end(self) -> Without:
        """Tell to which loads others give way then."""
        for number, one in self._loads.items():
            before = set(one.run.get("gave_way_to", ()))
            now = (before - {self._load}) | self._surer.get(number, set())
            if number > self._load and now != before:
                self.result.runs[number] = {**one.run, "gave_way_to": sorted(now)}
        return self.result

    def _anew(
        self,
        state: dict[str, Any],
        known: dict[str, Any] | None,
        of: _Load,
        said: _SaidOf,
        jobs: set[str],
        first: int,
    ) -> dict[str, Any]:
        """Tell one state anew, after the one before it as it is without the load."""
        if self._load in of.run.get(fields.STANDS_UNDER, ()):
            self._refuse(of, state, "has joints under names, numbers or stations that load {load} gave them")
        file = self._as_said(state, of)
        new = state | {"first_load_id": first}
        kept: dict[str, Any] = {}
        if known is not None:
            self._refuse_if_far(file, known, of, state, said)
        if known is not None and jobs != {of.job}:
            surveyed = self._loads[int(known[fields.PLACE] or known["load_id"])].run.get(fields.SURVEYED_ON)
            before = known | {fields.SURVEYED_ON: surveyed, fields.READ_AGAINST: self._read_against(known)}
            unit = str(state["coordinate_unit"])
            own, others = self._said_before(said, of, str(state["joint_uid"]), unit)
            every = fields.Said(own, others)
            kept = fields.keep(file, before, every, of.job, self._jobs, unit, self._today)
            if fields.gives_way(file, before, every, of.job, self._jobs, unit, self._today):
                self._surer.setdefault(of.number, set()).add(int(known[fields.PLACE] or known["load_id"]))
        own_loads: dict[str, int | None] = {group.load_column: of.number for group in fields.GROUPS}
        own_loads |= {fact.load_column: None for fact in fields.FACTS}
        new |= {name: file[name] for name in fields.NEEDED if name in file} | own_loads
        new |= {name: value for name, value in kept.items() if name in _STATE}
        new["gave_way"] = fields.gave_way(file, kept)
        self._keep(state, new, of)
        return new

    def _as_said(self, state: Mapping[str, Any], of: _Load) -> dict[str, Any]:
        """Give what a load itself said of a joint."""
        file = {name: state[name] for name in fields.NEEDED}
        file |= {fields.SURVEYED_ON: of.run.get(fields.SURVEYED_ON), fields.AWAY: 0.0}
        file[fields.CONTRADICTED] = (state["joint_uid"], of.number, "deflection-conflict") in self._codes
        given = None if state["gave_way"] is None else dict(json.loads(state["gave_way"]))
        for group in (*fields.GROUPS, *fields.FACTS):
            if int(state[group.load_column] or of.number) == of.number:
                continue
            if given is not None:
                file |= {name: given.get(name) for name in group.columns}
                continue
            self._refuse_what_was_not_kept(state, of, group)
            if isinstance(group, fields.Group):
                file |= dict.fromkeys(group.columns) | {group.told_by: group.nothing}
            else:
                file |= dict.fromkeys(group.columns)
        return file

    def _said_before(
        self, said: _SaidOf, of: _Load, uid: str, unit: str
    ) -> tuple[dict[str, dict[str, Any]], dict[str, dict[str, Any]]]:
        """Give what was last said of each group and fact by the job itself and by others, in a unit."""
        own: dict[str, dict[str, Any]] = {}
        others: dict[str, dict[str, Any]] = {}
        for group in (*fields.GROUPS, *fields.FACTS):
            column = group.load_column
            for found, jobs in ((own, {of.job}), (others, said.keys() - {of.job})):
                told = [one for job in jobs for one in said.get(job, {}).get(column, ())]
                told = [one for one in told if self._still_said(one, uid, column, of)]
                if told:
                    state = max(told, key=lambda one: int(one["load_id"]))
                    found[column] = {name: state[name] for name in group.columns} | {column: state["load_id"]}
                    fields.carry(found[column], str(state["coordinate_unit"]), unit)
        return own, others

    def _still_said(self, state: Mapping[str, Any], uid: str, column: str, of: _Load) -> bool:
        """Tell whether the job of a state still says what it said then, as its records stand before a load."""
        name = fields.OF_RECORDS.get(column)
        if name is None or state[name] is None:
            return True
        job = self._jobs[int(state["load_id"])]
        return any(
            self._jobs.get(one["load_id"]) == job and self._stood_before(one, of.number) and one[name] == state[name]
            for one in self._records.get(uid, ())
        )

    def _stood_before(self, record: Mapping[str, Any], number: int) -> bool:
        """Tell whether a record stood before a load, without the one that is undone."""
        if record["load_id"] == self._load or record["load_id"] >= number:
            return False
        return record["state"] == "standing" or record["ended_by"] in (None, self._load) or record["ended_by"] >= number

    def _read_against(self, known: Mapping[str, Any]) -> bool:
        read = int(known[fields.READING.load_column] or known["load_id"])
        return known[fields.READING.columns[0]] is not None and any(
            (known["joint_uid"], read, code) in self._codes for code in fields.OF_READINGS
        )

    def _refuse_what_was_not_kept(self, state: Mapping[str, Any], of: _Load, group: fields.Group | fields.Fact) -> None:
        """Refuse where a load of an earlier version gave way to the load: what it said is not known."""
        column = group.load_column
        records = self._records.get(str(state["joint_uid"]), ())
        dated = column == fields.INSPECTION and any(
            one["load_id"] == of.number and one["inspected_on"] is not None for one in records
        )
        if state[column] == self._load and (column == fields.PLACE or dated):
            self._refuse(of, state, f"gave way to load {{load}} in what it says of the {_WORDS[column]}")

    def _refuse_if_far(
        self, file: dict[str, Any], known: Mapping[str, Any], of: _Load, state: Mapping[str, Any], said: _SaidOf
    ) -> None:
        """Measure how far a load has a joint from where the one before it has it; refuse where it would be in conflict.

        It was matched within its tolerance, or as a correction of the place that its job gave the joint before.
        """
        if file["easting"] is None:
            return
        places = [np.array([float(one[name])]) for one in (file, known) for name in ("easting", "northing")]
        file[fields.AWAY] = float(self._store.ground.away(*places)[0])
        corrected = bool(said.get(of.job, {}).get(fields.PLACE)) and file[fields.AWAY] <= merge.FAR
        if file[fields.AWAY] > of.tolerance_m and not corrected:
            self._refuse(of, state, "has joints where load {load} has them, too far from where they are without it")

    def _keep(self, state: Mapping[str, Any], new: dict[str, Any], of: _Load) -> None:
        """Write down what is other than before."""
        if all(_same(name, state[name], new[name], of.number) for name in _STATE):
            return
        uid = str(state["joint_uid"])
        self.result.states[uid, of.number] = {name: new[name] for name in _STATE}
        if state["present"]:
            self.result.present.append(int(state["fid"]))
        for group in fields.GROUPS:
            column = group.load_column
            if int(state[column] or of.number) == of.number != int(new[column]):
                self.result.gone.append((uid, of.number, column))

    def _refuse(self, of: _Load, state: Mapping[str, Any], what: str) -> None:
        """Refuse to undo the load from under a later one."""
        at = f"(route {state['route']}, joint {state['joint']}), so what it would be without that cannot be told"
        refuse_under(self._store, of.number, f"{what.format(load=self._load)} {at}")


def refuse_under(store: Store, number: int, what: str) -> NoReturn:
    """Refuse to undo a load under a later one, and name what is to be undone first: that, and what rests on it.

    Raises
    ------
    InputFileError
    """
    loads = store.rows(
        "SELECT o.load_id, o.job, o.file, o.tolerance_m, o.run, EXISTS (SELECT 1 FROM joint_service s "
        "WHERE s.load_id = o.load_id) FROM loads l JOIN loads o ON o.job = l.job AND o.state = 'standing' "
        "AND o.load_id >= l.load_id WHERE l.load_id = :number ORDER BY o.load_id",
        number=number,
    )
    latest, job = loads[-1][:2]
    first, again = "it", "its file"
    if latest != number:
        first, again = f"the loads of that job, from load {latest} back to load {number},", "their files"
    raise InputFileError(
        f"{store.name}: load {number} ({job}) {what}; undo {first} first, and load {again} again "
        f"afterwards. To undo: asbuilt load --undo {latest} --into {_typed(store.name)}. To load again: "
        + "; then ".join(_command(store.name, *one[2:]) for one in loads)
    )


def _command(register: str, file: str, tolerance_m: float | None, run: str | None, replaced: Any) -> str:
    """Give the command by which a file was loaded, as far as its load says that.

    Examples
    --------
    >>> run = '{"main": "Elm Street 2031", "replaces": ["A"], "end_tests": true}'
    >>> _command("r.gpkg", "joints.gpkg", 0.3048, run, True)
    'asbuilt load joints.gpkg --into r.gpkg --main "Elm Street 2031" --replaces A --end-tests'
    >>> _command("r.gpkg", "joints.gpkg", 0.3048, "{}", True)
    'asbuilt load joints.gpkg --into r.gpkg (with --replaces and what it replaced)'
    """
    told = run_told(run)
    options: list[tuple[str, str]] = [("--main", told["main"])] if told.get("main") else []
    if tolerance_m not in (None, TOLERANCE_M):
        options.append(("--tolerance", f"{tolerance_m!r}m"))
    if told.get("accept_m"):
        options.append(("--accept-accuracy", f"{told['accept_m']!r}m"))
    options += [("--replaces", one) for one in told.get("replaces", ())]
    words = ["asbuilt load", _typed(file), "--into", _typed(register)]
    words += [f"{name} {_typed(value)}" for name, value in options] + ["--end-tests"] * bool(told.get("end_tests"))
    # A load of an earlier version does not say by which words.
    unsaid = " (with --replaces and what it replaced)" if replaced and not told.get("replaces") else ""
    return " ".join(words) + unsaid


def _typed(text: str) -> str:
    """Write a word of a command as it is typed.

    Examples
    --------
    >>> _typed("joints.gpkg"), _typed("Elm Street 2031")
    ('joints.gpkg', '"Elm Street 2031"')
    """
    if re.fullmatch(r"[\w./:@=+~,\\-]+", text):
        return text
    return shlex.quote(text) if set(text) & set('"$`\\!') else f'"{text}"'


_WORDS = {fields.INSPECTION: "inspection", fields.PLACE: "place"}


def _codes_about(group: fields.Group) -> set[str]:
    return {code for code in CHECK_KINDS if fields.about(code) == group.load_column}


def _same(name: str, one: Any, other: Any, number: int) -> bool:
    """Tell whether a state holds the same; a blank load is that of the state."""
    if name in fields.FROM_LOADS:
        return (one or number) == (other or number)
    return one == other or (one is not None and other is not None and str(one) == str(other))


def write(store: Store, told: Without) -> None:
    """Write the states that are others; all stand among the earlier ones then, of which no place is drawn."""
    if not told.states:
        return
    keys = list(told.states)
    columns: dict[str, Any] = {"joint_uid": pa.array([uid for uid, _ in keys], pa.string()),
                               "of_load": np.array([number for _, number in keys], dtype=np.int64)}  # fmt: skip
    columns |= {f"new_{name}": typed(name, [told.states[key][name] for key in keys]) for name in _STATE}
    store.stage("anew", columns)
    new = {name: store.day(f"a.new_{name}") if layout.kind(name) == "date" else f"a.new_{name}" for name in _STATE}
    settings = ", ".join(f'"{name}" = {new[name]}' for name in _STATE)
    store.execute(
        f"UPDATE joints_earlier SET {settings} FROM anew a "
        "WHERE a.joint_uid = joints_earlier.joint_uid AND a.of_load = joints_earlier.load_id"
    )


def end_what_gave_way(store: Store, told: Without) -> None:
    """End the findings about what gives way now, and let their loads say so."""
    for group in fields.GROUPS:
        some = [(uid, number) for uid, number, column in told.gone if column == group.load_column]
        if not some:
            continue
        store.stage("gone", {"joint_uid": pa.array([uid for uid, _ in some], pa.string()),
                             "of_load": np.array([number for _, number in some], dtype=np.int64)})  # fmt: skip
        codes = ", ".join(map(repr, sorted(_codes_about(group))))
        store.execute(
            f"UPDATE findings SET state = 'superseded', ended_by = (SELECT j.{group.load_column} FROM joints j "
            f"WHERE j.joint_uid = findings.joint_uid) WHERE fid IN (SELECT f.fid FROM gone g JOIN findings f "
            "ON f.joint_uid = g.joint_uid AND f.load_id = g.of_load JOIN joints j ON j.joint_uid = g.joint_uid "
            f"WHERE f.state = 'standing' AND f.code IN ({codes}) AND NOT {fields.of_reading('f', 'j')})"
        )
    for number, run in told.runs.items():
        store.execute(
            "UPDATE loads SET run = :run WHERE load_id = :load",
            run=layout.as_json(run),
            load=number,
        )
