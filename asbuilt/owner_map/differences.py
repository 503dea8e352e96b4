"""Joints of the job against those of the same key on the utility's map: what differs, what the job has no more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_floats, as_mask
from asbuilt.errors import JobFileError
from asbuilt.inputs.fields import FIELD_NAMES
from asbuilt.inputs.text_table import as_text
from asbuilt.owner_map import utility_map

if TYPE_CHECKING:
    from asbuilt.keys.outputs import Map
    from asbuilt.owner_map.utility_map import Target
    from asbuilt.units import Unit

_UUID = r"(?i)^\{?[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}\}?$"
SAME_PLACE_M = 0.001
"""Points nearer than this are one place: files round coordinates."""
SAME_NUMBER = 1e-6
"""Numbers nearer than this part of themselves are one number: files round them, too."""


ELSEWHERE_M = 30.0
"""Joints of one key further apart than this are two joints, where that holds of most of a route: no survey done again
moves a main so far. The figure is ours."""
ANOTHER_ZONE_M = 50_000.0
"""New joints that are all further from everything on the map than this are in another part of the country: by the
neighbouring zone a main lies 100 km off and more. The figure is ours."""
SAME_JOINT_M = 0.1
"""Joints nearer than this are one joint, whatever their keys. The figure is ours."""
RENUMBERED_M = 0.3
"""A joint that moves further than this, and comes nearer than this to where another key was, took that one's place.
The figure is ours: joints along a main stand further apart, but at fittings."""
SEVERAL = 3
"""As many joints of a route that took the places of others, or lie on others, are no chance: at a tee two mains meet,
and two joints may have been mistaken for one another. The figure is ours."""
IDENTITY = ("route", "joint", "size", "joint_type", "kind")
"""What tells one main from another, and does not change where a survey or an inspection is done again."""
PART = 0.25
"""The part of a route's moved joints that took the places of others, from which on the log was renumbered: stations
that all moved by the length of a fitting have few of them. The figure is ours."""


class Present(NamedTuple):
    """The rows that are on the map, in the columns that the job fills."""

    table: pa.Table
    """With the points as well-known binary in "geom"."""
    rows: Sequence[Any]
    """By what the store knows each row again."""


class Difference(NamedTuple):
    """One field of one joint that the map has otherwise."""

    joint: str
    column: str
    there: str | None
    here: str | None


class Compared(NamedTuple):
    """What of a job is on the map, and how."""

    new: pa.Table
    changed: pa.Table
    """Joints that differ from their rows on the map."""
    rows: list[Any]
    """The row of each of them."""
    differences: tuple[Difference, ...]
    dropped: tuple[str, ...]
    """Joints on the map that the job has no more."""
    moves: str
    """How many joints moved in plan, and how far; empty where none did."""
    notes: tuple[str, ...]


class Measure(NamedTuple):
    """How lengths on the map are measured."""

    easting: float
    """Units of the map in a metre, from west to east; of a map in degrees it is another number than from south to
    north."""
    northing: float
    unit: Unit
    """Unit of length of the job, in which people are told."""

    def apart(self, one: Any, other: Any) -> Floats:
        """Give the distances between points in plan, metres."""
        step = (one - other)[:, :2] / (self.easting, self.northing)
        return np.asarray(np.hypot(*step.T), dtype=np.float64)

    def told(self, metres: float, digits: int = 0) -> str:
        """Say a length in the unit of the job."""
        return f"{metres * units.factor('m', self.unit):,.{digits}f} {units.SYMBOLS[self.unit]}"


def compare(joints: pa.Table, present: Present, target: Target, wanted: Map, measure: Measure) -> Compared:
    """Find which joints are new to the map, and which are there but differ.

    Parameters
    ----------
    joints : pyarrow table
        In the layer's columns, with the points as well-known binary in "geom".
    present : Present
    target : Target
    wanted : Map
    measure : Measure

    Raises
    ------
    JobFileError
        When most joints of a route are on the map by their keys, but far from where the job has them, or when an update
        would change what most of them are, such as their main or their size; when joints of a route would take the
        places of other keys, or be added on top of joints that are there, and the job does not say that this is meant.

    Examples
    --------
    >>> from asbuilt.keys.outputs import Map
    >>> from asbuilt.owner_map.utility_map import Field, Target
    >>> target = Target("joints", (Field("NO", "text"), Field("SIZE", "real")), "Point", True, None)
    >>> wanted = Map(into="u.gpkg", key="joint", columns={"joint": "NO", "size": "SIZE"})
    >>> place = b"\\x01\\x01\\x00\\x00\\x00" + bytes(16)
    >>> here = pa.table({"NO": ["1", "2"], "SIZE": [8.0, 12.0], "geom": [place, place]})
    >>> there = Present(pa.table({"NO": ["2"], "SIZE": [8.0], "geom": [place]}), [7])
    >>> found = compare(here, there, target, wanted, Measure(1.0, 1.0, "m"))
    >>> found.new["NO"].to_pylist(), found.rows, found.differences
    (['1'], [7], (Difference(joint='2', column='SIZE', there='8', here='12'),))
    """
    names = list(_key_names(wanted, target))
    ours, theirs = utility_map.keys(joints, names), utility_map.keys(present.table, names)
    is_there = as_mask(pc.is_in(ours, value_set=theirs))
    row_of = {key: at for at, key in enumerate(theirs.to_pylist()) if key is not None}
    twice = _twice(theirs, ours)
    here = np.flatnonzero(is_there)
    there = np.array([row_of[key] for key in ours.take(pa.array(here)).to_pylist()], dtype=np.int64)
    single = ~np.isin(here, np.flatnonzero(as_mask(pc.is_in(ours, value_set=twice))))
    here, there = here[single], there[single]
    label = _label(wanted, target) or names
    shown = utility_map.shown_keys(joints, label)
    _refuse_elsewhere(joints, present.table, here, there, shown, wanted, target, measure)
    away = measure.apart(_coordinates(_shapes(joints, here)), _coordinates(_shapes(present.table, there)))
    notes = _places_taken(joints, present.table, here, there, away, shown, wanted, target, measure)
    _refuse_others(joints, present.table, here, there, shown, wanted, target)
    differing = np.zeros(len(here), dtype=np.bool_)
    to_write = differing.copy()
    changed = joints.take(pa.array(here))
    logged = {wanted.columns[field].casefold() for field in wanted.columns if field in FIELD_NAMES}
    found: list[tuple[int, Difference]] = []
    for column in joints.column_names:
        if column == "geom":
            mask, texts = _places(joints, present.table, here, there, measure)
        else:
            mask, texts = _values(joints[column], present.table[column], here, there)
        differing |= mask
        kept = np.zeros_like(mask)
        if column.casefold() in logged and wanted.update and not wanted.blanks:
            kept[[at for at in np.flatnonzero(mask).tolist() if texts(at)[1] is None]] = True
        if kept.any():
            changed = _keeping(changed, column, present.table, there, kept)
            notes.append(_kept(column, [shown[here[at]] for at in np.flatnonzero(kept)]))
        to_write |= mask & ~kept
        name = "place" if column == "geom" else column
        found += [(at, Difference(shown[here[at]], name, *texts(at))) for at in np.flatnonzero(mask).tolist()]
    rows = np.flatnonzero(to_write)
    if len(twice):
        notes.append(
            f"{len(twice)} keys are on the map more than once ({_few(twice.to_pylist())}): their rows are not compared"
        )
    moved = there[rows] if wanted.update else np.array([], dtype=np.int64)
    places = _shapes(present.table, np.arange(present.table.num_rows))
    places[moved] = _shapes(joints, here[rows] if wanted.update else moved)
    notes += _under_other_keys(joints, places, is_there, wanted, target, measure)
    notes += _in_another_zone(_shapes(joints, np.flatnonzero(~is_there)), places, measure)
    return Compared(
        joints.filter(pa.array(~is_there)),
        changed.take(pa.array(rows)),
        [present.rows[at] for at in there[rows].tolist()],
        tuple(one for _, one in sorted(found, key=lambda pair: pair[0])),
        _dropped(joints, present.table, ours, theirs, label, target, wanted),
        _moves(away[away > SAME_PLACE_M], measure),
        tuple(notes),
    )


def _moves(away: Floats, measure: Measure) -> str:
    """Say how many joints moved in plan, and how far."""
    if not len(away):
        return ""
    least, most = (measure.told(one, 2) for one in (away.min(), away.max()))
    if least == most:
        return f"{len(away)} moved, all {most}"
    return f"{len(away)} moved, {least} to {most}, half of them {measure.told(float(np.median(away)), 2)} or more"


def _keeping(changed: pa.Table, column: str, present: pa.Table, there: Ints, kept: Bools) -> pa.Table:
    """Keep what the map knows in rows where the job has a blank."""
    at = changed.column_names.index(column)
    known = _flat(present[column]).take(pa.array(there)).cast(changed.schema.field(at).type, safe=False)
    return changed.set_column(at, column, pc.if_else(pa.array(kept), known, _flat(changed[column])))


def _kept(column: str, joints: list[str]) -> str:
    values = "1 value" if len(joints) == 1 else f"{len(joints):,} values"
    return (
        f"{values} of {column} that the map has {'is' if len(joints) == 1 else 'are'} blank in the log, and stay there "
        f"({_few(joints)}); map.blanks = true wipes them"
    )


def _places_taken(
    joints: pa.Table, present: pa.Table, here: Ints, there: Ints, away: Floats, shown: list[str], wanted: Map,
    target: Target, measure: Measure,
) -> list[str]:  # fmt: skip
    """Refuse keys that stand where other keys stood: the log was renumbered, and the map's own notes would move."""
    import shapely

    moved = np.flatnonzero(away > RENUMBERED_M)
    new = _shapes(joints, here[moved])
    places = _shapes(present, np.arange(present.num_rows))
    near = RENUMBERED_M * max(measure.easting, measure.northing)
    pairs = shapely.STRtree(places).query(new, predicate="dwithin", distance=near)
    pairs = pairs[:, there[moved][pairs[0]] != pairs[1]]
    if not pairs.shape[1]:
        return []
    taken, first = np.unique(pairs[0], return_index=True)
    routes = _routes(joints, here[moved], wanted, target)
    label = utility_map.shown_keys(present, _label(wanted, target) or list(_key_names(wanted, target)))
    for route in dict.fromkeys(routes[taken].tolist()):
        of_route = routes[taken] == route
        count, of = int(of_route.sum()), int((routes == route).sum())
        if wanted.renumbered or count < SEVERAL or count < PART * of:
            continue
        one = int(np.flatnonzero(of_route)[0])
        which = f"of route {route!r} " if route else ""
        raise JobFileError(
            f"map.key: {count} of {of} joints {which}that moved stand now where the map has another (the first is "
            f"{shown[here[moved[taken[one]]]]}, where the map has {label[pairs[1][first[one]]]}; "
            f"{_moves(away[moved][routes == route], measure)}): the log was renumbered, or its stations moved by the "
            "length of a pipe. Nothing was written: rows would go to other joints, with what the map knows in other "
            "columns, such as notes. Give the joints their old numbers, and a joint put between them a number "
            "of its own, such as 21A; or write map.renumbered = true if each row is to follow its number"
        )
    which = "1 joint stands" if len(taken) == 1 else f"{len(taken):,} joints stand"
    return [
        f"{which} where the map has another joint now ({_few([shown[here[moved[at]]] for at in taken])}); rows follow "
        "their keys, and what the map knows in other columns goes with them"
    ]


