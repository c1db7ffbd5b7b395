"""What the diver inspires on a closed circuit, which holds a partial pressure of oxygen, not a share.

The loop holds oxygen, the diluent's inert gas and water vapour. Oxygen takes its partial pressure first, the
inert gas gets what is left, and nitrogen and helium share it as they do in the diluent:

    inert = max(0, p_ambient - p_water - ppO2)
    nitrogen = inert * N2 / (N2 + He),   helium = inert * He / (N2 + He)      (shares of the diluent)

A set point above the dry ambient pressure cannot be reached: the loop is then pure oxygen. The diluent's own
oxygen plays no part, because what a descent brings in of it the diver breathes away.

Between samples: while depth changes, the loop's share of inert gas runs along a curve. `load_along` holds
a share from one sample to the next, so that feeding it the share of each sample would be wrong: with 1.3 bar
held from 10 to 40 m in one segment, by 2 bar of inert gas at its end. The inert pressure itself,
though, is a straight line, and `load_along` only ever sees a pressure less water vapour, times a
share. So it is given that line: an equivalent ambient pressure `p_water + inert`, and the shares of
nitrogen and helium in the inert gas. This is exact. Each segment is written down with a start and an end of
its own, so that set point or diluent may jump at a sample, and with the corner of its line where the loop
turns to pure oxygen on the way.

Source: Dalton's law; that the diluent keeps its mix, and that a set point means dry gas, common practice, no
source.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook_app.physics.constants import WATER_VAPOUR_37C_BAR
from logbook_app.physics.tissue_loading import Tensions, load_along
from logbook_app.physics.units import FloatArray


def loop_inert_bar(ambient_bar: npt.ArrayLike, ppo2_bar: npt.ArrayLike) -> FloatArray:
    """Return the pressure that is left for inert gas on a closed circuit. [bar]

        inert = max(0, p_ambient - p_water - ppO2)

    ambient_bar  absolute pressure, scalar or array [bar]
    ppo2_bar     partial pressure of oxygen in the loop, measured or set, scalar or array [bar]

    Source: at the head of this module.

    >>> loop_inert_bar([4.01325, 1.2], 1.3).round(5).tolist()
    [2.65055, 0.0]
    """
    dry_bar = np.asarray(ambient_bar, dtype=np.float64) - WATER_VAPOUR_37C_BAR
    return np.asarray(np.maximum(dry_bar - np.asarray(ppo2_bar, dtype=np.float64), 0.0))


def loop_fractions(
    ambient_bar: npt.ArrayLike,
    ppo2_bar: npt.ArrayLike,
    diluent_n2_fraction: npt.ArrayLike,
    diluent_he_fraction: npt.ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return the shares of nitrogen and helium that the loop amounts to at an instant. [fraction]

    ambient_bar          absolute pressure, scalar or shape (n,) [bar]
    ppo2_bar             partial pressure of oxygen in the loop, scalar or shape (n,) [bar]
    diluent_n2_fraction  share of nitrogen in the diluent, scalar or shape (n,) [fraction]
    diluent_he_fraction  share of helium in the diluent, scalar or shape (n,) [fraction]

    Good at the instant and for a stay at that depth (a no-stop time, a density); for tensions along a
    recording use `load_along_on_loop`. Source: at the head of this module.

    >>> n2, he = loop_fractions(5.0627, 1.3, 0.35, 0.45)
    >>> round(float(n2), 5), round(float(he), 5)
    (0.32375, 0.41625)
    """
    dry_bar = np.asarray(ambient_bar, dtype=np.float64) - WATER_VAPOUR_37C_BAR
    inert = loop_inert_bar(ambient_bar, ppo2_bar) / dry_bar
    n2_share, he_share = _shares_of_inert(diluent_n2_fraction, diluent_he_fraction)
    return np.asarray(inert * n2_share), np.asarray(inert * he_share)


@dataclass(frozen=True, eq=False)
class EquivalentSamples:
    """Samples on an open circuit that load the tissues exactly as a loop did, for `load_along`.

    time_min     time of each, never falling, shape (k,) [min]
    ambient_bar  equivalent pressure: water vapour and inert gas, shape (k,) [bar]
    n2_fraction  share of nitrogen in the inert gas from each on, shape (k,) [fraction]
    he_fraction  share of helium in the inert gas from each on, shape (k,) [fraction]
    row          which of them each sample of the recording became, shape (n,) [index, counted from 0]
    """

    time_min: FloatArray
    ambient_bar: FloatArray
    n2_fraction: FloatArray
    he_fraction: FloatArray
    row: npt.NDArray[np.intp]


