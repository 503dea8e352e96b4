"""Allowable deflections: published tables by joint family and nominal size, and the job's own.

No table is fallen back on silently: a joint whose family and size stand in no table has no allowable.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_ints, chosen
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.inputs.header_units import WORDS, unit_said
from asbuilt.vocabulary import JOINT_TYPES, joint_type

if TYPE_CHECKING:
    from asbuilt.inputs.side_tables import SideTable
    from asbuilt.job import Job


SHIPPED = {"awwa-c600": ("awwa_c600.csv", "in"), "en-545": ("en_545.csv", "mm")}
COLUMNS = ("joint_type", "size", "allowable_deg", "source")
NAMES = {
    "joint_type": frozenset({"family", "jointfamily", "type"}),
    "size": frozenset({"nominalsize", "dn", "diameter"}),
    "allowable_deg": frozenset({"allowable", "allowabledeg", "deflectiondeg", "alloweddeg"}),
    "source": frozenset({"basis", "reference"}),
}
MOST_DEG = 45.0
"""No joint is allowed to deflect more than this."""
LEAST_SIZE = 0.1
_NAMED = 3
USUAL = (0.3, 1.5)
"""An allowable of less or more than these parts of the published one is a reason to ask; chosen here, no source."""
_LIKELY = (0.3, 15.0)
"""Degrees that joints in no published table may take, but for those that take none: 5 degrees in radians are less,
and the offset of a pipe in inches is more. Common practice, no source."""
_SAME_UNIT = 0.12
"""An allowable is one in another unit where it is the published one to within this part of it; pipes of 18 ft are
offset a tenth less than those of 20 ft."""
_OTHER_UNIT = re.compile(
    r"[\s(\[,_](in|inch(?:es)?|mm|cm|ft|feet|m|rad(?:ians?)?|gons?|grads?|min(?:utes?)?|%|percent)\.?\s*[)\]]?\s*$",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Allowables:
    """Allowable deflection, degrees, and its source by joint family and nominal size."""

    rows: dict[tuple[str, float], tuple[float, str]]
    inputs: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    """Allowables of the job's own tables that are far from the published ones, or that hardly a joint takes."""
    doubted: frozenset[tuple[str, float]] = frozenset()
    """The rows that the notes are about."""
    own: tuple[tuple[str, frozenset[tuple[str, float]]], ...] = ()
    """File and rows of each table of the job's own."""
    of_iron: frozenset[tuple[str, float]] = frozenset()
    """The rows of a published table: pipe of anything but ductile iron has none of them."""

    def look_up(self, family: pa.Array, size: Floats, other: Bools | None = None) -> tuple[Floats, pa.Array]:
        """Give the allowable deflection of each joint, and where it stands.

        Parameters
        ----------
        family : pyarrow string array, shape (n,)
        size : array, shape (n,)
            Nominal size, in the tables' unit.
        other : array of bool, shape (n,), optional
            Where the pipe is not of ductile iron.

        Returns
        -------
        allowable_deg : array, shape (n,)
            NaN where no row covers the joint.
        source : pyarrow array of text, shape (n,)
            As `chosen` gives it.

        Examples
        --------
        >>> table = Allowables({("push-on", 12.0): (5.0, "submittal 14")})
        >>> table.look_up(pa.array(["push-on", "mechanical"]), np.array([12.0, 12.0]))[0].tolist()
        [5.0, nan]
        """
        degrees, found, joint, none = self._found(family, size, other)
        source = pa.array([row[1] if row else None for row in found], pa.string())
        return degrees, chosen(source, joint, none)

    def degrees(self, family: pa.Array, size: Floats, other: Bools | None = None) -> Floats:
        """Give the allowable deflection of each joint alone, as `look_up` does."""
        return self._found(family, size, other)[0]

    def _found(
        self, family: pa.Array, size: Floats, other: Bools | None
    ) -> tuple[Floats, list[tuple[float, str] | None], Ints, Bools | None]:
        """Give each joint's allowable, the rows of the kinds of joint, its kind, and which joints have none."""
        keys, joint = _kinds_of_joint(family, size)
        found = [self.rows.get(key) if key else None for key in keys]
        degrees = np.array([row[0] if row else np.nan for row in found], dtype=np.float64)[joint]
        if other is None or not other.any():
            return degrees, found, joint, None
        none = other & np.array([key in self.of_iron for key in keys], dtype=np.bool_)[joint]
        return np.where(none, np.nan, degrees), found, joint, none

    def doubtful(self, family: pa.Array, size: Floats) -> Bools:
        """Say which joints' allowables are doubted, shape (n,); the parameters are those of `look_up`."""
        if not self.doubted:
            return np.zeros(len(size), dtype=np.bool_)
        keys, joint = _kinds_of_joint(family, size)
        found: Bools = np.array([key in self.doubted for key in keys], dtype=np.bool_)[joint]
        return found

    def not_restrained(self, family: pa.Array, size: Floats) -> pa.Array:
        """Name the maker's type of restrained joints of which a row is there, and none of it as restrained; else null.

        Examples
        --------
        >>> table = Allowables({("grip", 24.0): (2.5, "submittal 12"), ("push-on", 24.0): (3.0, "AWWA C600")})
        >>> family = pa.array(["restrained-grip", "restrained-push-on", "grip"])
        >>> table.not_restrained(family, np.full(3, 24.0)).to_pylist()
        ['grip', None, None]
        """
        if all(kind in JOINT_TYPES for kind, _ in self.rows):
            return pa.nulls(len(size), pa.string())
        keys, joint = _kinds_of_joint(family, size)
        named: list[str | None] = []
        for key in keys:
            plain = "" if key is None or key in self.rows else key[0].removeprefix("restrained-")
            makers = key is not None and plain not in (key[0], *JOINT_TYPES) and (plain, key[1]) in self.rows
            named.append(plain if makers else None)
        return pa.array(named, pa.string()).take(pa.array(joint))

    def unused(self, family: pa.Array, size: Floats) -> list[str]:
        """Notice tables of the job's own of which no row is of any joint: published ones hold in place of them.

        Parameters
        ----------
        family, size : as for `look_up`
            Of all records of the log.
        """
        if not self.own:
            return []
        there = {key for key in _kinds_of_joint(family, size)[0] if key is not None}
        logged = ", ".join(f"{kind} {one:g}" for kind, one in sorted(there)[:_NAMED]) or "none of a known type and size"
        return [
            f"{path}: no row of it is of any joint of the log, so nothing in it holds for this job: it has "
            f"{', '.join(f'{kind} {one:g}' for kind, one in sorted(rows)[:_NAMED])}, and the log {logged}; correct its "
            "joint types and sizes, or their unit"
            for path, rows in self.own
            if not rows & there
        ]


