"""A job placed again from the findings panel: the form that placed it, filled in as it was."""

import ast
import hashlib
import json

import processing
from qgis.core import QgsApplication

from .words import tr

_SCOPE = "asbuilt"


def remember(algorithm, parameters, context, path):
    """Keep in the project how a file was placed.

    Parameters
    ----------
    algorithm : QgsProcessingAlgorithm
    parameters : dict, what its form was given
    context : QgsProcessingContext
    path : the placed file
    """
    if context.project() is None:
        return
    kept = {}
    for one in algorithm.parameterDefinitions():
        if one.name() in parameters and parameters[one.name()] is not None:
            kept[one.name()] = one.valueAsPythonString(parameters[one.name()], context)
    kept["OUTPUT"] = repr(str(path))
    context.project().writeEntry(_SCOPE, _key(path), json.dumps([f"asbuilt:{algorithm.name()}", kept]))


def form_of(path, project):
    """Give the algorithm that placed a file, and what its form was given; without a memory of it, a job file's form.

    Returns
    -------
    name, parameters : str, dict
    """
    name, kept = _remembered(path, project)
    return name, {one: value for one, value in kept.items() if value is not None}


def not_kept(path, project):
    """Give the inputs, by their titles in the form, that the form of a job cannot be filled in with again.

    What is selected in a layer, and a layer in memory, are not there as they were: all features would be taken for the
    selected ones.
    """
    name, kept = _remembered(path, project)
    lost = [one for one, value in kept.items() if value is None]
    algorithm = QgsApplication.processingRegistry().algorithmById(name)
    return [algorithm.parameterDefinition(one).description() for one in lost] if algorithm is not None else lost


def open_form(path, project):
    """Open the form of the job that wrote a file; where it cannot be filled in as it was, say so and open none.

    Returns
    -------
    str, what to say to the user; empty where the form was opened
    """
    lost = not_kept(path, project)
    if lost:
        return tr(
            "This job was placed from selected features only, or from a layer in memory ({0}): what was chosen then is "
            "not known any more. Open the form from the toolbox, and choose it there."
        ).format(", ".join(lost))
    name, parameters = form_of(path, project)
    processing.execAlgorithmDialog(name, parameters)
    return ""


def _remembered(path, project):
    """Give the algorithm that placed a file, and what each field of its form was given, None where that is gone."""
    text, _ = project.readEntry(_SCOPE, _key(path))
    name, kept = json.loads(text) if text else ("asbuilt:place_job", {"OUTPUT": repr(str(path))})
    return name, {one: _value(written) for one, written in kept.items()}


def _value(written):
    """Read a value as the host wrote it; None for a selection or a layer in memory, which are no plain values."""
    try:
        value = ast.literal_eval(written)
    except (ValueError, SyntaxError):
        return None
    return None if isinstance(value, str) and value.startswith("memory:") else value


def _key(path):
    # A name of the project file begins with a letter.
    return "placed/of_" + hashlib.sha256(str(path).encode()).hexdigest()[:16]
