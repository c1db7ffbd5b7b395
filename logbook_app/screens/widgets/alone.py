"""Shows one widget on its own with demo data: `python -m logbook_app.screens.widgets.<name>`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


def show_alone(build: Callable[[], Any]) -> None:
    """Open a window with the widget that `build` returns, on paper, until it is closed."""
    from logbook_app.screens.start import prepare_environment, refuse_without_window

    prepare_environment()
    refuse_without_window()
    app_around(build).run()


def app_around(build: Callable[[], Any]) -> Any:
    """Return an app with nothing in it but the widget that `build` returns once the app runs."""
    from kivy.app import App  # the environment comes first
    from kivy.core.window import Window

    from logbook_app.screens.fonts import register_fonts
    from logbook_app.screens.look import Look

    class Alone(App):
        look = Look()

        def load_kv(self, *_args: Any, **_kwargs: Any) -> bool:
            return False

        def build(self) -> Any:
            register_fonts()
            self.look.follow(Window)
            Window.clearcolor = self.look.theme.paper
            return build()

        def on_stop(self) -> None:
            self.look.unfollow(Window)

    return Alone()
