"""Files that appear whole or not at all, and never in place of what is not their own.

They are written beside their final name, and renamed when complete.
"""

from __future__ import annotations

import html
import os
import re
import shutil
import sqlite3
import sys
import tempfile
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal
from xml.etree import ElementTree

from asbuilt import living, stores
from asbuilt.errors import OutputError
from asbuilt.inputs.text_table import BLANK_HEADER_ROW, RETURN_SHEET
from asbuilt.stored import geopackage_kind

if TYPE_CHECKING:
    from asbuilt.job import Job

_SQLITE = b"SQLite format 3"
_HEAD = 65_536
"""Bytes at the head of a file by which its kind is told."""
Kind = Literal["placed", "return", "answer", "comparison", "drawing", "alignment", "blank", "report"]
KINDS: dict[str, str] = {
    "placed": "a placed file",
    "return": "a log handed back with remarks",
    "answer": "an answer of asbuilt find",
    "register": "a register",
    "comparison": "a comparison of asbuilt compare",
    "drawing": "a drawing of asbuilt review",
    "alignment": "an alignment of asbuilt review",
    "blank": "a blank log of asbuilt sheet",
    "filled": "a log that is filled in",
    "report": "a report of asbuilt place on many jobs",
}
"""What a file of each kind is called."""
BLANK_MARK = "asbuilt blank log"
"""Category of a blank log's workbook, and name of its maker in a page."""
REPORT_COLUMNS = (
    "job", "state", "records_read", "inspections_placed", "records_set_aside", "joints", "findings", "tries", "written",
    "message",
)  # fmt: skip
"""Columns of a report on many jobs, by which it is known for one."""


@contextmanager
def put_in_place(path: Path, *, option: str) -> Iterator[Path]:
    """Give a path to write to; what is there at the end takes the place of `path`, unless something failed.

    Parameters
    ----------
    path : path of the file or folder; an earlier one stays as it was until then, and a link stays a link. Of an
        address, its path by `stores`: the finished file goes there
    option : the command's option that names another place, for messages

    Raises
    ------
    OutputError
        When there cannot be a file.

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     final = Path(folder, "note.txt")
    ...     with put_in_place(final, option="--out") as unfinished:
    ...         _ = unfinished.write_text("all of it")
    ...         print(final.exists())
    ...     print(final.read_text())
    False
    all of it
    """
    final = path.resolve()
    with write_errors(path, option):
        remove_left_behind(final)
        # A folder of its own also holds what a library puts beside a file, and is removed in one piece.
        folder = Path(tempfile.mkdtemp(prefix=f".{final.name}-", dir=final.parent))
    held = living.hold(folder)
    try:
        unfinished = folder / f"unfinished{final.suffix}"
        yield unfinished
        stores.put(unfinished, final, option)
        with write_errors(path, option):
            exchange(unfinished, final, folder / "earlier")
    finally:
        living.remove(folder, held)


def remove_left_behind(final: Path) -> None:
    """Remove the folders of outputs of this name whose process was ended before it could remove them.

    An earlier output of which the process was ended before the new one had its name gets its name back.
    """
    theirs = re.compile(rf"\.{re.escape(final.name)}-[a-z0-9_]{{8}}")
    for folder in final.parent.iterdir():
        if theirs.fullmatch(folder.name) is None:
            continue
        with suppress(OSError):
            if living.left_behind(folder):
                # Without the unfinished one the new one had its name, and somebody has removed it since.
                if not final.exists() and (folder / f"unfinished{final.suffix}").exists():
                    with suppress(FileNotFoundError):
                        os.replace(folder / "earlier", final)
                shutil.rmtree(folder, ignore_errors=True)


