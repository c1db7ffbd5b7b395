"""Kv rules lie in a file beside their module and are read when the first widget needs them.

Reading all of them before the first frame would more than double the time until something shows.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from kivy.lang import Builder

_read: set[str] = set()


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
    """Read the `.kv` file beside a module, once in the life of the process; none is no error."""
    if module_name in _read:
        return
    _read.add(module_name)
    kv_path = Path(str(sys.modules[module_name].__file__)).with_suffix(".kv")
    if kv_path.is_file():
        Builder.load_file(str(kv_path), rulesonly=True)
