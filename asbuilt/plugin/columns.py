"""Which column of the log is which field: the first guess, and the text form that models and batches use."""

import re

from .child import ChildError
from .words import tr, vocabulary


def guess(columns):
    """Match column names to fields by the names that logs use, as the command does.

    Parameters
    ----------
    columns : list of str

    Returns
    -------
    dict
        Column of each field found; a field that two columns could be is left to the user.
    """
    return _matched(columns, vocabulary()["fields"])


def guess_line(columns):
    """Match the column names of a line layer to the route and the start station of its lines."""
    return _matched(columns, vocabulary()["line_fields"])


def _matched(columns, fields):
    known = {}
    for field in fields:
        known.update(dict.fromkeys(field["names"], field["name"]))
    # Set last: a field's own name wins over a name that another field goes by too.
    known.update({_plain(field["name"]): field["name"] for field in fields})
    found = {}
    for column in columns:
        field = known.get(_plain(column))
        if field is not None:
            found.setdefault(field, []).append(column)
    return {field: names[0] for field, names in found.items() if len(names) == 1}


def parse(text):
    """Read "field = column" lines.

    Raises
    ------
    ChildError
        Naming the line that cannot be read.
    """
    chosen = {}
    for line in re.split(r"[\n;]", text or ""):
        if not line.strip():
            continue
        field, sign, column = line.partition("=")
        if not sign or not field.strip() or not column.strip():
            raise ChildError(tr("Columns: {0!r} is not of the form: field = column").format(line.strip()))
        chosen[field.strip()] = column.strip()
    return chosen


def written(chosen):
    """Write a choice of columns as "field = column" lines."""
    return "\n".join(f"{field} = {column}" for field, column in chosen.items())


def _plain(name):
    return re.sub(r"[^a-z0-9]", "", re.sub(vocabulary()["unit_hint"], " ", name.lower()))