def _key_names(wanted: Map, target: Target) -> tuple[str, ...]:
    fields = (target.field(wanted.columns[field]) for field in wanted.key)
    return tuple(one.name for one in fields if one is not None)


def _routes(joints: pa.Table, rows: Ints, wanted: Map, target: Target) -> Any:
    """Give the route of each row, as the map names it; empty where it has none."""
    field = target.field(wanted.columns["route"]) if "route" in wanted.columns else None
    if field is None:
        return np.full(len(rows), "", dtype=object)
    names = _flat(as_text(joints[field.name])).take(pa.array(rows)).to_pylist()
    return np.array([name or "" for name in names], dtype=object)


def _label(wanted: Map, target: Target) -> list[str]:
    """Name the columns by which a person knows a joint: its number, and its route where the map has that too."""
    if "joint" not in wanted.columns:
        return []
    fields = [target.field(wanted.columns[one]) for one in ("route", "joint") if one in wanted.columns]
    return [field.name for field in fields if field is not None]


def _refuse_elsewhere(
    joints: pa.Table, present: pa.Table, here: Ints, there: Ints, shown: list[str], wanted: Map, target: Target,
    measure: Measure,
) -> None:  # fmt: skip
    """Refuse a main whose keys another main has: it would be taken as there already, or drag that one away."""
    away = measure.apart(_coordinates(_shapes(joints, here)), _coordinates(_shapes(present, there)))
    far = away > ELSEWHERE_M
    routes = _routes(joints, here, wanted, target)
    for route in dict.fromkeys(routes.tolist()):
        of_route = routes == route
        if far[of_route].sum() * 2 <= of_route.sum():
            continue
        first = int(np.flatnonzero(of_route & far)[0])
        which = f"of route {route!r} " if route else ""
        raise JobFileError(
            f"map.key: {int(far[of_route].sum())} of {int(of_route.sum())} joints {which}that are on the map by their "
            f"keys lie elsewhere there, up to {measure.told(away[of_route].max())} away (the first is "
            f"{shown[here[first]]}); "
            "another main has the same keys. Nothing was written. Give each route a name that no other main of the map "
            "has (centerline.route_name, or the log's and the centerline's route column), or add to map.key a column "
            "that tells mains apart. If it is the same main and its rows lie wrong, delete them from the map first"
        )


