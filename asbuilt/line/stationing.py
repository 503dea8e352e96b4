"""Stations: the trade's text for a distance along a route, and the equations that break the count.

US customary stations count full stations of 100 (`12+34.56` is 1,234.56 ft), metric ones of 1,000
(`1+234.567` is 1,234.567 m). A station equation gives one point two stations, back and ahead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_floats, as_ints, as_mask, empty_ints
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.held import held
from asbuilt.line import station_text
from asbuilt.line.station_text import PATTERN, TAIL_DIGITS, no_station, stretch_words
from asbuilt.units import Unit

Form = station_text.Form
_METRE_WORDS = ("M", "METRES", "METERS")
_FEW = 0.1
"""Stations of the other kind that are no more than this part of those with a + are mistakes of their rows."""


class Stations(NamedTuple):
    """Stations read from text: shapes (n,)."""

    value: Floats
    """Station as a number in station units; NaN where the text is blank or cannot be read."""
    side: Ints
    """-1 where the text says back, +1 where it says ahead, else 0; also 0 where it names the equation."""
    region: Ints
    """Number of the stretch that the text names by an equation (the one before equation 1 is 1), else 0."""
    form: Form
    """How the column writes its stations."""

    def of(self, some: slice | Ints) -> Stations:
        """Give some of them."""
        return Stations(self.value[some], self.side[some], self.region[some], self.form)


def parse_stations(
    text: pa.Array, form: Form | None = None, *, where: str = "stations", unit: Unit | None = None
) -> Stations:
    """Read stations from text, all written in one form.

    A number without + among stations with + is read as it stands, in station units, unless only hundreds (thousands)
    of it lie among the others: then it may lack its + and is unreadable.

    Parameters
    ----------
    text : pyarrow string array, shape (n,)
        Stations such as `12+34.56`, `STA 1+234.567`, `24+50 BK`, `24+60.00 AH EQ 2`, `1234.56`.
    form : {"hundreds", "thousands", "decimal"}, optional
        How they are written; left out, it is inferred from the whole column.
    where : str
        Name of the column, for messages.
    unit : {"us-ft", "ft", "m"}, optional
        The unit of the column: it may stand behind a station, and a station with another one is unreadable.

    Returns
    -------
    Stations
        Values in the column's own unit.

    Raises
    ------
    InputFileError
        When no form is given and the column mixes stations of hundreds and of thousands: a guess would move joints.
        A few of the other kind are unreadable, and stop their own rows only.

    Examples
    --------
    >>> parse_stations(pa.array(["12+34.56", "STA. 10+00 BK", None])).value.tolist()
    [1234.56, 1000.0, nan]
    >>> parse_stations(pa.array(["1+234.567"])).value.tolist()
    [1234.567]
    >>> parse_stations(pa.array(["12+34.56 ft", "1240", "Ch. 12+50"]), unit="us-ft").value.tolist()
    [1234.56, 1240.0, 1250.0]
    """
    coded = pc.dictionary_encode(text)  # routes repeat the stations of one another: each distinct text is read once
    at = as_ints(coded.indices, -1)
    found = _read(coded.dictionary, np.bincount(at[at >= 0], minlength=len(coded.dictionary)), form, where, unit)
    # A blank one has the last place, behind those of the texts.
    value, side, region = (
        held(np.append(one, blank)[at], len(at))
        for one, blank in ((found.value, np.nan), (found.side, 0), (found.region, 0))
    )
    return Stations(value, side, region, found.form)


def _read(text: pa.Array, times: Ints, form: Form | None, where: str, unit: Unit | None) -> Stations:
    """Read different stations, each of which stands so many times in its column."""
    upper = pc.utf8_upper(pc.utf8_trim_whitespace(text))
    parts = pc.extract_regex(upper, PATTERN)
    head, tail, fraction = (pc.struct_field(parts, name) for name in ("head", "tail", "fraction"))
    digits = as_ints(pc.utf8_length(tail), 0)
    readable = as_mask(pc.is_valid(parts)) & _in_unit(parts, digits, unit)
    bare = readable & (digits == 0)
    inferred = form is None
    form = form or _infer_form(text, times, digits, readable, where)
    readable = readable & ((digits == TAIL_DIGITS[form]) | (bare & inferred))
    whole = _number(head, readable) * np.where(bare, 1.0, 10.0 ** TAIL_DIGITS[form]) + _number(tail, readable)
    # The decimals are added as one decimal number, so that 12+34.56 is exactly the float 1234.56.
    value = _joined_number(whole, fraction, readable)
    negative = as_mask(pc.equal(pc.struct_field(parts, "sign"), "-"))
    side_text = pc.struct_field(parts, "side")
    ahead = as_mask(pc.starts_with(side_text, "A"))
    side = ahead.astype(np.int64) - as_mask(pc.starts_with(side_text, "B"))
    equation = _number(pc.struct_field(parts, "equation"), readable).astype(np.int64)
    region = np.where(equation > 0, equation + ahead, 0)
    value = np.where(negative, -value, value)
    if form != "decimal" and bare.any():
        value = np.where(_may_lack_plus(value, bare, form), np.nan, value)
    return Stations(value, np.where(equation > 0, 0, side), region, form)


def one_station(station: str | float, *, key: str) -> Stations:
    """Read one station of a job file, in any form, with the side or region that it may name.

    Raises
    ------
    JobFileError
        Naming `key` when it is not a station.

    Examples
    --------
    >>> found = one_station("24+50.00 BK", key="restraint.from")
    >>> found.value.tolist(), found.side.tolist()
    ([2450.0], [-1])
    """
    return job_stations([station], [key])


def job_stations(given: Sequence[str | float], keys: Sequence[str]) -> Stations:
    """Read stations of a job file, each in any form, with the side or stretch that it may name.

    Raises
    ------
    JobFileError
        Naming the key of the first that is not a station.

    Examples
    --------
    >>> job_stations(["24+50", "2+450", 2450], ["one", "two", "three"]).value.tolist()
    [2450.0, 2450.0, 2450.0]
    """
    number = np.array([isinstance(one, int | float) for one in given], dtype=np.bool_)
    text = pa.array([None if plain else one for one, plain in zip(given, number, strict=True)], pa.string())
    value = np.array([float(one) if plain else np.nan for one, plain in zip(given, number, strict=True)])
    side, region = np.zeros(len(value), dtype=np.int64), np.zeros(len(value), dtype=np.int64)
    for form in TAIL_DIGITS if not number.all() else ():
        found = parse_stations(text, form)  # type: ignore[arg-type]
        new = np.isnan(value) & np.isfinite(found.value)
        value, side = np.where(new, found.value, value), np.where(new, found.side, side)
        region = np.where(new, found.region, region)
    wrong = np.flatnonzero(np.isnan(value))
    if len(wrong):
        raise no_station(given[wrong[0]], key=keys[wrong[0]])
    return Stations(value, side, region, "decimal")


def format_stations(value: Floats, form: Form, decimals: int | None = None) -> pa.Array:
    """Write stations as the trade does; null where the value is NaN.

    Parameters
    ----------
    value : array, shape (n,)
        Stations in station units.
    form : {"hundreds", "thousands", "decimal"}
    decimals : int, optional
        Decimals kept; 2, or 3 for metric stations.

    Examples
    --------
    >>> format_stations(np.array([1234.5, 5.0, -50.0, np.nan]), "hundreds").to_pylist()
    ['12+34.50', '0+05.00', '-0+50.00', None]
    >>> format_stations(np.array([1234.567]), "thousands").to_pylist()
    ['1+234.567']
    """
    value = np.asarray(value, dtype=np.float64)
    decimals = decimals if decimals is not None else (3 if form == "thousands" else 2)
    known = np.isfinite(value)
    scaled = np.rint(np.abs(np.where(known, value, 0.0)) * 10**decimals).astype(np.int64)
    tail_digits = TAIL_DIGITS[form]
    head, rest = np.divmod(scaled, 10 ** (tail_digits + decimals))
    tail, fraction = np.divmod(rest, 10**decimals)
    parts = [pc.cast(pa.array(head), pa.string())]
    below = (value < 0) & (scaled > 0)
    if below.any():
        parts = [pc.if_else(pa.array(below), "-", ""), *parts]
    if tail_digits:
        parts += [pa.scalar("+"), _digits(tail, tail_digits)]
    if decimals:
        parts += [pa.scalar("."), _digits(fraction, decimals)]
    text = pc.binary_join_element_wise(*parts, "")
    return text if known.all() else pc.if_else(pa.array(known), text, pa.scalar(None, pa.string()))


@dataclass(frozen=True)
class Regions:
    """Stretches of unbroken stationing of all routes, as flat arrays: a route has one more than equations.

    Shapes: `first` (routes + 1,), all others (regions,). Lengths and stations in station units.
    """

    first: Ints
    """Index of each route's first region; the last entry closes the last route."""
    station_from: Floats
    station_to: Floats
    distance_from: Floats
    """Station units from the route's start to the region's start."""

    def count(self, route: Ints) -> Ints:
        """Give the number of regions of each route asked for, shape (n,)."""
        return self.first[route + 1] - self.first[route]


