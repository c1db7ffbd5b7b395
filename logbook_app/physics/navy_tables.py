"""The printed numbers of the US Navy's air tables, laid out as in the manual.

US Navy Diving Manual, Revision 7, SS521-AG-PRO-010 / 0910-LP-115-1921, Naval Sea Systems Command, 1
December 2016: tables 9-5 to 9-8. Read in a transcription; the Navy's own print was not available. Revisions
4 and 6 have other numbers, which must not be mixed in. What a printed table says is not what the
compartment model says, and neither borrows from the other.

Depths are feet of sea water, altitudes feet, times minutes; the manual prints intervals as hours and minutes.
Look-ups and rules: `repetitive_group`, `repetitive_series`, `ascent_to_altitude`.
"""

import math
from collections.abc import Mapping
from enum import Enum
from typing import Final

# Repetitive groups in rising order of what is left; there is no P to Y.
GROUPS: Final = "ABCDEFGHIJKLMNOZ"


class Mark(Enum):
    """What is printed in a cell of residual nitrogen times instead of a number."""

    NOT_IN_TABLE = "**"  # "cannot be determined using this table", paragraph 9-9.1, sub-paragraph 8
    USE_30_FSW = "†"  # read the 30 fsw row, and use the 30 fsw schedule


_UNLIMITED: Final = math.inf
_ANY: Final = math.inf  # an asterisk in print: the highest group at that depth, however long the stay
_NO: Final = Mark.NOT_IN_TABLE
_30: Final = Mark.USE_30_FSW

# Table 9-7. Depth: no-stop limit, longest bottom time for each group from A on; None where the table has a
# dash.
TABLE_9_7: Final[Mapping[int, tuple[float, tuple[float | None, ...]]]] = {
    10: (_UNLIMITED, (57, 101, 158, 245, 426, _ANY)),
    15: (_UNLIMITED, (36, 60, 88, 121, 163, 217, 297, 449, _ANY)),
    20: (_UNLIMITED, (26, 43, 61, 82, 106, 133, 165, 205, 256, 330, 461, _ANY)),
    25: (1102, (20, 33, 47, 62, 78, 97, 117, 140, 166, 198, 236, 285, 354, 469, 992, 1102)),
    30: (371, (17, 27, 38, 50, 62, 76, 91, 107, 125, 145, 167, 193, 223, 260, 307, 371)),
    35: (232, (14, 23, 32, 42, 52, 63, 74, 87, 100, 115, 131, 148, 168, 190, 215, 232)),
    40: (163, (12, 20, 27, 36, 44, 53, 63, 73, 84, 95, 108, 121, 135, 151, 163)),
    45: (125, (11, 17, 24, 31, 39, 46, 55, 63, 72, 82, 92, 102, 114, 125)),
    50: (92, (9, 15, 21, 28, 34, 41, 48, 56, 63, 71, 80, 89, 92)),
    55: (74, (8, 14, 19, 25, 31, 37, 43, 50, 56, 63, 71, 74)),
    60: (63, (7, 12, 17, 22, 28, 33, 39, 45, 51, 57, 63)),
    70: (48, (6, 10, 14, 19, 23, 28, 32, 37, 42, 47, 48)),
    80: (39, (5, 9, 12, 16, 20, 24, 28, 32, 36, 39)),
    90: (33, (4, 7, 11, 14, 17, 21, 24, 28, 31, 33)),
    100: (25, (4, 6, 9, 12, 15, 18, 21, 25)),
    110: (20, (3, 6, 8, 11, 14, 16, 19, 20)),
    120: (15, (3, 5, 7, 10, 12, 15)),
    130: (12, (2, 4, 6, 9, 11, 12)),
    140: (10, (2, 4, 6, 8, 10)),
    150: (8, (None, 3, 5, 7, 8)),
    160: (7, (None, 3, 5, 6, 7)),
    170: (6, (None, None, 4, 6)),
    180: (6, (None, None, 4, 5, 6)),
    190: (5, (None, None, 3, 5)),
}

# Table 9-8, upper part. Group at surfacing: longest surface interval that ends in the same group, in the
# next lower one and so on down to A. The shortest interval is 10 minutes; each cell begins a minute after
# the one before.
TABLE_9_8_INTERVALS: Final[Mapping[str, tuple[int, ...]]] = {
    "A": (140,),
    "B": (76, 216),
    "C": (55, 131, 271),
    "D": (52, 107, 183, 323),
    "E": (52, 104, 159, 235, 375),
    "F": (52, 104, 157, 211, 288, 428),
    "G": (52, 104, 157, 209, 263, 340, 480),
    "H": (52, 104, 157, 209, 261, 316, 392, 532),
    "I": (52, 104, 157, 209, 261, 313, 368, 444, 584),
    "J": (52, 104, 157, 209, 261, 313, 366, 420, 496, 636),
    "K": (52, 104, 157, 209, 261, 313, 366, 418, 472, 549, 689),
    "L": (52, 104, 157, 209, 261, 313, 366, 418, 470, 524, 601, 741),
    "M": (52, 104, 157, 209, 261, 313, 366, 418, 470, 522, 577, 653, 793),
    "N": (52, 104, 157, 209, 261, 313, 366, 418, 470, 522, 574, 629, 705, 845),
    "O": (52, 104, 157, 209, 261, 313, 366, 418, 470, 522, 574, 627, 681, 757, 898),
    "Z": (52, 104, 157, 209, 261, 313, 366, 418, 470, 522, 574, 627, 679, 733, 810, 950),
}
LEAST_INTERVAL_MIN: Final = 10

