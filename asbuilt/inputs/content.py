"""The octets of an input file: in memory while they are few, else a copy of the file that is mapped.

A copy, for the file itself may be written to, or may go away, while it is read.
"""

from __future__ import annotations

import codecs
import hashlib
import mmap
from collections.abc import Iterator
from pathlib import Path

from asbuilt.held import held_octets

Content = bytes | mmap.mmap
_IN_MEMORY, _BLOCK = 1 << 28, 1 << 24
"""Octets up to which a file is read into memory, and of which there are so many in a block."""


def content_of(path: Path) -> Content:
    """Read a file.

    Raises
    ------
    OSError
        When it cannot be read.
    OutputError
        When the temporary folder does not hold the copy of a large one.
    """
    if path.stat().st_size <= _IN_MEMORY:
        return path.read_bytes()
    with path.open("rb") as file:
        return held_octets(iter(lambda: file.read(_BLOCK), b""))


def sha256(content: Content) -> str:
    """Give the SHA-256 of a content, in hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def blocks(content: Content) -> Iterator[bytes]:
    """Give a content block by block; one in memory as a whole.

    Examples
    --------
    >>> list(blocks(b"sta,joint"))
    [b'sta,joint']
    """
    if isinstance(content, bytes):
        yield content
        return
    for start in range(0, len(content), _BLOCK):
        yield content[start : start + _BLOCK]


def count(content: Content, octets: bytes) -> int:
    """Count how often octets stand in a content, those in it counted once.

    Examples
    --------
    >>> count(b"0+00\\r\\n0+20\\r\\n", b"\\r\\n")
    2
    """
    found, upto = 0, b""
    for block in blocks(content):
        # Two octets may stand in two blocks.
        found += (upto + block).count(octets) - upto.count(octets)
        upto = block[-1:] if len(octets) > 1 else b""
    return found


def is_ascii(content: Content) -> bool:
    """Say whether a content is all ASCII."""
    return all(block.isascii() for block in blocks(content))


def is_blank(content: Content) -> bool:
    """Say whether a content is nothing but white space."""
    return all(block.isspace() for block in blocks(content) if block)


def with_end(content: Content) -> Content:
    """Give a content that ends a line at its end."""
    if content[-1:] in (b"\n", b"\r"):
        return content
    return content + b"\n" if isinstance(content, bytes) else held_octets((*blocks(content), b"\n"))


def recoded(content: Content, encoding: str) -> Content:
    """Give a content in UTF-8, without the mark of the order of its octets.

    Raises
    ------
    UnicodeDecodeError
        When it is not in that encoding; its `start` counts from the beginning of the content.
    LookupError, ValueError
        When there is no such encoding of texts.

    Examples
    --------
    >>> recoded("Ñandú".encode("cp1252"), "cp1252").decode()
    'Ñandú'
    """
    if isinstance(content, bytes):
        return content.decode(encoding).removeprefix("\ufeff").encode()
    b"".decode(encoding)
    return held_octets(one.encode() for one in _texts(content, encoding))


def refuse_other_than(content: Content, encoding: str) -> None:
    """Read a content through.

    Raises
    ------
    UnicodeDecodeError
        As for `recoded`.
    """
    if isinstance(content, bytes):
        content.decode(encoding)
        return
    for _ in _texts(content, encoding):
        pass


def _texts(content: mmap.mmap, encoding: str) -> Iterator[str]:
    decoder, end, begun = codecs.getincrementaldecoder(encoding)(), 0, False
    for block in (*blocks(content), b""):
        end += len(block)
        try:
            text = decoder.decode(block, final=not block)
        except UnicodeDecodeError as error:
            error.start += end - len(error.object)
            raise
        yield text if begun else text.removeprefix("\ufeff")
        begun |= text != ""