def regions(
    start_station: Floats,
    length: Floats,
    equations: Sequence[tuple[int, float, float]],
    *,
    names: Sequence[str],
    tolerance: float = 0.0,
) -> Regions:
    """Lay the station equations of every route out along it.

    Parameters
    ----------
    start_station, length : array, shape (routes,)
        Station of each route's first point, and its length, in station units.
    equations : sequence of (route index, back, ahead)
        In the order in which they stand along each route.
    names : sequence of str
        Route names, for messages.
    tolerance : float
        How far an equation may lie beyond its route's end.

    Raises
    ------
    JobFileError
        When an equation lies before the one before it, or beyond the end of its route.

    Examples
    --------
    Textbook arithmetic: 24+50 back is 30+00 ahead, so 31+00 is 1,550 ft from 10+00.

    >>> found = regions(np.array([1000.0]), np.array([3000.0]), [(0, 2450.0, 3000.0)], names=["A"])
    >>> found.station_to.tolist(), found.distance_from.tolist()
    ([2450.0, 4550.0], [0.0, 1450.0])
    """
    first = [0]
    station_from: list[float] = []
    station_to: list[float] = []
    distance_from: list[float] = []
    of_route: dict[int, list[tuple[float, float]]] = {}
    for route, back, ahead in equations:
        of_route.setdefault(route, []).append((back, ahead))
    for route, name in enumerate(names):
        station, distance = float(start_station[route]), 0.0
        for back, ahead in of_route.get(route, ()):
            if back < station:
                raise JobFileError(
                    f"centerline.equations: on route {name!r} the back station {back:.2f} lies before "
                    f"{station:.2f}, where its stretch begins; give the equations in order along the route"
                )
            station_from.append(station)
            station_to.append(back)
            distance_from.append(distance)
            station, distance = ahead, distance + (back - station)
        if distance > length[route] + tolerance:
            raise JobFileError(
                f"centerline.equations: on route {name!r} an equation lies {distance:.2f} from the start, "
                f"beyond the route's end at {length[route]:.2f}; correct the equation or the start station"
            )
        station_from.append(station)
        station_to.append(station + float(length[route]) - distance)
        distance_from.append(distance)
        first.append(len(station_from))
    return Regions(np.array(first), np.array(station_from), np.array(station_to), np.array(distance_from))


