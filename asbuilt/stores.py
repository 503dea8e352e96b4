"""Files at addresses: copied here whole before they are read, and copied there whole when they are finished.

An object of a store appears whole or not at all, so what stood at an address stays until the finished file replaces it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from asbuilt import addresses
from asbuilt.errors import AsbuiltError, InputFileError, OutputError

PARTS = {".shp": (".dbf", ".shx", ".prj", ".cpg")}
"""Files beside one, under the same name, that are read with it, by its ending."""
_OBJECTS = ("s3", "gs", "az", "memory")
_READ_ONLY = ("https", "http")
_LIBRARIES = {"s3": "s3fs", "gs": "gcsfs", "az": "adlfs", "https": "aiohttp", "http": "aiohttp"}
_OF_THE_EXTRA = ("fsspec", "s3fs", "aiohttp")
_COPY = "copy the file with the store's own program and name the copy"

_full: dict[Path, str] = {}
"""The address in full of each stand-in, with what may not be told."""
_seen: dict[Path, str | None] = {}
"""What the store said of each object when it was copied here; None where there was none."""


def path_of(name: Path | str) -> Path:
    """Give the path for a name, without reading anything: itself, or what stands in for an address.

    Raises
    ------
    InputFileError
        When the address is of a kind that is not read, holds a password, or names no file.

    Examples
    --------
    >>> path_of("logs/log.csv").as_posix(), path_of("file:///jobs/my%20log.csv").as_posix()
    ('logs/log.csv', '/jobs/my log.csv')
    >>> path_of("ftp://crew/log.csv")
    Traceback (most recent call last):
        ...
    asbuilt.errors.InputFileError: ftp://crew/log.csv: addresses begin with s3://, gs://, az://, https:// or ...
    """
    scheme = addresses.scheme_of(str(name))
    if scheme is None:
        return Path(name)
    address = str(name)
    told = addresses.without_secrets(address)
    if scheme == "file":
        parts = urlsplit(address)
        if parts.netloc not in ("", "localhost"):
            raise InputFileError(f"{told}: names another host; file:/// is followed by a path of this machine")
        named = unquote(parts.path)
        return Path(named[1:] if re.match(r"/[A-Za-z]:", named) else named)
    if scheme not in (*_OBJECTS, *_READ_ONLY):
        raise InputFileError(f"{told}: addresses begin with s3://, gs://, az://, https:// or file://; {_COPY}")
    if "@" in address.partition("://")[2].partition("/")[0]:
        raise InputFileError(
            f"{told}: holds a user or a password, which would stand in files and logs; take it out, and give it where "
            "the store's own programs take it: in their configuration file, or in environment variables"
        )
    query = "?" in address or "#" in address
    if query and scheme in _OBJECTS:
        raise InputFileError(f"{told}: its name holds ? or #, which mean something else in an address; rename the file")
    try:
        path = addresses.stand_in(address)
    except ValueError:
        raise InputFileError(
            f"{told}: does not name a file; write s3://bucket/folder/file, without empty parts and without .."
        ) from None
    except OSError as error:
        raise InputFileError(f"{told}: cannot be copied to this machine ({error.strerror}); {_COPY}") from None
    _full[path] = address
    return path


def local(name: Path | str) -> Path:
    """Give a path at which a file can be read: itself, or a copy of what is at the address now.

    Raises
    ------
    InputFileError
        When the store does not answer, or refuses. Where it has no such file there is none at the path either.
    """
    path = path_of(name)
    # A path that stands in for an address was copied when its address was given, or is to be now.
    if addresses.scheme_of(str(name)) is not None or path not in _seen:
        fetch(path)
    return path


def later(name: Path | str) -> Path:
    """Give the path for a name, of an address one whose copy is made anew when it is first read."""
    path = path_of(name)
    _seen.pop(path, None)
    return path


def fetch(path: Path) -> None:
    """Copy what is at the address that a path stands in for, and what belongs to it; do nothing for any other path.

    Raises
    ------
    InputFileError
        When the store does not answer, or refuses, or a folder is there.
    """
    if addresses.address_of(path) is None:
        return
    _fetch_one(path)
    for suffix in PARTS.get(path.suffix.lower(), ()) if path.exists() else ():
        _fetch_one(path.with_suffix(suffix.upper() if path.suffix.isupper() else suffix))


def _fetch_one(path: Path) -> None:
    with _told(path, InputFileError, "read"):
        store, name = _store(path)
        unfinished = path.with_name(f".{path.name}.part")
        try:
            # A host of web pages may not tell of a file without giving it.
            about = None if _scheme(path) in _READ_ONLY else store.info(name)
            if about is not None and about["type"] == "directory":
                raise InputFileError(
                    f"{addresses.address_of(path)}: is a folder, and a folder at an address cannot be had whole while "
                    "others write to it; copy it to this machine and name the copy"
                )
            store.get_file(name, str(unfinished))
        except FileNotFoundError:
            unfinished.unlink(missing_ok=True)
            path.unlink(missing_ok=True)
            _seen[path] = None
            _refuse_missing_bucket(path, store, name)
            return
        if about is not None and unfinished.stat().st_size != about["size"]:
            raise OSError(f"{unfinished.stat().st_size:,} of {about['size']:,} bytes came")
        unfinished.replace(path)
        _seen[path] = None if about is None else _words_of(about)


def check_writable(path: Path, option: str) -> None:
    """Refuse an address at which nothing can be written.

    Raises
    ------
    OutputError
    """
    if addresses.address_of(path) is not None and _scheme(path) in _READ_ONLY:
        raise OutputError(
            f"{addresses.address_of(path)}: such addresses are read only; name a file of this machine, or one at "
            f"s3://, gs:// or az://, with {option}"
        )


def put(finished: Path, path: Path, option: str) -> None:
    """Copy a finished file to the address that a path stands in for; do nothing for any other path.

    Of two programs that send at the same moment the later one's file stays, whole, and neither learns of the other: no
    store is known here to take a file on condition of what it holds.

    Parameters
    ----------
    finished : path of the file
    path : path
    option : the command's option that names another place, for messages

    Raises
    ------
    OutputError
        When the store does not take it, or another program wrote there since it was looked at: what stood there stays.
        When no answer came to what was sent: it may be there.
    """
    if addresses.address_of(path) is None:
        return
    check_writable(path, option)
    with _told(path, OutputError, "written"):
        store, name = _store(path)
        # Taken out, so that it is looked at anew when this is run again after a refusal.
        looked_at, before = path in _seen, _seen.pop(path, None)
        if looked_at and _words_at(store, name) != before:
            raise OutputError(
                f"{addresses.address_of(path)}: was written by another program meanwhile, and is left as that left it; "
                "look at it, and run this again"
            )
    with _told(path, OutputError, "written", sent=True):
        store.put_file(str(finished), name)
        store.invalidate_cache()
        about = store.info(name)
        if about["size"] != finished.stat().st_size:
            raise OSError(f"the store has {about['size']:,} of {finished.stat().st_size:,} bytes")
        _seen[path] = _words_of(about)


def refuse_address(name: Path | str, what: str) -> None:
    """Refuse an address where a file or folder of this machine is needed; do nothing for a path.

    Parameters
    ----------
    name : path, or a name as a person gave it
    what : why it is needed, and the remedy

    Raises
    ------
    OutputError

    Examples
    --------
    >>> refuse_address("s3://crew/register.gpkg", "a register needs a disk; copy it down")
    Traceback (most recent call last):
        ...
    asbuilt.errors.OutputError: s3://crew/register.gpkg: is an address, and a register needs a disk; copy it down
    """
    scheme = addresses.scheme_of(str(name))
    told = addresses.without_secrets(str(name)) if scheme else addresses.address_of(name)
    if told is not None:
        raise OutputError(f"{told}: is an address, and {what}")


def full_name(path: Path) -> str:
    """Give the address in full that a path stands in for, or the path as text: what another process is told."""
    return _full.get(path) or addresses.address_of(path) or str(path)


def forget() -> None:
    """Remove the copies that this process made: what is asked for next is copied anew."""
    for path in _seen:
        path.unlink(missing_ok=True)
    _seen.clear()


def _scheme(path: Path) -> str:
    return full_name(path).partition("://")[0].lower()


def _store(path: Path) -> tuple[Any, str]:
    """Give the store at an address, and the file's name in it."""
    # Here alone, since loading it takes longer than a small job.
    import fsspec

    store, name = fsspec.url_to_fs(full_name(path))
    store.invalidate_cache()
    return store, name