def families(joint_type: pa.Array, restrained: pa.Array) -> pa.Array:
    """Name the family under which a joint's limits stand: a restrained joint has limits of its own.

    Examples
    --------
    >>> families(pa.array(["push-on", "mechanical", None]), pa.array(["yes", "no", "yes"])).to_pylist()
    ['restrained-push-on', 'mechanical', None]
    """
    add = pc.and_(pc.equal(restrained, "yes"), pc.invert(pc.starts_with(joint_type, "restrained")))
    return pc.if_else(pc.fill_null(add, False), pc.binary_join_element_wise("restrained", joint_type, "-"), joint_type)


def read_allowables(job: Job) -> Allowables:
    """Read the tables that the job names; the project's rows win over the standard's.

    Parameters
    ----------
    job : Job

    Raises
    ------
    InputFileError, JobFileError
        When a table is missing or unreadable, naming the file and row.
    """
    # Loaded where a table is read: a review asks for the families of joints alone.
    from asbuilt.inputs.side_tables import read_side_table

    rows: dict[tuple[str, float], tuple[float, str]] = {}
    inputs: list[tuple[str, str]] = []
    notes: list[str] = []
    doubted: set[tuple[str, float]] = set()
    tables: list[tuple[str, frozenset[tuple[str, float]]]] = []
    of_iron: set[tuple[str, float]] = set()
    for key, name in (("table", job.limits.table), ("project", job.limits.project)):
        if name is None:
            continue
        if name in SHIPPED:
            rows |= shipped_table(name)
            of_iron |= shipped_table(name).keys()
            _check_size_unit(job, key, name)
            continue
        path = job.file(name)
        if not path.is_file():
            raise JobFileError(
                f"limits.{key}: {path} is neither a file nor one of the tables {', '.join(SHIPPED)}; correct it"
            )
        table = read_side_table(path, NAMES, required=COLUMNS, key=f"limits.{key}")
        _refuse_other_units(table, job.records.sizes_in)
        own = _rows(table, job.records.sizes_in)
        _refuse_no_degrees(job, table.path, own)
        far, unlikely = _far_from_published(own, job.records.sizes_in), _unlikely(own, job.records.sizes_in)
        told = [("far from the published allowables", far), ("hardly any joint takes so much, or so little", unlikely)]
        notes += [_doubt(table.path, what, found, _meant(job, own, found)) for what, found in told if found]
        doubted |= far.keys() | unlikely.keys()
        tables.append((table.path, frozenset(own)))
        rows |= own
        of_iron -= own.keys()
        inputs += table.inputs
    part = job.limits.fraction
    if part != 1.0:
        rows = {key: (degrees * part, f"{part:g} of {source}") for key, (degrees, source) in rows.items()}
    return Allowables(rows, tuple(inputs), tuple(notes), frozenset(doubted), tuple(tables), frozenset(of_iron))


