"""What the review says of deflections: joints over, stretches that the survey cannot judge, and curves."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pyarrow as pa

from asbuilt import units
from asbuilt.inputs import allowables
from asbuilt.review.curves import as_crews_read, find_curves, offset_of_length, radius_of_lengths
from asbuilt.review.rows import known, least_and_most
from asbuilt.review.tables import MOST_ROWS, Table, letter, number, plain_source, size_and_type, to_compare
from asbuilt.review.turns import at_least

if TYPE_CHECKING:
    from collections.abc import Sequence

    from asbuilt.arrays import Floats, Ints
    from asbuilt.review.curves import Curves
    from asbuilt.review.reading import Route
    from asbuilt.review.rows import Rows

_CELLS = (
    "station", "joint", "verdict", "size", "joint_type", "own_deflection_deg", "deflection_floor_deg",
    "deflection_ceiling_deg", "deflection_source", "sigma_deg", "allowable_deg", "allowable_source", "may_take_deg",
)  # fmt: skip
"""What a table of joints is made of."""
_BOUNDS = ("deflection_floor", "deflection_ceiling")


def over_table(route: Route) -> Table:
    """List the joints over their allowable, worst first, with what crews can read on the pipe."""
    return _judged(
        route, "over", "over", "Joints over their allowable, worst first",
        f"No joint is found over its allowable{not_judged(route)}.",
    )  # fmt: skip


def not_judged(route: Route) -> str:
    """Say of how many joints it is not told, or not measured, that they are within: the end of a sentence, or blank.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> from asbuilt.review.rows import Rows
    >>> verdicts = np.array(["cannot-tell"] * 52 + ["within-assumed"] * 6 + ["not-computed"] * 2, dtype=object)
    >>> not_judged(SimpleNamespace(joints=Rows({"verdict": verdicts})))
    '; 52 of 60 cannot be judged, and 6 are within only if something holds that was not measured'
    """
    by, joints = Counter(route.joints["verdict"].tolist()), len(route.joints)
    told = [f"{by[name]:,} {words[by[name] > 1]}" for name, words in _NOT_MEASURED.items() if name in by]
    first, *rest = told or [""]
    first = first.replace(" ", f" of {joints:,} ", 1)
    return f"; {', and '.join([', '.join([first, *rest[:-1]]), *rest[-1:]])}" if told else ""


_NOT_MEASURED: dict[str, tuple[str, str]] = {
    "cannot-tell": ("cannot be judged", "cannot be judged"),
    "no-allowable": ("has no allowable on file", "have no allowable on file"),
    "within-assumed": (
        "is within only if something holds that was not measured",
        "are within only if something holds that was not measured",
    ),
}


def unclear_table(route: Route) -> Table:
    """List the joints that the survey cannot judge, those first that may exceed most."""
    return _judged(
        route, "cannot-tell", "unclear-joints", "Joints that the survey cannot judge, those first that may exceed most",
        "The survey settles every joint.",
    )  # fmt: skip


def _judged(route: Route, verdict: str, name: str, caption: str, none: str) -> Table:
    columns = _titles(route)
    asked = np.flatnonzero(route.joints["verdict"] == verdict)
    if not len(asked):
        return Table(name, caption, columns, [], joints=[], none=none, count=0)
    # What nothing bounds stands before all that is bounded.
    may_take = route.joints["may_take_deg"]
    most = worst_deg(route.joints) if verdict == "over" else np.where(known(may_take), may_take, np.inf)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = most[asked] / route.joints["allowable_deg"][asked]
    asked, many = asked[np.argsort(-part, kind="stable")], len(asked)
    asked = asked if verdict == "over" else asked[:MOST_ROWS]
    joints = route.joints.take(asked)
    cut = f"The first {MOST_ROWS} of {many}; the list of issues has them all. " if many > len(asked) else ""
    sources = joints["allowable_source"].tolist()
    letters = {source: letter(at) for at, source in enumerate(dict.fromkeys(filter(None, sources)))}
    rests_on = "; ".join(f"{one}: {plain_source(source)}" for source, one in letters.items())
    worst, lettered = worst_deg(joints).tolist(), [letters.get(source, "") for source in sources]
    turns = [route.one_of(at) for at in asked.tolist()]
    rows = [_joint_cells(route, *one) for one in zip(joints.records(_CELLS), worst, lettered, turns, strict=True)]
    sharing = ONE_OF if any(turns) else ""
    note = f"{cut}Allowables rest on {rests_on}. {sharing}{_deflection_note(joints)}{_crew_note(route, joints)}"
    return Table(
        name, caption, columns, rows, numeric=(4, 5, 8, 9), joints=asked.tolist(), verdict_column=2,
        note=f"{note} {to_compare(rests_on)}".strip(), none=none, count=many,
    )  # fmt: skip


def _deflection_note(joints: Rows) -> str:
    """Explain what stands in a table of joints: standard errors and bounds, where it has any."""
    alone = known(joints["own_deflection_deg"])
    told = "After the sign ± stands one standard error. " if (alone & known(joints["sigma_deg"])).any() else ""
    floor, ceiling = (known(joints[f"{name}_deg"]) for name in _BOUNDS)
    if (~alone & floor & ceiling).any():
        told += (
            "Of two bounds, the first is the least that the largest deflection of the joints sharing a turn can be, "
            "and the second the most that this joint can take, both with the shots taken as exact and the main curving "
            "one way; of joints that the survey cannot judge, the second counts the error of the shots. "
        )
    if (joints["verdict"] == "cannot-tell").any():
        told += MAY_TAKE
    return told


ONE_OF = (
    "One of several: the shots show that one of these joints is over, and not which; the row stands at the joint where "
    "the turn was seen, which may be within, and of turns that have joints in common one joint may be the cause. "
)
MAY_TAKE = (
    "Of the allowable: the most that the joint may take at the confidence of the verdicts, the error of the shots or "
    "readings counted, as in the list of issues. "
)


def _crew_note(route: Route, joints: Rows) -> str:
    symbol = units.SYMBOLS[route.station_unit]
    bounded, over = ~known(joints["own_deflection_deg"]), joints["verdict"] == "over"
    told = (
        f"For a length L of {route.laying_length:.4g} {symbol} (the job's laying length) at an angle a, the offset of "
        "its free end is L sin(a), and the radius of lengths laid so L / (2 tan(a / 2)), as in AWWA C600. Behind the "
        "stroke stands the value at the allowable"
    )
    if (bounded & ~over).any():
        told += "; at a joint whose own deflection is not known, both are for the most that it may take"
    if (bounded & over).any():
        told += "; at a joint over by its bounds, both are for the least that it can be"
    return f"{told}."


def worst_deg(joints: Rows) -> Floats:
    """Give the deflection by which each joint stands: its own, the floor by which it is over, or the most it may be."""
    verdict, own = joints["verdict"], joints["own_deflection_deg"]
    most, floor = most_deg(joints), joints["deflection_floor_deg"]
    least = np.where((verdict == "over") & known(floor), floor, most)
    return np.where(known(own), own, least)


def most_deg(joints: Rows) -> Floats:
    """Give the most that each joint can take; of those that nothing settles, the error of the shots counted."""
    return np.where(joints["verdict"] == "cannot-tell", joints["may_take_deg"], joints["deflection_ceiling_deg"])


def against_words(joint: dict[Any, Any]) -> str:
    """Say what part of its allowable a joint takes, and by how much it exceeds or may exceed it.

    Examples
    --------
    >>> one = {"allowable_deg": 5.0, "own_deflection_deg": 6.12, "verdict": "over"}
    >>> against_words(one), against_words(one | {"own_deflection_deg": 3.05, "verdict": "within"})
    ('122 %: exceeds by 1.12 deg', '61 %: 1.95 deg left')
    >>> against_words(one | {"own_deflection_deg": 3.05, "verdict": "within-assumed"})
    '61 %: 1.95 deg left, if what it assumes holds'
    >>> unclear = one | {"verdict": "cannot-tell", "may_take_deg": 20.5}
    >>> against_words(unclear), against_words(unclear | {"own_deflection_deg": np.nan})
    ('122 %, up to 410 % with its error: may exceed by 15.50 deg', 'up to 410 %: may exceed by 15.50 deg')
    """
    allowable, verdict, own = joint["allowable_deg"], joint["verdict"], joint["own_deflection_deg"]
    if not np.isfinite(allowable) or verdict in ("not-computed", "no-allowable"):
        return ""
    alone = bool(np.isfinite(own))
    if verdict == "cannot-tell":
        return _may_exceed(own, joint["may_take_deg"], allowable)
    value = own if alone else joint["deflection_floor_deg" if verdict == "over" else "deflection_ceiling_deg"]
    if not np.isfinite(value):
        return "not bounded"
    if verdict == "over":
        least = "" if alone else "at least "
        return f"{part_of(value, allowable, least)}: exceeds by {least}{value - allowable:.2f} deg"
    only_if = ", if what it assumes holds" if verdict == "within-assumed" else ""
    return f"{part_of(value, allowable, '' if alone else 'up to ')}: {allowable - value:.2f} deg left{only_if}"


def part_of(value: float, allowable: float, bound: str = "") -> str:
    """Say what part of its allowable a deflection is; a joint that may not deflect has none.

    Examples
    --------
    >>> part_of(6.12, 5.0), part_of(20.5, 5.0, "up to "), part_of(6.12, 0.0, "at least ")
    ('122 %', 'up to 410 %', 'none is allowed')
    """
    return f"{bound}{100 * value / allowable:,.0f} %" if allowable > 0 else "none is allowed"


def _may_exceed(own: float, most: float, allowable: float) -> str:
    """Say by how much a joint that nothing settles may exceed its allowable, by the most that its finding tells."""
    alone = part_of(own, allowable) if np.isfinite(own) else ""
    if not np.isfinite(most):
        return f"{alone}, not bounded" if alone else "not bounded"
    told = part_of(most, allowable, "up to ")
    told = f"{alone}, {told} with its error" if alone and most > own and allowable > 0 else told
    return f"{told}: may exceed by {most - allowable:.2f} deg" if most > allowable else f"{told}: not settled"


def _titles(route: Route) -> tuple[str, ...]:
    return (
        "Station", "Joint", "Verdict", "Size and type", "Deflection, deg", "Allowable, deg", "Rests on",
        "Of the allowable", "Offset per length", f"Radius, {units.SYMBOLS[route.station_unit]}",
    )  # fmt: skip


def _joint_cells(route: Route, joint: dict[str, Any], worst: float, rests_on: str, one_of: str) -> list[str]:
    angles, length = np.array([worst, joint["allowable_deg"]]), route.laying_length
    offsets = [as_crews_read(offset, route.station_unit) for offset in offset_of_length(length, angles).tolist()]
    # What is written as 0.00 degrees is straight.
    curved = np.where(angles >= 0.005, angles, np.nan)
    radii = [number(radius, 0) for radius in radius_of_lengths(length, curved).tolist()]
    return [
        joint["station"] or "",
        one_of or joint["joint"] or "",
        joint["verdict"] or "",
        size_and_type(route, joint["size"], joint["joint_type"]),
        f"at least {joint['deflection_floor_deg']:.2f}" if one_of else deflection_words(joint),
        number(joint["allowable_deg"], 2),
        rests_on,
        against_words(joint),
        " / ".join(text or "–" for text in offsets),
        " / ".join(text or "–" for text in radii),
    ]


def deflection_words(joint: dict[Any, Any]) -> str:
    """Say a joint's deflection, or its bounds, in a few words, degrees."""
    deflection, floor, ceiling = (joint[f"{name}_deg"] for name in ("own_deflection", *_BOUNDS))
    # One number everywhere on the page: what its finding says that the joint may take.
    ceiling = joint["may_take_deg"] if joint["verdict"] == "cannot-tell" else ceiling
    sigma = f" ± {joint['sigma_deg']:.2f}" if np.isfinite(joint["sigma_deg"]) else ""
    if joint["verdict"] == "not-computed":
        return ""
    if np.isfinite(deflection):
        return f"{deflection:.2f}{sigma}" + (" by readings" if joint["deflection_source"] == "readings" else "")
    if np.isfinite(floor) and np.isfinite(ceiling):
        return f"{floor:.2f} to {ceiling:.2f}"
    if np.isfinite(floor):
        return f"at least {floor:.2f}" if floor > 0 else "no bound"
    return f"at most {ceiling:.2f}" if np.isfinite(ceiling) else ""


