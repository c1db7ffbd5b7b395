"""The photos of a dive: small pictures to be touched, more of them added, the camera's clock put right."""

from __future__ import annotations

import io
from typing import Any

from kivy.clock import Clock
from kivy.core.image import Image as CoreImage
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from logbook_app.analysis.field_words import camera_words
from logbook_app.screens.photo_lines import PhotoLines
from logbook_app.screens.widgets.card import Card
from logbook_app.screens.widgets.edged_box import EdgedBox

STEP_S = 60
KEPT_AFTER_S = 0.8  # a run of steps is one change


class PhotoButton(ButtonBehavior, EdgedBox):
    """One small picture with what is said of it."""

    sha256 = StringProperty("")
    """Name of the picture."""

    caption = StringProperty("")
    """When it was taken."""

    texture = ObjectProperty(None, allownone=True)
    """The small picture, None where it is not on this device."""

    test_id = StringProperty("")
    """How tests find it: `photo-` and its place."""


class PhotosCard(Card):
    """Events: `on_add`, `on_look(sha256)`, and `on_camera(ahead_s)` once the diver has stopped stepping."""

    __events__ = ("on_add", "on_look", "on_camera")

    photos = ObjectProperty(PhotoLines())
    """What to show (`PhotoLines`)."""

    ahead_s = NumericProperty(0)
    """How far the camera's clock is ahead, as it is being stepped [s]."""

    has_times = BooleanProperty(False)
    """True where a camera wrote a time."""

    ahead_words = StringProperty("")
    """How far the camera's clock is ahead, in words."""

    def __init__(self, **kwargs: Any) -> None:
        self._keep_soon = Clock.create_trigger(lambda _dt: self._keep(), KEPT_AFTER_S)
        super().__init__(**kwargs)

    def on_photos(self, _card: Any, photos: PhotoLines) -> None:
        """Set out the photos."""
        self.ids.grid.clear_widgets()
        for place, line in enumerate(photos.lines):
            button = PhotoButton(
                sha256=line.sha256,
                caption=line.caption,
                texture=_texture(line.thumbnail),
                test_id=f"photo-{place}",
            )
            button.bind(on_release=lambda touched: self.dispatch("on_look", touched.sha256))
            self.ids.grid.add_widget(button)
        self.has_times = photos.has_times
        if not self._keep_soon.is_triggered:
            self.ahead_s, self.ahead_words = photos.camera_ahead_s, photos.camera

    def step(self, steps: int) -> None:
        """Take the camera's clock a minute on or back; it is kept when the finger rests."""
        self.ahead_s += steps * STEP_S
        self.ahead_words = camera_words(int(self.ahead_s))
        self._keep_soon.cancel()
        self._keep_soon()

    def on_add(self) -> None:
        """The diver wants to add photos."""

    def on_look(self, sha256: str) -> None:
        """The diver wants to see a photo."""

    def on_camera(self, ahead_s: int) -> None:
        """The camera's clock was put right."""

    def _keep(self) -> None:
        if int(self.ahead_s) != self.photos.camera_ahead_s:
            self.dispatch("on_camera", int(self.ahead_s))


def _texture(jpeg: bytes) -> Any:
    return CoreImage(io.BytesIO(jpeg), ext="jpg").texture if jpeg else None
