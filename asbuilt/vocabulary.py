"""The trade's words for joint families, as logs and tables write them."""

from __future__ import annotations

import re

JOINT_TYPES = {
    "push-on": ("pushon", "po", "push", "slip", "slipon", "pushonjoint", "slipjoint", "pushjoint", "poj"),
    "restrained-push-on": (
        "restrainedpushon", "rpo", "restrained", "rj", "restrainedjoint", "pushonrestrained", "restrpushon", "restr",
        "restrjoint", "restjoint", "restrgasket", "restrainedgasket", "restraininggasket", "restrainedpushonjoint",
    ),
    "mechanical": ("mechanical", "mj", "mech", "mechanicaljoint", "mechjoint", "mechjt", "mjoint"),
    "restrained-mechanical": (
        "restrainedmechanical", "rmj", "restrainedmj", "mjrestrained", "restrmj", "restrmech", "restrmechjoint",
        "restrainedmechanicaljoint",
    ),
    "flanged": ("flanged", "flange", "flg", "fl", "flangedjoint", "flgjoint"),
}  # fmt: skip
"""Words of joint families, in their plain form; common practice, no source."""
_FAMILIES = {word: family for family, words in JOINT_TYPES.items() for word in words}

KINDS = {
    "pipe": ("pipe", "p", "length", "joint", "straight", "fulllength", "pipelength", "cutpipe"),
    "bend": ("bend", "elbow", "ell", "el"),
    "tee": ("tee", "t"),
    "valve": ("valve", "gatevalve", "gv", "butterflyvalve", "bfv"),
    "reducer": ("reducer", "red"),
    "sleeve": ("sleeve", "solidsleeve", "coupling"),
    "cap": ("cap", "plug", "deadend"),
}
"""What is laid, and its words in their plain form; common practice, no source."""

YES_NO_FIELDS = (
    "cut", "restrained", "groove_clean", "spigot_clean", "gasket_clean", "gasket_seated", "lubricated",
    "insertion_mark", "gauge",
)  # fmt: skip

FILLED_DOWN = (
    "route", "kind", "size", "outside_diameter", "joint_type", "pipe_class", "laid_length", "inspected_on", "inspector",
    "crew",
)  # fmt: skip
"""Fields whose blank cells may stand for the one above; never those that say how a joint was found."""

OURS: dict[str, tuple[str, ...] | None] = {
    "route": None,
    "joint_type": None,
    "kind": tuple(KINDS),
} | dict.fromkeys(YES_NO_FIELDS, ("yes", "no"))
"""Fields whose words a job can say in ours, and what these may be; routes and joint families are the job's own."""


def plain_word(text: str) -> str:
    """Bring a word of a log to the form by which it is compared: without regard to case and spaces.

    Examples
    --------
    >>> plain_word("  Not  Used "), plain_word("N/A")
    ('not used', 'n/a')
    """
    return " ".join(text.casefold().split())


def joint_type(text: str) -> str | None:
    """Name a joint family in this program's words; the job's own names pass in lower case.

    Examples
    --------
    >>> joint_type("MJ"), joint_type("Push On"), joint_type("Ball")
    ('mechanical', 'push-on', 'ball')
    """
    plain = re.sub(r"[^a-z0-9]", "", text.lower())
    return _FAMILIES.get(plain) or "-".join(text.lower().split()) or None