def measured_words(joint: dict[Any, Any]) -> str:
    """Say the deflection measured at a joint in a few words, degrees."""
    if not np.isfinite(joint["measured_deg"]):
        return ""
    sigma = f" ± {joint['sigma_measured_deg']:.2f}" if np.isfinite(joint["sigma_measured_deg"]) else ""
    return f"{joint['measured_deg']:.2f}{sigma}"


class Sparse(NamedTuple):
    """What the survey cannot judge, in words and as stretches."""

    cannot: str
    """Why, and how many joints."""
    remedy: str
    """What to shoot or read, those stretches first where one joint may take most of its allowable."""
    share: str
    """The largest even share, which is no verdict, and the most that one joint may take."""
    lengths: list[str]
    """Stations between which every joint is to be shot or read, where that is more than the joints not judged."""
    asked: list[tuple[Ints, Ints]]
    """Of each stretch, all joints that are to be shot or read, and those of them that are not judged."""
    stretches: int
    first: str
    last: str
    """Stations of the first and the last joint that cannot be judged."""
    table: Table


def sparse(route: Route) -> Sparse:
    """Say which stretches of successive joints the survey cannot judge, and what would settle them."""
    joints = route.joints
    unclear = np.flatnonzero(joints["verdict"] == "cannot-tell")
    runs = [run for run in np.split(unclear, np.flatnonzero(np.diff(unclear) > 1) + 1) if len(run)]
    between = _between_shots([_Stretch(route, run) for run in runs])
    # Runs that lie in the same length between shots are one stretch: what is shot for one settles the other.
    together: dict[tuple[int, int], list[Ints]] = {}
    for length, run in zip(between, runs, strict=True):
        together.setdefault(length, []).append(run)
    found = [_Stretch(route, np.concatenate(some), length) for length, some in together.items()]
    # An even share may hide a joint that takes all it can: what could be there decides, and then the share.
    found.sort(key=lambda one: (-one.most_part, -np.nan_to_num(one.part), -len(one.run)))
    stations = joints["station"]
    lengths = [" to ".join(dict.fromkeys(stations[list(one.length)].tolist())) for one in found]
    named = ", ".join(lengths[:_NAMED])
    left = len(lengths) - _NAMED
    more = f", and {left} more stretch{'es' if left > 1 else ''} below" if left > 0 else ""
    whole = any(one.whole for one in found)
    where = joints["station"][unclear].tolist()
    told = Sparse(
        cannot=_why(route, unclear),
        remedy=f"shoot or read {_EVERY}{named}{more}" if whole
        else f"read the joints at {named}{more}, or shoot them again with those beside them, elevations too",
        share=_shares(found),
        lengths=lengths if whole else [],
        asked=[(_with_those_beside(one, len(joints), whole=whole), one.run) for one in found],
        stretches=len(found),
        first=where[0] if where else "",
        last=where[-1] if where else "",
        table=Table(
            "unclear", "Stretches with joints that the survey cannot judge, by the most that one may take",
            ("From", "To", "Joints", "Even share, deg", "Even share of the allowable", "Most that one may take, deg",
             "Least allowable, deg", "Shoot or read every joint of"),
            [[*one.cells, name] for one, name in zip(found, lengths, strict=True)],
            numeric=(2, 3, 4, 5, 6), joints=[int(one.run[0]) for one in found],
            note="First stand the stretches where one joint may take most of its allowable: between shots a joint "
            "may take all that the turns leave open, whatever the others take. Most that one may take: at the "
            "confidence of the verdicts, the error of the shots counted, as in the list of issues; where nothing "
            "bounds it, no bound. Of two alike, the larger even share stands first. Even share: the turn seen at a "
            "shot, taken as exact and divided evenly among the joints that share it by their places. It is no verdict: "
            "any of them may take more, and another less. A reading settles a joint by itself, a shot only if both "
            "joints beside it were shot too. Where shots are sparse, every joint between the shots on either side is "
            "named, also those within by assumption: where the pipe goes around something, turns cancel out at the "
            "shots, and the joints over are others than those that the shots leave open.",
            none="The survey settles every joint.", count=len(unclear),
        ),
    )  # fmt: skip
    if not route.misplaced.any():
        return told
    many = f"{len(unclear):,} joint{'s' if len(unclear) != 1 else ''}"
    why, first = "All joints of the line stand elsewhere", "what is said of the whole line"
    if on_another_line(route):
        why, first = "The line seems to be another's", "the names of log and line"
    return told._replace(
        cannot=f"{why}, and its shots cannot judge {many}",
        remedy=f"put {first} right first: shots at these places would be of other joints",
        lengths=[], asked=[],
    )  # fmt: skip


