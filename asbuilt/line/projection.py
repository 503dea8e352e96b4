"""From the centerline's coordinates to longitude and latitude, and to the utility's map.

The datum step is chosen once for the job's area and named; a guess between datums is refused.
"""

from __future__ import annotations

import socket
import warnings
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from asbuilt import units
from asbuilt.errors import InputFileError, JobFileError
from asbuilt.line.realizations import Alike, alike

if TYPE_CHECKING:
    import pyarrow as pa
    from pyproj import CRS, Transformer
    from pyproj.transformer import AreaOfInterest, TransformerGroup

    from asbuilt.arrays import Bools, Floats


WGS84 = "EPSG:4326"
_FINE_M = 0.1
"""A way this accurate leaves nothing that a better one would matter for."""
MARGIN_DEG = 1.0
"""A survey may run over the edge of its system's area by this much."""


class Step(NamedTuple):
    """A chosen way from one coordinate system to another."""

    transformer: Transformer | None
    """None where both are the same."""
    name: str
    """What is done, step for step, with its stated accuracy."""
    notes: tuple[str, ...]
    words: str = "the same system"
    """The change of datum in it, if any, and how good it is."""
    accuracy_m: float = 0.0
    """Stated accuracy; NaN where it is not known."""

    def __reduce__(self) -> tuple[Any, ...]:
        definition = self.transformer.definition if self.transformer is not None else None
        return _in_another_process, (definition, *self[1:])

    def apply(self, easting: Floats, northing: Floats) -> tuple[Floats, Floats]:
        """Carry points over; eastings (or longitudes) first, shape (n,)."""
        if self.transformer is None:
            return easting, northing
        known = np.isfinite(easting)
        east, north = np.full(len(easting), np.nan), np.full(len(easting), np.nan)
        east[known], north[known] = self.transformer.transform(easting[known], northing[known])
        beyond = ~(np.isfinite(east) & np.isfinite(north))  # PROJ says infinity where a point cannot be carried over
        east[beyond] = north[beyond] = np.nan
        return east, north

    def told_of(self, what: str) -> list[str]:
        """Give its notes, and what was done to the coordinates of `what`.

        Examples
        --------
        >>> Step(None, "none", ()).told_of("the map")
        []
        """
        if self.transformer is None:
            return [*self.notes]
        return [*self.notes, f"coordinates of {what}: {self.words}"]

    def after(self, step: Step | None) -> Step:
        """Give this step with the accuracy of a change of datum before it, with which places came here.

        Examples
        --------
        >>> before = Step(None, "", (), "taken for another realization", 0.4)
        >>> Step(None, "none", (), "on the same datum", 0.3).after(before).accuracy_m
        0.5
        """
        if step is None or step.accuracy_m == 0.0:
            return self
        words = step.words if self.accuracy_m == 0.0 else f"{step.words}, then {self.words}"
        return self._replace(words=words, accuracy_m=float(np.hypot(step.accuracy_m, self.accuracy_m)))

    def with_accuracy(self, accuracy: pa.Array, source: pa.Array, unit: str) -> tuple[pa.Array, pa.Array]:
        """Put the accuracy of a change of datum into that of places; what either does not know, neither does.

        Accuracies of independent errors add as their squares do; that of a change of datum, of which the EPSG data set
        does not say at which confidence it holds, is taken as one at 95 percent.

        Parameters
        ----------
        accuracy : pyarrow array of float
            Of each place at 95 percent, in `unit`.
        source : pyarrow array of text
            How each is known.
        unit : str

        Returns
        -------
        pyarrow array, pyarrow array

        Examples
        --------
        >>> step = Step(None, "", (), "taken for another realization", 0.4)
        >>> import pyarrow as pa
        >>> known, told = step.with_accuracy(pa.array([0.3, None]), pa.array(["checked", None]), "m")
        >>> known.to_pylist(), told.to_pylist()[1]
        ([0.5, None], 'change of datum: taken for another realization')
        """
        if self.accuracy_m == 0.0:
            return accuracy, source
        # The place of a question has no column of accuracies.
        import pyarrow as pa
        import pyarrow.compute as pc

        from asbuilt.arrays import as_floats

        total = np.hypot(as_floats(accuracy.cast(pa.float64())), self.accuracy_m / float(units.METRES[unit]))
        words = pa.scalar(f"change of datum: {self.words}")
        told = pc.coalesce(pc.binary_join_element_wise(source.cast(pa.string()), words, "; "), words)
        return pa.array(total, from_pandas=True), told


def _in_another_process(definition: str | None, *rest: Any) -> Step:
    """Make a step anew of what PROJ itself works by, so that it carries points over to the last digit alike.

    Raises
    ------
    InputFileError
        When that cannot be done in this process, as where grids are missing.
    """
    if definition is None:
        return Step(None, *rest)
    from pyproj import Transformer
    from pyproj.exceptions import ProjError

    try:
        return Step(Transformer.from_pipeline(definition), *rest)
    except ProjError as error:
        raise InputFileError(
            f"coordinates cannot be carried over on {socket.gethostname()} as where the job was placed ({error}); "
            "install the same PROJ grids wherever joints are judged"
        ) from None


