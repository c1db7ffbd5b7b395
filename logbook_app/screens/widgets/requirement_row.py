"""One requirement of a certificate; a touch shows the dives behind it."""

from __future__ import annotations

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside


class RequirementRow(KvBeside, ButtonBehavior, BoxLayout):
    """Its name, how it stands, and what is missing; without dives behind it it is not to be touched."""

    line = ObjectProperty(None, allownone=True)
    """What it says (`RequirementLine`)."""

    test_id = StringProperty("requirement")
    """How tests find it: `requirement-` and its id."""