def on_another_line(route: Route) -> bool:
    """Say whether the joints of a route stand on the line of another one: what is done at their places is done there.

    Parameters
    ----------
    route : Route
    """
    return "routes-exchanged" in route.findings["code"].tolist()


def _with_those_beside(stretch: _Stretch, many: int, *, whole: bool) -> Ints:
    """Give the joints to shoot or read: all between the shots, or those not judged with the ones beside them."""
    if whole:
        return np.arange(stretch.length[0], stretch.length[1] + 1)
    beside = np.unique(np.concatenate([stretch.run - 1, stretch.run, stretch.run + 1]))
    return beside[(beside >= 0) & (beside < many)]


_EVERY = "every joint between the shots, "


def _between_shots(found: Sequence[_Stretch]) -> list[tuple[int, int]]:
    """Give, for each stretch, the first and the last joint to shoot or read: those between the shots on either side.

    A stretch that reaches into another's lengths between shots goes with it, as one.
    """
    ends: list[list[int]] = []
    for first, last in sorted(one.around for one in found):
        if ends and first < ends[-1][1]:
            ends[-1][1] = max(ends[-1][1], last)
        else:
            ends.append([first, last])
    starts = [first for first, _ in ends]
    own = [ends[bisect_right(starts, one.around[0]) - 1] for one in found]
    return [(first, last) for first, last in own]