IN_JOB = "accept_accuracy_m = {0:g} in the job"
"""How a job says which accuracy it accepts of a change of datum."""


def map_step(
    source: CRS,
    target: str | CRS,
    easting: Floats,
    northing: Floats,
    *,
    key: str = "output.crs",
    accept_m: float | None = None,
) -> Step:
    """Choose the best way to another coordinate system for an area.

    Parameters
    ----------
    source : pyproj.CRS
    target : str
        Such as "EPSG:4326".
    easting, northing : array, shape (n,)
        Points of the area, in `source`.
    key : str
        The job's key that names the target, for messages.
    accept_m : float, optional
        Accuracy that the job accepts of a change of datum, metres; see `best_step`.

    Raises
    ------
    JobFileError
        When the target is unknown, or no transformation that is good enough is to be had.

    Examples
    --------
    >>> from pyproj import CRS
    >>> step = map_step(CRS("EPSG:6418"), "EPSG:6339", np.array([6.7e6]), np.array([2.0e6]))
    >>> [round(float(value[0]), 1) for value in step.apply(np.array([6.7e6]), np.array([2.0e6]))]
    [629166.1, 4279316.2]
    """
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        wanted = CRS.from_user_input(target)
    except CRSError:
        raise JobFileError(f"{key}: {target!r} is not a known coordinate system; write it like EPSG:6418") from None
    if source.equals(wanted, ignore_axis_order=True):
        return Step(None, "none", ())
    step = best_step(source, wanted, easting, northing, accept_m=accept_m)
    if step is None:
        ways = what_would_do(source, wanted, easting, northing, accept_m, IN_JOB)
        raise JobFileError(
            f"{key}: no transformation from {source.name} to {wanted.name} that is good enough is known here; "
            f"{ways}{', or ' * bool(ways)}choose a system on the same datum"
        )
    return step


def inside(crs: CRS, longitude: Floats, latitude: Floats, margin_deg: float = MARGIN_DEG) -> Bools:
    """Say which places lie in the area in which a system is used, or so near to it, where it says one; NaN does not.

    An area may run across the 180th meridian, as those of Alaska and Fiji do: its west is then east of its east.

    Parameters
    ----------
    crs : pyproj.CRS
    longitude, latitude : array, shape (n,)
        Degrees.
    margin_deg : float

    Examples
    --------
    >>> from pyproj import CRS
    >>> inside(CRS("EPSG:3338"), np.array([-150.0, 179.0, -121.0]), np.array([61.0, 52.0, 61.0])).tolist()
    [True, True, False]
    """
    area = crs.area_of_use
    if area is None:
        return np.ones(len(longitude), dtype=np.bool_)
    east = area.east + (360.0 if area.east < area.west else 0.0)
    turned = np.where(longitude < area.west - margin_deg, longitude + 360.0, longitude)
    found: Bools = (turned >= area.west - margin_deg) & (turned <= east + margin_deg)
    return found & (latitude >= area.south - margin_deg) & (latitude <= area.north + margin_deg)


def geographic_step(source: CRS, easting: Floats, northing: Floats) -> Step:
    """Choose the way to longitude and latitude: WGS 84, else the source's own datum with a note.

    Parameters
    ----------
    source : pyproj.CRS
    easting, northing : array, shape (n,)

    Returns
    -------
    Step
    """
    from pyproj import CRS, Transformer

    step = best_step(source, CRS(WGS84), easting, northing)
    if step is not None:
        return step
    own = source.geodetic_crs
    assert own is not None
    own_degrees = Transformer.from_crs(source, own, always_xy=True)
    note = f"longitude and latitude are on {own.name}: no transformation from it to WGS 84 is known here"
    return Step(own_degrees, own_degrees.description, (note,), "on the same datum")


def best_step(
    source: CRS, target: CRS, easting: Floats, northing: Floats, *, accept_m: float | None = None
) -> Step | None:
    """Choose the best way from one system to another for an area; None where none is known that is good enough.

    Parameters
    ----------
    source, target : pyproj.CRS
    easting, northing : array, shape (n,)
        Points of the area, in `source`.
    accept_m : float, optional
        Accuracy that somebody accepts, metres. Where only a ballpark guess is known otherwise, a system is then taken
        for another realization of its datum if that is as good; and no way is taken that is worse.

    Examples
    --------
    >>> from pyproj import CRS
    >>> place = np.array([6.7e6]), np.array([2.0e6])
    >>> best_step(CRS("EPSG:2226"), CRS("EPSG:6418"), *place, accept_m=1.0).accuracy_m <= 1.0
    True
    """
    area = _area(source, easting, northing)
    group = _group(source, target, area, ballpark=False)
    if accept_m is None:
        return _known_step(group) if group.transformers else None
    step = _known_step(group) if group.transformers else _taken_for(source, target, area)
    return step if step is not None and step.accuracy_m <= accept_m else None


