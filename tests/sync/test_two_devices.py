"""A small model that Hypothesis can shrink: two devices, one record, three fields, against a plain list.

The worlds of `test_simulation` go further and find more; what goes wrong here comes as the shortest story
in which it does.
"""

from __future__ import annotations

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from logbook_app.sync.device_store import Standing
from logbook_app.sync.merging import DELETED, conflicts_of, values_of
from logbook_app.sync.messages import Pull, Push, Snapshot
from tests.sync.desk import Desk

pytestmark = pytest.mark.law

KEY = "ada/dive:1"
devices = st.sampled_from([0, 1])
fields = st.sampled_from(["notes", "depth", DELETED])


class TwoDevices(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.desk = Desk()
        self.devices = [self.desk.device("ada", name) for name in ("a", "b")]
        for device in self.devices:
            device.sync()
        self.written: list[tuple[str, str, set[str]]] = []  # id, field, what it replaced
        self.backup = self.desk.store.tables.copied()

    @rule(who=devices, field=fields, value=st.integers(0, 2), chooses=st.booleans())
    def write(self, who, field, value, chooses):
        value = value > 0 if field == DELETED else value
        change = self.devices[who].write(KEY, chooses=chooses, **{field: value})
        if change:
            self.written.append((change.id, field, set(change.saw.get(field, ()))))

    @rule(who=devices)
    def sync(self, who):
        assert self.devices[who].sync().counts_agree

    @rule(who=devices, kind=st.sampled_from([Push, Pull, Snapshot]))
    def break_off(self, who, kind):
        self.devices[who].sync(stop=lambda request: isinstance(request, kind), page=1)

    @rule(who=devices, kind=st.sampled_from([Push, Pull]))
    def lose_the_answer(self, who, kind):
        """The club does what it was asked, and the device does not hear of it."""
        device = self.devices[who]

        def lost(request):
            if isinstance(request, kind):
                self.desk.ask(request, device.member, device.id)
            return isinstance(request, kind)

        device.sync(stop=lost)

    @rule(who=devices, skew_ms=st.sampled_from([0, -3_600_000, 3_600_000, 10**12]))
    def set_the_clock(self, who, skew_ms):
        self.devices[who].skew_ms = skew_ms

    @rule()
    def back_up(self):
        self.backup = self.desk.store.tables.copied()

    @rule()
    def restore(self):
        self.desk.restore(self.backup)

    @invariant()
    def each_sees_what_it_wrote(self):
        for device in self.devices:
            record = device.sees(KEY)
            for own in device.store.tables.own.values():
                for name in own.change.fields:
                    heads = {edit.change for edit in record[name].heads}
                    assert own.change.id in heads | record[name].past

    def teardown(self):
        for device in [*self.devices, *self.devices]:
            outcome = device.sync()
            assert outcome.counts_agree
            assert not outcome.repaired
        one, other = (device.sees(KEY) for device in self.devices)
        assert one == other == self.desk.store.record(KEY)
        assert not any(device.store.own_standing(Standing.WAITING, 0, 9) for device in self.devices)
        for name in ("notes", "depth", DELETED):
            written = {change for change, of, _ in self.written if of == name}
            replaced = {seen for _, of, saw in self.written if of == name for seen in saw}
            heads = {edit.change for edit in one[name].heads} if name in one else set()
            assert heads == written - replaced
        assert all(values_of(one)[conflict.name] == conflict.shown.value for conflict in conflicts_of(one))


TwoDevices.TestCase.settings = settings(max_examples=60, stateful_step_count=25, deadline=None)
TestTwoDevices = TwoDevices.TestCase