def _shares(found: Sequence[_Stretch]) -> str:
    """Say the largest even share of the turn, and the most that one joint may take."""
    if not found:
        return ""
    most, parts = found[0].most_part, [one.part for one in found if np.isfinite(one.part)]
    if np.isfinite(most):
        could = f"one joint may take up to {100 * most:,.0f} %" + ("" if parts else " of the allowable")
    elif found[0].limit > 0:
        could = "nothing bounds what one joint takes"
    else:
        could = "no deflection is allowed there"
    if not parts:
        return could
    return f"an even share of the turn is up to {100 * max(parts):,.0f} % of the allowable; {could}"


_NAMED = 3
"""Stretches named in the sentence; the table has them all."""
_SPARSE = 1.5
"""Legs longer than so many laying lengths are sparse; a choice of this review, no source."""


def _why(route: Route, unclear: Ints) -> str:
    """Say which shots cannot judge how many joints: sparse ones, or all."""
    many = f"{len(unclear):,} joint{'s' if len(unclear) != 1 else ''}"
    shots, sparse, symbol = route.shots, _SPARSE * route.laying_length, units.SYMBOLS[route.station_unit]
    if not len(unclear) or shots["most"] <= sparse:
        return f"The survey cannot judge {many}"
    if shots["middle"] > sparse and _legs_around(route, unclear, shots) > sparse:
        return f"Shots every {number(shots['middle'], 0)} {symbol} cannot judge {many}"
    if len(route.line) != shots["legs"] + 1:
        return f"Shots up to {number(shots['most'], 0)} {symbol} apart cannot judge {many}"
    if _legs_around(route, unclear, shots) <= sparse:
        return f"The survey cannot judge {many}"
    return f"Where shots are farther apart than elsewhere, the survey cannot judge {many}"


