"""How small and how large a deflection may be, given how surely it was measured.

A deflection is a vector in the plane square to the pipe, and its errors have a covariance there: shots are often less
sure upward than sideways. All that is as likely as a confidence asks lies in an ellipse around what was measured; the
point of it nearest to no deflection, and the one farthest from it, are the bounds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from asbuilt.arrays import Bools, Floats, Ints, hypotenuse

_STEPS = 24
"""Halvings of a right angle: to 1e-7 of it, and a distance to the edge, which is least or most there, to 1e-14."""
_BEND = 1.1
"""How fast the factor for a small circle falls to that for a straight line; see `factor_outside`."""


@dataclass(frozen=True)
class Measured:
    """Vectors that were measured, and their covariances: shapes (n,), angles in radians.

    The two axes are square to one another and to the pipe; which they are does not matter to the bounds.
    """

    one: Floats
    other: Floats
    variance_one: Floats
    variance_other: Floats
    covariance: Floats

    @property
    def size(self) -> Floats:
        """Length of each vector."""
        return hypotenuse(self.one, self.other)

    @property
    def sigmas(self) -> tuple[Floats, Floats]:
        """Standard errors in the direction in which each vector is least sure, and square to it."""
        middle = (self.variance_one + self.variance_other) / 2.0
        half = hypotenuse((self.variance_one - self.variance_other) / 2.0, self.covariance)
        return np.sqrt(np.maximum(middle + half, 0.0)), np.sqrt(np.maximum(middle - half, 0.0))

    @property
    def sigma_of_size(self) -> Floats:
        """Standard error of each length, as `sigma_of_length` has it; the larger one where it has no direction."""
        size = self.size
        right, up = (np.divide(part, size, out=np.zeros(size.shape), where=size > 0) for part in (self.one, self.other))
        along = right**2 * self.variance_one + up**2 * self.variance_other + 2.0 * right * up * self.covariance
        across = self.variance_one + self.variance_other - along
        found: Floats = np.where(size > 0, sigma_of_length(size, along, across), self.sigmas[0])
        return found

    def take(self, rows: Ints) -> Measured:
        """Give some of the vectors."""
        return Measured(
            self.one[rows], self.other[rows], self.variance_one[rows], self.variance_other[rows], self.covariance[rows]
        )

    def in_own_axes(self) -> tuple[Floats, Floats]:
        """Give the parts of each vector along the direction in which it is least sure, and square to it; unsigned."""
        turn = np.arctan2(2.0 * self.covariance, self.variance_one - self.variance_other) / 2.0
        cos, sin = np.cos(turn), np.sin(turn)
        return np.abs(cos * self.one + sin * self.other), np.abs(cos * self.other - sin * self.one)


def sigma_of_length(length: Floats, along: Floats, across: Floats) -> Floats:
    """Give the standard error of the length of a measured vector.

    Parameters
    ----------
    length : array, shape (n,)
    along, across : array, shape (n,)
        Variances along the vector as measured, and square to it.

    Returns
    -------
    array, shape (n,)

    Source
    ------
    Errors square to a vector d turn it: `along`, taken where the measured vector points, holds across^2 / d^2 of them,
    and a length half as much. So to second order repeated lengths vary by along - across^2 / (2 d^2); of errors alike
    both ways that is the Rice distribution's (textbook). A vector of less than about three standard errors square to it
    is measured too long rather than scattered: there what is taken away goes back to nothing. It is never more than
    half of `along`.

    Examples
    --------
    A deflection of 5 degrees to the right, 0.14 sure sideways and 0.7 upward, as it is measured a standard error
    farther up: along it its variance is 0.029 square degrees, and repeated lengths vary by

    >>> sigma_of_length(np.array([5.05]), np.array([0.029]), np.array([0.481])).round(3).tolist()
    [0.157]
    """
    square = length**2
    turned = np.divide(across**2 * square, 2.0 * (square + across) ** 2, out=np.zeros(square.shape), where=square > 0)
    found: Floats = np.sqrt(np.maximum(np.maximum(along - turned, along / 2.0), 0.0))
    return found


def at_most_back(angle: Floats) -> Floats:
    """Give bounds on turns, and their errors, with half a turn in place of more: no joint turns past straight back.

    Bounds are straight parts of an error, and run past that where two places nearly coincide or one is badly known.

    Parameters
    ----------
    angle : array, shape (n,)
        Radians; infinite where there is no bound, NaN where nothing is known: these stay.

    Examples
    --------
    >>> at_most_back(np.array([0.1, 18.0, np.inf, np.nan])).round(3).tolist()
    [0.1, 3.142, inf, nan]
    """
    return np.where((angle > np.pi) & np.isfinite(angle), np.pi, angle)


def one_sided(confidence: float) -> float:
    """Give how many standard errors a one-sided bound lies off.

    Parameters
    ----------
    confidence : float
        Between 0.5 and 1.

    Examples
    --------
    >>> round(one_sided(0.95), 4)
    1.6449
    """
    return NormalDist().inv_cdf(confidence)


def most(measured: Measured, z: Floats | float) -> Floats:
    """Give the most that each deflection may be.

    Parameters
    ----------
    measured : Measured
    z : float or array, shape (n,)
        Standard errors that the bound allows for.

    Returns
    -------
    array, shape (n,)
        The largest length of a vector in the ellipse of `z` standard errors around the measured one. A deflection of
        just this size or more is measured so small or smaller at most as often as an error passes `z` on one side:
        the ellipse lies on one side of its tangent. So a joint whose bound is within its allowable is wrongly called
        so at most at the stated rate, whatever the direction, and however unequal the errors.

    Examples
    --------
    Measured 3 to the right, 0.1 sure sideways and 0.5 upward:

    >>> part = [np.array([value]) for value in (3.0, 0.0, 0.01, 0.25, 0.0)]
    >>> most(Measured(*part), 1.645).round(3).tolist()
    [3.17]
    """
    wide, narrow = measured.sigmas
    if not wide.any():
        return measured.size
    z = np.broadcast_to(np.asarray(z, dtype=np.float64), wide.shape)
    in_wide, in_narrow = measured.in_own_axes()
    spread = z * (wide**2 - narrow**2)

    along, across = wide * in_wide, narrow * in_narrow

    def too_little(cos: Floats, sin: Floats) -> Bools:
        # The slope of the distance along the ellipse's edge, over the product of sine and cosine.
        return across * cos > sin * (along + spread * cos)

    cos, sin = _halved(too_little, wide.shape)
    bound: Floats = hypotenuse(in_wide + z * wide * cos, in_narrow + z * narrow * sin)
    return bound


def least(measured: Measured, z: Floats | float) -> Floats:
    """Give the least that each deflection may be.

    Parameters
    ----------
    measured : Measured
    z : float or array, shape (n,)
        Standard errors that the bound allows for; for a stated confidence those of `factor_outside`, since errors
        square to a deflection make it look larger than it is.

    Returns
    -------
    array, shape (n,)
        The smallest length of a vector in the ellipse of `z` standard errors around the measured one; 0 where no
        deflection at all lies in it.

    Examples
    --------
    Measured 3 and 0.1 to the right, 0.1 sure sideways and 0.5 upward:

    >>> none, sideways, upward = np.zeros(2), np.full(2, 0.01), np.full(2, 0.25)
    >>> least(Measured(np.array([3.0, 0.1]), none, sideways, upward, none), 1.645).round(4).tolist()
    [2.8355, 0.0]
    """
    wide, narrow = measured.sigmas
    if not wide.any():
        return measured.size
    z = np.broadcast_to(np.asarray(z, dtype=np.float64), wide.shape)
    in_wide, in_narrow = measured.in_own_axes()
    spread = z * (wide**2 - narrow**2)

    along, across = wide * in_wide, narrow * in_narrow

    def too_little(cos: Floats, sin: Floats) -> Bools:
        return sin * (along - spread * cos) < across * cos

    cos, sin = _halved(too_little, wide.shape)
    nearest = hypotenuse(in_wide - z * wide * cos, in_narrow - z * narrow * sin)
    inside = (in_wide * narrow) ** 2 + (in_narrow * wide) ** 2 <= (z * wide * narrow) ** 2
    inside &= (in_wide <= z * wide) & (in_narrow <= z * narrow)
    bound: Floats = np.where(inside, 0.0, nearest)
    return bound


def factor_outside(measured: Measured, limit: Floats, confidence: float) -> Floats:
    """Give the standard errors by which a deflection must lie outside a limit to be called over it.

    Parameters
    ----------
    measured : Measured
    limit : array, shape (n,)
        Radius of the circle of allowable deflections, radians.
    confidence : float

    Returns
    -------
    array, shape (n,)
        From the one-sided normal factor, where the limit is many standard errors wide, to that of a vector's length,
        sqrt(-2 ln(1 - confidence)), where it is less than one.

    Source
    ------
    In standard errors the circle is an ellipse; a circle of the radius with which it is bent most, b^2 / a, touches
    it from inside anywhere, and errors pass the one no oftener than the other. For a circle of radius r the exact
    factor is that of the Rice distribution; z + (c - z) / (1 + 1.1 r) lies above it, by at most 0.11, for
    confidences from 0.9 to 0.9999.

    Examples
    --------
    >>> part = [np.zeros(3), np.zeros(3), np.ones(3), np.ones(3), np.zeros(3)]
    >>> factor_outside(Measured(*part), np.array([0.0, 5.0, 1e9]), 0.95).round(3).tolist()
    [2.448, 1.768, 1.645]
    """
    wide, narrow = measured.sigmas
    straight, small = one_sided(confidence), float(np.sqrt(-2.0 * np.log(1.0 - confidence)))
    bent = np.divide(limit * narrow, wide**2, out=np.full(wide.shape, np.inf), where=wide > 0)
    # Where the other part of the turn is not known at all, the limit is a line across the known one.
    bent = np.where((narrow == 0) & (measured.in_own_axes()[1] == 0), np.inf, bent)
    factor: Floats = straight + (small - straight) / (1.0 + _BEND * bent)
    return factor


def _halved(too_little: Callable[[Floats, Floats], Bools], shape: tuple[int, ...]) -> tuple[Floats, Floats]:
    """Find the angle in a right angle at which a question turns from yes to no, by halving; give its cosine and sine.

    Each step turns the direction by half as much as the one before: to turn it costs a fraction of a sine.
    """
    cos, sin = np.full(shape, np.sqrt(0.5)), np.full(shape, np.sqrt(0.5))
    for step in range(_STEPS):
        by = np.pi / 2.0 ** (step + 3)
        turned = np.where(too_little(cos, sin), np.sin(by), -np.sin(by))
        cos, sin = cos * np.cos(by) - sin * turned, sin * np.cos(by) + cos * turned
    return cos, sin
