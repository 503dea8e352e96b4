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
    known = {}
    for field in vocabulary()["fields"]:
        known.update(dict.fromkeys(field["names"], field["name"]))
    # Set last: a field's own name wins over a name that another field goes by too.
    known.update({_plain(field["name"]): field["name"] for field in vocabulary()["fields"]})
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