def _refuse_others(
    joints: pa.Table, present: pa.Table, here: Ints, there: Ints, shown: list[str], wanted: Map, target: Target
) -> None:
    """Refuse an update that makes other joints of most rows, as of another main or where columns were exchanged."""
    if not wanted.update or wanted.identity_changes:
        return
    routes = _routes(joints, here, wanted, target)
    for name in IDENTITY:
        column = target.field(wanted.columns[name]) if name in wanted.columns else None
        if column is None:
            continue
        differs, texts = _values(joints[column.name], present[column.name], here, there)
        # A blank on either side is filled in or kept, and says nothing of another main.
        differs[[at for at in np.flatnonzero(differs).tolist() if None in texts(at)]] = False
        for route in dict.fromkeys(routes[differs].tolist()):
            of_route = routes == route
            count, of = int(differs[of_route].sum()), int(of_route.sum())
            # The size of a joint or two may have been logged wrong; a main's name is not.
            if count * 2 <= of or (count < SEVERAL and name != "route"):
                continue
            one = int(np.flatnonzero(of_route & differs)[0])
            was, now = texts(one)
            which = f"of route {route!r} " if route else ""
            raise JobFileError(
                f"map.update: {count} of {of} joints {which}that are on the map by their keys have another "
                f"{column.name} there (map.columns.{name}; the first is {shown[here[one]]}: {was!r} on the map, "
                f"{now!r} in the job). Nothing was written: these look like the rows of another main, or columns are "
                "exchanged in [map.columns]. Add to map.key a column that tells mains apart, or put map.columns "
                "right; or write map.identity_changes = true if each of these rows is to become what the job says"
            )


