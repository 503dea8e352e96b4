"""The check of entries far from the others of their column, as if in another unit or with a slipped decimal point.

A single entry is judged against what most joints of the log say; that a whole column is in another unit, its header and
the job must say.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt import units
from asbuilt.arrays import Bools, Floats, Ints, as_mask
from asbuilt.inputs import diameters
from asbuilt.inputs.fields import SIZE_IN_KIND
from asbuilt.inputs.pipe import CAST_IRON, IRON_PIPE
from asbuilt.inputs.values import USUAL_BENDS
from asbuilt.judging.judged import Found, Judged, piece_joint, plain, say
from asbuilt.judging.readings import in_other_unit
from asbuilt.judging.usual import mean_reading
from asbuilt.keys.fields import GAP_FIELDS, GAUGE_FIELDS
from asbuilt.placing.jumps import AGREES_M

_WORDS = units.SMALL_WORDS | {"cm": "centimetres", "ft": "feet"}
_SLIPS = (10.0, 0.1, 100.0, 0.01)
_LIKE = 0.02
"""Lengths that differ by less than this part are those of one pipe."""
_APART_F, _LIKE_F = 25.0, 27.0
"""A temperature so far from the usual one, and as near to it in the other unit, is in that."""
_LIKE_DEG = 0.01
_AS_MM, _FEWEST_READ = (17.0, 38.0), 3
"""Single readings so many times the usual one are in millimetres among inches: 25.4 times, and readings differ."""
_NO_GAP_IN = 4.0
"""No gap to an insertion mark is so wide; common practice, no source. Narrow ones in millimetres may be none."""
_OWN_DIAMETER, _OTHER_DIAMETER = 0.05, 0.02
"""Pipe whose diameter is so much off that of its size, as a part of it, and so near that of another, is of that."""
_NO_GASKET_F = 200.0
"""No gasket lies in such heat before it is fitted; common practice, no source."""


class _Odd(NamedTuple):
    """Entries of one kind that are far from the others."""

    joint: Ints
    message: pa.Array
    value: Floats
    usual: float
    unit: str
    fields: tuple[str, ...]


def doubtful_fields(judged: Judged) -> dict[str, Bools]:
    """Give, by field, the joints whose entry is told of."""
    found: dict[str, Bools] = {}
    for one in _found(judged):
        for field in one.fields:
            found[field] = found.get(field, False) | np.isin(np.arange(len(judged.joints)), one.joint)
    return found


def _found(judged: Judged) -> list[_Odd]:
    return [
        _lengths(judged), _angles(judged), *_readings(judged), *_single_readings(judged), _temperatures(judged),
        _sizes_by_diameter(judged), _sizes_by_kind(judged),
    ]  # fmt: skip


def entry_doubtful(judged: Judged) -> Found:
    """Tell entries far from the others of their column, and near to them in another unit or with another point.

    Each is counted as it was written: none is corrected.
    """
    odd = _found(judged)
    joint = np.concatenate([one.joint for one in odd])
    order = np.argsort(joint, kind="stable")
    usual = np.concatenate([np.full(len(one.joint), one.usual) for one in odd])
    unit = np.concatenate([np.full(len(one.joint), one.unit) for one in odd])
    message = say(pa.concat_arrays([one.message for one in odd]), ": correct it, or leave it if it is true")
    value = np.concatenate([one.value for one in odd])
    # An angle or a size is held against what else is known of its own joint.
    basis = np.where(np.isnan(usual), "what else is known of the joint", "what most joints of the log say")
    return Found(
        joint[order], message.take(pa.array(order)), value[order], usual[order],
        pa.array(unit[order].tolist(), pa.string()), pa.array(basis[order].tolist(), pa.string()),
    )  # fmt: skip


def _none(unit: str) -> _Odd:
    return _Odd(np.zeros(0, dtype=np.int64), pa.array([], pa.string()), np.zeros(0), np.nan, unit, ())


def _lengths(judged: Judged) -> _Odd:
    """Find laid lengths that are those of the other pipes but for a decimal point, or in the other unit."""
    laid, records = judged.number("laid_length"), judged.job.records
    usual = judged.usual.laid_length
    if np.isnan(usual):
        return _none(judged.symbol)
    other, word = ("us-ft", "feet") if records.station_unit == "m" else ("m", "metres")
    factors = [*_SLIPS, units.factor(other, records.station_unit)]
    like = [np.abs(laid * factor - usual) <= _LIKE * usual for factor in factors]
    # A length that the stations have, too, and a piece that was cut, are what they are.
    spacing = np.full(len(laid), np.nan)
    spacing[piece_joint(judged)] = judged.segments.length / judged.scale
    as_laid = np.abs(spacing - laid) <= AGREES_M * units.factor("m", records.station_unit)
    as_laid &= records.station_from == "log"
    plain_pipe = as_mask(pc.equal(pc.fill_null(judged.text("kind"), "pipe"), "pipe"))
    may_be = as_laid | as_mask(pc.equal(judged.text("cut"), "yes")) | ~plain_pipe
    rows = np.flatnonzero(np.logical_or.reduce(like) & ~may_be)
    in_other = like[-1][rows]
    why = pc.if_else(pa.array(in_other), f"as if written in {word}", "as if its decimal point had slipped")
    message = say(
        "laid length ", plain(laid[rows]), f" {judged.symbol}, where most are {usual:g} {judged.symbol}, ", why
    )
    return _Odd(rows, message, laid[rows], usual, judged.symbol, ("laid_length",))


def _angles(judged: Judged) -> _Odd:
    """Find angles of bends that are those of a bend that is made but for a decimal point, or the order of two digits.

    Makers make bends of special angles, such as 9 or 4.5 deg: an odd angle alone is no doubt. So the line must turn as
    the other bend does; where the two angles are so near one another that it cannot tell, it must not turn otherwise.
    """
    of_all = judged.number("bend_angle")
    bends = np.flatnonzero(np.isfinite(of_all))
    angle = of_all[bends]
    made = np.array(sorted(USUAL_BENDS - {5.0, 5.625}))
    slipped = angle[:, None] * np.array(_SLIPS[:2])
    like = (np.abs(slipped[:, :, None] - made) <= _LIKE_DEG).any(axis=2)
    like &= ~(np.abs(angle[:, None] - np.array(sorted(USUAL_BENDS))) <= _LIKE_DEG).any(axis=1)[:, None]
    odd = np.flatnonzero(like.any(axis=1))
    rows, turn = bends[odd], _turns_at(judged, bends[odd])
    other = np.where(like[odd, 0], slipped[odd, 0], slipped[odd, 1])
    near = np.abs(turn - other) < np.abs(turn - of_all[rows])
    rows, turn, other = rows[near], turn[near], other[near]
    message = say(
        "bend angle ", plain(of_all[rows]), " deg, of which no bend is usually made, as if its decimal point had "
        "slipped: the line turns ", plain(turn), " deg there, as a bend of ", plain(other), " deg does"
    )  # fmt: skip
    swapped, swapped_message = _digits_exchanged(judged, bends, angle)
    rows, message = np.append(rows, swapped), pa.concat_arrays([message, swapped_message])
    return _Odd(rows, message, of_all[rows], np.nan, "deg", ("bend_angle",))


_DIGITS_EXCHANGED = {12.15: 11.25, 11.52: 11.25, 25.2: 22.5, 54.0: 45.0}
"""Angles of bends that are made, by what they are with two digits in a row exchanged; 09 for 90 may be a bend of 9."""
_NEAR_DEG, _JOINTS_DEG = 5.0, 10.0
"""Angles nearer to one another are not told apart by a line, whose joints beside the bend turn by up to so much."""


def _digits_exchanged(judged: Judged, bends: Ints, angle: Floats) -> tuple[Ints, pa.Array]:
    """Find angles that are those of a bend that is made with two digits exchanged, and what is said of each."""
    written = np.array(sorted(_DIGITS_EXCHANGED))
    at = np.abs(angle[:, None] - written).argmin(axis=1) if len(angle) else np.zeros(0, dtype=np.int64)
    odd = np.flatnonzero(np.abs(angle - written[at]) <= _LIKE_DEG / 10.0)
    rows, other = bends[odd], np.array([_DIGITS_EXCHANGED[float(one)] for one in written[at[odd]]])
    turn, apart = _turns_at(judged, rows), np.abs(angle[odd] - other)
    with np.errstate(invalid="ignore"):
        so = np.where(
            apart > _NEAR_DEG, np.abs(turn - other) < np.abs(turn - angle[odd]), ~(np.abs(turn - other) > _JOINTS_DEG)
        )
    rows, other = rows[so], other[so]
    message = say(
        "bend angle ", plain(angle[odd][so]), " deg, of which no bend is usually made, as if two digits of ",
        plain(other), " deg were exchanged",
    )  # fmt: skip
    return rows, message


def _turns_at(judged: Judged, rows: Ints) -> Floats:
    """Give what the line turns at bends and at the pipes beside them, degrees; NaN where it is not known at a bend."""
    route, fitting = judged.joints.route, np.isfinite(judged.fitting_deg)
    total = np.zeros((2, len(rows)))
    for step in (-1, 0, 1):
        beside = np.clip(rows + step, 0, len(route) - 1)
        counts = (beside == rows + step) & (route[beside] == route[rows]) & (~fitting[beside] | (step == 0))
        for at, turned in enumerate((judged.turns.horizontal, judged.turns.vertical)):
            total[at] += np.where(counts, np.nan_to_num(turned[beside]), 0.0)
    return np.where(np.isnan(judged.turns.turn[rows]), np.nan, np.degrees(np.hypot(*total)))


def _sizes_by_diameter(judged: Judged) -> _Odd:
    """Find sizes of which no pipe has the outside diameter in the log, though pipe of another size has it."""
    unit, size, outside = judged.job.records.sizes_in, judged.number("size"), judged.number("outside_diameter")
    both = np.flatnonzero(np.isfinite(size) & np.isfinite(outside))
    if not len(both):
        return _none(unit)
    tables = [diameters.published(unit, pipe) for pipe in (diameters.IRON, CAST_IRON, IRON_PIPE)]
    series = np.array([(one, across) for table in tables for one, (across, _) in table.items()])
    # Few pairs of size and diameter stand in a log, each of them often.
    (sizes, of_size), (across, of_across) = (np.unique(one[both], return_inverse=True) for one in (size, outside))
    pairs, of_pair = np.unique(of_size * len(across) + of_across, return_inverse=True)
    other = np.full(len(pairs), np.nan)
    for at, pair in enumerate(pairs.tolist()):
        off = np.abs(series[:, 1] / across[pair % len(across)] - 1.0)
        of_own = series[:, 0] == sizes[pair // len(across)]
        nearest = int(np.argmin(np.where(of_own, np.inf, off)))
        if of_own.any() and off[of_own].min() > _OWN_DIAMETER and off[nearest] < _OTHER_DIAMETER:
            other[at] = series[nearest, 0]
    told = np.isfinite(other[of_pair])
    rows, meant = both[told], other[of_pair][told]
    message = say(
        "size ", plain(size[rows]), f" {unit}, and an outside diameter of ", plain(outside[rows]), f" {unit}, which is "
        "that of ", plain(meant), f" {unit} pipe",
    )  # fmt: skip
    return _Odd(rows, message, size[rows], np.nan, unit, ("size", "outside_diameter"))


def _sizes_by_kind(judged: Judged) -> _Odd:
    """Find sizes other than the one that stands in what was laid, such as 6 in beside a 12 in bend."""
    unit = judged.job.records.sizes_in
    if SIZE_IN_KIND not in judged.log.fields:
        return _none(unit)
    size, said = judged.number("size"), judged.number(SIZE_IN_KIND)
    rows = np.flatnonzero(np.isfinite(size) & np.isfinite(said) & (size != said))
    message = say("size ", plain(size[rows]), f" {unit}, and what was laid is of ", plain(said[rows]), f" {unit}")
    return _Odd(rows, message, size[rows], np.nan, unit, ("size", "kind"))


def _single_readings(judged: Judged) -> list[_Odd]:
    """Find single readings in the other of inches and millimetres among others of their joint."""
    unit = judged.job.records.readings_in
    other, found = "in" if unit == "mm" else "mm", []
    for fields, named, usual, least in (
        (GAP_FIELDS, "gap", judged.usual.single_gap, _NO_GAP_IN if unit == "in" else np.inf),
        (GAUGE_FIELDS, "feeler-gauge depth", judged.usual.single_gauge, 0.0),
    ):
        told = [field for field in fields if field in judged.log.fields]
        if len(told) < _FEWEST_READ or not usual > 0.0:
            continue
        read = np.stack([judged.number(field) for field in told])
        large, small = (read, usual) if unit == "in" else (usual, read)
        with np.errstate(divide="ignore", invalid="ignore"):
            odd = (large / small > _AS_MM[0]) & (large / small < _AS_MM[1]) & (read >= least)
        # Where most are so, the joint's mean tells; where one or two are, only they do.
        usual_mean = judged.usual.gaps if fields == GAP_FIELDS else judged.usual.gauges
        odd &= ~in_other_unit(mean_reading(judged.log, fields, judged.joints.record), usual_mean, unit)
        for at, field in enumerate(told):
            if not len(rows := np.flatnonzero(odd[at])):
                continue
            hour = field.rpartition("_")[2]
            why = f" {unit} at {hour} o'clock, where the usual is {usual:.3g} {unit}, as if written in {_WORDS[other]}"
            message = say(f"{named} of ", plain(read[at][rows]), why)
            found.append(_Odd(rows, message, read[at][rows], usual, unit, (field,)))
    return found


def _readings(judged: Judged) -> list[_Odd]:
    """Find readings at the joint that are in the other of inches and millimetres."""
    unit = judged.job.records.readings_in
    other = "in" if unit == "mm" else "mm"
    found = []
    for fields, named, usual, mixed in (
        (GAP_FIELDS, "gap readings", judged.usual.gaps, judged.usual.mixed[0]),
        (GAUGE_FIELDS, "feeler-gauge depths", judged.usual.gauges, judged.usual.mixed[1]),
    ):
        mean = mean_reading(judged.log, fields, judged.joints.record)
        together = mixed.record[judged.joints.record]
        rows = np.flatnonzero(in_other_unit(mean, usual, unit) | together)
        if not len(rows):
            continue
        message = say(
            f"{named} of ", plain(mean[rows]), f" {unit} on average, where the usual ones are {usual:.3g} {unit}, as "
            "if written in ", pc.if_else(pa.array(together[rows]), f"{_WORDS[mixed.unit or other]}, as those of the "
            "rows beside it are", _WORDS[other]),
        )  # fmt: skip
        found.append(_Odd(rows, message, mean[rows], usual, unit, fields))
    return found


def _temperatures(judged: Judged) -> _Odd:
    """Find gasket temperatures that are in the other of Fahrenheit and Celsius."""
    unit, value = judged.job.records.temperatures_in, judged.number("gasket_temperature")
    usual = judged.usual.temperature
    if np.isnan(usual):
        return _none(unit)
    # As it would be, had it been written in the other unit; values are in Fahrenheit.
    as_other = value * 1.8 + 32.0 if unit == "F" else (value - 32.0) / 1.8
    in_other = (np.abs(value - usual) > _APART_F) & (np.abs(as_other - usual) < _LIKE_F)
    rows = np.flatnonzero(in_other | (value > _NO_GASKET_F))
    shown, middle = (value[rows], usual) if unit == "F" else ((value[rows] - 32.0) / 1.8, (usual - 32.0) / 1.8)
    other = "C" if unit == "F" else "F"
    why = pc.if_else(pa.array(in_other[rows]), f"written in {other}", "its decimal point had slipped")
    message = say("gasket at ", plain(shown), f" {unit}, where the usual is {middle:.3g} {unit}, as if ", why)
    return _Odd(rows, message, shown, middle, unit, ("gasket_temperature",))
