"""The folder of a review: whole or not at all, and never over what another wrote, or what people typed in its lists."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

from asbuilt.errors import OutputError
from asbuilt.layers import outputs

MANIFEST = "review.json"
"""Lists what a review wrote: a folder that holds it may be replaced by a newer review."""


def check_folder(out: Path) -> None:
    """Refuse a folder that holds anything but an earlier review."""
    if not out.resolve().parent.is_dir():
        raise OutputError(f"{out}: there is no folder {out.resolve().parent}; make it, or correct --out")
    # First of all, as a list that was typed in may be in what a killed review had moved aside.
    with outputs.write_errors(out, "--out"):
        outputs.remove_left_behind(out.resolve())
    if not out.exists():
        return
    if not out.is_dir():
        raise OutputError(f"{out}: this is a file; name a folder with --out")
    inside = {str(one.relative_to(out)) for one in out.rglob("*") if not one.is_dir()}
    earlier = files_of_earlier(out)
    # A folder that no file of the earlier review stands in is not the review's.
    folders = {str(one.relative_to(out)) for one in out.rglob("*") if one.is_dir()}
    ours = {str(parent) for name in earlier for parent in Path(name).parents}
    strange = sorted((inside - earlier) | (folders - ours))
    if strange:
        raise OutputError(f"{out}: holds what no review wrote ({strange[0]}); name another folder with --out")


def files_of_earlier(out: Path) -> set[str]:
    """Name the files that an earlier review wrote into a folder; none where there is none, or its list is damaged."""
    try:
        return set(json.loads((out / MANIFEST).read_text("utf-8"))["files"])
    except (ValueError, KeyError, TypeError, OSError):
        return set()


def refuse_other_job(out: Path, job: str) -> None:
    """Refuse a folder with the review of another job."""
    if not (out / MANIFEST).is_file():
        return
    earlier = json.loads((out / MANIFEST).read_text("utf-8")).get("job")
    if earlier != job:
        raise OutputError(
            f"{out}: holds the review of another job ({earlier or 'not named'}), which is not written over; remove it, "
            "or name another folder with --out"
        )


def refuse_to_lose_what_was_typed(out: Path, issues: Path | None) -> None:
    """Refuse to replace a list of issues that people typed in, unless it is the one that is given back.

    Parameters
    ----------
    out : folder of an earlier review, or of none
    issues : list that is given back

    Raises
    ------
    OutputError
        Naming the list.
    """
    if not (out / MANIFEST).is_file():
        return
    earlier: dict[str, Any] = json.loads((out / MANIFEST).read_text("utf-8"))
    digests: dict[str, str] = earlier.get("issues_sha256", {})
    for name, digest in digests.items():
        path = out / name
        given = issues is not None and path.exists() and issues.exists() and path.samefile(issues)
        if path.exists() and not given and sha256(path) != digest:
            raise OutputError(
                f"{path}: was changed since the review wrote it, and would be lost; give it back with --issues {path}, "
                "or move it elsewhere"
            )
    if earlier.get("issues_typed") and issues is None:
        name = next(reversed(digests))
        raise OutputError(
            f"{out / name}: holds what people typed, and would be lost; give it back with --issues {out / name}, "
            "or move it elsewhere"
        )


def sha256(path: Path) -> str:
    """Give the digest of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()