def _legs_around(route: Route, unclear: Ints, shots: dict[str, float]) -> float:
    """Give how far apart the shots around joints are, at the middle; of all shots, where the line curves."""
    if len(route.line) != shots["legs"] + 1:
        return shots["middle"]
    legs = np.diff(route.line[:, 0]) / route.scale
    at = np.clip(np.searchsorted(route.line[:, 0], route.joints["distance"][unclear]) - 1, 0, None)
    return float(np.median(legs[np.minimum(at, len(legs) - 1)]))


class _Stretch:
    """A stretch of a route with joints that the survey cannot judge."""

    def __init__(self, route: Route, run: Ints, length: tuple[int, int] | None = None) -> None:
        joints, vertex, distance = route.joints, route.line[:, 0], route.joints["distance"]
        self.run = run
        inside = joints.take(run)
        # The even share of a turn stands at the joint nearest to its shot, which may be settled itself.
        low = vertex[max(int(np.searchsorted(vertex, distance[run[0]], side="right")) - 1, 0)]
        high = vertex[min(int(np.searchsorted(vertex, distance[run[-1]])), len(vertex) - 1)]
        half = 0.5 * route.laying_length * route.scale
        beside = joints.take(slice(*np.searchsorted(distance, [low - half, high + half]).tolist()))
        # A floor of nothing under no ceiling is no turn that was seen: the shots there are not believed.
        floor, own = beside["deflection_floor_deg"], beside["own_deflection_deg"]
        seen = (floor > 0) | known(beside["deflection_ceiling_deg"])
        self.share = least_and_most(np.where(known(own), own, np.where(seen, floor, np.nan)))[1]
        self.limit = least_and_most(inside["allowable_deg"])[0]
        self.part = self.share / self.limit if self.limit > 0 else np.inf
        self.around, self.whole = self._around(route)
        self.length = length or self.around
        """The first and the last joint to shoot or read, those of other stretches that reach into it with them."""
        stations = inside["station"][[0, -1]].tolist()
        most = inside["may_take_deg"]
        with np.errstate(divide="ignore", invalid="ignore"):
            self.most_part = float((np.where(known(most), most, np.inf) / inside["allowable_deg"]).max())
        self.cells = [
            *stations, str(len(run)), number(self.share, 2) or "not known",
            f"{100 * self.part:,.0f} %" if np.isfinite(self.part) else "",
            number(most.max(), 2) if known(most).all() else "no bound", number(self.limit, 2),
        ]  # fmt: skip

    def _around(self, route: Route) -> tuple[tuple[int, int], bool]:
        """Give the first and the last joint of the lengths between shots that the stretch lies in, and whether it is
        more than the stretch: where each joint was shot, it is the stretch itself.

        A shot is at a joint where it is nearer than a tenth of a laying length. Of a line that curves between its shots
        nobody knows any more where these are: their greatest distance is taken on either side.
        """
        distance, legs = route.joints["distance"], route.shots
        first, last = distance[self.run[0]], distance[self.run[-1]]
        if legs["most"] <= _SPARSE * route.laying_length:
            return (int(self.run[0]), int(self.run[-1])), False
        vertex, near = route.line[:, 0], 0.1 * route.laying_length * route.scale
        if len(vertex) == legs["legs"] + 1:
            low = vertex[max(int(np.searchsorted(vertex, first - near)) - 1, 0)]
            high = vertex[min(int(np.searchsorted(vertex, last + near)), len(vertex) - 1)]
        else:
            low, high = first - legs["most"] * route.scale, last + legs["most"] * route.scale
        around = np.flatnonzero((distance > low - near) & (distance < high + near))
        return (int(around[0]), int(around[-1])), True


