"""The record of a dive, field by field in groups; a touch on one asks to change it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.card import Card
from logbook_app.screens.widgets.field_box import FieldBox, FieldWords


class FieldGroup(KvBeside, BoxLayout):
    """A heading and its fields, as many beside one another as the width takes."""

    heading = StringProperty("")
    """What the fields have in common."""

    columns = NumericProperty(1)
    """How many stand beside one another."""


class RecordCard(Card):
    """Event: `on_edit(name)` when a field is touched."""

    __events__ = ("on_edit",)

    groups = ObjectProperty(())
    """What to show (`RecordGroup`)."""

    editing = StringProperty("")
    """Name of the field that is being changed, empty for none."""

    def on_groups(self, _card: Any, groups: Sequence[Any]) -> None:
        """Set out the fields anew; where only what they say has changed, they stay."""
        lines = [line for group in groups for line in group.lines]
        fields = self._fields()
        if [(field.name, type(field)) for field in fields] == [(line.name, _kind(line)) for line in lines]:
            for field, line in zip(fields, lines, strict=True):
                field.label, field.value, field.detail = line.label, line.value, line.detail
            return
        self.ids.groups.clear_widgets()
        for group in groups:
            self.ids.groups.add_widget(self._group(group))

    def on_editing(self, *_args: Any) -> None:
        """Mark the field that is being changed."""
        for field in self._fields():
            if isinstance(field, FieldBox):
                field.active = field.name == self.editing

    def on_edit(self, name: str) -> None:
        """The diver touched a field."""

    def field(self, name: str) -> Any:
        """Return the box of a field, None where it has none."""
        return next((field for field in self._fields() if field.name == name), None)

    def _fields(self) -> list[Any]:
        groups = reversed(self.ids.groups.children)
        return [field for group in groups for field in reversed(group.ids.grid.children)]

    def _group(self, group: Any) -> FieldGroup:
        widget = FieldGroup(heading=group.heading)
        for line in group.lines:
            box = _kind(line)(
                label=line.label,
                value=line.value,
                detail=line.detail,
                test_id=f"edit-{line.name}",
            )
            box.name = line.name
            if isinstance(box, FieldBox):
                box.bind(on_release=lambda touched: self.dispatch("on_edit", touched.name))
            widget.ids.grid.add_widget(box)
        return widget


def _kind(line: Any) -> type[FieldWords]:
    return FieldWords if line.fixed else FieldBox