def write_stations(found: Regions, route: Ints, value: Floats, region: Ints, form: Form) -> pa.Array:
    """Write stations as the trade does, and name the stretch of one that occurs more than once on its route.

    Parameters
    ----------
    found : Regions
    route : array of int, shape (n,)
    value : array, shape (n,)
        Station units.
    region : array of int, shape (n,)
        Number of the stretch within the route, from 1.
    form : how they are written

    Returns
    -------
    pyarrow string array, shape (n,)
        `1+00.00 BK` and `1+00.00 AH` where the route has one equation, `1+00.00 AH EQ 2` where it has several.

    Examples
    --------
    >>> found = regions(np.array([0.0]), np.array([200.0]), [(0, 100.0, 40.0)], names=["A"])
    >>> write_stations(found, np.zeros(2, int), np.array([60.0, 20.0]), np.array([2, 1]), "hundreds").to_pylist()
    ['0+60.00 AH', '0+20.00']
    """
    text = format_stations(value, form)
    if len(found.station_from) == len(found.first) - 1:
        return text  # on routes without equations no station occurs twice
    none = np.zeros(len(value), dtype=np.int64)
    repeated = resolve(found, route, Stations(value, none, none, form), 0.0).candidates > 1
    if not repeated.any():
        return text
    several = found.count(route) > 2
    most = int(region.max(initial=1))
    words = [stretch_words(max(number, 1), several=many) for many in (False, True) for number in range(most + 1)]
    stretch = pa.array(words).take(pa.array(region + several * (most + 1)))
    return pc.if_else(pa.array(repeated), pc.binary_join_element_wise(text, stretch, " "), text)