def _refuse_other_units(table: SideTable, sizes_in: str) -> None:
    """Refuse columns whose names say another unit: an offset in inches taken for degrees would let anything pass."""
    column = table.columns["allowable_deg"]
    found = _OTHER_UNIT.search(column)
    if found is not None:
        raise InputFileError(
            f"{table.path}: column {column!r} says {found[1]}, but allowable_deg is in degrees; write "
            "degrees, or correct the name of the column"
        )
    said = unit_said(table.columns["size"], "size")
    if said is not None and said != sizes_in:
        raise InputFileError(
            f"{table.path}: column {table.columns['size']!r} says {said}, but sizes are read in {WORDS[sizes_in]}; say "
            f'records.size_unit = "{said}" if the log\'s are so too, or correct the sizes'
        )


def _in_other_units(job: Job) -> list[tuple[str, float]]:
    """Give the units in which an allowable may be meant, and how much of each the whole of a radian is."""
    length = job.records.laying_length * units.factor(job.records.station_unit, "m")
    small, many = ("inches", units.factor("m", "in")) if job.records.sizes_in == "in" else ("centimetres", 100.0)
    pipe = f"{job.records.laying_length:g} {units.SYMBOLS[job.records.station_unit]}"
    return [("in radians", 1.0), (f"as the offset in {small} of a pipe of {pipe}", length * many)]


def _degrees(value: float, whole: float) -> float:
    """Give the degrees of an offset of a pipe, or of radians."""
    return float(np.degrees(value if whole == 1.0 else np.arcsin(min(value / whole, 1.0))))


def _refuse_no_degrees(job: Job, path: str, own: Mapping[tuple[str, float], tuple[float, str]]) -> None:
    """Refuse a table whose allowables are the published ones in radians, or as offsets of a pipe.

    Raises
    ------
    InputFileError
    """
    unit = job.records.sizes_in
    for name in (name for name, (_, sizes) in SHIPPED.items() if sizes == unit):
        for (family, size), (published, source) in shipped_table(name).items():
            mine = own.get((family, size), (published, ""))[0]
            if not published or USUAL[0] * published <= mine <= USUAL[1] * published:
                continue
            for what, whole in _in_other_units(job):
                if abs(_degrees(mine, whole) / published - 1.0) <= _SAME_UNIT:
                    raise InputFileError(
                        f"{path}: allowable_deg {mine:g} of {family} {size:g} {unit} is the {published:g} deg of "
                        f"{source}, {what}: write degrees ({mine:g} are {_degrees(mine, whole):.2g} deg): as it is, "
                        "joints are judged by no limit"
                    )


def _meant(job: Job, own: Mapping[tuple[str, float], tuple[float, str]], found: Mapping[tuple[str, float], str]) -> str:
    """Say what the first doubted allowable would be in degrees, were it in another unit; nothing if none fits."""
    value = own[next(iter(found))][0]
    for what, whole in _in_other_units(job):
        if value and 1.0 <= (degrees := _degrees(value, whole)) <= _LIKELY[1]:
            return f": if {value:g} is meant {what}, write {degrees:.2g}"
    return ""


def _far_from_published(
    own: Mapping[tuple[str, float], tuple[float, str]], unit: str
) -> dict[tuple[str, float], str]:  # fmt: skip
    """Find slipped points and other units: with ten times the allowable every joint would be within."""
    far = {}
    for name in (name for name, (_, sizes) in SHIPPED.items() if sizes == unit):
        for (family, size), (published, source) in shipped_table(name).items():
            mine = own.get((family, size), (published, ""))[0]
            if not USUAL[0] * published <= mine <= USUAL[1] * published:
                far[family, size] = f"{family} {size:g} {unit}: {mine:g} deg, {published:g} deg by {source}"
    return far


