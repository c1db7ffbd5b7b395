"""One diver on the way up, in plain Python: the measure for the stops of the product.

It imports nothing of the product. The rules are written out once more, one diver and one leg at a time.
The tensions come either from the textbook form of Schreiner's equation or, with no solution of anybody's in
it, from the differential equation in Runge-Kutta steps of one second.
"""

import math

from plain_simulation import AIR_N2, HE, N2, WATER_BAR, ceiling_at_one_factor_m, tolerated

RATE_M_MIN = 10.0


def schreiner(p, q0, q1, half_time, minutes):
    k, slope = math.log(2) / half_time, (q1 - q0) / minutes
    return q0 + slope * (minutes - 1 / k) - (q0 - p - slope / k) * math.exp(-k * minutes)


def second_by_second(p, q0, q1, half_time, minutes):
    k, seconds = math.log(2) / half_time, math.ceil(minutes * 60)
    h = minutes / seconds
    for n in range(seconds):
        qa, qb = q0 + (q1 - q0) * n / seconds, q0 + (q1 - q0) * (n + 1) / seconds
        qm = (qa + qb) / 2
        k1 = k * (qa - p)
        k2 = k * (qm - p - h / 2 * k1)
        k3 = k * (qm - p - h / 2 * k2)
        k4 = k * (qb - p - h * k3)
        p += h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    return p


class Diver:
    """Tensions, depth, and the deepest ceiling at the low factor at the ends of the legs swum so far."""

    def __init__(self, surface_bar=1.01325, low=0.4, high=0.85, law=schreiner, bar_per_m=0.1):
        self.surface_bar, self.low, self.high, self.law, self.bar_per_m = (
            surface_bar,
            low,
            high,
            law,
            bar_per_m,
        )
        self.n2, self.he = [(surface_bar - WATER_BAR) * AIR_N2] * 16, [0.0] * 16
        self.depth, self.anchor = 0.0, 0.0

    def ambient(self, depth):
        return self.surface_bar + depth * self.bar_per_m

    def there(self, depth, minutes, gas):
        """Tensions after going to a depth in some minutes on a gas, (oxygen, helium)."""
        if minutes == 0:
            return list(self.n2), list(self.he)
        dry = self.ambient(self.depth) - WATER_BAR, self.ambient(depth) - WATER_BAR
        nitrogen, helium = 1.0 - gas[0] - gas[1], gas[1]
        n2 = [
            self.law(p, dry[0] * nitrogen, dry[1] * nitrogen, N2[i][0], minutes)
            for i, p in enumerate(self.n2)
        ]
        if not helium and not any(self.he):
            return n2, [0.0] * 16
        he = [self.law(p, dry[0] * helium, dry[1] * helium, HE[i][0], minutes) for i, p in enumerate(self.he)]
        return n2, he

    def swim(self, depth, minutes, gas):
        self.n2, self.he = self.there(depth, minutes, gas)
        self.depth = depth
        low = ceiling_at_one_factor_m(self.n2, self.he, self.surface_bar, self.bar_per_m, self.low)
        self.anchor = max(self.anchor, low)
        return self

    def rest(self, minutes):
        """A surface interval on air; the next dive has its own anchor."""
        assert self.depth == 0
        self.n2, self.he = self.there(0.0, minutes, (0.21, 0.0))
        self.anchor = 0.0
        return self

    def go_up(self, gas, carried=(), longest_min=24 * 60):
        """Come up by the rules; return ([(depth, minutes, gas)], time to surface), or None over a day."""
        anchor = 3 * math.ceil(self.anchor / 3 - 1e-9)
        stops, elapsed = {}, 0.0
        n2, he, start = self.n2, self.he, self.depth
        while self.depth > 0:
            for other, switch_depth in carried:
                if switch_depth >= self.depth - 1e-9 and other[0] > gas[0]:
                    gas = other
            to = next(3 * n for n in range(1000, -1, -1) if 3 * n < self.depth - 1e-9)
            minutes = (self.depth - to) / RATE_M_MIN
            arrived = self.there(to, minutes, gas)
            factor = self.high if anchor == 0 else self.high - (self.high - self.low) * min(to / anchor, 1)
            if tolerated(*arrived, self.ambient(to), factor):
                (self.n2, self.he), self.depth = arrived, to
                elapsed += minutes
            else:
                self.n2, self.he = self.there(self.depth, 1, gas)
                stops[self.depth, gas] = stops.get((self.depth, gas), 0) + 1
                elapsed += 1
            if elapsed > longest_min:
                return None
        self.n2, self.he, self.depth = n2, he, start
        return [(depth, minutes, gas) for (depth, gas), minutes in stops.items()], elapsed
