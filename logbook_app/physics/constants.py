"""Physical constants and conventions used throughout, each with its authority beside it."""

from typing import Final

# Saturated water vapour at body temperature, as Buehlmann takes it with a respiratory quotient of 1
# (A. A. Buehlmann, Decompression - Decompression Sickness, Springer 1984). Recalled from memory and
# read in a secondary text; 47 mmHg = 0.06266 bar is the textbook value it rounds.
WATER_VAPOUR_37C_BAR: Final = 0.0627

# The standard atmosphere, 101 325 Pa: 10th General Conference on Weights and Measures, 1954; ISO 2533:1975.
STANDARD_PRESSURE_BAR: Final = 1.01325

# The standard acceleration of free fall: 3rd General Conference on Weights and Measures, 1901.
GRAVITY_M_S2: Final = 9.80665

# Air as divers reckon it; argon is counted with the nitrogen. Common practice, no source.
AIR_OXYGEN: Final = 0.21
AIR_INERT: Final = 0.79

# EN 13319:2000 lets a depth gauge show 10 m for each bar, which is this density (printed as 1.0197 kg/l).
DENSITY_EN13319_KG_M3: Final = 10_000.0 / GRAVITY_M_S2

# Fresh and sea water for depths entered by hand. Common practice, no source (62.4 and 64 lb/ft3).
DENSITY_FRESH_KG_M3: Final = 1000.0
DENSITY_SEA_KG_M3: Final = 1025.0