def _unlikely(own: Mapping[tuple[str, float], tuple[float, str]], unit: str) -> dict[tuple[str, float], str]:
    """Find allowables of joints in no published table that are as if in radians, or an offset in inches."""
    published = {key for name, (_, sizes) in SHIPPED.items() if sizes == unit for key in shipped_table(name)}
    return {
        (family, size): f"{family} {size:g} {unit}: {mine:g} deg"
        for (family, size), (mine, _) in own.items()
        if (family, size) not in published and mine != 0.0 and not _LIKELY[0] <= mine <= _LIKELY[1]
    }


def _doubt(path: str, what: str, found: Mapping[tuple[str, float], str], meant: str) -> str:
    more = f" and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    few = "; ".join([*found.values()][:_NAMED])
    return f"{path}: {what} ({few}{more}); check them, and that they are in degrees{meant}"


@cache
def shipped_table(name: str) -> Mapping[tuple[str, float], tuple[float, str]]:
    """Give a published table that comes with the program, by its name.

    Parameters
    ----------
    name : {"awwa-c600", "en-545"}

    Returns
    -------
    mapping
        (joint family, nominal size) to (allowable deflection in degrees, source).

    Examples
    --------
    >>> shipped_table("awwa-c600")["push-on", 12.0]
    (5.0, 'AWWA C600, maximum deflection of push-on joints (from memory)')
    """
    from asbuilt.inputs.side_tables import read_side_table

    file, unit = SHIPPED[name]
    with resources.as_file(resources.files("asbuilt").joinpath(f"data/{file}")) as path:
        return MappingProxyType(_rows(read_side_table(path, NAMES, required=COLUMNS, key="limits.table"), unit))


def _check_size_unit(job: Job, key: str, name: str) -> None:
    unit, words = job.records.sizes_in, {"in": "inches", "mm": "millimetres"}
    if unit == SHIPPED[name][1]:
        return
    said = f"limits.{key}: {name} lists sizes in {words[SHIPPED[name][1]]}, but the log's are"
    if job.records.size_unit is None:
        station = job.records.station_unit
        raise JobFileError(
            f'{said} taken to be in {words[unit]}, as records.station_unit = "{station}" has it; correct that if the '
            "stations are in another unit, choose a table for these sizes, or say records.size_unit"
        )
    raise JobFileError(f"{said} in {words[unit]} by records.size_unit; choose a table for these sizes, or correct it")


def _rows(table: SideTable, unit: str) -> dict[tuple[str, float], tuple[float, str]]:
    if not len(table):
        raise InputFileError(f"{table.path}: there are no rows in it; give at least one allowable")
    families, sources = table.required_texts("joint_type"), table.required_texts("source")
    degrees = table.numbers("allowable_deg", least=0.0, most=MOST_DEG)
    rows: dict[tuple[str, float], tuple[float, str]] = {}
    for at, size in enumerate(table.sizes("size", unit=unit, least=LEAST_SIZE).tolist()):
        key = joint_type(families[at]) or families[at], size
        if key in rows:
            raise InputFileError(f"{table.where(at)}: {key[0]} size {size:g} occurs twice; remove one of the two rows")
        rows[key] = float(degrees[at]), sources[at]
    return rows


def _kinds_of_joint(family: pa.Array, size: Floats) -> tuple[list[tuple[str, float] | None], Ints]:
    """Give each family with each size that there is, None without a size, and which of them each joint is."""
    kind, family_code, size_code, sizes = _families_and_sizes(family, size)
    wide = len(sizes) + 1
    codes, joint = np.unique(family_code * wide + size_code, return_inverse=True)
    keys = [(kind[code // wide], float(sizes[code % wide])) if code % wide < len(sizes) else None
            for code in codes.tolist()]  # fmt: skip
    return keys, joint


def _families_and_sizes(family: pa.Array, size: Floats) -> tuple[list[str], Ints, Ints, Floats]:
    coded = pc.dictionary_encode(pc.fill_null(family, ""))
    sizes = np.unique(size[np.isfinite(size)])
    size_code = np.where(np.isfinite(size), np.searchsorted(sizes, size), len(sizes))
    return coded.dictionary.to_pylist(), as_ints(coded.indices, -1), size_code, sizes
