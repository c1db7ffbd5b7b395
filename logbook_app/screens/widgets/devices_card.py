"""The diver's devices as the club knows them, asked for by touch; one that was lost is shut out."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial
from typing import Any

from kivy.app import App
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.language import _
from logbook_app.screens.widgets.card import Card


class DeviceRow(BoxLayout):
    """One device. Event: `on_shut_out`."""

    __events__ = ("on_shut_out",)

    words = StringProperty("")
    """What it is called, and when it was last heard."""

    may_go = BooleanProperty(False)
    """Whether it can be shut out: it speaks, and it is not this one."""

    def on_shut_out(self) -> None:
        """The diver has lost it."""


class DevicesCard(Card):
    """A button, and under it what the club answered."""

    asked = BooleanProperty(False)
    """True once the club has answered."""

    def ask(self) -> None:
        """Ask the club which devices speak for the diver."""
        self._talk(lambda logbook, cancelled: logbook.club.devices(cancelled), self._show)

    def shut_out(self, device: Any) -> None:
        """Let a device speak for nobody any more. It cannot be undone, but the device can join again."""

        def done(devices: Any) -> None:
            self._show(devices)
            words = _("{device} is shut out. It keeps what it has; with a new code it can join again.")
            App.get_running_app().say(words.format(device=device.name))

        self._talk(lambda logbook, cancelled: logbook.club.shut_out(device.id, cancelled), done)

    def forget(self) -> None:
        """Show no device: another club, or none."""
        self.asked = False
        self.ids.devices.clear_widgets()

    def _talk(self, work: Any, then: Any) -> None:
        app = App.get_running_app()
        app.club.talk(work, then=then, failed=app.say_trouble)

    def _show(self, devices: Any) -> None:
        now = App.get_running_app().now()
        self.ids.devices.clear_widgets()
        for place, device in enumerate(sorted(devices, key=lambda each: (not each.here, each.standing))):
            row = DeviceRow(words=device_words(device, now), may_go=not device.here and not device.standing)
            row.ids.shut_out.test_id = f"shut-out-{place}"
            row.bind(on_shut_out=partial(lambda device, _row: self.shut_out(device), device))
            self.ids.devices.add_widget(row)
        self.asked = True


def device_words(device: Any, now: datetime) -> str:
    """Return what the club says of a device."""
    from logbook_app.analysis.spoken_times import full_date

    name = device.name or _("a device without a name")
    if device.here:
        return _("{device}: this one").format(device=name)
    if device.standing:
        return _("{device}: shut out").format(device=name)
    if not device.seen_ms:
        return _("{device}: never heard").format(device=name)
    seen = datetime.fromtimestamp(device.seen_ms / 1000, UTC).astimezone(now.tzinfo)
    return _("{device}: last heard {date}").format(device=name, date=full_date(seen))
