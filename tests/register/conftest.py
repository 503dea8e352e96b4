"""The day on which registers are loaded here: later than the dates that jobs of these tests have."""

import datetime as dt

import pytest

from asbuilt.register import doubts, planning

TODAY = dt.date(2040, 1, 1)


@pytest.fixture(autouse=True)
def _day(monkeypatch):
    for module in (planning, doubts):
        monkeypatch.setattr(module, "today", lambda: TODAY)
