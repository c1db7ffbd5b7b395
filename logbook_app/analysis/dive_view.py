"""One dive with all that is known and worked out of it, as the screens and the printed pages take it."""

from __future__ import annotations

from dataclasses import dataclass

from logbook_app.analysis.dive_analysis import DiveAnalysis, Rules
from logbook_app.analysis.findings import Finding
from logbook_app.analysis.gas_use import GasUse
from logbook_app.analysis.profile_repair import Mended
from logbook_app.dive.profile import Profile
from logbook_app.dive.record import Dive


@dataclass(frozen=True, eq=False)
class DiveView:
    """A dive with everything its page shows.

    profile   the samples of the leading recording, as it wrote them
    analysis  rests on the mended samples, which are its series
    mended    where those two differ and why, in order of time
    """

    dive: Dive
    profile: Profile | None
    analysis: DiveAnalysis
    gas: GasUse
    findings: tuple[Finding, ...]
    rules: Rules
    mended: tuple[Mended, ...] = ()
