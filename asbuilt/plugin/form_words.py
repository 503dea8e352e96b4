"""The command's messages in the words of a form: its fields instead of keys of the job file and options."""

import re

from .words import tr, vocabulary


def _typed():
    """Give what a message tells to type, and the title of the work that does it here."""
    return (
        (r"asbuilt load FILE --into \S+", tr("Load a placed job into the register")),
        (r"asbuilt conflicts \S+", tr("List and settle joints that contradict the register")),
    )


def in_form_words(message, fields, titles):
    """Put a field's title where a message names the key or the option that the field is handed over as.

    Parameters
    ----------
    message : str
    fields : dict of key or option to the name of a field
    titles : dict of a field's name to its title

    Examples
    --------
    >>> titles = {"ROUTE": "Column with the route", "COLUMNS": "Columns of the log"}
    >>> print(in_form_words("centerline.route: there is no column 'x'", {"centerline.route": "ROUTE"}, titles))
    'Column with the route': there is no column 'x'
    >>> print(in_form_words("say records.columns.station", {"records.columns": "COLUMNS"}, titles))
    say 'Columns of the log' (station)
    >>> print(in_form_words("use --out or output.path", {"--out": "FILE", "output.path": "FILE"}, {"FILE": "Result"}))
    use 'Result'
    """

    def shown(found):
        key, more = found["key"], found["more"]
        title = f"'{titles[fields[key]]}'"
        return f"{title} ({more[1:]})" if more else title

    for typed, title in _typed():
        quoted = f"'{title}'".replace("\\", r"\\")
        message = re.sub(typed, quoted, message)
    known = sorted((key for key, name in fields.items() if name in titles), key=len, reverse=True)
    if not known:
        return message
    keys = "|".join(map(re.escape, known))
    message = re.sub(rf"(?<![\w./-])(?P<key>{keys})(?P<more>(?:\.\w+)?)(?![\w-])", shown, message)
    # What is a key of the job file and an option of the command is one field here.
    return re.sub(r"('[^']+') or \1", r"\1", message)


def names_keys(message):
    """Tell whether a message names keys of a job file, beside those that stand behind the title of their field."""
    named = re.findall(r"(?<![\w/.-])[a-z_]+(?:\.[a-z_]+)+", message)
    # Of a table of names, such as records.fixed, each is a key that no list holds.
    return bool({one for key in named for one in (key, key.rpartition(".")[0])} & set(vocabulary()["job_keys"]))


def without_path(message, job):
    """Name the form where a message names the job file that was written from it.

    Parameters
    ----------
    message : str
    job : str
    """
    return message.replace(job, tr("this form"))
