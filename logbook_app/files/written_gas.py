"""A gas as a diver writes it, with all its digits."""

from __future__ import annotations

from logbook_app.physics.breathing_gas import AIR, BreathingGas, parse_gas


def gas_text(gas: BreathingGas) -> str:
    """Return a text that `parse_gas` makes exactly this gas of: "air", "32", "18/45", "0.3217".

    >>> gas_text(BreathingGas(0.32)), gas_text(BreathingGas(0.18, 0.45)), gas_text(BreathingGas(1.0))
    ('32', '18/45', 'oxygen')
    """
    if gas == AIR:
        return "air"
    shares = (gas.oxygen, gas.helium) if gas.helium else (gas.oxygen,)
    in_percent = "/".join(f"{share * 100:.10g}" for share in shares)
    if gas == BreathingGas(1.0):
        return "oxygen"
    if _gives(in_percent, gas):
        return in_percent
    return "/".join(f"{share:.20f}".rstrip("0") for share in shares)


def _gives(text: str, gas: BreathingGas) -> bool:
    try:
        return parse_gas(text) == gas
    except ValueError:
        return False
