"""Tires: what the speed symbol and load index allow, and how hard a tread is thrown outward."""

from __future__ import annotations

from generator.formulas.formula import Symbol, formula


@formula(
    equation=r"a_{t} = \frac{v^2}{r}",
    result=Symbol("a_{t}", "acceleration", "acceleration of the tread"),
    source="kinematics of rolling",
    speed=Symbol("v", "speed", "speed over ground"),
    radius=Symbol("r", "length", "radius of the tread"),
)
def tread_acceleration(*, speed: float, radius: float) -> float:
    """Acceleration in m/s² that the tread undergoes away from the contact patch."""
    return speed * speed / radius


def load_share(symbol: str, speed: float) -> float | None:
    """Share of the load-index load a tire may carry at a speed in m/s; None above its symbol.

    V: full to 210 km/h, falling in proportion to 91 % at 240. W: full to 240, falling to 85 % at
    270. Other symbols up to H: full up to the symbol's speed (myengineerings.com/tyre-load-capacity).
    Y as W, and None above 270 km/h: no table of its load there could be read, and the source leaves
    it to what vehicle and tire makers agree.
    """
    kmh = round(speed * 3.6, 6)
    steps = {"V": (210.0, 240.0, 0.91), "W": (240.0, 270.0, 0.85), "Y": (240.0, 270.0, 0.85)}
    if symbol in steps:
        full, most, share = steps[symbol]
        if kmh > most:
            return None
        return 1.0 if kmh <= full else 1.0 - (1.0 - share) * (kmh - full) / (most - full)
    return 1.0 if kmh <= SPEED_SYMBOLS[symbol] else None


SPEED_SYMBOLS = {
    "L": 120.0,
    "M": 130.0,
    "N": 140.0,
    "P": 150.0,
    "Q": 160.0,
    "R": 170.0,
    "S": 180.0,
    "T": 190.0,
    "U": 200.0,
    "H": 210.0,
    "V": 240.0,
    "W": 270.0,
    "Y": 300.0,
}
"""Speed in km/h of each speed symbol (barretire.com/Tires/tiresizes.htm, jaxtyres.com.au)."""
SPEED_SOURCE = "speed symbols: barretire.com/Tires/tiresizes.htm, jaxtyres.com.au (agree)"
LOAD_SOURCE = (
    "load index: barretire.com/Tires/tiresizes.htm and tyrepower; share at speed: myengineerings.com, Y taken "
    "as W"
)

LOAD_INDEX = {
    71: 345.0,
    75: 387.0,
    80: 450.0,
    82: 475.0,
    85: 515.0,
    87: 545.0,
    90: 600.0,
    91: 615.0,
    92: 630.0,
    94: 670.0,
    95: 690.0,
    97: 730.0,
    98: 750.0,
    99: 775.0,
    100: 800.0,
    101: 825.0,
    102: 850.0,
    103: 875.0,
    104: 900.0,
    105: 925.0,
    106: 950.0,
    108: 1000.0,
    110: 1060.0,
    112: 1120.0,
    115: 1215.0,
    120: 1400.0,
}
"""Load in kg of a tire by its load index, as far as the table was read."""
