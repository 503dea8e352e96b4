"""Verdicts, and what they rest on: measured, or within the allowable only if something unmeasured holds.

A joint has one statistic. Where the survey shows its deflection, and readings at the joint do too, they are two
measurements of one vector and are combined by their covariances: to take whichever settles the matter would be wrong
about twice as often as stated.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_mask
from asbuilt.judging import bounds, deflection
from asbuilt.judging.bounds import Measured
from asbuilt.judging.contradicted import Rates, Short, both_ways, short_of_turn
from asbuilt.judging.sightings import in_right_and_up
from asbuilt.schema import ASSUMPTIONS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from asbuilt.judging.fittings import Bends
    from asbuilt.judging.survey import Seen

SURVEY, READINGS, BOTH = 0, 1, 2
"""What a deflection was taken from: numbers of `SOURCES`."""
SOURCES = ("survey", "readings", "survey-and-readings")


@dataclass(frozen=True)
class Evidence:
    """What is known of each joint's deflection: shapes (joints,), angles in radians."""

    seen: Seen
    read: Measured
    """By the readings at the joint, to the right and upward."""
    agreeing: Bools
    """True where the readings give a deflection and do not contradict one another."""
    at_odds: Bools
    """True where readings at joints that share a turn contradict it, one with the other."""
    bends: Bends
    unknown_bend: Bools
    """True for bends without their angle: what their joints take is not known."""
    unknown_kind: Bools
    """True where nobody knows whether it is a bend: the log says what was laid in no word that can be read."""
    slopes: tuple[Floats, Floats]
    """Inclination of the pipe back and of the pipe ahead; NaN where it is not known."""
    allowable: Floats
    """NaN where none is on file."""
    allowable_doubted: Bools
    """True where the allowable is one of the job's own that is far from the usual."""
    route: Ints
    stated: tuple[bool, bool]
    """Whether a standard error of the shots is known, horizontal and vertical."""
    drawn: Bools
    """True where the line is a design, or rests on shots that are none."""
    by_stations: Bools
    """True where stations alone tell that the shot there is the joint's, and the job says that nobody knows."""
    untold: Bools
    """True on lines of which nothing tells which way they run."""
    mirrored: Ints
    """The joint in whose place each stands if such a line runs the other way, where that joint is of the same kind;
    else -1."""
    confidence: float
    """Of the verdict on one joint."""
    main_confidence: float
    """Of there being no conflict on a whole main, where there is none in truth."""


@dataclass(frozen=True)
class Judgement:
    """The verdict on each joint, and what it came from: shapes (joints,), radians."""

    deflection: Floats
    """As a vector's length; NaN where only bounds are known."""
    sigma: Floats
    """Standard error of it, or of the turn by the survey where only bounds are known; NaN where none is stated."""
    source: Ints
    """What it, or else its bounds, were taken from: `SURVEY`, `READINGS` or `BOTH`."""
    least: Floats
    most: Floats
    verdict: pa.Array
    assumes: pa.Array
    """Null where the verdict was measured, and where there is none."""
    apart: Floats
    """How far survey and readings are apart, in standard errors; NaN where they cannot be compared."""
    apart_limit: Floats
    """How far chance puts them apart at one joint of its main, at the confidence for a main."""
    over_by_shots: Bools
    """True where the readings settle a joint as within, and the shots, whose error nobody stated, show it over."""
    both_ways_by: Ints
    """A joint whose readings show that the main does not curve one way there, which raises the ceiling; else -1."""
    short: Short
    """How far the readings at several joints fall short of what the survey shows them to turn together."""
    by_neither: Bools
    """True where they do, and the survey alone does not show within what the readings do."""

    @property
    def conflict(self) -> Bools:
        """True where survey and readings contradict one another."""
        found: Bools = self.apart > self.apart_limit
        return found


