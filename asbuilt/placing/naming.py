"""Names of joints, no two alike on one route, and the lasting identifiers made of them."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Iterator

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from asbuilt.arrays import Bools, Floats, Ints, as_mask, codes
from asbuilt.line import stationing
from asbuilt.waiting import ROWS

UID_NAMESPACE = uuid.UUID("6f1e6d0a-3b5e-5c5f-9a53-2d1c0a7b94e1")


def joint_names(number: pa.Array, station: Floats, form: stationing.Form) -> pa.Array:
    """Name joints by their number; a joint without one goes by its station."""
    if number.null_count == 0:
        return number
    text = stationing.format_stations(station, form)
    return pc.coalesce(number, pc.binary_join_element_wise("at", text, " "))


def route_and_name(route: Ints, name: pa.Array) -> Ints:
    """Number the distinct pairs of route and name, shape (n,); pairs without a name are one of their own."""
    code = codes(name)
    return route * (int(code.max(initial=0)) + 2) + code + 1


def distinct_names(route: Ints, name: pa.Array, station: pa.Array) -> pa.Array:
    """Tell joints that share a number apart: from the second place on, the station is added to the number.

    Parameters
    ----------
    route : array of int, shape (joints,)
    name : pyarrow string array, shape (joints,)
    station : pyarrow string array, shape (joints,)

    Returns
    -------
    pyarrow string array, shape (joints,)
        No two alike on one route: where another joint bears the name with the station already, a count is added.

    Examples
    --------
    >>> names = pa.array(["1", "1", "1 at 0+20"])
    >>> distinct_names(np.zeros(3, int), names, pa.array(["0+00", "0+20", "0+40"])).to_pylist()
    ['1', '1 at 0+20 (2)', '1 at 0+20']
    """
    again = _again(route, name)
    if not again.any():
        return name
    plain = pc.if_else(pa.array(again), pc.binary_join_element_wise(name, station, " at "), name)
    found, count = plain, 1
    # Names as the log has them are left alone: of two alike, the one that was made here is changed.
    order = np.argsort(again, kind="stable")
    while True:
        twice = np.zeros(len(again), dtype=np.bool_)
        twice[order] = _again(route[order], found.take(pa.array(order)))
        if not twice.any():
            return found
        count += 1
        found = pc.if_else(pa.array(twice), pc.binary_join_element_wise(plain, f" ({count})", ""), found)


def _again(route: Ints, name: pa.Array) -> Bools:
    """Mark the names that came before on the same route."""
    first = np.unique(route_and_name(route, name), return_index=True)[1]
    again = np.ones(len(route), dtype=np.bool_)
    again[first] = False
    return again


def joint_uids(route: pa.Array, joint: pa.Array) -> pa.Array:
    """Give each joint its lasting identifier: a UUIDv5 of its route and joint number.

    Parameters
    ----------
    route, joint : pyarrow string arrays, shape (n,)

    Returns
    -------
    pyarrow string array, shape (n,)
        The same on every machine and in every run, and different for different pairs. Source: RFC 9562, section 5.5.

    Examples
    --------
    >>> joint_uids(pa.array(["A"]), pa.array(["101"]))[0].as_py() == str(uuid.uuid5(UID_NAMESPACE, "A\\t101"))
    True
    """
    # Some at a time: while they are made, a pair takes ten times the bytes of its identifier.
    parts = [_uids(route.slice(start, ROWS), joint.slice(start, ROWS)) for start in range(0, len(joint), ROWS)]
    return pa.concat_arrays([pa.array([], pa.string()), *parts])


def _uids(route: pa.Array, joint: pa.Array) -> pa.Array:
    hashed = pc.binary_join_element_wise(pc.cast(route, pa.binary()), pc.cast(joint, pa.binary()), b"\t").to_pylist()
    # A tab parts the two; where one of them has a tab in it, the pair is written so that no other pair is like it.
    odd = as_mask(pc.or_(pc.match_substring(route, "\t"), pc.match_substring(joint, "\t")))
    for at in np.flatnonzero(odd).tolist():
        hashed[at] = json.dumps([route[at].as_py(), joint[at].as_py()]).encode()
    octets = np.frombuffer(b"".join(_digests(hashed)), dtype=np.uint8).reshape(-1, 20)[:, :16].copy()
    octets[:, 6] = (octets[:, 6] & 0x0F) | 0x50
    octets[:, 8] = (octets[:, 8] & 0x3F) | 0x80
    hexadecimal = np.frombuffer(b"0123456789abcdef", dtype=np.uint8)
    digits = np.empty((len(octets), 32), dtype=np.uint8)
    digits[:, 0::2], digits[:, 1::2] = hexadecimal[octets >> 4], hexadecimal[octets & 0x0F]
    text = np.full((len(octets), 36), ord("-"), dtype=np.uint8)
    for start, end in ((0, 8), (8, 12), (12, 16), (16, 20), (20, 32)):
        shift = {0: 0, 8: 1, 12: 2, 16: 3, 20: 4}[start]
        text[:, start + shift : end + shift] = digits[:, start:end]
    offsets = np.arange(len(octets) + 1, dtype=np.int32) * 36
    return pa.Array.from_buffers(pa.string(), len(octets), [None, pa.py_buffer(offsets), pa.py_buffer(text)])


def _digests(names: list[bytes]) -> Iterator[bytes]:
    """Hash names within the namespace. SHA-1 has no array form; to begin each with a copy is the cheapest way."""
    begun = hashlib.sha1(UID_NAMESPACE.bytes, usedforsecurity=False)
    for name in names:
        one = begun.copy()
        one.update(name)
        yield one.digest()
