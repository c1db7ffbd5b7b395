"""The system's own keyring for secrets, where there is one: on a desk, with the package `keyring`.

Phones have none that is reached from here: there, as on a desk without the package, the caller keeps the
secret in a file that only its owner can read. Nothing is said of a keyring that does not answer; it counts as
none.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any, Final

SERVICE: Final = "leadline"


def keep_secret(name: str, secret: str) -> bool:
    """Keep a secret under a name; return whether the keyring has it."""
    keyring = _keyring()
    if keyring is None:
        return False
    try:
        keyring.set_password(SERVICE, name, secret)
        return bool(keyring.get_password(SERVICE, name) == secret)
    except Exception:  # whatever a system's keyring may raise: it is locked, or not there after all
        return False


def kept_secret(name: str) -> str | None:
    """Return the secret of a name, None where the keyring has none or does not answer."""
    keyring = _keyring()
    try:
        return None if keyring is None else keyring.get_password(SERVICE, name)
    except Exception:  # as above
        return None


def forget_secret(name: str) -> None:
    """Take a secret out of the keyring, where it is there."""
    keyring = _keyring()
    try:
        if keyring is not None and keyring.get_password(SERVICE, name) is not None:
            keyring.delete_password(SERVICE, name)
    except Exception:  # as above; who cannot be asked cannot be told either
        return


def _keyring() -> Any:
    """Return the package where it is installed and has a system's keyring behind it, else None."""
    try:
        keyring = import_module("keyring")
        return keyring if keyring.get_keyring().priority > 0 else None
    except Exception:  # no package, or one that finds no system behind it
        return None
