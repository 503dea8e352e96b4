"""Cells of a joint log read as what they mean: numbers, yes or no, dates, temperatures, kinds of joint.

Each distinct text is read once and the answer spread over the column, so the readers stay plain functions
of one text. A text that cannot be read gives None: never a default.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable
from fractions import Fraction
from functools import partial
from typing import Literal

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Floats, as_floats
from asbuilt.vocabulary import KINDS

DateOrder = Literal["mdy", "dmy", "ymd"]

_TICKS = {"✓", "✔", "✅", "☑", "√"}
_CROSSES = {"✗", "✘", "☒", "❌", "✖"}
"""Marks that mean no beside check marks; a form of crosses alone may mean what was done."""
_NO_TICK = re.compile(rf"^(?:no|not)\s*(?:{'|'.join(sorted(_TICKS))})$", re.IGNORECASE)
_DRAWN = "\ufe0f"
"""Behind a mark, it asks for the mark to be drawn in colour."""
_YES = {"yes", "y", "true", "t", "pass", "passed", "ok", "okay", "1", "good", "ja", "sí", "si", "oui", "sim"} | _TICKS
_NO = {"no", "n", "false", "f", "fail", "failed", "0", "bad", "not ok", "nein", "non", "não", "nao"}
_PASSED = {"p", "acceptable", "accepted", "acc", "satisfactory", "sat", "i.o"}
"""What says that an item passed, besides yes; common practice, no source. So are the others."""
_FAILED = re.compile(
    r"(?:fail|rej(?:$|ect)|re-?do\b|n\.?i\.?o$|n\.?g$|no good|unsat|unaccept|bad\b|no\s*[-–—,;:(]"
    r"|not\s+(?:ok|seated|clean|pass|good|accept|home|fully|in\b))"
)
"""How an entry begins that says that an item did not pass, whatever was done about it afterwards."""
_NUMBER = re.compile(r"^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s].*)?$")
_FRACTION = re.compile(r"^((?:\d{1,9}[\s-]+)?\d{1,9}/[1-9]\d{0,8})\s*([^\d\s].*)?$")
_FEET_INCHES = re.compile(
    r"^(\d{1,6})\s*(?:'|’|′|ft\.?|feet)[\s-]*(?:(\d{1,2}(?:\.\d*)?)(?:[\s-]+(\d{1,2}/[1-9]\d?))?|(\d{1,2}/[1-9]\d?))\s*"
    r"(?:\"|''|”|″|’’|′′|in\.?|inch(?:es)?)?$",
    re.IGNORECASE,
)
_MINUTES = re.compile(r"^(\d{1,3})\s*[°º]\s*(\d{1,2})\s*['’′]$")
_THOUSANDS = re.compile(r"^[+-]?\d{1,3}(?:,\d{3})+(?:\.\d*)?(?=\D*$)")
UNIT_WORDS = {
    "ft": {"ft", "feet", "'", "’", "′", "lf", "us-ft"},
    "m": {"m", "metres", "meters"},
    "in": {"in", "inch", "inches", '"', "''", "”", "″", "’’", "′′"},
    "mm": {"mm"},
    "deg": {"°", "º", "deg", "degrees"},
    "ft-lb": {"ft-lb", "ft-lbs", "ft lb", "ft lbs", "lb-ft"},
    "N-m": {"n-m", "nm", "n·m"},
}
"""Words that may stand behind a number, by unit. A number with another unit behind it is unreadable."""
_TEMPERATURE = re.compile(r"^([+-]?\d+(?:\.\d*)?)\s*(?:°|º|deg\.?)?\s*([FC])?$", re.IGNORECASE)
_SIZE = re.compile(r"^(DN\s*)?(\d+(?:\.\d+)?)(?:[\s-]*(\"|''|”|″|’’|′′|in|inch(?:es)?|mm)\.?)?$", re.IGNORECASE)
_SIZES_WITHIN = re.compile(r"(?i)\bDN\s*\d{2,4}\b|(?<![\d./-])\d{1,4}[\s-]?(?:\"|''|”|″|in\b\.?|inch\b|mm\b)")
_BY = re.compile(r"(?i)\d\W{0,3}x\W{0,3}\d|\d\s*(?:by|to)\s*\d")
_CROSS = re.compile(r"^x$", re.IGNORECASE)
_FIRST_YEAR = 1800
_NAMED_MONTH_FIRST = re.compile(r"^([A-Za-z]{3,9})\.? (\d{1,2}),? (\d{4})$")
_DATE = re.compile(r"^(\d{1,4})[./\- ](\d{1,2}|[A-Za-z]{3,9})[./\- ](\d{1,4})(?:[T ]+[\d:.]+(?: ?[AP]M)?)?$")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

USUAL_BENDS = frozenset({90.0, 45.0, 22.5, 11.25, 5.625, 5.0})
"""Angles of the bends that are made, degrees; common practice, no source."""
_SELDOM_BENDS = frozenset({10.0, 15.0, 20.0, 30.0, 60.0})
"""Angles of bends that some makers have; common practice, no source."""
HALF_CIRCLE = 180.0
_PLANES = {
    word: plane
    for plane, words in {
        "horizontal": "h hor horiz horizontal level flat", "vertical": "v ver vert vertical upright",
        "left": "l lt left", "right": "r rt right", "up": "u up rising", "down": "d dn down sag",
        "rolled": "roll rolled skew combined unknown",
    }.items()
    for word in words.split()
}  # fmt: skip
_IN_FIGURES = {
    ord(one): f" {part}" for one, part in zip("½¼¾⅛⅜⅝⅞", ("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8"), strict=True)
}
"""Fractions that are one letter, as a tablet or an office program writes them, in figures."""
_BEND_FRACTIONS = {"1/4": 90.0, "1/8": 45.0, "1/16": 22.5, "1/32": 11.25}


def spread(text: pa.Array, read: Callable[[str], object], kind: pa.DataType) -> pa.Array:
    """Read a column of text by reading each distinct text once.

    Parameters
    ----------
    text : pyarrow string array, shape (n,)
    read : function of one text, giving None where it cannot be read
    kind : type of the answer

    Returns
    -------
    pyarrow array, shape (n,)
        Null where the text is blank or cannot be read.

    Examples
    --------
    >>> spread(pa.array(["Y", "no", "maybe", None]), yes_no, pa.string()).to_pylist()
    ['yes', 'no', None, None]
    """
    coded = pc.dictionary_encode(text)
    answers = pa.array([read(value) for value in coded.dictionary.to_pylist()], kind)
    return answers.take(coded.indices)


_SIDES = re.compile(
    r"(?P<alone>cl|c/l|centerline|centreline)|"
    r"(?P<before>left|right|lt\.?|rt\.?|l|r)?\s*(?P<amount>[-+]?[\d.,]+.*?)\s*(?P<behind>left|right|lt\.?|rt\.?|l|r)?",
    re.IGNORECASE,
)


def numbers(text: pa.Array, *, unit: str | None = None, decimal_comma: bool = False) -> Floats:
    """Read a column of numbers; NaN where blank or unreadable.

    Parameters
    ----------
    text : pyarrow string array, shape (n,)
    unit : str, optional
        A key of `UNIT_WORDS`, whose words may stand behind the numbers.
    decimal_comma : bool

    Examples
    --------
    >>> numbers(pa.array(["12.5", "20 ft", "12 in", "1,250.75", "12,5", None]), unit="ft").tolist()
    [12.5, 20.0, nan, 1250.75, nan, nan]
    >>> numbers(pa.array(["6,00"]), decimal_comma=True).tolist()
    [6.0]
    """
    try:
        parsed = pc.cast(text, pa.float64())
    except pa.ArrowInvalid:
        parsed = spread(text, partial(number, unit=unit, decimal_comma=decimal_comma), pa.float64())
    value = as_floats(parsed)
    return np.where(np.isfinite(value), value, np.nan)


def with_point(text: pa.Array, *, decimal_comma: bool) -> pa.Array:
    """Give texts a decimal point; only a text with a comma is written with decimal commas.

    Examples
    --------
    >>> with_point(pa.array(["1+234,567", "1.234,5", "12+34.56"]), decimal_comma=True).to_pylist()
    ['1+234.567', '1234.5', '12+34.56']
    """
    if not decimal_comma:
        return text
    written = pc.replace_substring(pc.replace_substring(text, ".", ""), ",", ".")
    return pc.if_else(pc.match_substring(text, ","), written, text)


def number(text: str, *, unit: str | None = None, decimal_comma: bool = False) -> float | None:
    """Read one number, with or without its unit behind it; in inches also with a fraction, in feet with inches.

    Examples
    --------
    >>> number("17'-6\\"", unit="ft"), number("17 ft 6 1/4 in", unit="ft"), number("17'-14\\"", unit="ft")
    (17.5, 17.520833, None)
    >>> number('2 1/4"', unit="in"), number("1-7/8", unit="in"), number("2 1/4", unit="ft")
    (2.25, 1.875, None)
    >>> number("2¼", unit="in"), number("⅞", unit="in"), number("17'-6½\\"", unit="ft"), number("2½", unit="mm")
    (2.25, 0.875, 17.541667, None)
    >>> number("45 deg", unit="deg"), number("75-90"), number("12 mm", unit="in"), number("1,200 ft", unit="ft")
    (45.0, None, None, 1200.0)
    """
    text = text.translate(_IN_FIGURES).strip()
    if decimal_comma:
        text = text.replace(".", "").replace(",", ".") if "," in text else text
    elif _THOUSANDS.match(text):
        text = text.replace(",", "")
    if unit == "ft" and (mixed := _FEET_INCHES.match(text)):
        return _with_inches(*mixed.groups())
    found = (_FRACTION.match(text) if unit == "in" else None) or _NUMBER.match(text)
    if not found:
        return None
    behind = (found[2] or "").strip().lower()
    value = _with_fraction(found[1]) if "/" in found[1] else float(found[1])
    if not math.isfinite(value):  # more digits than any number of a log has
        return None
    return value if not behind or behind.rstrip(".") in UNIT_WORDS.get(unit or "", ()) else None


def _with_inches(feet: str, inches: str | None, behind: str | None, alone: str | None) -> float | None:
    """Give feet and inches as feet; nothing where the inches make more than a foot."""
    part = behind or alone
    over = float(inches or 0) + (float(Fraction(part)) if part else 0.0)
    return round(int(feet) + over / 12.0, 6) if over < 12.0 else None


def offset(text: str, *, unit: str | None = None, decimal_comma: bool = False) -> float | None:
    """Read an offset from the line: right positive, whether by its sign or by a word before or behind it.

    Examples
    --------
    >>> offset("3.2 LT"), offset("RT 3.0"), offset("-1.5"), offset("2.5' right", unit="ft"), offset("CL")
    (-3.2, 3.0, -1.5, 2.5, 0.0)
    >>> offset("3.2 up"), offset("LT -3"), offset("R 2 L")
    (None, None, None)
    """
    parts = _SIDES.fullmatch(text.strip())
    if parts is None:
        return number(text, unit=unit, decimal_comma=decimal_comma)
    before, behind = ((side or "").lower().rstrip(".") for side in (parts["before"], parts["behind"]))
    if parts["alone"]:
        return 0.0
    if before and behind:
        return None
    side = before or behind
    value = number(parts["amount"], unit=unit, decimal_comma=decimal_comma)
    if not side or value is None:
        return value
    # A sign and a side may say one thing or two.
    return None if value < 0 else value if side.startswith("r") else 0.0 - value


def _with_fraction(text: str) -> float:
    *whole, part = re.split(r"[\s-]+", text)
    return float(sum(map(int, whole)) + Fraction(part))


def name(text: str) -> str | None:
    """Read a name with one space between its words, whichever blanks stand there.

    Examples
    --------
    >>> name("Crew  1"), name("R.\\u00a0Vance")
    ('Crew 1', 'R. Vance')
    """
    return " ".join(text.split()) or None


def yes_no(text: str) -> str | None:
    """Read yes/no, y/n, true/false, pass/fail, ok, 1/0, a check mark; anything else is unreadable, never no.

    Examples
    --------
    >>> yes_no("OK"), yes_no("✓"), yes_no("Fail"), yes_no("x")
    ('yes', 'yes', 'no', None)
    """
    word = text.strip().lower().rstrip(".").removesuffix(_DRAWN)
    if word in _YES:
        return "yes"
    return "no" if word in _NO else None


def pass_fail(text: str) -> str | None:
    """Read what `yes_no` reads, and words for passed and failed; in a column of restraint P could be push-on.

    What begins by saying that it failed is no, whatever follows: a person is to read on.

    Examples
    --------
    >>> pass_fail("P"), pass_fail("F"), yes_no("P")
    ('yes', 'no', None)
    >>> [pass_fail(text) for text in ("REJECTED", "failed, ok 2nd time", "no - fixed", "not checked", "N/A", "none")]
    ['no', 'no', 'no', None, None, None]
    """
    word = text.strip().lower().rstrip(".")
    if word in _PASSED:
        return "yes"
    return yes_no(text) or ("no" if _FAILED.match(word) else None)


def crossed(text: str) -> bool:
    """Say whether a text is a cross as it stands beside check marks for what did not pass, or a check mark denied.

    Examples
    --------
    >>> crossed("✗"), crossed("no ✓"), crossed("X"), crossed("no")
    (True, True, False, False)
    """
    word = text.strip().removesuffix(_DRAWN)
    return word in _CROSSES or _NO_TICK.match(word) is not None


def holds_check_marks(text: pa.Array) -> bool:
    """Say whether a column is filled in with check marks: a cross in it then means no.

    Examples
    --------
    >>> holds_check_marks(pa.array(["✓", None, "✗"])), holds_check_marks(pa.array(["✗", "ok"]))
    (True, False)
    """
    return any(one.strip().removesuffix(_DRAWN) in _TICKS for one in pc.unique(text).drop_null().to_pylist())


def crosses_alone(text: pa.Array) -> bool:
    """Say whether a column holds crosses and nothing else: they then mark what was looked at and found right.

    Examples
    --------
    >>> crosses_alone(pa.array(["X", None, "x"])), crosses_alone(pa.array(["X", "OK"])), crosses_alone(pa.array([None]))
    (True, False, False)
    """
    found = pc.unique(text.drop_null().slice(0, 1)).to_pylist()
    if not found or not _CROSS.match(found[0].strip()):
        return False
    return all(_CROSS.match(one.strip()) for one in pc.unique(text).drop_null().to_pylist())


def temperature_f(text: str, *, unit: str, decimal_comma: bool = False) -> float | None:
    """Read a temperature as degrees Fahrenheit; a unit in the cell wins over the column's.

    Examples
    --------
    >>> temperature_f("34", unit="F"), temperature_f("5 C", unit="F"), temperature_f("4", unit="C")
    (34.0, 41.0, 39.2)
    """
    found = _TEMPERATURE.match(text.strip().replace(",", ".") if decimal_comma else text.strip())
    if not found:
        return None
    degrees = float(found[1])
    if not math.isfinite(degrees):
        return None
    return degrees if (found[2] or unit).upper() == "F" else round(degrees * 9 / 5 + 32, 6)


def nominal_size(text: str, *, unit: str, decimal_comma: bool = False) -> float | None:
    """Read a nominal pipe size as a number in the job's size unit ("in" or "mm").

    A size that states the other unit is unreadable: nominal sizes of two standards are not converted.

    Examples
    --------
    >>> nominal_size('12"', unit="in"), nominal_size("DN300", unit="mm"), nominal_size("DN300", unit="in")
    (12.0, 300.0, None)
    >>> nominal_size("8”", unit="in"), nominal_size("8-inch", unit="in"), nominal_size("200 mm", unit="mm")
    (8.0, 8.0, 200.0)
    """
    found = _SIZE.match(text.strip().replace(",", ".") if decimal_comma else text.strip())
    if not found:
        return None
    suffix = (found[3] or "").lower()
    stated = "mm" if found[1] or suffix == "mm" else ("in" if suffix else unit)
    size = float(found[2])
    return size if stated == unit and math.isfinite(size) else None


def kind(text: str) -> str | None:
    """Name what was laid in this program's words: pipe, bend, tee, valve, ...

    Examples
    --------
    >>> kind("45 MJ bend"), kind("1/16 Bend"), kind("Gate valve"), kind("Hydrant shoe")
    ('bend', 'bend', 'valve', 'hydrant shoe')
    """
    words = re.findall(r"[a-z]+", text.lower())
    if any(word.rstrip("s") in KINDS["bend"] for word in words):
        return "bend"
    plain = "".join(word for word in words if word not in ("degree", "deg"))
    for name, others in KINDS.items():
        if plain in others:
            return name
    return " ".join(text.lower().split()) or None


def size_in_kind(text: str, *, unit: str) -> float | None:
    """Read the one nominal size that stands with its unit in what was laid; None where none, or several, are there.

    Examples
    --------
    >>> size_in_kind('12" MJ 45 bend', unit="in"), size_in_kind("DN 300 Rohr", unit="mm")
    (12.0, 300.0)
    >>> [size_in_kind(text, unit="in") for text in ("45 bend", '12" x 8" tee', "20' pipe", "12x8 in tee")]
    [None, None, None, None]
    """
    found = {nominal_size(one, unit=unit) for one in _SIZES_WITHIN.findall(text)}
    return found.pop() if len(found) == 1 and not _BY.search(text) else None


def kind_is_known(text: str) -> bool:
    """Say whether what was laid is told in words of ours, alone or among others.

    Examples
    --------
    >>> [kind_is_known(one) for one in ("45 MJ bend", "12 in pipe", "Tees", "Hydrant shoe", "Bogen")]
    [True, True, True, False, False]
    """
    if kind(text) in KINDS:
        return True
    ours = {word for words in KINDS.values() for word in words if len(word) > 2}
    return any(word in ours or word.removesuffix("s") in ours for word in re.findall(r"[a-z]+", text.lower()))


def bend_angle(text: str, *, decimal_comma: bool = False) -> float | None:
    """Read a bend's angle in degrees from a number or the trade's fraction of a circle; none turns by half a circle.

    Examples
    --------
    >>> bend_angle("22.5"), bend_angle("1/8"), bend_angle("11-1/4"), bend_angle("22 1/2 deg"), bend_angle("30")
    (22.5, 45.0, 11.25, 22.5, 30.0)
    >>> bend_angle("-45"), bend_angle("450"), bend_angle("450 1/2"), bend_angle("22°30'")
    (-45.0, None, None, 22.5)
    >>> bend_angle("11¼"), bend_angle("22½°"), bend_angle("⅛")
    (11.25, 22.5, 45.0)
    """
    plain = text.translate(_IN_FIGURES).strip().lower()
    minutes = _MINUTES.match(plain)
    if minutes and int(minutes[2]) < 60:
        plain = str(int(minutes[1]) + int(minutes[2]) / 60.0)
    if plain in _BEND_FRACTIONS:
        return _BEND_FRACTIONS[plain]
    mixed = re.match(r"^(\d{1,9})[\s-]+(\d)/([1-9])(?:\s*(?:°|º|deg|degrees))?$", plain)
    if mixed:
        angle: float | None = int(mixed[1]) + int(mixed[2]) / int(mixed[3])
    else:
        angle = number(plain, unit="deg", decimal_comma=decimal_comma)
    return angle if angle is None or abs(angle) < HALF_CIRCLE else None


def bend_plane(text: str) -> str | None:
    """Read the plane in which a bend turns, or where it turns to.

    Returns
    -------
    str or None
        horizontal, vertical, left, right, up, down, "rolled" where the roll is not said, or the roll in degrees
        clockwise from the top of the pipe, looking ahead. None where it cannot be read.

    Examples
    --------
    >>> [bend_plane(text) for text in ("H", "Vert.", "RT", "rolled", "rolled 30 deg", "135", "??")]
    ['horizontal', 'vertical', 'right', 'rolled', '30', '135', None]
    """
    words = re.findall(r"[a-z]+|\d+(?:\.\d+)?", text.casefold())
    known = {_PLANES[word] for word in words if word in _PLANES}
    degrees = [float(word) for word in words if word[0].isdigit()]
    if len(degrees) == 1 and known <= {"rolled"} and degrees[0] <= 360:
        return f"{degrees[0]:g}"
    return known.pop() if len(known) == 1 and not degrees else None


def bend_angle_in(text: str) -> float | None:
    """Find the one usual angle in what was laid; None where there is none, or more than one.

    Examples
    --------
    >>> bend_angle_in('12" 45 MJ bend'), bend_angle_in("1/8 bend"), bend_angle_in("11-1/4 bend"), bend_angle_in("bend")
    (45.0, 45.0, 11.25, None)
    >>> bend_angle_in("bend 22,5°"), bend_angle_in("bend 12,45")
    (22.5, 45.0)
    >>> bend_angle_in("11¼ bend"), bend_angle_in("8 in 22½")
    (11.25, 22.5)
    """
    text = text.translate(_IN_FIGURES)
    for comma in (".", " "):  # a comma is a decimal one, or parts two numbers
        written = re.sub(r"(?<=\d),(?=\d)", comma, text.lower())
        tokens = re.findall(r"\d+[\s-]+\d/\d|1/\d+|\d+(?:\.\d+)?", written)
        usual = {bend_angle(token) for token in tokens} & USUAL_BENDS
        if usual:
            return usual.pop() if len(usual) == 1 else None
    return None


def unusual_angle_in(text: str) -> float | None:
    """Find the one number in what was laid that may be an angle of a bend that is seldom made; None where none is.

    Examples
    --------
    >>> unusual_angle_in("Bogen 30"), unusual_angle_in("12 in bend, 20°"), unusual_angle_in("30 in bend")
    (30.0, 20.0, None)
    >>> unusual_angle_in("bend 30 of 60"), unusual_angle_in("bend no. 7")
    (None, None)
    """
    stated = re.findall(r"(\d{1,3}(?:\.\d+)?)\s*(?:°|º|deg)", text.lower().replace(",", "."))
    bare = re.findall(r"(?<![\d.#-])(\d{1,3}(?:\.\d+)?)(?![\d.]|\s*(?:\"|''|”|″|in\b|inch|mm\b|cm\b))", text.lower())
    found = {float(one) for one in stated or bare}
    if len(found) != 1 or (angle := found.pop()) >= HALF_CIRCLE:
        return None
    return angle if stated or angle in _SELDOM_BENDS else None


def dates(text: pa.Array, order: DateOrder) -> pa.Array:
    """Read a column of dates; null where blank or unreadable.

    Examples
    --------
    >>> dates(pa.array(["2026-04-02", "4/2/26", "2-Apr-2026", "31/31/26"]), "mdy").to_pylist()
    [datetime.date(2026, 4, 2), datetime.date(2026, 4, 2), datetime.date(2026, 4, 2), None]
    """
    return spread(text, partial(date, order=order), pa.date32())


def date(text: str, *, order: DateOrder) -> dt.date | None:
    """Read one date; a year of four digits in front, or a month's name, settles the order by itself."""
    named = _NAMED_MONTH_FIRST.match(text.strip())
    if named:
        return date(f"{named[2]}-{named[1]}-{named[3]}", order=order)
    found = _DATE.match(text.strip())
    if not found:
        return None
    one, two, three = found[1], found[2], found[3]
    if two.isalpha():
        month, day, year = _month(two), *((three, one) if len(one) == 4 else (one, three))
    elif len(one) == 4 or order == "ymd":
        year, month, day = one, two, three
    else:
        month, day, year = (one, two, three) if order == "mdy" else (two, one, three)
    try:
        full = int(year) + (2000 if len(year) <= 2 else 0)
        # A slip of the pen, like 0206 or 206 for 2026, is no year of a pipe.
        return dt.date(full, int(month), int(day)) if full >= _FIRST_YEAR else None
    except ValueError:
        return None


def date_order(text: pa.Array) -> DateOrder | None:
    """Find how a column writes its dates: the day betrays itself by being over 12.

    Returns
    -------
    {"mdy", "dmy"} or None
        None where no date of the column tells.

    Examples
    --------
    >>> date_order(pa.array(["04/02/26", "04/15/26"])), date_order(pa.array(["04/02/26"]))
    ('mdy', None)
    """
    parts = _all_digits(text)
    day_first = any(int(match[1]) > 12 for match in parts)
    day_second = any(int(match[2]) > 12 for match in parts)
    if day_first == day_second:
        return None
    return "dmy" if day_first else "mdy"


_MONTHS_OF_YEAR = 12


def needs_date_order(text: pa.Array) -> bool:
    """Say whether any date of a column reads differently day first and month first."""
    return unclear_date(text) is not None


def unclear_date(text: pa.Array) -> str | None:
    """Give the first date of a column that reads differently day first and month first; None where there is none.

    Examples
    --------
    >>> unclear_date(pa.array(["2026-04-02", "04/17/26", "04/05/26"])), unclear_date(pa.array(["2 Apr 2026"]))
    ('04/05/26', None)
    """
    found = _all_digits(text)
    both = [match for match in found if int(match[1]) <= _MONTHS_OF_YEAR and int(match[2]) <= _MONTHS_OF_YEAR]
    return (both or found)[0].string if found else None


def _all_digits(text: pa.Array) -> list[re.Match[str]]:
    found = [_DATE.match(value.strip()) for value in pc.unique(text).drop_null().to_pylist()]
    return [match for match in found if match and len(match[1]) <= 2 and match[2].isdigit()]


def _month(name: str) -> str:
    short = name[:3].lower()
    return str(_MONTHS.index(short) + 1) if short in _MONTHS else "0"
