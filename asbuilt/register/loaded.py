"""What came of a load, as it is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass
class Loaded:
    """What came of a load."""

    register: str
    file: str
    job: str
    sha256: str
    dry_run: bool
    load: int | None = None
    """Number of the load; None where nothing was written."""
    unit: str = "m"
    """Unit of the register's lengths."""
    made: bool = False
    """Whether the register was made for it, and not for another load at the same moment."""
    joints: dict[str, int] = field(default_factory=dict)
    inspections: dict[str, int] = field(default_factory=dict)
    findings: dict[str, int] = field(default_factory=dict)
    changes: list[dict[str, Any]] = field(default_factory=list)
    new_joints: list[dict[str, Any]] = field(default_factory=list)
    """Joints that a job loaded before now has besides; of a job's first load all are new, and none is listed."""
    conflicts: list[dict[str, Any]] = field(default_factory=list)
    not_mentioned: list[dict[str, Any]] = field(default_factory=list)
    """Joints of the job's earlier loads that this file says nothing of; they stay as they are."""
    notes: list[str] = field(default_factory=list)
    settled: int = 0
    """Joints left out because somebody settled that the register's stay as they are."""
    settled_out: list[dict[str, Any]] = field(default_factory=list)
    """These joints, as `conflicts` lists those that wait."""
    kept_before: bool = False
    """Whether the register keeps these conflicts already, from a load of the same content."""
    main: str | None = None
    """The main that the job's routes were put under."""
    replaced: int = 0
    """Joints of the register whose place the job's main takes."""
    taken_back: list[int] = field(default_factory=list)
    """Earlier loads of the job, under no main, that were undone, as all of it is under the main now."""
    beside: dict[str, int] = field(default_factory=dict)
    """Rows of the job beside its joints: pressure tests, restrained lengths, and records that were set aside."""
    beside_new: bool = False
    """Whether the job's latest load brought others of these."""
    beside_changes: list[dict[str, Any]] = field(default_factory=list)
    """Pressure tests that end, change or came, and restrained lengths and records set aside that end with this load."""
    tests_stay: list[str] = field(default_factory=list)
    """Routes of which the file has no pressure tests, so that those of the job's earlier loads stay."""
    tests_ended: list[str] = field(default_factory=list)
    """Routes whose tests end, though the file has none, because somebody said so."""
    records_of_loads: list[int] = field(default_factory=list)
    """Loads of other jobs that brought some of the same records, which were not entered twice."""
    gave_way_to: list[int] = field(default_factory=list)
    """Loads of other jobs at whose places joints stay only as they are the surer ones."""

    @property
    def changed(self) -> bool:
        """Whether the register is another than before, or would be: it also keeps what was left out."""
        told = self.joints.get("new") or self.joints.get("updated") or self.findings.get("added") or self.replaced
        return bool(told or self.beside_new or (self.conflicts and not self.kept_before))
