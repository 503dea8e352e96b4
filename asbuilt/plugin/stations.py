"""Stations and distances along the routes of a placed job, by the pieces of stationing that its file holds."""

import re

from .words import tr

_DIGITS = {"hundreds": 2, "thousands": 3}
_WRITTEN = re.compile(
    r"^\s*(?:sta\.?|station)?\s*(?:(\d+)\s*\+\s*)?(\d+(?:\.\d+)?)\s*(bk|back|ah|ahead)?\s*(?:eq\s*(\d+))?\s*$",
    re.IGNORECASE,
)


class StationError(Exception):
    """A station is not there, or there more than once; the text is the whole message."""


class Stretch:
    """A part of a route between two station equations, or an end: distance and station at either end of it."""

    def __init__(self, number, from_distance, to_distance, from_station, to_station):
        self.number = number
        self.from_distance, self.to_distance = from_distance, to_distance
        self.from_station, self.to_station = from_station, to_station

    def station_at(self, distance):
        """Give the station at a distance, or None where it is not of this stretch."""
        if not self.from_distance <= distance <= self.to_distance:
            return None
        return self._between(distance, self.from_distance, self.to_distance, self.from_station, self.to_station)

    def distance_at(self, station):
        """Give the distance of a station, or None where it is not of this stretch."""
        low, high = sorted((self.from_station, self.to_station))
        if not low <= station <= high:
            return None
        return self._between(station, self.from_station, self.to_station, self.from_distance, self.to_distance)

    @staticmethod
    def _between(value, start, end, first, last):
        return first if end == start else first + (value - start) / (end - start) * (last - first)


def written(number, form):
    """Write a station as the job does, to a tenth.

    Examples
    --------
    >>> written(2844.31, "hundreds"), written(1234.56, "thousands"), written(10.0, "decimal")
    ('28+44.3', '1+234.6', '10.0')
    """
    digits = _DIGITS.get(form)
    number = round(number, 1)
    if digits is None or number < 0:
        return f"{number:.1f}"
    whole, rest = divmod(number, 10**digits)
    return f"{int(whole)}+{rest:0{digits + 2}.1f}"


def at_distance(stretches, distance, form):
    """Write the station at a distance along a route, with the equation that it is after where it occurs twice.

    Examples
    --------
    >>> line = [Stretch(1, 0.0, 2400.0, 500.0, 2900.0), Stretch(2, 2400.0, 4350.0, 2750.0, 4700.0)]
    >>> at_distance(line, 100.0, "hundreds"), at_distance(line, 2494.31, "hundreds")
    ('6+00.0', '28+44.3 AH EQ 1')
    """
    for stretch in stretches:
        station = stretch.station_at(distance)
        if station is not None:
            others = [one for one in stretches if one is not stretch and one.distance_at(station) is not None]
            return written(station, form) + (_suffix(stretch) if others else "")
    return ""


def distance_of(stretches, text, form):
    """Give the distance along a route of a station that somebody wrote.

    Raises
    ------
    StationError

    Examples
    --------
    >>> line = [Stretch(1, 0.0, 2400.0, 500.0, 2900.0), Stretch(2, 2400.0, 4350.0, 2750.0, 4700.0)]
    >>> distance_of(line, "Sta. 28+44.31 AH EQ 1", "hundreds"), distance_of(line, "28+44.31 BK", "hundreds")
    (2494.31, 2344.31)
    """
    found = _WRITTEN.match(text)
    if not found:
        raise StationError(tr("{0!r} cannot be read as a station; write it like 12+34.56").format(text))
    whole, rest, side, equation = found.groups()
    if whole and form not in _DIGITS:
        raise StationError(tr("the stations of this job are plain numbers; {0!r} has a plus").format(text))
    number = float(rest) + (int(whole) * 10 ** _DIGITS[form] if whole else 0.0)
    there = {one.number: one.distance_at(number) for one in stretches}
    there = {number: distance for number, distance in there.items() if distance is not None}
    if side and len(there) > 1:
        after = int(equation) if equation else min(there)
        there = {one: distance for one, distance in there.items() if one == after + (side.lower() in ("ah", "ahead"))}
    if not there:
        raise StationError(tr("there is no station {0} on this route").format(text.strip()))
    places = {round(distance, 6) for distance in there.values()}
    if len(places) > 1:
        named = [written(number, form) + _suffix(one) for one in stretches if one.number in there]
        raise StationError(tr("the station occurs more than once; write {0}").format(tr(" or ").join(named)))
    return places.pop()


def _suffix(stretch):
    return " BK" if stretch.number == 1 else f" AH EQ {stretch.number - 1}"