def what_would_do(
    source: CRS,
    target: CRS,
    easting: Floats,
    northing: Floats,
    accept_m: float | None,
    accepting: str = "--accept-accuracy {0:g}m",
) -> str:
    """Say what to do where `best_step` found no way.

    Examples
    --------
    >>> from pyproj import CRS
    >>> what_would_do(CRS("EPSG:4267"), CRS("EPSG:6318"), np.array([-121.0]), np.array([39.0]), None)[:31]
    'install the PROJ grids it needs'
    >>> what_would_do(CRS("EPSG:25832"), CRS("EPSG:6418"), np.array([4.56e5]), np.array([5.521e6]), None)[:76]
    'the places, near latitude 49.84 and longitude 8.39, lie far from where it is'
    """
    area = _area(source, easting, northing)
    if area is not None:
        longitude = (area.west_lon_degree + area.east_lon_degree) / 2.0
        latitude = (area.south_lat_degree + area.north_lat_degree) / 2.0
        if not inside(target, np.array([longitude]), np.array([latitude])).any():
            near = f"near latitude {latitude:.2f} and longitude {longitude:.2f}"
            return f"the places, {near}, lie far from where it is used: look for a wrong coordinate system"
    group = _group(source, target, area, ballpark=False)
    missing = group.unavailable_operations[0] if group.unavailable_operations else None
    grids = [one.short_name for one in missing.grids] if missing is not None else []
    named = f": {', '.join(grids)} (python -m pyproj sync --file {grids[0]})" if grids else ""
    ways = [] if group.transformers else [f"install the PROJ grids it needs{named}"]
    step = _known_step(group) if group.transformers else _taken_for(source, target, area)
    if step is not None and np.isfinite(step.accuracy_m):
        asked = f", which {accept_m:g} m does not cover" if accept_m is not None else ""
        ways.insert(0, f"accept what is known here ({step.words}{asked}) with {accepting.format(step.accuracy_m)}")
    return ", or ".join(ways)


def _group(source: CRS, target: CRS, area: AreaOfInterest | None, *, ballpark: bool) -> TransformerGroup:
    from pyproj.transformer import TransformerGroup

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a missing grid is reported, with what it means
        return TransformerGroup(source, target, always_xy=True, area_of_interest=area, allow_ballpark=ballpark)


def _known_step(group: TransformerGroup) -> Step:
    best = group.transformers[0]
    accuracy = f" (accuracy {best.accuracy:g} m)" if best.accuracy is not None and best.accuracy >= 0 else ""
    notes: tuple[str, ...] = ()
    fine = best.accuracy is not None and 0 <= best.accuracy <= _FINE_M
    if not group.best_available and not fine:
        missing = group.unavailable_operations[0].name
        notes = (f"a better transformation exists, but its grids are not installed here: {missing}",)
    known = best.accuracy if best.accuracy is not None and best.accuracy >= 0 else np.nan
    changes = [one.name for one in best.operations or () if one.type_name == "Transformation"]
    if not changes:
        return Step(best, f"{best.description}{accuracy}", notes, "on the same datum", 0.0)
    words = f"{' and '.join(changes)}, {f'good to {known:g} m' if np.isfinite(known) else 'of unknown accuracy'}"
    return Step(best, f"{best.description}{accuracy}", notes, words, known)


def _taken_for(source: CRS, target: CRS, area: AreaOfInterest | None) -> Step | None:
    """Take one system for another realization of its datum; None where nothing tells how good that is."""
    if area is None:
        return None
    bounds = area.west_lon_degree, area.south_lat_degree, area.east_lon_degree, area.north_lat_degree
    near: Alike | None = alike(source, target, bounds)
    group = _group(source, target, area, ballpark=True)
    if near is None or not group.transformers:
        return None
    names = (one.geodetic_crs.name if one.geodetic_crs is not None else one.name for one in (source, target))
    words = f"{' taken for '.join(names)}, good to {near.accuracy_m:g} m ({near.why})"
    return Step(group.transformers[0], words, (), words, near.accuracy_m)


def _area(source: CRS, easting: Floats, northing: Floats) -> AreaOfInterest | None:
    from pyproj import Transformer
    from pyproj.transformer import AreaOfInterest

    own = source.geodetic_crs
    if own is None or not np.isfinite(easting).any():
        return None
    to_degrees = Transformer.from_crs(source, own, always_xy=True)
    west, south, east, north = to_degrees.transform_bounds(
        np.nanmin(easting), np.nanmin(northing), np.nanmax(easting), np.nanmax(northing)
    )
    margin = 0.01  # degrees: older PROJ finds nothing for an area without extent
    return AreaOfInterest(west - margin, south - margin, east + margin, north + margin)
