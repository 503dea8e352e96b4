"""The log's own words in ours, as the job says them in `[records.words.FIELD]`."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.errors import JobFileError
from asbuilt.inputs import values
from asbuilt.vocabulary import JOINT_TYPES, KINDS, YES_NO_FIELDS, joint_type, plain_word

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


_PLAIN = {"no": ("fail", "failed", "bad", "not ok"), "yes": ("pass", "passed", "ok", "okay", "good")}
"""Words that mean the one thing whatever a column asks; "no" may be the good answer, and letters stand for much."""


def against_their_meaning(job: Job) -> list[str]:
    """Notice words that the job takes for another of the words that this program reads them as.

    A column may ask the other way round ("Defects: no" is good), so this may be meant.

    Parameters
    ----------
    job : Job
    """
    told = []
    for field, words in job.records.words.items():
        if field == "route":
            continue
        for theirs, ours in words.items():
            meant = _meant(field, theirs)
            if meant is not None and _differs(field, meant, ours):
                told.append(
                    f"records.words.{field}: {theirs!r} is said to {f'be {ours!r}' if ours else 'say nothing'}, and by "
                    f"itself it is read as {meant!r}: every record with it counts so; remove it unless the column "
                    "asks the other way round, or means another thing by it"
                )
    return told


def _differs(field: str, meant: str, ours: str) -> bool:
    """Say whether the job says another thing of a word; that joints are restrained, or of its own type, is none."""
    if field != "joint_type" or not ours:
        return meant != ours
    said = joint_type(ours)
    return said in JOINT_TYPES and said.removeprefix("restrained-") != meant.removeprefix("restrained-")


def _meant(field: str, theirs: str) -> str | None:
    """Give what a word is read as where the job says nothing of it; None where it is not known."""
    if field in YES_NO_FIELDS:
        return values.yes_no(theirs)
    if field == "kind":
        found = values.kind(theirs)
        return found if found in KINDS else None
    found = joint_type(theirs)
    return found if found in JOINT_TYPES else None


def _refuse_reversed(job: Job) -> None:
    """Refuse a word for what failed that is said to have passed, or the reverse."""
    for field in YES_NO_FIELDS:
        for theirs, ours in job.records.words.get(field, {}).items():
            meant = next((one for one, words in _PLAIN.items() if plain_word(theirs) in words), None)
            if meant is not None and ours and ours != meant:
                raise JobFileError(
                    f"{job.source}: records.words.{field}: {theirs!r} is said to be {ours!r}, and it means {meant!r} "
                    "wherever it stands: joints would be told as the reverse of what the crew found; say "
                    f"{meant!r}, or remove it"
                )


def check_words(job: Job, routes: Collection[str], families: Collection[str]) -> None:
    """Refuse words for routes that the centerline does not have, for joint families unknown, and of reverse meaning.

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
    _refuse_reversed(job)
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