# Table 9-8, lower part. Depth of the next dive: residual nitrogen time for groups Z, O, N down to A.
TABLE_9_8_RESIDUAL: Final[Mapping[int, tuple[int | Mark, ...]]] = {
    10: (_NO, _NO, _NO, _NO, _NO, _NO, _NO, _NO, _NO, _NO, _NO, 427, 246, 159, 101, 58),
    15: (_NO, _NO, _NO, _NO, _NO, _NO, _NO, _NO, 450, 298, 218, 164, 122, 89, 61, 37),
    20: (_NO, _NO, _NO, _NO, _NO, 462, 331, 257, 206, 166, 134, 106, 83, 62, 44, 27),
    25: (_30, _30, 470, 354, 286, 237, 198, 167, 141, 118, 98, 79, 63, 48, 34, 21),
    30: (372, 308, 261, 224, 194, 168, 146, 126, 108, 92, 77, 63, 51, 39, 28, 18),
    35: (245, 216, 191, 169, 149, 132, 116, 101, 88, 75, 64, 53, 43, 33, 24, 15),
    40: (188, 169, 152, 136, 122, 109, 97, 85, 74, 64, 55, 45, 37, 29, 21, 13),
    45: (154, 140, 127, 115, 104, 93, 83, 73, 64, 56, 48, 40, 32, 25, 18, 12),
    50: (131, 120, 109, 99, 90, 81, 73, 65, 57, 49, 42, 35, 29, 23, 17, 11),
    55: (114, 105, 96, 88, 80, 72, 65, 58, 51, 44, 38, 32, 26, 20, 15, 10),
    60: (101, 93, 86, 79, 72, 65, 58, 52, 46, 40, 35, 29, 24, 19, 14, 9),
    70: (83, 77, 71, 65, 59, 54, 49, 44, 39, 34, 29, 25, 20, 16, 12, 8),
    80: (70, 65, 60, 55, 51, 46, 42, 38, 33, 29, 25, 22, 18, 14, 10, 7),
    90: (61, 57, 52, 48, 44, 41, 37, 33, 29, 26, 22, 19, 16, 12, 9, 6),
    100: (54, 50, 47, 43, 40, 36, 33, 30, 26, 23, 20, 17, 14, 11, 8, 5),
    110: (48, 45, 42, 39, 36, 33, 30, 27, 24, 21, 18, 16, 13, 10, 8, 5),
    120: (44, 41, 38, 35, 32, 30, 27, 24, 22, 19, 17, 14, 12, 9, 7, 5),
    130: (40, 37, 35, 32, 30, 27, 25, 22, 20, 18, 15, 13, 11, 9, 6, 4),
    140: (37, 34, 32, 30, 27, 25, 23, 21, 19, 16, 14, 12, 10, 8, 6, 4),
    150: (34, 32, 30, 28, 26, 23, 21, 19, 17, 15, 13, 11, 9, 8, 6, 4),
    160: (32, 30, 28, 26, 24, 22, 20, 18, 16, 14, 13, 11, 9, 7, 5, 4),
    170: (30, 28, 26, 24, 22, 21, 19, 17, 15, 14, 12, 10, 8, 7, 5, 3),
    180: (28, 26, 25, 23, 21, 19, 18, 16, 14, 13, 11, 10, 8, 6, 5, 3),
    190: (26, 25, 23, 22, 20, 18, 17, 15, 14, 12, 11, 9, 8, 6, 5, 3),
}

# Table 9-5. Altitude: group on arrival from sea level.
TABLE_9_5: Final[Mapping[int, str]] = {
    1000: "A", 2000: "A", 3000: "B", 4000: "C", 5000: "D",
    6000: "E", 7000: "F", 8000: "G", 9000: "H", 10000: "I",
}  # fmt: skip

# Table 9-6. Group: interval before an increase in altitude of 1,000, 2,000 and so on to 10,000 ft.
TABLE_9_6: Final[Mapping[str, tuple[int, ...]]] = {
    "A": (0, 0, 0, 0, 0, 0, 0, 0, 0, 0),
    "B": (0, 0, 0, 0, 0, 0, 0, 0, 0, 102),
    "C": (0, 0, 0, 0, 0, 0, 0, 0, 108, 383),
    "D": (0, 0, 0, 0, 0, 0, 0, 105, 324, 599),
    "E": (0, 0, 0, 0, 0, 0, 97, 279, 498, 774),
    "F": (0, 0, 0, 0, 0, 92, 244, 426, 645, 920),
    "G": (0, 0, 0, 0, 79, 218, 370, 553, 772, 1047),
    "H": (0, 0, 0, 66, 190, 329, 482, 664, 883, 1158),
    "I": (0, 0, 56, 165, 290, 429, 581, 764, 982, 1258),
    "J": (0, 41, 145, 255, 379, 519, 671, 853, 1072, 1347),
    "K": (30, 123, 227, 337, 461, 600, 753, 935, 1154, 1429),
    "L": (105, 198, 302, 412, 536, 675, 828, 1010, 1229, 1504),
    "M": (174, 268, 372, 481, 606, 745, 897, 1080, 1298, 1574),
    "N": (239, 332, 436, 546, 670, 809, 962, 1144, 1363, 1638),
    "O": (299, 393, 497, 606, 731, 870, 1022, 1205, 1423, 1699),
    "Z": (356, 449, 553, 663, 787, 926, 1079, 1261, 1480, 1755),
}
EXCEPTIONAL_EXPOSURE_WAIT_MIN: Final = 48 * 60
HIGHEST_ALTITUDE_FT: Final = 10_000
COMMERCIAL_FLIGHT_FT: Final = 8_000
