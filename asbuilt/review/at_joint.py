"""What was read and photographed at a joint: readings as the log has them, photos scaled down into the page or linked.

A photo is shown only if it can be read as a picture, and only from where the placed file says that it is.
"""

from __future__ import annotations

import base64
import warnings
from collections.abc import Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt.inputs.fields import READING_FIELDS
from asbuilt.review.rows import known
from asbuilt.review.tables import MOST_ROWS, Table, cell, measured

if TYPE_CHECKING:
    from asbuilt.review.reading import Review, Route
    from asbuilt.review.rows import Rows

LONGEST_SIDE = 640
"""Of a photo scaled down into a page, pixels."""
MOST_BYTES = 16_000_000
"""Of all photos scaled down into a page: beyond them a browser is slow to open it, and letters refuse it."""
_MOST_PIXELS = 200_000_000
"""A picture that claims more is not opened: its file may be made to fill the memory."""


class Photo(NamedTuple):
    """A photo that was found when the job was placed."""

    name: str
    address: str | None
    """Where it is; None where it is no longer."""
    picture: str | None
    """The picture scaled down, as a data URL; None where it is linked."""
    why: str
    """Why it is not shown; blank where it is, or was not to be."""


class Photographed(NamedTuple):
    """A joint with its photos."""

    at: int
    joint: str
    station: str
    photos: list[Photo]


class Album(NamedTuple):
    """The photos of a route."""

    joints: list[Photographed]
    """Those with something to look at first."""
    missing: Table
    note: str

    @property
    def counts(self) -> dict[str, int]:
        """Count the photos in the page, those linked, and those missing."""
        photos = [photo for one in self.joints for photo in one.photos]
        shown = sum(photo.picture is not None for photo in photos)
        linked = sum(photo.picture is None and photo.address is not None for photo in photos)
        return {"photos_shown": shown, "photos_linked": linked, "photos_missing": self.missing.count or 0}


def album(review: Review, route: Route, *, embed: bool, folder: Path | None = None) -> Album:
    """Gather the photos of a route's joints, and list those that are missing.

    Parameters
    ----------
    review : Review
    route : Route
        One of its routes.
    embed : bool
        Scale the pictures down into the page; otherwise they are linked.
    folder : path, optional
        The job's folder, from which a placed file names its photos; the placed file's own, if left out.
    """
    records, joints = route.inspections, route.joints
    if "photo_files" not in records:
        return Album([], _missing(route, []), _not_looked_for(records))
    base = (folder if folder is not None else review.path.parent).resolve()
    files: dict[int, list[str]] = {}
    place = {uid: at for at, uid in enumerate(joints["joint_uid"].tolist())}
    said = records.take(known(records["photo_files"]))
    for uid, some in zip(said["joint_uid"].tolist(), said["photo_files"].tolist(), strict=True):
        there = files.setdefault(place[uid], [])
        there += [one for one in str(some).split("; ") if one not in there]
    severe = _first_to_look_at(route)
    room = MOST_BYTES
    found: list[Photographed] = []
    for at in sorted(files, key=lambda at: (at not in severe, at)):
        photos = []
        for name in files[at]:
            photo = _photo(base / name, embed=embed, room=room)
            room -= len(photo.picture or "")
            photos.append(photo)
        found.append(Photographed(at, str(joints["joint"][at] or ""), str(joints["station"][at] or ""), photos))
    gone = [(one, photo) for one in found for photo in one.photos if photo.address is None]
    return Album(found, _missing(route, gone), "")


def _not_looked_for(records: Rows) -> str:
    named = sum(map(bool, records["photo"].tolist())) if "photo" in records else 0
    if not named:
        return ""
    many = "1 record of the log names photos" if named == 1 else f"{named:,} records of the log name photos"
    return f"{many}; the job names no folder of them (records.photos), so none was looked for."


def _first_to_look_at(route: Route) -> set[int]:
    """Give the joints over, those that cannot be judged, and those with a finding to act on or check."""
    findings, verdict = route.findings, route.joints["verdict"]
    told = findings["at"][(findings["severity"] != "note") & (findings["at"] >= 0)]
    return {*told.tolist(), *np.flatnonzero((verdict == "over") | (verdict == "cannot-tell")).tolist()}


def _photo(path: Path, *, embed: bool, room: int) -> Photo:
    if not path.is_file():
        return Photo(path.name, None, None, "no longer where it was found")
    address = path.resolve().as_uri()
    if not embed:
        return Photo(path.name, address, None, "")
    small = scaled_down(path)
    if small is None:
        return Photo(path.name, address, None, "no picture that can be shown here")
    if len(small) > room:
        return Photo(path.name, address, None, "linked, since the page is full")
    return Photo(path.name, address, small, "")


