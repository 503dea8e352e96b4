"""What the crew wrote beside its joints, and by which names of joints a gap in the log is told."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from asbuilt.review.tables import MOST_ROWS, Table, cell

if TYPE_CHECKING:
    from asbuilt.review.reading import Route

_LONGEST = 120
"""Letters of a remark in a table of the page; the list of issues has it whole."""
_MOST_QUOTED = 4
"""Different remarks that one row of a table quotes; the list of issues has them all."""


def remarks_of(route: Route) -> dict[int, str]:
    """Give what the crew remarked on each joint, by its number on the route: in all its records, not the last only."""
    records = route.inspections
    if "remarks" not in records:
        return {}
    place = {uid: at for at, uid in enumerate(route.joints["joint_uid"].tolist())}
    told: dict[int, dict[str, None]] = {}
    for uid, remark in zip(records["joint_uid"].tolist(), records["remarks"].tolist(), strict=True):
        if isinstance(remark, str) and remark.strip() and uid in place:
            told.setdefault(place[uid], {})[remark.strip()] = None
    return {at: "; ".join(some) for at, some in told.items()}


def shortened(remark: str) -> str:
    """Cut a long remark for a table.

    Examples
    --------
    >>> shortened("LEAKING at bell"), len(shortened("wet " * 100))
    ('LEAKING at bell', 121)
    """
    return remark if len(remark) <= _LONGEST else f"{remark[:_LONGEST]}…"


def quoted(joints: Sequence[tuple[str, str]], said: str) -> str:
    """Write the remarks on the joints of one row of a table, but for what the row says already.

    Parameters
    ----------
    joints : sequence of (joint, remark)
    said : what the row says

    Examples
    --------
    >>> quoted([("22", "LEAKING at bell")], "Deflection 6.6 deg is over"), quoted([("22", "wet")], "The log says: wet")
    (' The crew wrote: "LEAKING at bell".', '')
    >>> quoted([("22", "wet"), ("23", "")], ""), quoted([("22", "wet"), ("23", "wet"), ("24", "dry")], "")
    (' The crew wrote at joint 22: "wet".', ' The crew wrote at joints 22, 23: "wet"; at joint 24: "dry".')
    """
    by_remark: dict[str, list[str]] = {}
    for joint, remark in dict.fromkeys(joints):
        if remark and remark not in said:
            by_remark.setdefault(remark, []).append(joint)
    alone = len(set(joints)) == 1
    where = [
        "" if alone else f" at joint{'s' if len(some) > 1 else ''} {', '.join(some)}" for some in by_remark.values()
    ]
    told = [f'{place}: "{shortened(remark)}"' for place, remark in zip(where, by_remark, strict=True)]
    return f" The crew wrote{';'.join(told)}." if told else ""


TO_READ = "remark-to-read"
"""The finding of a remark that has one of the words that may tell of trouble."""


def to_read_table(route: Route) -> Table:
    """List the remarks that have one of the words that may tell of trouble; what they mean is not judged."""
    found = route.findings.take(route.findings["code"] == TO_READ)
    told = found.take(slice(MOST_ROWS)).records(("station", "joint", "message"))
    rows = [[cell(one["station"]), cell(one["joint"]), _in_quotes(one["message"])] for one in told]
    more = f"The first {MOST_ROWS} of {len(found)}; layer findings has them all. " if len(found) > MOST_ROWS else ""
    return Table(
        "to-read", "Remarks to read: each has a word of a list that may tell of trouble",
        ("Station", "Joint", "The log says"), rows, joints=found["at"][:MOST_ROWS].tolist(), count=len(found),
        note=f"{more}The words are the crew's. They stand here by a plain rule, a list of beginnings of words such as "
        "leak or broke (inspection.remark_words), and nothing here judges what they mean: a remark may tell of no "
        "trouble, and trouble told in other words is not in this table.",
        none="No remark has a word of the list.",
    )  # fmt: skip


def _in_quotes(message: str) -> str:
    """Give what a finding quotes."""
    quoted = re.search('"(.*)"', message, re.DOTALL)
    return quoted[1] if quoted else message


def remarks_table(route: Route) -> Table:
    """List what the crew remarked, joint by joint."""
    joints, told = route.joints, sorted(remarks_of(route).items())
    rows = [[cell(joints["station"][at]), cell(joints["joint"][at]), remark] for at, remark in told]
    more = len(rows) - MOST_ROWS
    return Table(
        "remarks", "Remarks of the crew", ("Station", "Joint", "Remark"), rows[:MOST_ROWS],
        joints=[at for at, _ in told[:MOST_ROWS]], count=len(rows),
        note=f"The first {MOST_ROWS} of {len(rows)}; layer inspections has them all." if more > 0 else "",
        none="The log has none at the joints placed here.",
    )  # fmt: skip


def between_joints(
    back: str, ahead: str, fits: float, not_placed: Collection[str] = (), elsewhere: Collection[str] = ()
) -> str:
    """Name the gap in a log by the joints on either side of it, and the numbers that their names leave out.

    Parameters
    ----------
    back, ahead : str
        Names of the joints on either side.
    fits : float
        How many joints the gap is long enough for, about.
    not_placed : names of joints whose records are there but were set aside
    elsewhere : names of joints that stand elsewhere on the route

    Examples
    --------
    >>> between_joints("29", "32", 2.0, (), {"30"})
    'between 29 and 32 (31 missing; 30 stands elsewhere)'
    >>> between_joints("29", "31", 1.0), between_joints("J-97", "J-101", 3.0, {"J-99"})
    ('between 29 and 31 (30 missing)', 'between J-97 and J-101 (J-98, J-100 missing; J-99 in the log but not placed)')
    >>> between_joints("29", "30", 1.0), between_joints("29", "131", 2.0)
    ('between 29 and 30', 'between 29 and 131 (the log has none of the numbers between)')
    >>> between_joints("102", "97", 4.0)
    'between 102 and 97 (98 to 101 missing)'
    """
    said = f"between {back} and {ahead}"
    names = _names_between(back, ahead)
    if not names:
        return said
    aside = in_the_log(back, ahead, not_placed)
    if len(names) > fits + 1.5:
        found = f"; {', '.join(aside)} in the log but not placed" if aside else ""
        return (
            f"{said} ({'the log has none of the numbers between' if not aside else 'numbers between left out'}{found})"
        )
    other = [name for name in names if name in elsewhere and name not in not_placed]
    missing = [name for name in names if name not in not_placed and name not in elsewhere]
    runs = f"{missing[0]} to {missing[-1]}" if len(missing) == len(names) > 2 else ", ".join(missing)
    told = [f"{runs} missing" if missing else "", f"{', '.join(aside)} in the log but not placed" if aside else ""]
    told += [f"{', '.join(other)} stand{'s' if len(other) == 1 else ''} elsewhere" if other else ""]
    return f"{said} ({'; '.join(one for one in told if one)})"


def in_the_log(back: str, ahead: str, not_placed: Collection[str]) -> list[str]:
    """Give the joints numbered between two that the log has, but whose records were set aside.

    Examples
    --------
    >>> in_the_log("J-97", "J-101", {"J-99", "J-7"})
    ['J-99']
    """
    return [name for name in _names_between(back, ahead) if name in not_placed]


_MOST_NAMES = 1000


def _names_between(back: str, ahead: str) -> list[str]:
    """Give the names whose numbers lie between those of two joints, the smaller first; none where they have none."""
    found = [re.fullmatch(r"(.*?)(\d{1,9})", name) for name in (back, ahead)]
    first, last = found
    if first is None or last is None or first[1] != last[1]:
        return []
    low, high = sorted([int(first[2]), int(last[2])])
    width = len(first[2]) if len(first[2]) == len(last[2]) else 0
    return [f"{first[1]}{number:0{width}d}" for number in range(low + 1, min(high, low + _MOST_NAMES))]