def without_limit(route: Route) -> Table:
    """Count the joints that have no allowable on file, by size and type."""
    which = np.flatnonzero(route.joints["verdict"] == "no-allowable")
    joints = route.joints.take(which)
    own, station = joints["own_deflection_deg"], joints["station"]
    drawn = np.where(known(own), own, joints["deflection_ceiling_deg"])
    by_kind: dict[tuple[float, str], list[int]] = {}
    families = allowables.families(*(pa.array(joints[name], pa.string()) for name in ("joint_type", "restrained")))
    for at, (size, kind) in enumerate(zip(joints["size"].tolist(), families.to_pylist(), strict=True)):
        # Nothing but a size that is not known differs from itself.
        by_kind.setdefault((size if size == size else np.inf, kind or ""), []).append(at)
    rows, first = [], []
    for (size, kind), some in sorted(by_kind.items()):
        stations = f"{station[some[0]]} to {station[some[-1]]}"
        largest = number(least_and_most(drawn[some])[1], 2)
        rows.append([size_and_type(route, size, kind), str(len(some)), stations, largest])
        first.append(int(which[some[0]]))
    return Table(
        "without-limit", "Joints without an allowable on file, by size and type",
        ("Size and type", "Joints", "Between stations", "Largest deflection, deg"), rows, numeric=(1, 3),
        note="Bring their allowable from the approved submittal, and place the job again.",
        none="Every joint's allowable is on file.",
    )  # fmt: skip


