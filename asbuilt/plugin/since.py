"""What became of a placed job since it was placed: its file, the files that it was made from, its layers on the map."""

import hashlib
from pathlib import Path

from . import outputs, results
from .words import tr

_CHUNK = 1 << 20
_PARTS = {".shp": (".dbf", ".shx", ".prj", ".cpg")}
"""Files beside a file that are parts of it, in the order in which the command takes them for its SHA-256."""
_DATABASE = ".gpkg"
"""Files whose head the host writes to when a layer of theirs is to be edited, whatever becomes of it."""
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
    return tuple(_stamp(part) for path in paths for part in _parts(Path(path)))


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
            told = tr("{0} was written to since: this is of the file as it was before. Place the job again.")
            if path.suffix.lower() == _DATABASE:
                told = tr(
                    "{0} was written to since, if only by this program when a layer of it was put in edit: this is of "
                    "the file as it was before. Place the job again."
                )
            said.append(told.format(path))
    return said


def _parts(path):
    """Give the files that a file is, and of a folder, such as a file geodatabase, those in it."""
    if path.is_dir():
        return [one for one in sorted(path.rglob("*")) if one.is_file()]
    beside = [path.with_suffix(suffix) for suffix in _PARTS.get(path.suffix.lower(), ())]
    return [path, *(one for one in beside if one.is_file())]


def _digest(path):
    """Give the SHA-256 of a file as the command takes it; None where it is not there or cannot be read."""
    digest = hashlib.sha256()
    try:
        if path.is_dir():
            for one in _parts(path):
                digest.update(f"{one.relative_to(path).as_posix()} {_digest(one)}\n".encode())
            return digest.hexdigest()
        for part in _parts(path):
            with open(part, "rb") as file:
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
        *(
            unsaved.format(name, path)
            for path, name in results.unsaved_layers(project).items()
            if any(outputs.is_same_file(path, read) for read, _ in file.inputs)
        ),
    ]
