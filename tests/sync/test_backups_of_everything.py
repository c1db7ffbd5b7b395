"""A small model that Hypothesis can shrink: one page, its owner's two devices, a friend who writes on it.

Devices and the club are put back from backups at any moment. What an edit replaced is written down here
as it happens, from what its author saw, and reckoned on through all that came before.
"""

from __future__ import annotations

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from logbook_app.sync.device_store import Standing
from logbook_app.sync.merging import NOTHING, same_value
from tests.sync.desk import Desk

pytestmark = pytest.mark.law

KEY = "ada/shownpage:1"
PHONE, TABLET, FRIEND = 0, 1, 2
device = st.sampled_from([PHONE, TABLET, FRIEND])
some_devices = st.sets(device)


class BackupsOfEverything(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.desk = Desk()
        who = (("ada", "phone"), ("ada", "tablet"), ("bo", "friend"))
        self.devices = [self.desk.device(*each) for each in who]
        self.before: dict[str, set[str]] = {}  # change -> all that it replaced, and these in their turn

    @initialize()
    def begin(self):
        for device in self.devices:
            device.sync()
        self.devices[PHONE].write(KEY, notes=0, writers=["bo"])
        self.backups = [device.store.tables.copied() for device in self.devices]
        for device in self.devices:
            device.sync()
        self.backup = self.desk.store.tables.copied()

    @rule(who=device, value=st.integers(1, 9), tells=st.booleans())
    def write(self, who, value, tells):
        device = self.devices[who]
        heads = device.sees(KEY)["notes"].heads if device.sees(KEY) else ()
        seen = {edit.change for edit in heads if same_value(edit.value, heads[0].value)}
        if heads and (change := device.write(KEY, notes=value)):
            self.before[change.id] = seen.union(*(self.before.get(each, ()) for each in seen))
        if tells:
            self.sync(who)

    @rule(who=device)
    def sync(self, who):
        assert self.devices[who].sync().counts_agree

    @rule(which=some_devices, club=st.booleans())
    def back_up(self, which, club):
        for who in which:
            self.backups[who] = self.devices[who].store.tables.copied()
        if club:
            self.backup = self.desk.store.tables.copied()

    @rule(which=some_devices, club=st.booleans())
    def put_back(self, which, club):
        for who in which:
            self.devices[who].store.tables = self.backups[who].copied()
        if club:
            self.desk.restore(self.backup)

    def teardown(self):
        held = set().union(*(self._known(self.devices[who].sees(KEY)) for who in (PHONE, TABLET)))
        for device in [*self.devices, *self.devices]:
            outcome = device.sync()
            assert outcome.counts_agree
            assert not outcome.repaired
        record = self.desk.store.record(KEY)
        assert all(device.sees(KEY) == record for device in self.devices)
        assert held <= self._known(record), "lost though a device of its owner had it"
        for device in self.devices:
            assert not device.store.own_standing(Standing.WAITING, 0, 9)
            assert device.store.tables.own.keys() <= self._known(record)
        heads = {edit.change for edit in record["notes"].heads}
        for change in self._known(record):
            assert not heads & self.before.get(change, set()), "what was replaced stands again"

    def _known(self, record):
        field = record.get("notes", NOTHING)
        return {edit.change for edit in field.heads} | field.past


BackupsOfEverything.TestCase.settings = settings(max_examples=100, stateful_step_count=25, deadline=None)
TestBackupsOfEverything = BackupsOfEverything.TestCase