def judge(evidence: Evidence) -> Judgement:
    """Judge each joint's deflection against what it allows.

    Parameters
    ----------
    evidence : Evidence

    Returns
    -------
    Judgement
    """
    read, rates = evidence.read, Rates(evidence.confidence, evidence.main_confidence)
    # At a fitting readings and ceiling are not of the same joint.
    of_joint = evidence.agreeing & ~(evidence.bends.there | evidence.unknown_bend | evidence.unknown_kind)
    ceiling_most, by = both_ways(evidence.seen, read, of_joint, evidence.route, rates)
    seen = evidence.seen._replace(ceiling_most=ceiling_most)
    evidence = replace(evidence, seen=seen)
    plain = seen.exact & ~evidence.bends.there & ~evidence.unknown_bend
    surveyed = in_right_and_up(seen.turned)
    known = evidence.stated[0] & (evidence.stated[1] | seen.level) & ~evidence.drawn
    both = plain & evidence.agreeing & known
    apart, limit = _apart(evidence, surveyed, both)
    contradict = apart > limit
    # Shots of unknown error say less than readings of a known one.
    alone = evidence.agreeing & ~(plain & known)
    joined = _combined(surveyed, read, both & ~contradict, seen.level)
    statistic = _chosen(alone, read, joined)
    slack = np.where(plain & ~alone, seen.slack, 0.0)
    least, most = _limits(statistic, evidence.allowable, evidence.confidence, slack)
    # What elevations beside a joint let it turn upward or downward; readings tell that themselves.
    most = np.where(plain & ~alone & ~(both & ~contradict), np.hypot(most, seen.upward), most)
    least, most, by_survey = _by_survey(evidence, plain, alone, least, most)
    verdict = _verdicts(evidence, least, most, plain | alone, by_survey)
    # Two that contradict one another settle only what both of them say.
    if (both & contradict).any():
        other_least, other_most = _limits(read, evidence.allowable, evidence.confidence, np.zeros(len(least)))
        other = deflection.verdicts(other_least, other_most, evidence.allowable, both)
        differ = pc.and_(pa.array(both & contradict), pc.not_equal(verdict, other))
        verdict = pc.if_else(differ, "cannot-tell", verdict)
    by_reading = alone & ~by_survey
    short = short_of_turn(seen, read, evidence.agreeing, evidence.route, rates)
    by_neither = np.zeros(len(least), dtype=np.bool_)
    if short.found.any() or evidence.at_odds.any():
        # Of what turns more than all readings say, one joint or another turns more than it was read to; of what turns
        # otherwise, nobody knows which was read wrong.
        doubted = (short.joints(seen) | evidence.at_odds) & by_reading & ~seen.exact
        doubted &= as_mask(pc.equal(verdict, "within"))
        by_neither = doubted & ~((seen.ceiling_most <= evidence.allowable) & ~seen.over)
        verdict, by_reading = pc.if_else(pa.array(by_neither), "cannot-tell", verdict), by_reading & ~doubted
        least, most = np.where(doubted, 0.0, least), np.where(doubted, seen.ceiling_most, most)
    open_kind = _by_a_kind(evidence) & ~by_reading & as_mask(pc.equal(verdict, "over"))
    verdict, least = pc.if_else(pa.array(open_kind), "cannot-tell", verdict), np.where(open_kind, 0.0, least)
    source = np.where(by_reading, READINGS, np.where(both & ~contradict, BOTH, SURVEY))
    assumes = assumption_words(_either_way(evidence, verdict, source, _rests_on(evidence, verdict, source)))
    told = pc.is_in(verdict, pa.array(["within", "over"]))
    sigma, rows = seen.sigma.copy(), np.flatnonzero(source != SURVEY)
    sigma[rows] = statistic.take(rows).sigma_of_size
    size = np.where(by_reading, read.size, np.where(plain, statistic.size, np.nan)).astype(np.float64)
    assumes = pc.if_else(told, assumes, pa.scalar(None, pa.string()))
    over_by_shots = by_reading & plain & ~evidence.drawn & (surveyed.size > evidence.allowable)
    over_by_shots &= as_mask(pc.equal(verdict, "within"))
    verdict = if_assumed(verdict, assumes)
    return Judgement(
        size, bounds.at_most_back(sigma), source, least, bounds.at_most_back(most), verdict, assumes, apart, limit,
        over_by_shots, by, short, by_neither,
    )  # fmt: skip


