"""The words that UDDF 3.2.3 allows where it does not take any text, and the orders that it fixes.

Source: schema of UDDF 3.2.3 (streit.cc), save for the words of `alarm`, which are recalled from
its documentation and were not seen in print.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, frozenset[str]]] = {
    name: frozenset(words.split())
    for name, words in {
        "environment": "ocean-sea lake-quarry river-spring cave-cavern pool hyperbaric-chamber under-ice "
        "other",
        "apparatus": "open-scuba rebreather surface-supplied chamber experimental",
        "platform": "beach-shore pier small-boat charter-boat live-aboard barge landside "
        "hyperbaric-facility other",
        "purpose": "sightseeing learning teaching research photography-videography spearfishing "
        "proficiency work other",
        "stateofrestbeforedive": "not-specified rested tired exhausted",
        "current": "no-current very-mild-current mild-current moderate-current hard-current "
        "very-hard-current",
        "diveplan": "none table dive-computer another-diver",
        "equipmentmalfunction": "none face-mask fins weight-belt buoyancy-control-device "
        "thermal-protection dive-computer depth-gauge pressure-gauge breathing-apparatus deco-reel other",
        "problems": "none equalisation vertigo out-of-air buoyancy shared-air rapid-ascent sea-sickness "
        "other",
        "program": "recreation training scientific medical commercial military competitive other",
        "thermalcomfort": "not-indicated comfortable cold very-cold hot",
        "workload": "not-specified resting light moderate severe exhausting",
        "globalalarmsgiven": "ascent-warning-too-long sos-mode work-too-hard",
        "alarm": "ascent breath deco error link microbubbles rbt skincooling surface",
        "decostop": "safety mandatory",
    }.items()
}


def _in_order(words: str) -> tuple[str, ...]:
    return tuple(words.split())


BEFORE_DIVE_ORDER: Final = _in_order(
    "link divenumber divenumberofday internaldivenumber datetime airtemperature surfaceintervalbeforedive "
    "altitude equipmentused apparatus platform purpose stateofrestbeforedive tripmembership "
    "alcoholbeforedive medicalbeforedive nosuit price inputprofile plannedprofile surfacepressure"
)
WAYPOINT_ORDER: Final = _in_order(
    "alarm batterychargecondition cns decostop bodytemperature calculatedpo2 depth divetime heading "
    "heartrate otu pulserate remainingbottomtime remainingo2time setmarker setpo2 switchmix tankpressure "
    "temperature divemode gradientfactor measuredpo2 nodecotime"
)