def _in_another_zone(new: Any, places: Any, measure: Measure) -> list[str]:
    """Notice new joints that lie far from everything on the map: nothing else tells a zone from its neighbour."""
    import shapely

    if not len(new) or not len(places):
        return []
    around = shapely.total_bounds(places)
    if not np.isfinite(around).all():
        return []
    here = _coordinates(new)[:, :2]
    nearest = np.clip(here, around[:2], around[2:])
    away = float(measure.apart(here, nearest).min())
    if not away > ANOTHER_ZONE_M:
        return []
    return [
        f"the joints to be added lie {away / 1000.0:,.0f} km from everything that is on the map: is crs the system of "
        "the survey? A neighbouring zone has the same coordinates elsewhere"
    ]


def _under_other_keys(
    joints: pa.Table, places: Any, is_there: Bools, wanted: Map, target: Target, measure: Measure
) -> list[str]:
    """Refuse joints to be added where the map has joints already, under other keys; note a few."""
    import shapely

    rows = np.flatnonzero(~is_there)
    new = _shapes(joints, rows)
    near = SAME_JOINT_M * max(measure.easting, measure.northing)
    pairs = shapely.STRtree(places).query(new, predicate="dwithin", distance=near)
    found = np.unique(pairs[0])
    if len(found) == 0:
        return []
    told = f"{len(found)} of {len(new)} joints to be added lie where the map has a joint already, under another key"
    _, counts = np.unique(_routes(joints, rows[found], wanted, target).astype(str), return_counts=True)
    if counts.max() >= SEVERAL and not wanted.others_there:
        raise JobFileError(
            f"map.key: {told}. Nothing was written: they would be on the map twice. Were they numbered otherwise (7 "
            "is not 007), or was the job or its route renamed? Name them in the log as the map does, or delete the old "
            "rows; or write map.others_there = true if they are other joints"
        )
    return [f"{told}: was the job or its route renamed? Give it its old name, or delete the old rows, or they are on "
            "the map twice"]  # fmt: skip


def _shapes(table: pa.Table, rows: Ints) -> Any:
    import shapely

    return shapely.from_wkb(table["geom"].take(pa.array(rows)).to_numpy())


def _few(keys: Sequence[str]) -> str:
    shown = ", ".join(key.replace("\x1f", " ") for key in keys[:3])
    return f"{shown} and {len(keys) - 3} more" if len(keys) > 3 else shown


