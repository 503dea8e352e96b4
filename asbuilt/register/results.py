"""What was found, as files: CSV, a workbook with a sheet per table, GeoPackage, GeoJSON, and a page with a map.

Texts of a log may begin like a formula; in CSV and workbooks they stay texts.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

from asbuilt.errors import OutputError
from asbuilt.layers import outputs
from asbuilt.layers.csv_rows import write_csv
from asbuilt.layers.geopackage import VERSION
from asbuilt.layers.workbooks import columns_of, write_sheets
from asbuilt.register import layout, naming
from asbuilt.register.beside import aside_words, restraint_words, test_words
from asbuilt.register.search import Found, InParts
from asbuilt.register.wording import earlier_state, finding_words, waiting_words

if TYPE_CHECKING:
    import pyarrow as pa

    from asbuilt.register.grouping import Groups

SUFFIXES = (".csv", ".xlsx", ".gpkg", ".geojson")

_LISTS = ("findings", "history", "photos", "earlier", "called", "pressure_tests", "restraint", "set_aside")


def check_name(path: Path, *, is_map: bool) -> None:
    """Refuse a name under which results cannot be written.

    Raises
    ------
    OutputError
    """
    if is_map and path.suffix.lower() not in (".html", ".htm"):
        raise OutputError(f"{path}: the name of a page ends in .html; name it so in --map")
    if not is_map and path.suffix.lower() not in SUFFIXES:
        raise OutputError(f"{path}: its name must end in one of {', '.join(SUFFIXES)}; name it so in --out")
    if not path.resolve().parent.is_dir():
        raise OutputError(f"{path}: there is no folder {path.resolve().parent}; make it, or name another")


def write(answer: InParts, path: Path, caution: str) -> bool:
    """Write what was found to a CSV, XLSX, GeoPackage or GeoJSON file, whole or not at all.

    CSV and GeoJSON are written joint by joint, however many there are; a workbook and a GeoPackage, which hold a table
    of each kind, are gathered first.

    Parameters
    ----------
    answer : InParts
    path : path of the file; its suffix says the format
    caution : str
        Goes with the file: whoever opens it did not see the terminal.

    Returns
    -------
    bool
        Whether an earlier answer stood there, of this question or of another.

    Raises
    ------
    OutputError
    """
    check_name(path, is_map=False)
    writers = {".csv": _write_csv, ".xlsx": _write_xlsx, ".gpkg": _write_gpkg, ".geojson": _write_geojson}
    replaced = outputs.refuse_to_replace(path, kind="answer", key="--out")
    with outputs.put_in_place(path, option="--out") as unfinished, outputs.write_errors(path, "--out"):
        writers[path.suffix.lower()](answer, unfinished, caution)
    return replaced


def write_groups(counted: Groups, path: Path) -> bool:
    """Write counts to a CSV or XLSX file, whole or not at all; tell whether an earlier answer stood there.

    Raises
    ------
    OutputError
    """
    if path.suffix.lower() not in (".csv", ".xlsx"):
        raise OutputError(f"{path}: counts have no places; its name must end in .csv or .xlsx, in --out")
    check_name(path, is_map=False)
    total = dict.fromkeys(counted.by, "in all")
    rows = [{**one, "length_unit": counted.unit} for one in (*counted.groups, total | counted.total)]
    replaced = outputs.refuse_to_replace(path, kind="answer", key="--out")
    with outputs.put_in_place(path, option="--out") as unfinished, outputs.write_errors(path, "--out"):
        if path.suffix.lower() == ".csv":
            write_csv(unfinished, columns_of(rows), rows)
        else:
            write_sheets({"groups": rows}, unfinished, bare=("joints",))
    return replaced


def tables(found: Found, first: int = 1) -> dict[str, list[dict[str, Any]]]:
    """Lay what was found out as flat tables: joints, from that rank on, inspections and findings."""
    joints, inspections, findings = [], [], []
    for rank, joint in enumerate(found.joints, start=first):
        flat = {"rank": rank, **{name: value for name, value in joint.items() if name not in _LISTS}}
        for word in ("previous", "next"):
            flat[word] = (joint[word] or {}).get("joint")
        earlier = "; ".join(map(earlier_state, joint["earlier"])) or None
        said = "; ".join(map(finding_words, joint["findings"])) or None
        lengths = {
            "called": "; ".join(map(naming.words, joint["called"])) or None,
            "pressure_tests": "; ".join(map(test_words, joint["pressure_tests"])) or None,
            "restraint": "; ".join(map(restraint_words, joint["restraint"])) or None,
            "set_aside": "; ".join(map(aside_words, joint["set_aside"])) or None,
        }
        told = {"photos": ", ".join(joint["photos"]), "what_was_found": said, "earlier": earlier}
        joints.append(flat | told | lengths)
        inspections += [{"rank": rank, "joint_uid": joint["joint_uid"], **record} for record in joint["history"]]
        for finding in joint["findings"]:
            latest = finding["marks"][-1] if finding["marks"] else {}
            findings.append(
                {"rank": rank, "joint_uid": joint["joint_uid"], "route": joint["route"], "joint": joint["joint"]}
                | {name: value for name, value in finding.items() if name != "marks"}
                | {"note": latest.get("note"), "marked_by": latest.get("by"), "marked_at": latest.get("at")}
            )
    flat_tables = {"joints": joints, "inspections": inspections, "findings": findings}
    waits = [
        {name: value for name, value in one.items() if name not in ("register", "findings", "content")}
        | {"finding_codes": ", ".join(one.get("findings", [])), "in_the_register": one["register"]["joint_uid"]}
        for one in found.waits
    ]
    flat_tables |= {"waiting": waits} if waits else {}
    return flat_tables | ({"set_aside": found.set_aside} if found.set_aside else {})


def _write_csv(answer: InParts, path: Path, caution: str) -> None:
    """Write a row for each record of each joint; a joint without records has one."""
    said = waiting_words(answer.found)
    rows = _rows(answer, said, caution)
    first = next(rows, None)
    if first is None:
        write_csv(path, ["joint_uid", "route", "joint", "station", "caution"], [])
        return
    records = [f"record_{name}" for name in answer.record_columns] if "rank" in first else []
    ends = [name for name in ("waiting", "caution") if name in first]
    own = [name for name in first if name not in records and name not in ends]
    write_csv(path, [*own, *records, *ends], chain([first], rows))


def _rows(answer: InParts, said: str | None, caution: str) -> Iterator[dict[str, Any]]:
    more = ({"waiting": said} if said is not None else {}) | {"caution": caution}
    rank = 1
    for part in answer.parts:
        flat = tables(replace(answer.found, joints=part), rank)
        rank += len(part)
        records: dict[int, list[dict[str, Any]]] = {}
        for record in flat["inspections"]:
            records.setdefault(record["rank"], []).append(record)
        for joint in flat["joints"]:
            for record in records.get(joint["rank"], [{}]):
                told = {f"record_{name}": value for name, value in record.items() if name not in ("rank", "joint_uid")}
                yield joint | told | more
    if rank == 1 and said is not None:
        yield {"joint_uid": None} | more


def _gathered(answer: InParts) -> Found:
    return replace(answer.found, joints=list(chain.from_iterable(answer.parts)), more=0)


def _write_xlsx(answer: InParts, path: Path, caution: str) -> None:
    told = tables(_gathered(answer)) | {"caution": [{"caution": caution}]}
    write_sheets(told, path, bare=("rank", "joint_uid"))


def _write_gpkg(answer: InParts, path: Path, caution: str) -> None:
    from pyogrio.raw import write_arrow

    found = _gathered(answer)
    appended = False
    for name, rows in tables(found).items():
        table = _arrow(rows, name)
        geometry = {}
        if name == "joints":
            table = table.append_column("geom", _points(rows))
            geometry = {"geometry_name": "geom", "geometry_type": "Point Z", "crs": found.crs}
        version = None if appended else {"VERSION": VERSION}
        write_arrow(
            table, path, layer=name, driver="GPKG", append=appended, dataset_options=version,
            layer_options={"DESCRIPTION": caution}, **geometry,
        )  # fmt: skip
        appended = True


def _arrow(rows: list[dict[str, Any]], name: str) -> pa.Table:
    import pyarrow as pa

    from asbuilt.register.arrow_kinds import ARROW

    known = {
        "rank": pa.int64(), "away": pa.float64(), "findings_count": pa.int64(), "load": pa.int64(),
        "away_m": pa.float64(), "replaced_by": pa.string(),
    }  # fmt: skip
    columns = {}
    for column in columns_of(rows) or ["joint_uid"]:
        kind = known.get(column, ARROW[layout.kind(column)])
        values = [row.get(column) for row in rows]
        columns[column] = pa.array(values, pa.string()).cast(kind) if kind == pa.date32() else pa.array(values, kind)
    return pa.table(columns)


def _points(joints: list[dict[str, Any]]) -> pa.Array:
    from asbuilt.layers.shapes import points_wkb
    from asbuilt.register.store import floats

    return points_wkb(*(floats([one[name] for one in joints]) for name in ("easting", "northing", "elevation")))


def _write_geojson(answer: InParts, path: Path, caution: str) -> None:
    """Write points in longitude and latitude. Source: RFC 7946, which allows nothing else."""
    # By the member of our own a later answer knows this file for one that it may replace (RFC 7946, 6.1).
    collection = {
        "type": "FeatureCollection",
        "made_by": "asbuilt find",
        "caution": caution,
        "waiting": answer.found.waiting,
        "waiting_not_held_against": answer.found.unsure,
        "set_aside": answer.found.set_aside,
    }
    with path.open("w", encoding="utf-8") as file:
        file.write(f'{json.dumps(collection, ensure_ascii=False)[:-1]}, "features": [')
        for number, joint in enumerate(chain.from_iterable(answer.parts)):
            feature = {
                "type": "Feature",
                "geometry": {"type": "Point", "coordinates": [joint["longitude"], joint["latitude"]]},
                "properties": joint,
            }
            file.write(f"{', ' * (number > 0)}{json.dumps(feature, ensure_ascii=False)}")
        file.write("]}")
