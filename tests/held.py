"""What must hold of every text that a reader of stations, numbers, sizes, dates, LandXML or job files may get.

Each takes a text and asserts more than that nothing breaks; scripts/fuzz.py looks for texts that nobody thought of.
"""

import math
from contextlib import suppress
from pathlib import Path

import numpy as np
import pyarrow as pa

from asbuilt.errors import AsbuiltError
from asbuilt.inputs import landxml, stations, values
from asbuilt.job import load_job
from asbuilt.line import station_text, stationing
from asbuilt.register import places

UNITS = tuple(values.UNIT_WORDS)
DECIMALS: dict[stationing.Form, int] = {"hundreds": 2, "thousands": 3, "decimal": 2}


def _storable(text: str) -> str:
    return text.encode("utf-8", "replace").decode("utf-8")


def station(text: str, folder: Path) -> None:
    """A station that was read is itself when it is written and read again, in every form."""
    with suppress(AsbuiltError):
        value = station_text.parse_station(_storable(text), key="from")
        for form, decimals in DECIMALS.items():
            (written,) = stationing.format_stations(np.array([value]), form).to_pylist()
            again = station_text.parse_station(written, key="from")
            assert abs(again - value) <= 0.5 * 10**-decimals + 1e-9 * abs(value), (text, form, value, written, again)
            assert stationing.format_stations(np.array([again]), form).to_pylist() == [written], (text, written)


def stations_of_a_log(text: str, folder: Path) -> None:
    """A column of stations keeps its length, and holds no number without bounds."""
    written = pa.array([_storable(one) for one in text.split("\n")])
    with suppress(AsbuiltError):
        apart, _ = stations.without_offsets(written)
        for form in DECIMALS:
            found = stationing.parse_stations(apart, form)
            assert len(found.value) == len(written)
            assert not np.isinf(found.value).any(), (text, form)


def number(text: str, folder: Path) -> None:
    """A number with a unit behind it is one of that unit alone; without, the same number in each."""
    read = {unit: values.number(text, unit=unit) for unit in UNITS}
    found = {unit: value for unit, value in read.items() if value is not None}
    assert all(map(math.isfinite, found.values())), (text, found)
    assert len(set(found.values())) <= 1, (text, found)
    plain = values.number(text)
    if plain is not None:
        assert set(found.values()) == {plain}, (text, plain, found)
        assert len(found) == len(UNITS), (text, found)
        for unit in UNITS:
            for other, words in values.UNIT_WORDS.items():
                behind = values.number(f"{text.strip()} {min(words)}", unit=unit)
                assert behind == (plain if other == unit else None), (text, unit, other, behind)
    else:
        assert len(found) <= 1, (text, found)
    column = values.numbers(pa.array([_storable(text)]), unit="ft")
    one = values.number(_storable(text), unit="ft")
    assert (one is None and math.isnan(column[0])) or one == column[0], (text, one, column)


def temperature(text: str, folder: Path) -> None:
    """A temperature without its letter is read in the job's unit, and one with it the same in each."""
    fahrenheit, celsius = (values.temperature_f(text, unit=unit) for unit in "FC")
    assert (fahrenheit is None) == (celsius is None), (text, fahrenheit, celsius)
    if fahrenheit is not None:
        assert math.isfinite(fahrenheit)
        converted = 1.8 * fahrenheit + 32.0
        assert celsius == fahrenheit or math.isclose(celsius, converted, rel_tol=1e-9, abs_tol=1e-6), text


def size(text: str, folder: Path) -> None:
    """A size is positive, and the same number whichever unit the job has for it; or it says another unit."""
    inches, millimetres = (values.nominal_size(text, unit=unit) for unit in ("in", "mm"))
    for one in (inches, millimetres):
        assert one is None or (math.isfinite(one) and one >= 0.0), (text, one)
    assert inches is None or millimetres is None or inches == millimetres, (text, inches, millimetres)


def date(text: str, folder: Path) -> None:
    """A date that was read is itself when it is written as a calendar does, in any order of day and month."""
    for order in ("mdy", "dmy", "ymd"):
        day = values.date(text, order=order)
        if day is not None:
            assert {values.date(day.isoformat(), order=one) for one in ("mdy", "dmy", "ymd")} == {day}, (text, order)
    values.date_order(pa.array([_storable(text)]))


def offset_and_bend(text: str, folder: Path) -> None:
    """Offsets and bends have bounds."""
    value, angle = values.offset(text, unit="ft"), values.bend_angle(text)
    assert value is None or math.isfinite(value), (text, value)
    assert angle is None or abs(angle) < values.HALF_CIRCLE, (text, angle)
    values.bend_angle_in(text), values.bend_plane(text), values.kind(text), values.yes_no(text)


def length(text: str, folder: Path) -> None:
    """A length has bounds, and is the same in metres as its own number and unit say."""
    with suppress(AsbuiltError):
        value, unit = places.length(text, "m", option="--within")
        assert 0.0 <= value <= 1e9
        metres = places.metres(text, "m", option="--within")
        assert math.isclose(metres, places.metres(f"{value!r}{unit}", "m", option="--within")), (text, value, unit)


def alignments(text: str, folder: Path) -> None:
    """Alignments that were read are made of numbers, and as long as their pieces."""
    path = folder / "line.xml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    with suppress(AsbuiltError):
        for one in landxml.read_alignments(path).alignments:
            assert np.isfinite(one.vertices).all(), one.name
            assert math.inf > one.length > 0.0, one.length
            straight = np.hypot(*np.diff(one.vertices[:, :2], axis=0).T).sum()
            assert one.length >= straight - 0.01 * max(1.0, straight), (one.length, straight)


def job(text: str, folder: Path) -> None:
    """A job file that was read says the same when it is read again."""
    path = folder / "job.toml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    with suppress(AsbuiltError):
        assert repr(load_job(path)) == repr(load_job(path))


OF_TEXTS = {
    "station": station, "stations of a log": stations_of_a_log, "number": number, "temperature": temperature,
    "size": size, "date": date, "offset and bend": offset_and_bend, "length": length,
}  # fmt: skip
OF_FILES = {"alignments": alignments, "job": job}
