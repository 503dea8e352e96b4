"""Words by which a crew's remarks may tell of trouble, and remarks that deny it: "no leaks seen" tells of none."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

import pyarrow as pa
import pyarrow.compute as pc

if TYPE_CHECKING:
    from asbuilt.job import Job

_BETWEEN = (
    r"(?:(?:sign|trace|evidence|any|of|visible|apparent|obvious|other|a|the|water|joint|gasket|pipe|bell|spigot|"
    r"coating|lining|found|seen|noted|observed|or|nor)s?\s+)*"
)
"""Words that may stand between a no and what it denies; common practice, no source."""
_ENDS = r"(?=\s*(?:$|[;,)!]|\.\s*(?:$|[^\s\d]))|\s+(?:seen|found|noted|observed|visible)\b)"


def has_word(texts: pa.Array, words: Sequence[str]) -> pa.Array:
    """Say of each text whether a word in it begins as one of the given words does, denied or not.

    One with a space behind it is a whole word.

    Examples
    --------
    >>> has_word(pa.array(["No leaks", "BENT", "Benton Road"]), ["leak", "bent "]).to_pylist()
    [True, True, False]
    """
    if not words:
        return pa.array([False] * len(texts), pa.bool_())
    # Letters of the alphabet alone make a search a hundred times as fast; the few texts that it finds are read exactly.
    found = pc.match_substring_regex(pc.utf8_lower(texts), _pattern([word.lower() for word in words], "a-z"))
    if not pc.any(found).as_py():
        return found
    exactly = pc.match_substring_regex(texts.filter(found), _pattern(words, r"\pL"), ignore_case=True)
    return pc.replace_with_mask(found, pc.fill_null(found, False), exactly)


def _pattern(words: Sequence[str], letters: str) -> str:
    beginnings = "|".join(
        re.escape(word.rstrip()) + (f"($|[^{letters}])" if word.endswith(" ") else "") for word in words
    )
    return f"(^|[^{letters}])({beginnings})"


def tells(texts: pa.Array, words: Sequence[str]) -> pa.Array:
    """Say of each text whether a word in it that is not denied begins as one of the words of trouble does.

    Examples
    --------
    >>> tells(pa.array(["LEAKING at bell", "sunny", "no leaks", "no leaks; spigot bent"]), ["leak", "bent"]).to_pylist()
    [True, False, False, True]
    """
    found = pc.fill_null(has_word(texts, words), False)
    if not pc.any(found).as_py():
        return found
    # Few texts have such words, and fewer different ones: only these are read for a denial.
    coded = pc.dictionary_encode(texts.filter(found))
    kept = pa.array([without_denials(text) for text in coded.dictionary.to_pylist()], pa.string())
    return pc.replace_with_mask(found, found, has_word(kept, words).take(coded.indices))


def without_denials(text: str) -> str:
    """Leave out of a remark what it says is not there.

    Examples
    --------
    >>> without_denials("No leaks or cracks seen. Spigot bent"), without_denials("Leaks: none")
    ('. Spigot bent', '')
    >>> without_denials("Joint no. 12 leaks"), without_denials("no, leaks at bell"), without_denials("no more leaks")
    ('Joint no. 12 leaks', 'no, leaks at bell', 'no more leaks')
    """
    for pattern in _denials():
        text = pattern.sub("", text)
    return text


def remark_words(job: Job) -> tuple[str, ...]:
    """Give the beginnings of words that make a remark one to read: the job's, else those that come with the program."""
    own = job.inspection.remark_words
    return tuple(row["word"] for row in _shipped_words()) if own is None else own


@cache
def _shipped_words() -> tuple[dict[str, str], ...]:
    """Read the words, and which of them a no before or behind them denies; common practice, no source."""
    text = resources.files("asbuilt").joinpath("data/remark_words.csv").read_text("utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@cache
def _denials() -> tuple[re.Pattern[str], ...]:
    words = [re.escape(row["word"].strip()).replace(r"\ ", r"\s+") for row in _shipped_words() if row["deniable"]]
    word = rf"(?:{'|'.join(words)})[^\W\d_]*"
    undone = r"(?:did|does|do|is|was|were|are)(?:\s+not|n['’]t)"
    nothing = rf"(?:no|none|not|non|never|without|w/o|free\s+(?:of|from)|zero|nil|0|{undone})"
    more = (
        rf"(?:\s*(?:,|/|&|\bor\b|\bnor\b|\band\b)\s*{_BETWEEN}{word})*(?:\s+(?:seen|found|noted|observed|visible)\b)?"
    )
    test = r"(?:\s+(?:test|check|inspection)(?:ed)?)?"
    passed = r"(?:none|nil|no|zero|0|n/a|negative|ok|okay|passed|pass|good|satisfactory)"
    return tuple(
        re.compile(one, re.IGNORECASE)
        for one in (
            rf"(?<![\w.]){nothing}\s+{_BETWEEN}{word}{more}(?!\s+(?:test|yet|repair|fix|free))",
            rf"(?<!\bnot\s)\b{word}[\s-]+free\b",
            rf"\b{word}{test}\s*[:=?–-]*\s*{passed}{_ENDS}",
        )
    )
