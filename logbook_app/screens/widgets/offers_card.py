"""What seems to be the same dive once more: each offer in a sentence, and a touch that makes them one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.properties import ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.widgets.card import Card


class OfferOnDive(KvBeside, BoxLayout):
    """One offer. Event: `on_join`."""

    __events__ = ("on_join",)

    offer = ObjectProperty(None, rebind=True)
    """What is offered (`JoinOffer`)."""

    def on_join(self) -> None:
        """The diver says that they are one."""


class OffersCard(Card):
    """Event: `on_join(offer)`."""

    __events__ = ("on_join",)

    offers = ObjectProperty(())
    """What to offer (`JoinOffer`)."""

    def on_offers(self, _card: Any, offers: Sequence[Any]) -> None:
        """Set out the offers."""
        self.ids.rows.clear_widgets()
        for offer in offers:
            row = OfferOnDive(offer=offer)
            row.bind(on_join=lambda row: self.dispatch("on_join", row.offer))
            self.ids.rows.add_widget(row)

    def on_join(self, offer: Any) -> None:
        """The diver says that two records are one."""
