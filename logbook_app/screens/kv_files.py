"""Kv rules lie in a file beside their module and are read when the first widget needs them.

Reading all of them before the first frame would more than double the time until something shows.
"""

from __future__ import annotations

import re
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

from kivy.lang import Builder

_read: set[str] = set()
_WIDGET_IMPORT = re.compile(r"^#:import \w+ (logbook_app\.screens\.widgets\.\w+)\.", re.MULTILINE)


class KvBeside:
    """Mixed into a widget whose rule lies in the `.kv` file beside its module.

    Put it before the Kivy class: `class Card(KvBeside, BoxLayout)`. A subclass in another module
    brings its own file and that of its parents. A `.kv` file names the widgets it uses with
    `#:import`.
    """

    def apply_class_lang_rules(self, *args: Any, **kwargs: Any) -> None:
        """Read the rules of this class and its parents, then apply them."""
        for parent in reversed(type(self).__mro__):
            if issubclass(parent, KvBeside) and parent is not KvBeside:
                read_kv_beside(parent.__module__)
        super().apply_class_lang_rules(*args, **kwargs)  # type: ignore[misc]


def read_kv_beside(module_name: str) -> None:
    """Read the `.kv` file beside a module, once in the life of the process; none is no error.

    The files of the widgets that it imports come first: Kivy applies rules in the order in which they
    were read, and a page's word on a card must come after the card's own.
    """
    if module_name in _read:
        return
    _read.add(module_name)
    kv_path = Path(str(sys.modules[module_name].__file__)).with_suffix(".kv")
    if kv_path.is_file():
        for widget_module in _WIDGET_IMPORT.findall(kv_path.read_text(encoding="utf-8")):
            import_module(widget_module)
            read_kv_beside(widget_module)
        Builder.load_file(str(kv_path), rulesonly=True)