def scaled_down(path: Path) -> str | None:
    """Scale a picture down to a data URL, upright as it was taken; None where it cannot be read as a picture.

    Nothing but the picture is kept: neither its place, nor who took it with what.
    """
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            # The size is judged here; the library's own warning comes at another one.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(path) as file:
                if file.width * file.height > _MOST_PIXELS:
                    return None
                file.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                upright = ImageOps.exif_transpose(file)
                upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
                plain = Image.new("RGB", upright.size, "white")
                seen = upright.convert("RGBA")
                plain.paste(seen, mask=seen)
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError):
        # What the library raises on a damaged file depends on where it is damaged.
        return None
    written = BytesIO()
    plain.save(written, "JPEG", quality=72, optimize=True)
    return "data:image/jpeg;base64," + base64.b64encode(written.getvalue()).decode("ascii")


def _missing(route: Route, gone: Sequence[tuple[Photographed, Photo]]) -> Table:
    """List the photos of which there was no file, or more than one, and those no longer there."""
    found = route.findings.take(route.findings["code"] == "photo-missing")
    rows = [list(map(cell, one.values())) for one in found.records(("station", "joint", "message"))]
    joints = found["at"].tolist()
    rows += [[one.station, one.joint, f"{photo.name}: {photo.why}"] for one, photo in gone]
    joints += [one.at for one, _ in gone]
    more = len(rows) - MOST_ROWS
    note = "" if not gone else (
        "Photos are named from the job's folder: where the placed file stands elsewhere, name that folder with "
        "--photo-folder."
    )  # fmt: skip
    return Table(
        "photos-missing", "Photos that are missing", ("Station", "Joint", "What is missing"), rows[:MOST_ROWS],
        joints=joints[:MOST_ROWS], count=len(rows), none="Every photo that the log names is there.",
        note=(f"The first {MOST_ROWS} of {len(rows)}. " if more > 0 else "") + note,
    )  # fmt: skip


# Readings ------------------------------------------------------------------------------------------------------------


def readings_words(route: Route, unit: str) -> dict[str, list[str]]:
    """Say in a few words what was read around each joint, by clock hour, by the record of it that counts.

    Parameters
    ----------
    route : Route
    unit : unit of readings

    Returns
    -------
    dict
        By title: a text for each joint, blank where nothing was read.
    """
    last = route.last
    told = {}
    for what, title in (("gap", "Gap"), ("gauge", "Gauge depth")):
        fields = [name for name in READING_FIELDS if name.startswith(f"{what}_") and name in last]
        read = [name for name in fields if known(last[name]).any()]
        if read:
            hours = [name.rpartition("_")[2] for name in read]
            told[f"{title}, {unit}"] = [
                _around(hours, row) for row in zip(*(last[name].tolist() for name in read), strict=True)
            ]
    return told


def _around(hours: Sequence[str], values: Sequence[float]) -> str:
    """Write the readings of one joint.

    Examples
    --------
    >>> _around(["12", "3", "6", "9"], [0.5, 0.625, float("nan"), 0.5])
    '0.5 at 12, 0.625 at 3, 0.5 at 9'
    """
    # Nothing but what was not read differs from itself.
    read = zip(hours, values, strict=True)
    return ", ".join(f"{cell(float(value))} at {hour}" for hour, value in read if value == value)


_READ = ("station", "joint", "gap_mean", "measured_deg", "measured_direction_deg")


def readings_table(route: Route, unit: str) -> Table:
    """Show the readings of the joints to look at, each with what they come to."""
    joints, told = route.joints, readings_words(route, unit)
    read = [at for at in range(len(joints)) if any(texts[at] for texts in told.values())]
    severe = _first_to_look_at(route)
    named = [at for at in read if at in severe]
    shown = joints.take(np.array(named[:MOST_ROWS], dtype=np.int64)).records(_READ)
    rows = [
        [
            joint["station"] or "", joint["joint"] or "", *(texts[at] for texts in told.values()),
            measured(joint["gap_mean"], unit), _measured_deflection(joint),
        ]
        for at, joint in zip(named, shown, strict=False)
    ]  # fmt: skip
    many = f"{len(read):,} of {len(joints):,} joints have readings"
    of_them = f"the first {MOST_ROWS} of {len(named):,}" if len(named) > MOST_ROWS else f"{len(named):,}"
    return Table(
        "readings", "Readings at the joints to look at",
        ("Station", "Joint", *told, "Mean gap", "Measured deflection"), rows, joints=named[:MOST_ROWS],
        count=len(named),
        note=f"Clock hours are read looking ahead, 12 at the top of the pipe. {many}; {of_them} to look at stand here, "
        "and each joint's own stand on its card and in the table of all joints.",
        none=f"{many}, and none of them is to be looked at." if read else "The log has no readings around a joint.",
    )  # fmt: skip


def _measured_deflection(joint: Mapping[str, Any]) -> str:
    measured_deg, way = joint["measured_deg"], joint["measured_direction_deg"]
    if not np.isfinite(measured_deg):
        return ""
    hour = round(way / 30) % 12 or 12 if np.isfinite(way) else None
    toward = "" if hour is None else f", toward {hour} o'clock"
    return f"{measured_deg:.2f} deg{toward}"