def _twice(theirs: pa.Array, ours: pa.Array) -> pa.Array:
    counts = pc.value_counts(theirs.drop_null())
    several = counts.field("values").filter(pc.greater(counts.field("counts"), 1))
    return several.filter(pc.is_in(several, value_set=ours))


def _values(ours: pa.ChunkedArray, theirs: pa.ChunkedArray, here: Ints, there: Ints) -> tuple[Bools, Any]:
    """Compare one column; also give a way to write both values of a row."""
    mine, other = ours.take(pa.array(here)).combine_chunks(), theirs.take(pa.array(there)).combine_chunks()
    texts = [pc.replace_substring_regex(_flat(as_text(pa.chunked_array([one]))), r"\s+$", "") for one in (mine, other)]
    texts = [pc.if_else(pc.equal(one, ""), pa.scalar(None, pa.string()), one) for one in texts]
    same = pc.fill_null(pc.equal(*(pc.utf8_lower(pc.fill_null(one, "")) for one in texts)), False)
    if pa.types.is_string(mine.type) and pa.types.is_string(other.type):
        same = pc.equal(*(pc.fill_null(one, "") for one in texts))
        uuids = pc.match_substring_regex(pc.fill_null(texts[0], ""), _UUID)
        folded = [pc.utf8_lower(pc.replace_substring_regex(pc.fill_null(one, ""), r"[{}]", "")) for one in texts]
        same = pc.or_(same, pc.and_(uuids, pc.equal(*folded)))
    mask = ~as_mask(same)
    numeric = pa.types.is_floating(mine.type) or pa.types.is_floating(other.type)
    if numeric and mask.any():
        one, two = (as_floats(pc.cast(values, pa.float64(), safe=False)) for values in (mine, other))
        mask &= ~np.isclose(one, two, rtol=SAME_NUMBER, atol=SAME_NUMBER, equal_nan=True)
    return mask, lambda at: (texts[1][at].as_py(), texts[0][at].as_py())


def _places(joints: pa.Table, present: pa.Table, here: Ints, there: Ints, measure: Measure) -> tuple[Bools, Any]:
    """Compare points; the elevation only where both have one."""
    places = [_coordinates(_shapes(table, rows)) for table, rows in ((joints, here), (present, there))]
    rise, least = np.abs(places[0][:, 2] - places[1][:, 2]), SAME_PLACE_M * max(measure.northing, 1.0)
    mask: Bools = ~(measure.apart(*places) <= SAME_PLACE_M) | (np.isfinite(rise) & (rise > least))
    digits = math.ceil(-math.log10(SAME_PLACE_M * measure.northing))
    return mask, lambda at: (_place(places[1][at], digits), _place(places[0][at], digits))


def _coordinates(points: Any) -> Any:
    import shapely

    single = np.where(shapely.get_type_id(points) == 0, points, shapely.get_geometry(points, 0))
    return np.stack([shapely.get_x(single), shapely.get_y(single), shapely.get_z(single)], axis=1)


def _place(values: Any, digits: int) -> str | None:
    """Write a place; in plan with as many digits as tell places apart in the unit of the map."""
    each = zip(values, (digits, digits, 3), strict=True)
    known = [f"{value:.{count}f}" for value, count in each if np.isfinite(value)]
    return " ".join(known) or None


def _dropped(
    joints: pa.Table, present: pa.Table, ours: pa.Array, theirs: pa.Array, label: list[str], target: Target, wanted: Map
) -> tuple[str, ...]:
    """List the rows of the job's routes, with its fixed values, whose joints the job has no more."""
    route = target.field(wanted.columns["route"]) if "route" in wanted.columns else None
    if route is None:
        return ()
    mine = ~as_mask(pc.is_in(theirs, value_set=ours)) & as_mask(theirs.is_valid())
    routes = pc.unique(_flat(as_text(joints[route.name])))
    mine &= as_mask(pc.is_in(_flat(as_text(present[route.name])), value_set=routes))
    for name in wanted.fixed:
        field = target.field(name)
        if field is not None and joints.num_rows:
            wanted_text = _flat(as_text(joints[field.name]))[0]
            mine &= as_mask(pc.equal(_flat(as_text(present[field.name])), wanted_text))
    shown = utility_map.shown_keys(present, label)
    return tuple(shown[at] for at in np.flatnonzero(mine).tolist())


def _flat(column: pa.ChunkedArray | pa.Array) -> pa.Array:
    return column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column