class Resolved(NamedTuple):
    """What stations mean on their routes; shapes (n,), distances in station units from the route's start."""

    distance: Floats
    """Distance, or NaN where there is none or more than one."""
    region: Ints
    """Region number within the route (from 1), or 0."""
    candidates: Ints
    """How many places have this station."""
    lowest: Floats
    highest: Floats
    """The first and the last of these places."""
    gap: Bools
    """True where the station falls in the gap of an equation."""


def resolve(found: Regions, route: Ints, stations: Stations, tolerance: float) -> Resolved:
    """Turn stations into distances along their routes, by their equations.

    Parameters
    ----------
    found : Regions
    route : array of int, shape (n,)
        Route of each station; -1 where it is unknown.
    stations : Stations
        Their `side` and `region` choose among places with the same station.
    tolerance : float
        How far beyond either end of a route a station is still held to the end, station units.

    Returns
    -------
    Resolved

    Examples
    --------
    A repeat: 30+00 back is 24+50 ahead, so 26+00 exists twice, and 31+00 nowhere.

    >>> found = regions(np.array([1000.0]), np.array([2500.0]), [(0, 3000.0, 2450.0)], names=["A"])
    >>> text = pa.array(["26+00", "26+00 BK", "26+00 AH", "20+00", "50+00"])
    >>> resolve(found, np.zeros(5, dtype=np.int64), parse_stations(text), 0.0).distance.tolist()
    [nan, 1600.0, 2150.0, 1000.0, nan]
    """
    known = (route >= 0) & np.isfinite(stations.value)
    low, high = _held_to_ends(found, tolerance)
    row, at = _containing(found, low, high, route, np.where(known, stations.value, np.nan))
    number = at - found.first[route[row]] + 1
    value, asked = stations.value[row], stations.region[row]
    meant = (asked == 0) | (asked == number)
    meant &= _on_side(found, at, value, stations.side[row], number, found.count(route[row]))
    row, at, number = row[meant], at[meant], number[meant]
    distance = found.distance_from[at] + (value[meant] - found.station_from[at])
    size = len(route)
    lowest, highest = np.full(size, np.inf), np.full(size, -np.inf)
    np.minimum.at(lowest, row, distance)
    np.maximum.at(highest, row, distance)
    region = np.zeros(size, dtype=np.int64)
    region[row] = number
    # Both stations of an equation are one place.
    again = np.zeros(len(row), dtype=np.bool_)
    again[1:] = (row[1:] == row[:-1]) & (
        np.abs(np.diff(distance)) <= 1e-6
    )  # both stations of an equation are one place
    candidates = np.bincount(row[~again], minlength=size)
    single = candidates == 1
    least, most = np.minimum.reduceat(high, found.first[:-1]), np.maximum.reduceat(low, found.first[:-1])
    of_known = np.where(known, route, 0)
    return Resolved(
        distance=np.where(single, lowest, np.nan),
        region=np.where(single, region, 0),
        candidates=candidates,
        lowest=lowest,
        highest=highest,
        gap=known & (candidates == 0) & (stations.value < most[of_known]) & (stations.value > least[of_known]),
    )