def _words_of(about: dict[str, Any]) -> str:
    return repr(sorted((key, str(value)) for key, value in about.items()))


def _words_at(store: Any, name: str) -> str | None:
    try:
        return _words_of(store.info(name))
    except FileNotFoundError:
        return None


def _refuse_missing_bucket(path: Path, store: Any, name: str) -> None:
    """Refuse a bucket that is not there; one that may not be looked into is taken as it is."""
    if _scheme(path) not in _LIBRARIES or _scheme(path) in _READ_ONLY:
        return
    bucket = name.partition("/")[0]
    try:
        store.ls(bucket)
    except FileNotFoundError:
        raise InputFileError(
            f"{addresses.address_of(path)}: there is no bucket {bucket!r}; correct its name, or make it"
        ) from None
    except PermissionError:
        return


@contextmanager
def _told(path: Path, kind: type[AsbuiltError], done: str, *, sent: bool = False) -> Iterator[None]:
    """Turn what a store or its library says into one message. Each library has kinds of errors of its own."""
    told, scheme = addresses.address_of(path), _scheme(path)
    try:
        yield
    except AsbuiltError:
        raise
    except ImportError as error:
        library = error.name or _LIBRARIES.get(scheme, "fsspec")
        wanted = _LIBRARIES.get(scheme, "fsspec")
        missing = library if library in _OF_THE_EXTRA else wanted
        install = "'asbuilt[cloud]'" if missing in _OF_THE_EXTRA else f"'asbuilt[cloud]' {missing}"
        raise kind(f"{told}: needs the library {missing}, which is not installed: pip install {install}") from None
    except Exception as error:
        raise kind(f"{told}: cannot be {done} ({_said(error, path)}); {_remedy(error, sent)}") from None


def _said(error: Exception, path: Path) -> str:
    """Give what was said, in one line and without what may not be told."""
    status = getattr(error, "status", None)
    text = f"the host answers {status}" if isinstance(status, int) else " ".join(str(error).split())
    query = urlsplit(full_name(path)).query
    text = text.replace(query, "...") if query else text
    # A host may send on to another address, and a library writes them in ways of its own, blanks and all.
    text = re.sub(r"(://[^?#]*)[?#].*", r"\1", text)
    text = re.sub(r"://[^/]*@", "://", text)
    return (text[:300] or type(error).__name__).rstrip(".")


def _remedy(error: Exception, sent: bool) -> str:
    refused = (401, 403)
    if (
        isinstance(error, PermissionError)
        or "redentials" in f"{type(error).__name__} {error}"
        or getattr(error, "status", None) in refused
    ):
        return (
            "give the store's credentials where its own programs take them (for s3:// AWS_ACCESS_KEY_ID and "
            "AWS_SECRET_ACCESS_KEY, or a profile), and check that they allow this"
        )
    if sent:
        return (
            "check the connection; it may have been written all the same, so look at what is there, and run this again"
        )
    return "check the address and the connection, and try again; nothing was changed there"
