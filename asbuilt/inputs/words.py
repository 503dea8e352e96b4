"""The log's own words in ours, as the job says them in `[records.words.FIELD]`."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.errors import JobFileError
from asbuilt.vocabulary import JOINT_TYPES, joint_type, plain_word

if TYPE_CHECKING:
    from asbuilt.job import Job


def in_ours(text: pa.Array, words: Mapping[str, str], *, exact: bool = False) -> tuple[pa.Array, set[str]]:
    """Put the log's words into ours; what no word is said for stays as it is.

    Parameters
    ----------
    text : pyarrow string array, shape (n,)
    words : mapping of theirs to ours
        An empty one of ours makes a cell blank.
    exact : bool
        Whether case and spaces matter, as they do in route names.

    Returns
    -------
    text : pyarrow string array, shape (n,)
    met : set of str
        Those of their words that the column holds.

    Examples
    --------
    >>> text, met = in_ours(pa.array(["FL-Pipe", "n/a", "Tee"]), {"fl-pipe": "pipe", "N/A": "", "GV": "valve"})
    >>> text.to_pylist(), sorted(met)
    (['pipe', None, 'Tee'], ['N/A', 'fl-pipe'])
    """
    form = str if exact else plain_word
    known = {form(theirs): (theirs, ours) for theirs, ours in words.items()}
    coded = pc.dictionary_encode(text)
    written = coded.dictionary.to_pylist()
    answers = [known[form(one)][1] or None if form(one) in known else one for one in written]
    met = {known[form(one)][0] for one in written if form(one) in known}
    return pa.array(answers, pa.string()).take(coded.indices), met


def never_met(job: Job, met: Collection[tuple[str, str]]) -> list[str]:
    """Say which words of the job stand nowhere in its log: they may be misspelt.

    Parameters
    ----------
    job : Job
    met : (field, their word) of those that the log has
    """
    return [
        f"records.words.{field}: no record has {theirs!r}"
        for field, words in job.records.words.items()
        for theirs in words
        if (field, theirs) not in met
    ]


def check_words(job: Job, routes: Collection[str], families: Collection[str]) -> None:
    """Refuse words for routes that the centerline does not have, and for joint families that nothing is said of.

    Parameters
    ----------
    job : Job
    routes : names of the centerline's routes
    families : joint families of the limits' tables

    Raises
    ------
    JobFileError
        Naming the word and what it may be.
    """
    own = {*JOINT_TYPES, *families, *(joint_type(one) or one for one in job.inspection.required_for if one != "*")}
    for field, known in (("route", [*routes]), ("joint_type", sorted(own))):
        for theirs, ours in job.records.words.get(field, {}).items():
            wanted = ours if field == "route" else joint_type(ours)
            if not ours or wanted in known:
                continue
            near = difflib.get_close_matches(ours, known, n=1, cutoff=0.5)
            remedy = f"did you mean {near[0]!r}?" if near else f"it may be {', '.join(known[:12])}"
            raise JobFileError(
                f"{job.source}: records.words.{field}: {theirs!r} is said to be {ours!r}, which is no "
                f"{'route of the centerline' if field == 'route' else 'joint type that is known'}; {remedy}"
            )