def curve_table(route: Route) -> Table:
    """List the curves laid by deflection, with the radius achieved against the least that their joints allow."""
    rows, firsts = [], []
    symbol = units.SYMBOLS[route.station_unit]
    for plane, found in route_curves(route).items():
        for curve in zip(*found, strict=True):
            rows.append(_curve_cells(route, plane, *curve))
            firsts.append(int(curve[0]))
    order = np.argsort(firsts, kind="stable")
    return Table(
        "curves", "Curves laid by deflection",
        ("From", "To", "Turns", "Joints", "Turn in all, deg", f"Radius achieved, {symbol}",
         f"Least radius allowed, {symbol}", "Largest deflection, deg", "Compared"),
        [rows[at] for at in order], numeric=(3, 4, 5, 6, 7), joints=[firsts[at] for at in order],
        note="A run of four or more turns one way, of at least 0.25 degrees (or two standard errors) each and 3 "
        "degrees in all, without a fitting. Where its joints begin to turn more or less, another curve begins; one or "
        "two that turn otherwise than those on either side stay in it. Radius achieved: of the circle that touches the "
        "middles of the straights, by their mean length and turn (where shots are sparse: of the circle through them, "
        "without the outermost turns). Least radius: L / (2 tan(allowable / 2)) at the laying length. A radius that is "
        "wide enough on the whole does not clear a joint that is over.",
        none="No stretch turns one way far enough to be called a curve.",
    )  # fmt: skip


def route_curves(route: Route) -> dict[str, Curves]:
    """Find the curves of a route in plan and in profile; lengths in station units."""
    joints = route.joints
    bend, source = np.isfinite(joints["bend_angle_deg"]), joints["deflection_source"]
    shared = (source != "survey") & (source != "survey-and-readings")
    distance, shot = joints["distance"] / route.scale, float(least_and_most(joints["sigma_horizontal"])[0])
    # Beside a deflection that readings have a part in stands its own error, not that of the turn by the shots.
    read = (source == "readings") | (source == "survey-and-readings")
    of_turn = np.degrees(np.sqrt(6.0) * shot / (route.shots["middle"] * route.scale))
    sigma = np.where(read, of_turn, joints["sigma_deg"])
    return {
        plane: find_curves(distance, joints[f"turn_{plane}_deg"], sigma, shared, bend)
        for plane in ("horizontal", "vertical")
    }


def _curve_cells(
    route: Route, plane: str, first: int, last: int, turns: int, total: float, spacing: float, radius: float
) -> list[str]:
    del turns, spacing
    inside = route.joints.take(slice(first, last + 1))
    ways = ("to the right", "to the left") if plane == "horizontal" else ("upward", "downward")
    least = float(radius_of_lengths(route.laying_length, least_and_most(inside["allowable_deg"])[0]))
    if not np.isfinite(least):
        compared = "no allowable on file"
    else:
        compared = "tighter than the least radius" if radius < least else "wider than the least radius"
        if not radius < least and not known(inside["own_deflection_deg"]).all():
            compared = "not tighter on the whole; the shots do not tell of each joint"
    over, shared = route.over_at_least(first, last)
    # Ceilings are no deflections, and a mean hides the largest: only joints that were measured count.
    largest = least_and_most(inside["own_deflection_deg"])[1]
    return [
        *inside["station"][[0, -1]].tolist(), ways[int(total < 0)], str(len(inside)),
        number(abs(total), 1), number(radius, 0), number(least, 0), number(largest, 2),
        compared + (f"; {at_least(over, shared)} of its joints over" if over else ""),
    ]  # fmt: skip
