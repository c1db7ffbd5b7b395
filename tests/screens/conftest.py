"""The sizes of windows, and the type of `open_app`; the fixtures are in tests/conftest.py."""

from driver import SIZES, OpenApp

__all__ = ["SIZES", "OpenApp"]