def exchange(new: Path, final: Path, earlier: Path) -> None:
    """Rename a written file or folder to its final name; a folder that is there goes to `earlier`, or stays on failure.

    Two folders change places in one step where the system can do that, and the earlier one is then at `new`.

    Raises
    ------
    OSError
        When it cannot be renamed.
    """
    if not (new.is_dir() and final.is_dir()):
        os.replace(new, final)
        return
    if _change_places(new, final):
        return
    os.replace(final, earlier)
    try:
        os.replace(new, final)
    except OSError:
        os.replace(earlier, final)
        raise


def _change_places(one: Path, other: Path) -> bool:
    """Let two names change places in one step; tell whether that was done.

    Source: renameat2(2) of Linux, and RENAME_EXCHANGE in linux/fs.h (from memory).
    """
    if sys.platform != "linux":
        return False
    import ctypes

    here, swap = -100, 2  # AT_FDCWD, RENAME_EXCHANGE
    try:
        rename = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):  # a C library without it
        return False
    return bool(rename(here, os.fsencode(one), here, os.fsencode(other), swap) == 0)


@contextmanager
def write_errors(path: Path, option: str) -> Iterator[None]:
    """Turn what the operating system says of a failed write into one message.

    Raises
    ------
    OutputError
    """
    try:
        yield
    except OSError as error:
        raise OutputError(
            f"{path}: cannot be written ({error.strerror}); check the folder's rights and that no other program holds "
            f"the file, or choose another with {option}"
        ) from error


def check_output(
    path: Path, inputs: Iterable[tuple[str, str]], job: Job, *, kind: Kind | None, key: str = "output.path or --out"
) -> None:
    """Refuse an output that would overwrite what is not its own.

    Parameters
    ----------
    path : path of the output
    inputs : path and SHA-256 of each file that the job was read from
    job : Job
    kind : what the command writes, and may replace where the same job made it; None where it adds to what is there
    key : where another place can be named, for messages

    Raises
    ------
    OutputError
        When the path is an input of the job; when output and utility's layer are one file; when another thing is there.
    """
    for source in (*(Path(name) for name, _ in inputs), Path(job.source)):
        if same_file(source, path):
            raise OutputError(f"{path}: this is an input of the job; give another {key}")
    theirs = job.map.into if job.map is not None else ""
    # A map in a database is no file.
    other = job.output.path if kind is None else theirs
    if theirs and "://" not in theirs and same_file(job.path_of(other), path, there=False):
        raise OutputError(f"{path}: map.into and the output of place are one file; give another {key}")
    if kind is not None:
        refuse_to_replace(path, kind=kind, job=job.name, key=key)
    else:
        _refuse_to_add_to(path, key)


def _refuse_to_add_to(path: Path, key: str) -> None:
    """Refuse to add to a register or a placed file: what came by none of its loads, or of no log, nobody could undo."""
    with suppress(OSError, sqlite3.Error):
        kind = geopackage_kind(path)
        if kind:
            what = "a register, which only asbuilt load adds to" if kind == "register" else "a placed file of a job"
            raise OutputError(f"{path}: is {what}; name the utility's own map in {key}")


def refuse_to_replace(path: Path, *, kind: Kind, key: str, job: str | None = None) -> bool:
    """Refuse to write over a file that is not of the kind that the command writes, or was made by another job.

    Parameters
    ----------
    path : path of the output; nothing need be there
    kind : what the command writes
    key : where another place can be named, for messages
    job : name of the job, where the command writes for one

    Returns
    -------
    bool
        Whether an earlier one is there, which may be replaced.

    Raises
    ------
    OutputError

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     log = Path(folder, "log.csv")
    ...     _ = log.write_text("joint,station")
    ...     refuse_to_replace(log, kind="answer", key="--out")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    asbuilt.errors.OutputError: ...log.csv: a file is there that is no answer of asbuilt find, ... with --out
    """
    stores.check_writable(path, key)
    stores.local(path)
    # A file without anything in it, as other programs hand out for a name, holds nothing to lose.
    if not path.exists() or (path.is_file() and path.stat().st_size == 0):
        return False
    try:
        found, made_by = _what_is(path)
    except (OSError, sqlite3.Error, zipfile.BadZipFile, ElementTree.ParseError, ValueError, KeyError, IndexError):
        found, made_by = "", None
    if found != kind:
        ours, thing = KINDS[kind].partition(" ")[2], "folder" if path.is_dir() else "file"
        what = f"{KINDS[found]} is there" if found in KINDS else f"a {thing} is there that is no {ours}"
        # Nobody is told to remove what a crew wrote, or a register.
        kept = found in ("filled", "register")
        remedy = f"name another file with {key}" if kept else f"remove it, or name another file with {key}"
        raise OutputError(f"{path}: {what}, and is not written over; {remedy}")
    others = _tables_of_others(path)
    if others:
        raise OutputError(
            f"{path}: holds what asbuilt did not write and nobody could bring back ({', '.join(others)}); keep it in a "
            f"file of its own, or name another file with {key}"
        )
    if job is not None and made_by != job:
        raise OutputError(
            f"{path}: {KINDS[kind]} of another job is there ({made_by}), and is not written over; remove it, or name "
            f"another file with {key}"
        )
    return True