def candidate_distances(found: Regions, route: int, value: float, tolerance: float) -> list[tuple[float, int]]:
    """Give every place of one route that has this station, as (distance, region number), in order."""
    places = []
    first, last = int(found.first[route]), int(found.first[route + 1]) - 1
    for at in range(first, last + 1):
        low = found.station_from[at] - (tolerance if at == first else 0.0)
        high = found.station_to[at] + (tolerance if at == last else 0.0)
        if low <= value <= high:
            places.append((float(found.distance_from[at] + value - found.station_from[at]), at - first + 1))
    return places


def station_at(found: Regions, route: Ints, distance: Floats) -> tuple[Floats, Ints]:
    """Give the station, and its region number, at a distance along a route; an equation's point reads back.

    Parameters
    ----------
    found : Regions
    route : array of int, shape (n,)
    distance : array, shape (n,)
        Station units from the route's start.

    Examples
    --------
    >>> found = regions(np.array([1000.0]), np.array([2500.0]), [(0, 2450.0, 3000.0)], names=["A"])
    >>> station_at(found, np.zeros(2, dtype=np.int64), np.array([1400.0, 1550.0]))[0].tolist()
    [2400.0, 3100.0]
    """
    asked = np.where(np.isfinite(distance), distance, -np.inf)
    begun = _begun(found.first, found.distance_from + 1e-9, route, asked, at_the_start=False)
    at = np.maximum(begun - 1, found.first[route])
    return found.station_from[at] + (distance - found.distance_from[at]), at - found.first[route] + 1


def _held_to_ends(found: Regions, tolerance: float) -> tuple[Floats, Floats]:
    """Give the stations from which and to which each region takes a station; a route's ends take a little more."""
    low, high = found.station_from.copy(), found.station_to.copy()
    low[found.first[:-1]] -= tolerance
    high[found.first[1:] - 1] += tolerance
    return low, high


def _containing(found: Regions, low: Floats, high: Floats, route: Ints, value: Floats) -> tuple[Ints, Ints]:
    """List which row may lie in which region of its route, as indices of both, in order; a row of NaN in none."""
    rows = np.flatnonzero(np.isfinite(value))
    of_region = np.repeat(np.arange(len(found.first) - 1), np.diff(found.first))
    order = np.lexsort((low, of_region))
    # Back from the last region that begins before it, as long as any that begins still earlier reaches as far.
    reach = high[order]
    for one in np.flatnonzero(np.diff(found.first) > 1):
        regions_of_one = slice(found.first[one], found.first[one + 1])
        reach[regions_of_one] = np.maximum.accumulate(reach[regions_of_one])
    at = _begun(found.first, low[order], route[rows], value[rows], at_the_start=True) - 1
    pairs_row, pairs_at = [], []
    while len(rows):
        still = (at >= found.first[route[rows]]) & (reach[np.maximum(at, 0)] >= value[rows])
        rows, at = rows[still], at[still]
        inside = high[order[at]] >= value[rows]
        pairs_row.append(rows[inside])
        pairs_at.append(order[at[inside]])
        at = at - 1
    row, of_row = np.concatenate([empty_ints(), *pairs_row]), np.concatenate([empty_ints(), *pairs_at])
    in_order = np.lexsort((of_row, row))
    return row[in_order], of_row[in_order]


def _begun(first: Ints, start: Floats, route: Ints, value: Floats, *, at_the_start: bool) -> Ints:
    """Count the starts of regions that lie before each value, those of earlier routes too; starts ascend in a route."""
    at = first[route]
    begun = at + ((start[at] <= value) if at_the_start else (start[at] < value))
    several = np.flatnonzero(first[route + 1] - at > 1)
    if len(several) == 0:
        return begun
    of_start = np.repeat(np.arange(len(first) - 1), np.diff(first))
    is_value = np.arange(len(start) + len(several)) >= len(start)
    values, routes = np.concatenate([start, value[several]]), np.concatenate([of_start, route[several]])
    order = np.lexsort((is_value == at_the_start, values, routes))
    begun[several[order[is_value[order]] - len(start)]] = np.cumsum(~is_value[order])[is_value[order]]
    return begun