def _by_a_kind(evidence: Evidence) -> Bools:
    """Say which joints share their turn with one, or are one, that may be a bend for all that the log can be read."""
    seen, upto = evidence.seen, np.concatenate([[0], np.cumsum(evidence.unknown_kind)])
    found: Bools = upto[seen.last + 1] > upto[seen.first]
    return found | evidence.unknown_kind


def without_assumed(found: Judgement, joints: Bools) -> tuple[Judgement, Bools]:
    """Take away verdicts that nothing measured, of joints whose neighbours the log does not have.

    Parameters
    ----------
    found : Judgement
    joints : array of bool, shape (joints,)

    Returns
    -------
    Judgement
    taken : array of bool
        Joints that are not judged now.
    """
    taken: Bools = joints & ~as_mask(pc.is_in(found.verdict, pa.array(["within", "over", "no-allowable"])))
    gone = pa.array(taken)
    none = pa.scalar(None, pa.string())
    size, least, most = (np.where(taken, np.nan, one) for one in (found.deflection, found.least, found.most))
    return replace(
        found, deflection=size, least=least, most=most,
        verdict=pc.if_else(gone, "not-computed", found.verdict), assumes=pc.if_else(gone, none, found.assumes),
    ), taken  # fmt: skip


def settled(verdict: pa.Array, assumes: pa.Array) -> tuple[Bools, Bools]:
    """Say which joints have a verdict that is wrong no oftener than stated, and which one of an unknown rate.

    Parameters
    ----------
    verdict, assumes : pyarrow string arrays, shape (joints,)

    Returns
    -------
    known, unknown : array of bool, shape (joints,)
        Where nobody states the errors of the shots, or nothing was shot, no rate of wrong verdicts follows.

    Examples
    --------
    >>> known, unknown = settled(pa.array(["within", "over", "cannot-tell"]), pa.array([None, "shots-exact", None]))
    >>> known.tolist(), unknown.tolist()
    ([True, False, False], [False, True, False])
    """
    told = as_mask(pc.is_in(verdict, pa.array(["within", "within-assumed", "over"])))
    without = as_mask(pc.match_substring_regex(assumes, r"\b(shots-exact|drawn)\b"))
    return told & ~without, told & without


def most_wrong(known: Bools, route: Ints, routes: int, confidence: float) -> Floats:
    """Give how many verdicts of each route may be wrong, if all its joints lie at their limits, shape (routes,).

    Parameters
    ----------
    known : array of bool, shape (joints,)
        Joints with a verdict of a known rate; see `settled`.
    route : array of int, shape (joints,)
    routes : int
        How many routes there are.
    confidence : float
        Of the verdict on one joint.

    Examples
    --------
    >>> most_wrong(np.arange(41) < 40, np.zeros(41, dtype=int), 1, 0.95).round(6).tolist()
    [2.0]
    """
    found: Floats = np.bincount(route[known], minlength=routes).astype(np.float64) * (1.0 - confidence)
    return found


def confidence_of_joint(confidence: float, of: str, route: Ints) -> float:
    """Give the confidence of the verdict on one joint, where that of a whole main is asked for.

    Parameters
    ----------
    confidence : float
    of : {"joint", "main"}
        What the confidence is to hold of.
    route : array of int, shape (joints,)

    Returns
    -------
    float
        For a main of n joints 1 - (1 - confidence) / n (Bonferroni), n being that of the main with most joints.

    Examples
    --------
    >>> confidence_of_joint(0.95, "joint", np.zeros(50, dtype=int))
    0.95
    >>> round(confidence_of_joint(0.95, "main", np.zeros(50, dtype=int)), 6)
    0.999
    """
    if of == "joint" or not len(route):
        return confidence
    return 1.0 - (1.0 - confidence) / int(np.bincount(route).max())