_BLANK_PAGE = re.compile(rf'<meta name="generator" content="{BLANK_MARK}">\s*<meta name="job" content="([^"]*)">')


def plain_text(value: Any) -> Any:
    """Keep a text from being read as a formula by a spreadsheet that opens a CSV file.

    Source: OWASP, CSV injection (from memory): a leading = + - @, tab or carriage return starts a formula; a
    leading apostrophe makes it text. Stations such as -0+50.00 are numbers of the trade, yet guarded alike.

    Examples
    --------
    >>> plain_text('=HYPERLINK("x")'), plain_text(-1.5), plain_text("A 101")
    ('\\'=HYPERLINK("x")', -1.5, 'A 101')
    """
    if isinstance(value, str) and value.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "\n")):
        return f"'{value}"
    return value


def same_file(one: Path, other: Path, *, there: bool = True) -> bool:
    """Say whether two names are of one file, through links too.

    Parameters
    ----------
    one, other : path
    there : whether the file must be there; otherwise it may be one to be made

    Examples
    --------
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     same_file(Path(folder, "a.gpkg"), Path(folder, "A.gpkg"), there=False)
    True
    """
    if one.exists() and other.exists():
        if one.samefile(other):
            return True
        # Some disks number a file anew for each way to write its name.
        return letters_of(str(one.resolve())) == letters_of(str(other.resolve())) and _spelled(one) == _spelled(other)
    return not there and _spelled(one) == _spelled(other)


def _spelled(path: Path) -> tuple[Path, bool]:
    """Give a path as its folders spell it, and whether it is there: many disks take capitals and small letters for one.

    Of what is not there yet, the letters alone count: nobody can know how the disk will take them.
    """
    real = path.resolve()
    found, there = Path(real.anchor), True
    for name in real.parts[1:]:
        there = there and os.path.lexists(found / name)
        if not there:
            found /= letters_of(name)
            continue
        try:
            names = os.listdir(found)
        except OSError:
            names = []
        same = [] if name in names else [one for one in names if letters_of(one) == letters_of(name)]
        found /= same[0] if same else name
    return found, there


def letters_of(name: str) -> str:
    """Give a name without the difference of capitals, and with its accents in one way."""
    return unicodedata.normalize("NFC", name).casefold()


