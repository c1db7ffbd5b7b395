"""A signature in words, the same on the screen and at the command line."""

from __future__ import annotations

from typing import Any, Final

from logbook_app.analysis.spoken_times import date_alone
from logbook_app.language import _, later

ROLES: Final = {
    "instructor": later("instructor"),
    "dive leader": later("dive leader"),
    "buddy": later("buddy"),
}


def signature_words(signature: Any) -> str:
    """Say by whom and as what, when, what of, and whether it still says what was signed."""
    role = _(ROLES.get(signature.role, ""))
    day = date_alone(signature.on) if signature.on else ""
    who = ", ".join(filter(None, (signature.signer, role, day)))
    told = [_("Signed by {who}").format(who=who), signature.what, signature.remark]
    if signature.changed:
        told.append(_("changed since signed"))
    return " · ".join(filter(None, told))