def assumption_words(rests_on: Mapping[str, Bools]) -> pa.Array:
    """Give the words for what each joint's verdict rests on without its being measured.

    Parameters
    ----------
    rests_on : mapping of a word of `schema.ASSUMPTIONS` to an array of bool, shape (n,)

    Returns
    -------
    pyarrow string array, shape (n,)
        Words apart by spaces, in the order of `schema.ASSUMPTIONS`; null where all was measured.

    Examples
    --------
    >>> level, one_way = np.array([True, True, False]), np.array([False, True, False])
    >>> assumption_words({"level": level, "one-way": one_way}).to_pylist()
    ['level', 'one-way level', None]
    """
    words = [word for word in ASSUMPTIONS if word in rests_on]
    code = np.sum([rests_on[word].astype(np.int64) << bit for bit, word in enumerate(words)], axis=0)
    texts = [" ".join(word for bit, word in enumerate(words) if number >> bit & 1) for number in range(1 << len(words))]
    return pa.array([None, *texts[1:]], pa.string()).take(pa.array(code))


def if_assumed(verdict: pa.Array, assumes: pa.Array) -> pa.Array:
    """Turn "within" into "within-assumed" where it rests on something that was not measured.

    Parameters
    ----------
    verdict, assumes : pyarrow string arrays, shape (n,)

    Examples
    --------
    >>> if_assumed(pa.array(["within", "within", "over"]), pa.array([None, "level", "level"])).to_pylist()
    ['within', 'within-assumed', 'over']
    """
    assumed = pc.and_(pc.equal(verdict, "within"), assumes.is_valid())
    return pc.if_else(assumed, "within-assumed", verdict)


def _apart(evidence: Evidence, surveyed: Measured, both: Bools) -> tuple[Floats, Floats]:
    """Give how many standard errors survey and readings are apart, and how many chance allows on one main.

    Each of a main's joints is held to a level at which all of them together pass it by chance at the stated rate.
    """
    read, level = evidence.read, evidence.seen.level
    apart, limit = np.full(len(both), np.nan), np.full(len(both), np.nan)
    rows = np.flatnonzero(both)
    if not len(rows):
        return apart, limit
    # Nothing is known upward of a survey without elevations.
    right, up = (surveyed.one - read.one)[rows], np.where(level, 0.0, surveyed.other - read.other)[rows]
    one = (surveyed.variance_one + read.variance_one)[rows]
    other = np.where(level, 1.0, surveyed.variance_other + read.variance_other)[rows]
    cross = np.where(level, 0.0, surveyed.covariance + read.covariance)[rows]
    away = right**2 * other - 2.0 * right * up * cross + up**2 * one
    # What the joint's place off its shot may explain is no contradiction.
    distance = np.sqrt(np.maximum(away / (one * other - cross**2), 0.0))
    apart[rows] = np.maximum(distance - evidence.seen.slack[rows] / np.sqrt(np.minimum(one, other)), 0.0)
    many = np.bincount(evidence.route[rows])[evidence.route[rows]]
    limit[rows] = np.sqrt(-2.0 * np.log((1.0 - evidence.main_confidence) / many))
    return apart, limit


