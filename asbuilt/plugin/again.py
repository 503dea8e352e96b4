"""A job placed again from the findings panel: the form that placed it, filled in as it was."""

import ast
import hashlib
import json

import processing

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
    context.project().writeEntry(_SCOPE, _key(path), json.dumps([algorithm.id(), kept]))


def form_of(path, project):
    """Give the algorithm that placed a file, and what its form was given; without a memory of it, a job file's form.

    Returns
    -------
    name, parameters : str, dict
    """
    text, _ = project.readEntry(_SCOPE, _key(path))
    name, kept = json.loads(text) if text else ("asbuilt:place_job", {"OUTPUT": repr(str(path))})
    return name, {one: _value(written) for one, written in kept.items() if _value(written) is not None}


def open_form(path, project):
    """Open the form of the job that wrote a file."""
    name, parameters = form_of(path, project)
    processing.execAlgorithmDialog(name, parameters)


def _value(written):
    """Read a value as the host wrote it; what is no plain value, such as a selection, is chosen anew."""
    try:
        return ast.literal_eval(written)
    except (ValueError, SyntaxError):
        return None


def _key(path):
    # A name of the project file begins with a letter.
    return "placed/of_" + hashlib.sha256(str(path).encode()).hexdigest()[:16]
