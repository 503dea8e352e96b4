"""The trade's words for joint families, as logs and tables write them."""

from __future__ import annotations

import re

JOINT_TYPES = {
    "push-on": ("pushon", "po", "push", "slip", "slipon", "pushonjoint"),
    "restrained-push-on": ("restrainedpushon", "rpo", "restrained", "rj", "restrainedjoint", "pushonrestrained"),
    "mechanical": ("mechanical", "mj", "mech", "mechanicaljoint"),
    "flanged": ("flanged", "flange", "flg", "fl", "flangedjoint"),
}


def joint_type(text: str) -> str | None:
    """Name a joint family in this program's words; the job's own names pass in lower case.

    Examples
    --------
    >>> joint_type("MJ"), joint_type("Push On"), joint_type("Ball")
    ('mechanical', 'push-on', 'ball')
    """
    plain = re.sub(r"[^a-z0-9]", "", text.lower())
    for name, others in JOINT_TYPES.items():
        if plain in others:
            return name
    return "-".join(text.lower().split()) or None
