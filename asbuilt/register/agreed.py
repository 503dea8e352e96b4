"""What a person settled of a job's joints before, which holds for its later loads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from asbuilt.register.incoming import Incoming
from asbuilt.register.loaded import Loaded
from asbuilt.register.store import Store, insert, now
from asbuilt.register.waiting import SETTLED


@dataclass(frozen=True)
class Settled:
    """What was settled of a job's joints: by the joint_uid that the job gives each."""

    theirs: dict[str, str]
    """Joint of the register that it is."""
    ours: dict[str, str]
    """Digest of what the job said when the register's joint was kept."""

    def with_agreed(self, agreed: Mapping[str, str]) -> Settled:
        """Add what is being settled now."""
        return Settled({**self.theirs, **agreed}, {uid: said for uid, said in self.ours.items() if uid not in agreed})


def settled_before(store: Store, job: str) -> Settled:
    found = store.rows(
        f"SELECT s.joint_uid, s.decision, s.register_uid, s.said {SETTLED} AND s.job = :job ORDER BY s.fid", job=job
    )
    latest = {uid: (decision, register_uid, content) for uid, decision, register_uid, content in found}
    return Settled(
        {uid: one[1] for uid, one in latest.items() if one[0] == "theirs"},
        {uid: one[2] for uid, one in latest.items() if one[0] == "ours"},
    )


def keep_agreed(store: Store, incoming: Incoming, agreed: Mapping[str, str], by: str, result: Loaded) -> None:
    """Write down what was settled by this load."""
    if not agreed:
        return
    content = dict(zip(incoming.text("joint_uid").to_pylist(), incoming.content.tolist(), strict=True))
    waiting = {one["joint_uid"] for one in result.conflicts}
    for joint_uid, register_uid in agreed.items():
        if joint_uid in content and joint_uid not in waiting:
            insert(
                store, "settled", job=incoming.job, joint_uid=joint_uid, decision="theirs", register_uid=register_uid,
                said=f"{content[joint_uid]}", load_id=result.load, settled_by=by, settled_at=now(),
            )  # fmt: skip