def equivalent_samples(
    time_min: npt.ArrayLike,
    ambient_bar: npt.ArrayLike,
    n2_fraction: npt.ArrayLike,
    he_fraction: npt.ArrayLike,
    ppo2_start_bar: npt.ArrayLike,
    ppo2_end_bar: npt.ArrayLike,
) -> EquivalentSamples:
    """Return samples with which `load_along` loads the tissues as a recording with a loop would.

    time_min        time of each sample, never falling, shape (n,) [min]
    ambient_bar     absolute pressure at each sample, shape (n,) [bar]
    n2_fraction     share of nitrogen in diluent or open-circuit gas from each sample on, scalar or shape
                    (n,) [fraction]
    he_fraction     share of helium in it, scalar or shape (n,) [fraction]
    ppo2_start_bar  partial pressure of oxygen in the loop at the start of each segment, NaN where the open
                    circuit is breathed, shape (n - 1,) [bar]
    ppo2_end_bar    the same at its end, shape (n - 1,) [bar]

    A held set point has equal ends; a measured pressure ends a segment as it begins the next. A reading that
    is missing is not an open circuit and has to be filled in before. Exact for straight lines between
    samples. Raises ValueError when the shapes do not fit. Source: at the head of this module.

    >>> held = equivalent_samples([0.0, 3.0], [1.01325, 4.01325], 0.79, 0.0, [1.3], [1.3])
    >>> held.time_min.round(3).tolist(), held.ambient_bar.round(4).tolist(), held.row.tolist()
    ([0.0, 0.349, 3.0], [0.0627, 0.0627, 2.7132], [0, 2])
    """
    time, ambient = np.asarray(time_min, dtype=np.float64), np.asarray(ambient_bar, dtype=np.float64)
    start, end = (np.asarray(p, dtype=np.float64) for p in (ppo2_start_bar, ppo2_end_bar))
    if not (time.size > 0 and time.shape == ambient.shape and start.shape == end.shape == (time.size - 1,)):
        raise ValueError(
            f"Times {time.shape}, pressures {ambient.shape} and the oxygen of segments {start.shape}, "
            f"{end.shape} do not belong to one recording."
        )
    n2, he = (
        np.broadcast_to(np.asarray(f, dtype=np.float64), time.shape) for f in (n2_fraction, he_fraction)
    )
    n2_share, he_share = _shares_of_inert(n2, he)
    from_bar = _room_for_inert_bar(ambient[:-1], start, (n2 + he)[:-1])
    to_bar = _room_for_inert_bar(ambient[1:], end, (n2 + he)[:-1])
    corner = _share_before_zero(from_bar, to_bar)
    steps_min = np.diff(time)
    between = (corner > 0.0) & (corner < 1.0)
    # Start, corner where there is one, end of every segment; a lone sample has no segment.
    used = np.stack([np.ones_like(between), between, np.ones_like(between)], axis=1)
    times = np.stack([time[:-1], time[:-1] + corner * steps_min, time[1:]], axis=1)[used]
    inert_bar = np.maximum(np.stack([from_bar, np.zeros_like(from_bar), to_bar], axis=1), 0.0)[used]
    segment = np.nonzero(used)[0]
    ends = np.cumsum(np.sum(used, axis=1)) - 1
    if time.size == 1:
        return EquivalentSamples(time, ambient, n2_share, he_share, np.zeros(1, dtype=np.intp))
    return EquivalentSamples(
        time_min=times,
        ambient_bar=WATER_VAPOUR_37C_BAR + inert_bar,
        n2_fraction=n2_share[segment],
        he_fraction=he_share[segment],
        row=np.concatenate([[0], ends]),
    )


def load_along_on_loop(
    start: Tensions,
    time_min: npt.ArrayLike,
    ambient_bar: npt.ArrayLike,
    n2_fraction: npt.ArrayLike,
    he_fraction: npt.ArrayLike,
    ppo2_start_bar: npt.ArrayLike,
    ppo2_end_bar: npt.ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return the tensions at every sample of a recording with a closed circuit. [bar]

    start           tensions at the first sample [bar]
    time_min        time of each sample, never falling, shape (n,) [min]
    ambient_bar     absolute pressure at each sample, shape (n,) [bar]
    n2_fraction     share of nitrogen in diluent or open-circuit gas from each sample on, scalar or shape
                    (n,) [fraction]
    he_fraction     share of helium in it, scalar or shape (n,) [fraction]
    ppo2_start_bar  partial pressure of oxygen in the loop at the start of each segment, NaN where the open
                    circuit is breathed, shape (n - 1,) [bar]
    ppo2_end_bar    the same at its end, shape (n - 1,) [bar]

    Returns nitrogen and helium, shape (n, 16) each, as `tissue_loading.load_along` does; row 0 is the start.
    Source: at the head of this module.

    >>> from logbook_app.physics.tissue_loading import saturated_on_air
    >>> pressure = [4.01325, 4.01325]
    >>> n2, _ = load_along_on_loop(saturated_on_air(1.01325), [0.0, 30.0], pressure, 0.79, 0.0, [1.3], [1.3])
    >>> n2[:, 4].round(4).tolist()
    [0.7509, 1.7711]
    """
    samples = equivalent_samples(
        time_min, ambient_bar, n2_fraction, he_fraction, ppo2_start_bar, ppo2_end_bar
    )
    n2_bar, he_bar = load_along(
        start, samples.time_min, samples.ambient_bar, samples.n2_fraction, samples.he_fraction
    )
    return n2_bar[samples.row], he_bar[samples.row]


def _shares_of_inert(n2_fraction: npt.ArrayLike, he_fraction: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return how nitrogen and helium share the inert gas; nothing for either in pure oxygen. [fraction]"""
    n2, he = np.asarray(n2_fraction, dtype=np.float64), np.asarray(he_fraction, dtype=np.float64)
    inert = n2 + he
    whole = np.where(inert > 0.0, inert, 1.0)
    return np.asarray(n2 / whole), np.asarray(he / whole)


def _room_for_inert_bar(
    ambient_bar: FloatArray, ppo2_bar: FloatArray, inert_fraction: FloatArray
) -> FloatArray:
    """Return what is left for inert gas, below 0 where the oxygen asked for does not fit. [bar]"""
    dry_bar = ambient_bar - WATER_VAPOUR_37C_BAR
    return np.where(np.isnan(ppo2_bar), dry_bar * inert_fraction, dry_bar - ppo2_bar)


def _share_before_zero(from_bar: FloatArray, to_bar: FloatArray) -> FloatArray:
    """Return the share of each segment before its line crosses zero, 0 where it does not. [fraction]"""
    crosses = from_bar * to_bar < 0.0
    return np.where(crosses, from_bar / np.where(crosses, from_bar - to_bar, 1.0), 0.0)
