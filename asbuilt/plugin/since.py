"""What became of a placed job since it was placed: its file, the files that it was made from, its layers on the map."""

import hashlib
from pathlib import Path

from . import results
from .words import tr

_CHUNK = 1 << 20
_SHOWN = ("findings", "joints")
"""The layers that the lists of the panel are compared with."""


def stamp(paths):
    """Give what tells that files were written to, without reading them.

    Parameters
    ----------
    paths : list of Path

    Returns
    -------
    tuple
        Of each file its time, size and number; None where it is not there.
    """
    return tuple(_stamp(path) for path in paths)


def _stamp(path):
    try:
        found = Path(path).stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def inputs_in_words(inputs):
    """Say which of the files that a job was made from are not what they were.

    Parameters
    ----------
    inputs : list of (Path, str)
        Where each file is, and its SHA-256 when the job was placed.

    Returns
    -------
    list of str
    """
    said = []
    for path, digest in inputs:
        now = _digest(path)
        if now is None:
            said.append(tr("{0} is not where it was: whether it has changed since cannot be told.").format(path))
        elif now != digest:
            said.append(
                tr("{0} was written to since: this is of the file as it was before. Place the job again.").format(path)
            )
    return said


def _digest(path):
    digest = hashlib.sha256()
    try:
        with open(path, "rb") as file:
            for chunk in iter(lambda: file.read(_CHUNK), b""):
                digest.update(chunk)
    except OSError:
        return None
    return digest.hexdigest()


def layers_in_words(file, project):
    """Say which layers of the project show otherwise than the file, or have changes that the job has not.

    Parameters
    ----------
    file : placed_file.PlacedFile
    project : QgsProject

    Returns
    -------
    list of str
    """
    own = results.layers_of(file.path, project)
    read = {path.resolve() for path, _ in file.inputs}
    filtered = tr("{0} is filtered: the map shows {1} of {2} rows; the lists here show all.")
    edited = tr("{0} is being edited: a placed file is not mended by hand. Correct the log, and place it again.")
    unsaved = tr("{0} has changes that are not saved in {1}: they are not in here.")
    return [
        *(
            filtered.format(own[name].name(), own[name].featureCount(), file.counts[name])
            for name in _SHOWN
            if name in own and own[name].subsetString()
        ),
        *(edited.format(layer.name()) for layer in own.values() if layer.isEditable()),
        *(unsaved.format(name, path) for path, name in results.unsaved_layers(project).items() if path in read),
    ]
