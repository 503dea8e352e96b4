"""The cautions that stand wherever a person could act on what is shown."""

from __future__ import annotations

CAUTION = (
    "These are findings on records, not an acceptance of work. Limits come from the approved submittal and the "
    "project's specification; local codes and the pipe maker's instructions govern, and the judgement is a "
    "licensed engineer's."
)

TEST_CAUTION = (
    "Pressure testing injures and kills: nothing here replaces the site's safety plan, or says that a main may be put "
    "under pressure. Testing allowances are those of AWWA C600, from memory; the project's specification governs."
)

DIGGING_CAUTION = (
    "Not for locating. Before digging: locate request and trench protection. Isolate and depressurize the main before "
    "moving a joint. Local codes, the site's safety plan and a licensed engineer govern."
)