def _on_side(found: Regions, at: Ints, value: Floats, side: Ints, number: Ints, count: Ints) -> Bools:
    """Tell where a region may be meant by BK or AH: its station must stand again across the equation."""
    # A station said to be back is before an equation whose ahead side has it too, and the other way round.
    has_next = count > number
    following = np.where(has_next, at + 1, at)
    before = np.where(number > 1, at - 1, at)
    repeats_ahead = has_next & (value >= found.station_from[following]) & (value <= found.station_to[following])
    repeats_back = (number > 1) & (value >= found.station_from[before]) & (value <= found.station_to[before])
    wrong = ((side < 0) & repeats_back & ~repeats_ahead) | ((side > 0) & repeats_ahead & ~repeats_back)
    return ~wrong


def _infer_form(text: pa.Array, times: Ints, digits: Ints, readable: Bools, where: str) -> Form:
    seen = {form: times * (readable & (digits == tail)) for form, tail in TAIL_DIGITS.items() if tail}
    forms = sorted((form for form, rows in seen.items() if rows.any()), key=lambda form: -int(seen[form].sum()))
    if len(forms) > 1 and seen[forms[1]].sum() > _FEW * seen[forms[0]].sum():
        shown = " and ".join(f"{text[int(np.argmax(seen[form] > 0))].as_py()!r}" for form in forms)
        raise InputFileError(
            f"{where}: stations are written in more than one way ({shown}); say which is right with "
            'records.station_format = "hundreds" (12+34.56) or "thousands" (1+234.567): '
            "the others are then set aside"
        )
    return forms[0] if forms else "decimal"  # type: ignore[return-value]


def _in_unit(parts: pa.Array, digits: Ints, unit: Unit | None) -> Bools:
    """Tell which stations are in the column's unit, as far as they say; kilometres count thousands of metres."""
    said = pc.fill_null(pc.struct_field(parts, "unit"), "")
    kilometres = as_mask(pc.equal(pc.fill_null(pc.struct_field(parts, "km"), ""), "KM"))
    in_metres = as_mask(pc.is_in(said, value_set=pa.array(_METRE_WORDS)))
    silent = as_mask(pc.equal(said, ""))
    fits = silent if unit is None else silent | (in_metres == (unit == "m"))
    found: Bools = fits & (~kilometres | ((digits == TAIL_DIGITS["thousands"]) & (unit in (None, "m"))))
    return found


def _may_lack_plus(value: Floats, bare: Bools, form: Form) -> Bools:
    """Tell which numbers without + lie among the stations with + only if they are taken for full stations."""
    known = np.isfinite(value) & ~bare
    if not known.any():
        return bare
    low, high = value[known].min(), value[known].max()
    full = value * 10.0 ** TAIL_DIGITS[form]
    with np.errstate(invalid="ignore"):
        found: Bools = bare & ((value < low) | (value > high)) & (full >= low) & (full <= high)
    return found


def _number(digits: pa.Array, readable: Bools) -> Floats:
    text = pc.if_else(pa.array(readable), digits, pa.scalar(None, pa.string()))
    text = pc.if_else(pc.equal(text, ""), pa.scalar(None, pa.string()), text)
    return as_floats(pc.fill_null(pc.cast(text, pa.float64()), 0.0))


def _joined_number(whole: Floats, fraction: pa.Array, readable: Bools) -> Floats:
    whole_text = pc.cast(pa.array(np.where(readable, whole, 0.0).astype(np.int64)), pa.string())
    text = pc.binary_join_element_wise(whole_text, pc.fill_null(fraction, ""), "")
    value = as_floats(pc.cast(text, pa.float64()))
    return np.where(readable, value, np.nan)


def _digits(value: Ints, width: int) -> pa.Array:
    """Write whole numbers that have so many digits at most, with noughts before them."""
    return _of_width(width).take(pa.array(value))


@cache
def _of_width(width: int) -> pa.Array:
    """Write every whole number of so many digits."""
    return pc.utf8_lpad(pc.cast(pa.array(range(10**width)), pa.string()), width=width, padding="0")
