"""The folders and recordings of the device, in big rows: for where there is no chooser, or none wanted.

Folders come first, only files that can be read are shown, and as many as one likes may be chosen,
also over several folders.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.recycleview.views import RecycleDataViewBehavior

from logbook_app.language import _
from logbook_app.screens.import_words import endings_words, file_size
from logbook_app.screens.kv_files import KvBeside
from logbook_app.screens.platform_services import FolderRow, Result, folder_rows
from logbook_app.screens.theme import GAP_DP

TABLES = (".csv", ".tsv", ".txt")


class FileRow(KvBeside, RecycleDataViewBehavior, ButtonBehavior, BoxLayout):
    """One folder or file. What is chosen is kept by the list, never here."""

    name = StringProperty("")
    """Its name."""

    detail = StringProperty("")
    """What it is: a folder, or how large a file."""

    icon = StringProperty("")
    """Icon of a folder or a file."""

    chosen = BooleanProperty(False)
    """True for a file that is chosen."""

    is_table = BooleanProperty(False)
    """True for a file that may be a table, the columns of which can be looked at."""

    test_id = StringProperty("")
    """How tests find it: `file-` and its name."""

    def refresh_view_attrs(self, recycleview: Any, _index: int, data: dict[str, Any]) -> None:
        """Show another folder or file."""
        self._list, self._row = recycleview.parent, data["row"]
        for name in ("name", "detail", "icon", "chosen", "is_table", "test_id"):
            setattr(self, name, data[name])

    def refresh_view_layout(self, _view: Any, _index: int, layout: dict[str, Any], _viewport: Any) -> None:
        """Take the place of the row, less what must lie between two things to touch."""
        (width, height), (x, y) = layout["size"], layout["pos"]
        self.size, self.pos = (width, height - dp(GAP_DP)), (x, y + dp(GAP_DP) / 2)

    def on_release(self) -> None:
        """Open the folder, or choose the file or let it go."""
        self._list.touched(self._row)

    def look_at_columns(self) -> None:
        """Ask for the columns of the table."""
        self._list.dispatch("on_columns_wanted", self._row.path)


class FileList(KvBeside, BoxLayout):
    """Looks in one folder at a time. Folders are read in the background.

    Events: `on_folder_wanted(folder)` for everything in a folder, `on_columns_wanted(path)` to look at
    the columns of a table.
    """

    __events__ = ("on_folder_wanted", "on_columns_wanted")

    folder = ObjectProperty(None, allownone=True)
    """The folder looked in."""

    endings = ListProperty([])
    """Endings of the files that can be read."""

    chosen = ListProperty([])
    """The files chosen so far, in the order of choosing."""

    several = BooleanProperty(True)
    """True where more than one may be chosen."""

    words = StringProperty("")
    """Why there is nothing to see, empty where there is something."""

    def __init__(self, **kwargs: Any) -> None:
        self._rows: tuple[FolderRow, ...] = ()
        super().__init__(**kwargs)

    def look_in(self, folder: Path) -> None:
        """Show another folder."""
        self.folder = folder
        endings = tuple(self.endings)

        def show(result: Result) -> None:
            if folder == self.folder:  # a slow folder that nobody waits for any more is not shown
                self._show(result)

        App.get_running_app().ask(lambda _logbook: folder_rows(folder, endings), then=show)

    def look_again(self) -> None:
        """Show the same folder as it is now."""
        if self.folder is not None:
            self.look_in(self.folder)

    def go_up(self) -> None:
        """Show the folder that this one is in."""
        if self.folder is not None and self.folder.parent != self.folder:
            self.look_in(self.folder.parent)

    def touched(self, row: FolderRow) -> None:
        """Open a folder; choose a file or let it go."""
        if row.is_folder:
            self.look_in(row.path)
        else:
            chosen = self.chosen if self.several else []
            if row.path in self.chosen:
                self.chosen = [path for path in self.chosen if path != row.path]
            else:
                self.chosen = [*chosen, row.path]

    def on_chosen(self, *_args: Any) -> None:
        """Show which files are chosen."""
        if "view" in self.ids:
            chosen = frozenset(self.chosen)
            self.ids.view.data = [_view_data(row, chosen) for row in self._rows]

    def on_folder_wanted(self, folder: Path) -> None:
        """The diver wants everything in a folder."""

    def on_columns_wanted(self, path: Path) -> None:
        """The diver wants to look at the columns of a table."""

    def _show(self, result: Result) -> None:
        self._rows = result.value if result.ok else ()
        self.words = (
            ""
            if self._rows
            else result.reason
            or _("No folder and no {endings} file here.").format(endings=endings_words(self.endings))
        )
        self.on_chosen()
        self.ids.view.scroll_y = 1


def _view_data(row: FolderRow, chosen: frozenset[Path]) -> dict[str, Any]:
    return {
        "row": row,
        "name": row.name,
        "detail": _("Folder") if row.is_folder else file_size(row.size_bytes),
        "icon": "folder-outline" if row.is_folder else "file-outline",
        "chosen": row.path in chosen,
        "is_table": row.path.suffix.lower() in TABLES,
        "test_id": f"file-{row.name}",
    }