def _combined(surveyed: Measured, read: Measured, where: Bools, level: Bools) -> Measured:
    """Combine two measurements of one vector by their inverse covariances; the survey's alone elsewhere."""
    parts = {name: getattr(surveyed, name).copy() for name in _PARTS}
    rows = np.flatnonzero(where & (surveyed.variance_one > 0) & (level | (surveyed.sigmas[1] > 0)))
    if not len(rows):
        return replace(surveyed, **parts)
    sure, also = _inverse(surveyed, rows, level[rows]), _inverse(read, rows, np.zeros(len(rows), dtype=np.bool_))
    one, other, cross = (a + b for a, b in zip(sure[:3], also[:3], strict=True))
    right, up = sure[3] + also[3], sure[4] + also[4]
    size = one * other - cross**2
    parts["variance_one"][rows], parts["variance_other"][rows] = other / size, one / size
    parts["covariance"][rows] = -cross / size
    parts["one"][rows], parts["other"][rows] = (other * right - cross * up) / size, (one * up - cross * right) / size
    return replace(surveyed, **parts)


_PARTS = ("one", "other", "variance_one", "variance_other", "covariance")


def _inverse(measured: Measured, rows: Ints, level: Bools) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Give an inverse covariance, and the vector times it; of the part to the right alone where levelled."""
    one, other, cross = (getattr(measured, name)[rows] for name in _PARTS[2:])
    right, up = measured.one[rows], measured.other[rows]
    size = np.where(level, 1.0, one * other - cross**2)
    inverse = (
        np.where(level, 1.0 / one, other / size),
        np.where(level, 0.0, one / size),
        np.where(level, 0.0, -cross / size),
    )
    return *inverse, inverse[0] * right + inverse[2] * up, inverse[2] * right + inverse[1] * up


def _chosen(alone: Bools, read: Measured, joined: Measured) -> Measured:
    return Measured(*(np.where(alone, getattr(read, name), getattr(joined, name)) for name in _PARTS))


def _limits(measured: Measured, allowable: Floats, confidence: float, slack: Floats) -> tuple[Floats, Floats]:
    """Give the least and the most that each deflection may be; exactly where a plain bound does not settle the verdict.

    The plain one takes the error in the worst direction for that in all of them.
    """
    size, wide = measured.size, measured.sigmas[0]
    z, far = bounds.one_sided(confidence), bounds.factor_outside(measured, np.nan_to_num(allowable), confidence)
    least, most = np.maximum(size - far * wide - slack, 0.0), size + z * wide + slack
    rows = np.flatnonzero((most > allowable) & (least <= allowable))
    if len(rows):
        some = measured.take(rows)
        least[rows] = np.maximum(bounds.least(some, far[rows]) - slack[rows], 0.0)
        most[rows] = bounds.most(some, z) + slack[rows]
    return least, most


def _by_survey(
    evidence: Evidence, plain: Bools, alone: Bools, least: Floats, most: Floats
) -> tuple[Floats, Floats, Bools]:  # fmt: skip
    """Bound the joints that neither the survey shows by themselves nor readings settle: fittings, and shared turns.

    Readings that leave a joint open leave it to the survey and what that must assume, unless they show it to turn more
    than that: then the assumption does not hold.
    """
    seen, limit = evidence.seen, evidence.allowable
    fitting_least, fitting_most = _at_fittings(evidence)
    # A joint that was measured over accounts for the turn that it shares.
    found = np.concatenate([[0], np.cumsum((plain | alone) & (least > limit))])
    shared = seen.over & (found[seen.last + 1] == found[seen.first])
    own_least = np.where(shared, np.inf, np.where(seen.exact, fitting_least, 0.0))
    # Of a joint shot without elevations nothing else tells the turn upward; readings at it would.
    least = np.where(plain & shared & ~evidence.agreeing, np.inf, least)
    own_most = np.where(seen.exact, fitting_most, seen.ceiling_most)
    if plain.any() and not all(evidence.stated):
        exact_least, exact_most = _limits(seen.turned.measured, limit, evidence.confidence, seen.slack)
        exact_most = np.hypot(exact_most, seen.upward)
        own_least, own_most = np.where(plain, exact_least, own_least), np.where(plain, exact_most, own_most)
    lone = (evidence.bends.there | evidence.unknown_bend) & (evidence.bends.other_end < 0)
    # Readings at a fitting logged once are of one of its two joints, and say nothing of the other.
    most = np.where(alone & lone, np.inf, most)
    left_open = alone & ~((least > limit) | (most <= limit))
    settles = (own_least > limit) | ((own_most <= limit) & (least <= own_most))
    by_survey = (~plain & ~alone) | (left_open & settles & ~evidence.unknown_bend)
    least, most = np.where(by_survey, own_least, least), np.where(by_survey, own_most, most)
    return least, most, by_survey


def _at_fittings(evidence: Evidence) -> tuple[Floats, Floats]:
    """Bound what each of a fitting's two joints takes of what it leaves them.

    The larger of them takes at least half; either takes all of it at most, while both turn one way. A fitting that was
    laid level between sloping pipes takes these slopes at its ends besides.
    """
    seen, bends = evidence.seen, evidence.bends
    count = len(seen.exact)
    least, most = np.zeros(count), np.full(count, np.nan)
    rows = np.flatnonzero(seen.exact & bends.there)
    if not len(rows):
        return least, most
    left = seen.turned.measured.take(rows)
    limit = np.nan_to_num(2.0 * evidence.allowable[rows])
    far = bounds.factor_outside(left, limit, evidence.confidence)
    least[rows] = np.maximum(bounds.least(left, far) - seen.slack[rows], 0.0) / 2.0
    whole = bounds.most(left, bounds.one_sided(evidence.confidence)) + seen.slack[rows]
    steepest = np.maximum(*(np.abs(np.nan_to_num(slope[rows])) for slope in evidence.slopes))
    level = np.isclose(np.abs(np.sin(np.nan_to_num(bends.roll[rows]))), 1.0)
    most[rows] = np.where(level, np.hypot(whole, steepest), whole)
    return least, most


def _verdicts(evidence: Evidence, least: Floats, most: Floats, known: Bools, by_survey: Bools) -> pa.Array:
    computed = (known & ~by_survey) | (np.isfinite(evidence.seen.floor) & ~evidence.unknown_bend)
    return deflection.verdicts(least, most, evidence.allowable, computed)


def _rests_on(evidence: Evidence, verdict: pa.Array, source: Ints) -> dict[str, Bools]:
    """Say at which joints a verdict rests on what was not measured, by the words for it."""
    seen = evidence.seen
    by_survey, within = source == SURVEY, pc.equal(verdict, "within").to_numpy(zero_copy_only=False)
    by_heights = ~seen.level | (seen.upward > 0) | seen.over
    missing = (not evidence.stated[0]) | (by_heights & (not evidence.stated[1]))
    return {
        "one-way": by_survey & within & ~seen.exact,
        "level": by_survey & within & seen.level,
        "fitting-plane": by_survey & seen.by_fitting & (within | np.isfinite(evidence.bends.roll)),
        "drawn": by_survey & evidence.drawn,
        "shots-exact": by_survey & missing & ~evidence.drawn,
        "shots-at-joints": (source != READINGS) & evidence.by_stations & ~evidence.drawn,
        "allowable-as-given": evidence.allowable_doubted,
    }


def _either_way(evidence: Evidence, verdict: pa.Array, source: Ints, rests_on: dict[str, Bools]) -> dict[str, Bools]:
    """Let verdicts on lines that may run the other way rest on that, unless the survey gives them the same there, too.

    A verdict that is the same both ways rests on all that either of them rests on.
    """
    untold, other = evidence.untold, evidence.mirrored
    if not untold.any():
        return rests_on
    by_survey = source == SURVEY
    alike = untold & by_survey & (other >= 0) & by_survey[other]
    alike &= as_mask(pc.equal(verdict, verdict.take(pa.array(other, mask=other < 0))))
    told = {word: there | (alike & there[other]) for word, there in rests_on.items()}
    return told | {"line-start": untold & (source != READINGS) & ~alike}
