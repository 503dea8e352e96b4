"""What the register knows of one joint, as a page for the panel."""

import html
import re
from pathlib import Path

from .words import meaning, titles, tr, vocabulary

_PICTURES = (".jpg", ".jpeg", ".png", ".gif", ".bmp", ".webp", ".tif", ".tiff")
_EVIDENCE = (
    "inspected_on", "inspector", "crew", "groove_clean", "spigot_clean", "gasket_clean", "gasket_temperature",
    "gasket_seated", "lubricated", "insertion_mark", "gauge", "gap_12", "gap_3", "gap_6", "gap_9", "gauge_12",
    "gauge_3", "gauge_6", "gauge_9", "bolt_torque", "remarks", "photo",
)  # fmt: skip
_WHERE = ("route", "station", "size", "joint_type", "kind", "restrained", "elevation", "position_source")
_READ = ("gap_12", "gap_3", "gap_6", "gap_9", "gauge_12", "gauge_3", "gauge_6", "gauge_9")
_UNITS = {"size": "size_unit", "elevation": "coordinate_unit", "bolt_torque": "torque_unit"}
_WIDTH, _STANDS = 220, "standing"


def page(joint, folder):
    """Give a joint's page.

    Parameters
    ----------
    joint : dict, one of the joints that `asbuilt find` answers with
    folder : Path
        Where photos may lie, there or in its folder "photos".

    Returns
    -------
    str
        HTML; all that comes from records is escaped.
    """
    title = tr("Joint {0}, route {1}").format(_shown(joint.get("joint")), _shown(joint.get("route")))
    parts = [f"<h3>{title}</h3>", _deflection(joint), *map(_earlier, joint["earlier"]), _table(joint, _WHERE)]
    if joint["findings"]:
        parts += [f"<h4>{tr('Findings')}</h4>", "<ul>", *map(_finding, joint["findings"]), "</ul>"]
    # What stands comes first, the latest before the earlier ones.
    latest_first = joint["history"][::-1]
    records = sorted(latest_first, key=lambda record: record["state"] != _STANDS)
    for number, record in enumerate(records):
        heading = f"<h4>{_heading(record, number)}</h4>"
        parts += [heading, _table(record, _EVIDENCE), _photos(record.get("photo_files") or record.get("photo"), folder)]
    if not records:
        parts.append(f"<p>{tr('No inspection record.')}</p>")
    return "".join(parts)


def _heading(record, number):
    """Name a record: the latest one, or an earlier one, which may no longer hold."""
    heading = tr("Inspection") if number == 0 else tr("Earlier record")
    state = "" if record["state"] == _STANDS else f" &ndash; {html.escape(meaning('state', record['state']))}"
    return f"{heading} ({_shown(record['job'])}){state}"


def photos(text, folder):
    """Give the picture files that a record's photo entry names, as far as they are there."""
    found = []
    for name in re.split(r"[;,\n]", text or ""):
        name = Path(name.strip()).name
        for place in (folder, folder / "photos"):
            path = place / name
            if name and path.suffix.lower() in _PICTURES and path.is_file():
                found.append(path)
                break
    return found


def _deflection(joint):
    verdict = joint.get("verdict")
    words = html.escape(meaning("verdict", verdict or ""))
    value, limit = joint.get("deflection_deg"), joint.get("allowable_deg")
    lines = [f"<b>{words}</b>"]
    if value is not None and limit is not None:
        lines.append(tr("{0} of {1} degrees allowed").format(f"{value:.2f}", f"{limit:.2f}"))
    elif value is not None:
        lines.append(tr("{0} degrees").format(f"{value:.2f}"))
    floor, ceiling = joint.get("deflection_floor_deg"), joint.get("deflection_ceiling_deg")
    if floor is not None and ceiling is not None and ceiling - floor > 0.005:
        lines.append(tr("the survey bounds it between {0} and {1} degrees").format(f"{floor:.2f}", f"{ceiling:.2f}"))
        if value is None and limit is not None:
            lines.append(tr("{0} degrees allowed").format(f"{limit:.2f}"))
    if joint.get("measured_deg") is not None:
        lines.append(tr("measured at the joint: {0} degrees").format(f"{joint['measured_deg']:.2f}"))
    assumed = [vocabulary()["assumptions"].get(one, one) for one in (joint.get("verdict_assumes") or "").split()]
    if assumed:
        lines.append(f"{tr('The verdict assumes that')}: {html.escape('; '.join(map(tr, assumed)))}")
    if joint.get("allowable_source"):
        lines.append(_shown(joint["allowable_source"]))
    return "<p>" + "<br>".join(lines) + "</p>"


def _earlier(state):
    """Give what an earlier job says of the deflection: a later one may have known less."""
    title = tr("By load {0} ({1})").format(state["load_id"], _shown(state["job"]))
    return f"<h4>{title}</h4>{_deflection(state)}"


def _finding(finding):
    text = f"<b>{_shown(finding['code'])}</b> ({_shown(finding['severity'])}): {_shown(finding['message'])}"
    for mark in finding["marks"]:
        text += f"<br><i>{_shown(mark['at'][:10])} {_shown(mark['by'])}: {_shown(mark['note'])}</i>"
    return f"<li>{text}</li>"


def _table(row, names):
    named = {**titles("joints"), **titles("inspections")}
    rows = [
        f"<tr><td>{html.escape(named.get(name, name))}&nbsp;&nbsp;</td><td>{_with_unit(row, name)}</td></tr>"
        for name in names
        if row.get(name) not in (None, "")
    ]
    return f"<table>{''.join(rows)}</table>"


def _with_unit(row, name):
    """Give a value; a size, an elevation, and what was read at the joint, with its unit."""
    unit = row.get("reading_unit" if name in _READ else _UNITS.get(name))
    unit = "ft" if unit == "us-ft" else unit
    return f"{_shown(row[name])} {_shown(unit)}".strip()


def _photos(text, folder):
    images = [
        f'<a href="{path.as_uri()}"><img src="{path.as_uri()}" width="{_WIDTH}"></a>' for path in photos(text, folder)
    ]
    return f"<p>{' '.join(images)}</p>" if images else ""


def _shown(value):
    if isinstance(value, float):
        return f"{value:.2f}".rstrip("0").rstrip(".")
    return html.escape(str("" if value is None else value))