def _what_is(path: Path) -> tuple[str, str | None]:
    """Tell the kind of a file by what is in it, and the job that made it."""
    if path.is_dir():
        return _folder_kind(path)
    if _is_sqlite(path):
        return _geopackage_kind(path)
    with path.open("rb") as file:
        head = file.read(_HEAD)
    if head.startswith(b"PK"):
        return _workbook_kind(path)
    text = head.decode("utf-8-sig", "replace")
    drawn = re.search(r"\$CUSTOMPROPERTYTAG\s+1\s+asbuilt job\s+9\s+\$CUSTOMPROPERTY\s+1\r?\n([^\r\n]*)", text)
    if drawn:
        return "drawing", drawn[1]
    aligned = re.search(r'<Project name="([^"]*)" desc="[^"]*" />\s*<Application name="asbuilt"', text)
    if aligned:
        return "alignment", html.unescape(aligned[1])
    columns = text.splitlines()[0].split(",") if text.splitlines() else []
    # An answer without a joint has fewer columns, and one with the caution at its end has one more.
    bare = [name for name in columns if name != "caution"]
    answers = (
        columns[:2] == ["rank", "joint_uid"],
        bare in (["joint_uid", "route", "joint", "station"], ["joint_uid", "waiting"]),
        text.startswith('{"type": "FeatureCollection", "made_by": "asbuilt find"'),
        '<meta name="generator" content="asbuilt find">' in text,
    )
    if columns == list(REPORT_COLUMNS):
        return "report", None
    if "<title>Two revisions compared" in text:
        return "comparison", None
    page = _BLANK_PAGE.search(text)
    if page:
        return "blank", unescape(page[1])
    return ("answer" if any(answers) else ""), None


def _is_sqlite(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(len(_SQLITE)) == _SQLITE


def _geopackage_kind(path: Path) -> tuple[str, str | None]:
    kind = geopackage_kind(path)
    if kind == "register":
        return kind, None
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as database:
        if kind == "placed":
            return kind, str(database.execute("SELECT name FROM run").fetchone()[0])
        tables = {name for (name,) in database.execute("SELECT table_name FROM gpkg_contents")}
        columns = {name for _, name, *_ in database.execute('PRAGMA table_info("joints")')}
        without_joints = {"joints", "inspections", "findings"} <= tables and columns <= {"fid", "geom", "joint_uid"}
        return ("answer" if without_joints or {"rank", "joint_uid"} <= columns else ""), None


def _tables_of_others(path: Path) -> list[str]:
    """Name the tables of a GeoPackage that somebody else put there: a layer of their own, or the project of a GIS."""
    from asbuilt.schema import LAYERS

    if not path.is_file() or not _is_sqlite(path):
        return []
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as database:
        names = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    own = {*LAYERS, "layer_styles"}
    return sorted(name for name in names if name not in own and not name.startswith(("gpkg_", "rtree_", "sqlite_")))


def _folder_kind(path: Path) -> tuple[str, str | None]:
    """Tell a folder of layers that place wrote; with anything else in it, it is none."""
    import pyarrow.parquet as pq

    from asbuilt.schema import LAYERS

    if {one.name for one in path.iterdir()} != {f"{name}.parquet" for name in (*LAYERS, "columns")}:
        return "", None
    return "placed", str(pq.read_table(path / "run.parquet", columns=["name"])["name"][0].as_py())


def _workbook_kind(path: Path) -> tuple[str, str | None]:
    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_path(path)
    blank_of = _blank_of(path)
    if blank_of is not None:
        rows = book.get_sheet_by_index(0).to_python(skip_empty_area=False)[BLANK_HEADER_ROW:]
        return ("filled" if any(cell != "" for row in rows for cell in row) else "blank"), blank_of
    if RETURN_SHEET in book.sheet_names:
        return "return", str(book.get_sheet_by_name(RETURN_SHEET).to_python()[1][0])
    if book.sheet_names[:1] == ["comparison"]:
        return "comparison", None
    return ("answer" if book.sheet_names[:3] == ["joints", "inspections", "findings"] else ""), None


def _blank_of(path: Path) -> str | None:
    """Give the job of a blank log, filled in or not; None where a workbook is none."""
    with zipfile.ZipFile(path) as book:
        if "docProps/core.xml" not in book.namelist():
            return None
        said = {
            entry.tag.rpartition("}")[2]: entry.text or ""
            for entry in ElementTree.fromstring(book.read("docProps/core.xml"))
        }
    return said.get("title", "") if said.get("category") == BLANK_MARK else None
