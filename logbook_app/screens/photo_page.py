"""One photo of a dive as large as the screen, or the folders of the device to choose photos from."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.core.image import Image as CoreImage
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty

from logbook_app.language import _
from logbook_app.logbook import PICTURE_ENDINGS
from logbook_app.screens.photo_lines import added_words
from logbook_app.screens.platform_services import starting_folder
from logbook_app.screens.rooms import Room

_FORMATS = {".jpeg": "jpg", ".tiff": "tif"}


class PhotoPage(Room):
    """Either shows the photo that `look_at` names, or lets files be chosen with `choose`."""

    choosing = BooleanProperty(False)
    """True while files are chosen."""

    endings = ListProperty(PICTURE_ENDINGS)
    """Endings of files that can be added."""

    chosen = ListProperty([])
    """The files chosen so far."""

    texture = ObjectProperty(None, allownone=True)
    """The photo, None until the worker has it."""

    caption = StringProperty("")
    """When it was taken."""

    def __init__(self, **kwargs: Any) -> None:
        self._dive_id = self._sha256 = ""
        super().__init__(**kwargs)

    def look_at(self, dive_id: str, sha256: str, caption: str) -> None:
        """Show a photo of a dive."""
        self._dive_id, self._sha256 = dive_id, sha256
        self.choosing, self.texture, self.caption, self.title = False, None, caption, _("Photo")
        app = App.get_running_app()

        def show(answer: tuple[str, bytes]) -> None:
            name, data = answer
            if self._sha256 == sha256:
                self.texture = CoreImage(io.BytesIO(data), ext=_extension(name)).texture

        app.ask(lambda logbook: (_name_of(logbook.dive(dive_id), sha256), logbook.photo(sha256)), then=show)

    def choose(self, dive_id: str) -> None:
        """Let the diver choose photos for a dive."""
        self._dive_id, self.texture, self.choosing = dive_id, None, True
        self.title = _("Choose photos")
        files = self.ids.files
        files.chosen = []
        if files.folder is None:
            files.folder = starting_folder()
        files.look_again()

    def left(self) -> None:
        """Let go of the photo: it is large."""
        self.texture = None

    def add(self) -> None:
        """Add what is chosen."""
        paths = [Path(path) for path in self.ids.files.chosen]
        if paths:
            App.get_running_app().back()
            add_photos(self._dive_id, paths)

    def remove(self) -> None:
        """Take the photo away from its dive, go back, and offer to undo it."""
        app, dive_id, sha256 = App.get_running_app(), self._dive_id, self._sha256

        def work(logbook: Any) -> Any:
            kept = [photo for photo in logbook.dive(dive_id).photos if photo.sha256 != sha256]
            return logbook.change_dive(dive_id, photos=kept)

        def removed(changes: Any) -> None:
            app.back()
            app.changed(changes)
            app.say(
                _("The photo is taken away."),
                undo=lambda: _take_back(changes.change_id),
            )

        app.ask(work, then=removed)


def add_photos(dive_id: str, paths: list[Path]) -> None:
    """Add photos to a dive; say how many are added, with undo, and what could not be."""
    app = App.get_running_app()

    def work(logbook: Any) -> tuple[Any, Any, int]:
        before = len(logbook.dive(dive_id).photos)
        changes, problems = logbook.add_photos(dive_id, paths)
        return changes, problems, len(logbook.dive(dive_id).photos) - before

    def added(answer: tuple[Any, Any, int]) -> None:
        changes, problems, count = answer
        if changes.change_id:
            app.changed(changes)
            app.say(added_words(count, problems), undo=lambda: _take_back(changes.change_id))
        else:
            app.say(added_words(count, problems))

    app.ask(work, then=added)


def _take_back(change_id: int) -> None:
    app = App.get_running_app()
    app.ask(lambda logbook: logbook.take_back(change_id), then=app.changed)


def _name_of(dive: Any, sha256: str) -> str:
    return next((photo.file_name for photo in dive.photos if photo.sha256 == sha256), "")


def _extension(file_name: str) -> str:
    ending = Path(file_name).suffix.lower()
    return _FORMATS.get(ending, ending.lstrip(".") or "jpg")
