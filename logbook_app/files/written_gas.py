"""A gas as a diver writes it, with all its digits."""

from __future__ import annotations

from decimal import Decimal

from logbook_app.physics.breathing_gas import AIR, OXYGEN, BreathingGas, parse_gas


def gas_text(gas: BreathingGas) -> str:
    """Return a text that `parse_gas` makes exactly this gas of: "air", "32", "18/45", "0.3217".

    >>> gas_text(BreathingGas(0.32)), gas_text(BreathingGas(0.18, 0.45)), gas_text(BreathingGas(1.0))
    ('32', '18/45', 'oxygen')
    """
    if gas in (AIR, OXYGEN):
        return "air" if gas == AIR else "oxygen"
    shares = (gas.oxygen, gas.helium) if gas.helium else (gas.oxygen,)
    in_percent = "/".join(f"{share * 100:.10g}" for share in shares)
    if _gives(in_percent, gas):
        return in_percent
    return "/".join(f"{Decimal(repr(share)):f}" for share in shares)


def _gives(text: str, gas: BreathingGas) -> bool:
    try:
        return parse_gas(text) == gas
    except ValueError:
        return False
