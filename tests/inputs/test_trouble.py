"""Words by which remarks tell of trouble, as crews write them (common practice, no source), and denials."""

import laying
import pyarrow as pa
import pytest

from asbuilt.inputs.trouble import remark_words, tells
from asbuilt.job import Job

TOLD = """
bent spigot
spigot bent
water coming out of joint
water coming out
Bell has a dent at 3
lining came off
gasket fish-mouthed
fishmouth at 6
no gasket
pipe struck by bucket
hit by excavator
pulled back 1/2"
joint pulled apart and re-pushed
backed out when thrust block poured
over inserted
pushed past the mark
went in crooked
pipe moved during backfill
settled 2in
mud in bell
dirt in groove
not cleaned
no lube used
bolt stripped
T-bolt sheared
missing bolt
spigot out of round
needs checked
come back and fix
re-torqued
too short, used sleeve
hard to push home
frozen gasket
standing water in trench
under water
wet spot at bell
damp at 6 o'clock
lost pressure
pressure drop on test
coating scraped
spalled lining
crack in bell
hairline cracks
pinhole leak
gasket folded
gasket wrong way
mark not visible
can't see mark
cannot push further
NCR 14
nonconforming
NOT PER SPEC
not sure of depth
suspect gasket
leak, repaired
leak - no repair yet
no, leaks at bell
not repaired
no more leaks after reset
leaks no good
did not leak but bent
No leaks. Bell chipped
no leak test yet
Leak no. 3
leaks: yes
leaked
dropped pipe
gap too big
uneven gap
trench collapsed
injured hand
poor seat
bad gasket
gasket blew out
spraying water
bubbling
not leak free
"""
NOT_TOLD = """
no leaks
no leak seen
No leaks seen
leaks: none
Leak - none
Leaks? No
no leakage
no visible leaks
no signs of leakage
no sign of leak
without damage
no damage
0 leaks
zero leaks
not leaking
did not leak
doesn't leak
no cracks or chips
no cracks, leaks or damage
leak free
leak-free
free of cracks
no issues
no problems
no defects found
leak test passed
leak check ok
no water leaks at joint
damage: nil
no damage to coating
no bell damage
sunny
Benton Road
Crushed stone bedding
nothing to report
OK
controlled
wet, "soft" trench; bay 3
Nick R.
no leak noted
No leaks noted.
None leaking
no evidence of leaking
no leaks observed
leaks none seen
no leaks or drips found
not bent
no dents
no debris in bell
bell hole dug
no movement
no standing water
no leaks!
crew B, no leaks
no leak/no damage
"""


@pytest.fixture(scope="module")
def words():
    return remark_words(Job.from_mapping(laying.values(centerline={"path": "line.gpkg"}, records={"path": "log.csv"})))


@pytest.mark.parametrize(("remarks", "told"), [(TOLD, True), (NOT_TOLD, False)])
def test_trouble_is_told_and_what_is_denied_is_not(words, remarks, told):
    written = remarks.strip().splitlines()
    assert len(written) >= 40
    answers = tells(pa.array(written), words).to_pylist()
    assert [text for text, answer in zip(written, answers, strict=True) if answer is not told] == []


def test_a_record_without_a_remark_tells_nothing(words):
    assert tells(pa.array([None, "bent", ""]), words).to_pylist() == [False, True, False]
    assert tells(pa.array([], pa.string()), words).to_pylist() == []
