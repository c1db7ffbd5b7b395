"""The model once more, in plain Python and written differently: the measure for the vectorised product.

It imports nothing of the product. Tensions follow the textbook form of Schreiner's equation in 40-digit
arithmetic (there its cancellations do not matter); limits are looked for by stepping and halving, with none
of the product's closed forms. Constants come from `tests/sources`.
"""

import math
from itertools import pairwise

import mpmath
from printed import table

_ROWS = [row for row in table("buehlmann_2002_table_25")["rows"] if row["id"] != "1"]
N2 = [(row["n2_min"], row["n2_a_set_c"], row["n2_b"]) for row in _ROWS]
HE = [(row["he_min"], row["he_a"], row["he_b"]) for row in _ROWS]
WATER_BAR = 0.0627
AIR_N2 = 0.79


def textbook_schreiner(start_bar, q0_bar, q1_bar, half_time_min, minutes):
    """p = q0 + R (t - 1/k) - (q0 - p0 - R/k) exp(-k t), R the slope of the inspired pressure."""
    if minutes == 0:
        return start_bar
    k = mpmath.log(2) / half_time_min
    slope = (q1_bar - q0_bar) / minutes
    return q0_bar + slope * (minutes - 1 / k) - (q0_bar - start_bar - slope / k) * mpmath.exp(-k * minutes)


def tensions_along(start_n2, start_he, time_min, ambient_bar, nitrogen, helium):
    """Tensions at every sample as a list of (nitrogen, helium), each a list of 16 floats."""
    with mpmath.workdps(40):
        n2 = [mpmath.mpf(float(p)) for p in start_n2]
        he = [mpmath.mpf(float(p)) for p in start_he]
        path = [([float(p) for p in n2], [float(p) for p in he])]
        samples = zip(time_min, ambient_bar, nitrogen, helium, strict=True)
        for (t0, p0, f_n2, f_he), (t1, p1, _, _) in pairwise(samples):
            minutes = mpmath.mpf(float(t1)) - mpmath.mpf(float(t0))
            dry0, dry1 = (mpmath.mpf(float(p)) - mpmath.mpf(WATER_BAR) for p in (p0, p1))
            n2 = [_step(p, dry0, dry1, float(f_n2), N2[i][0], minutes) for i, p in enumerate(n2)]
            he = [_step(p, dry0, dry1, float(f_he), HE[i][0], minutes) for i, p in enumerate(he)]
            path.append(([float(p) for p in n2], [float(p) for p in he]))
    return path


def _step(tension, dry0, dry1, fraction, half_time, minutes):
    return textbook_schreiner(tension, dry0 * fraction, dry1 * fraction, half_time, minutes)


def later(n2, he, dry_bar, f_n2, f_he, minutes):
    """Tensions after a stay at constant pressure."""
    return (
        [f_n2 * dry_bar + (p - f_n2 * dry_bar) * 2 ** (-minutes / N2[i][0]) for i, p in enumerate(n2)],
        [f_he * dry_bar + (p - f_he * dry_bar) * 2 ** (-minutes / HE[i][0]) for i, p in enumerate(he)],
    )


def allowed(i, n2, he, ambient_bar, factor):
    """Pressure that compartment i may hold."""
    both = n2[i] + he[i]
    a = (N2[i][1] * n2[i] + HE[i][1] * he[i]) / both
    b = (N2[i][2] * n2[i] + HE[i][2] * he[i]) / both
    return ambient_bar + factor * (a + ambient_bar / b - ambient_bar)


def tolerated(n2, he, ambient_bar, factor, slack=0.0):
    return all(n2[i] + he[i] <= allowed(i, n2, he, ambient_bar, factor) + slack for i in range(16))


def halved(lower, upper, holds, rounds=100):
    """The point between where `holds` is false (lower) and true (upper)."""
    for _ in range(rounds):
        middle = 0.5 * (lower + upper)
        lower, upper = (lower, middle) if holds(middle) else (middle, upper)
    return upper


def ceiling_at_one_factor_m(n2, he, surface_bar, bar_per_m, factor):
    """Signed; looked for between a vacuum and 300 m."""
    top_m = -surface_bar / bar_per_m
    return halved(top_m, 300.0, lambda d: tolerated(n2, he, surface_bar + d * bar_per_m, factor))


def ceilings_m(path, surface_bar, bar_per_m, low, high, steps=400):
    """Shallowest tolerated depth at each sample: look from the surface down, then halve."""
    anchor_m, found = 0.0, []
    for n2, he in path:
        anchor_m = max(anchor_m, ceiling_at_one_factor_m(n2, he, surface_bar, bar_per_m, low))

        def holds(depth_m, n2=n2, he=he, anchor_m=anchor_m):
            factor = high - (high - low) * depth_m / anchor_m if anchor_m > 0 else high
            return tolerated(n2, he, surface_bar + depth_m * bar_per_m, factor, slack=1e-13)

        if holds(0.0):
            found.append(0.0)
            continue
        looked_at = [anchor_m * step / steps for step in range(steps + 1)]
        first = next((d for d in looked_at if holds(d)), anchor_m)
        found.append(halved(max(0.0, first - anchor_m / steps), first, holds))
    return found


def no_stop_min(n2, he, ambient_bar, surface_bar, f_n2, f_he, high, step=0.5):
    """First time at which a compartment would be over its surfacing limit; None within 24 h."""
    dry_bar = ambient_bar - WATER_BAR

    def over(minutes):
        return not tolerated(*later(n2, he, dry_bar, f_n2, f_he, minutes), surface_bar, high)

    if over(0.0):
        return 0.0
    for index in range(1, math.ceil(1440 / step) + 1):
        if over(index * step):
            return halved((index - 1) * step, index * step, over)
    return None


def last_minute_over(n2, he, surface_bar, limit, horizon_min=30_000.0, step=1.0):
    """End of the last interval, on air at the surface, in which a compartment is over `limit(i, n2, he)`."""
    dry_bar = surface_bar - WATER_BAR

    def over(minutes):
        n2_then, he_then = later(n2, he, dry_bar, AIR_N2, 0.0, minutes)
        return any(n2_then[i] + he_then[i] > limit(i, n2_then, he_then) for i in range(16))

    if over(horizon_min):
        return None
    last = next((m for m in range(int(horizon_min / step), -1, -1) if over(m * step)), None)
    if last is None:
        return 0.0
    return halved(last * step, (last + 1) * step, lambda m: not over(m))
