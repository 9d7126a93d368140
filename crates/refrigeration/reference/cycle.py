"""The water heater's healthy cycle worked out a second time: properties of refrigerant and moist air from CoolProp, the balance
found by scipy, two-phase densities summed up numerically. Shares with the crate the sizes and the published relations
(volumetric and overall efficiency, exchanger effectiveness, Zivi's void fraction), none of its code.

    python cycle.py            writes cycle.txt beside itself
    python cycle.py --check    compares with it; exit code 1 if they differ
"""

import math
import pathlib
import sys

from CoolProp.CoolProp import HAPropsSI, PropsSI
from scipy.integrate import quad
from scipy.optimize import fsolve

HERE = pathlib.Path(__file__).parent
FLUID = "R134a"
ATMOSPHERE = 101325.0
AIR, HUMIDITY, SUPERHEAT = 293.15, 0.5, 6.0
SIZE = {k: float(v) for k, v in (line.split() for line in (HERE / "sizes.txt").read_text().splitlines())}


def two_phase_density(p, x0, x1):
    rho_l, rho_g = PropsSI("D", "P", p, "Q", 0, FLUID), PropsSI("D", "P", p, "Q", 1, FLUID)

    def void(x):
        return 1 / (1 + (1 - x) / x * (rho_g / rho_l) ** (2 / 3)) if x > 0 else 0.0

    mean = quad(void, x0, x1)[0] / (x1 - x0)
    return mean * rho_g + (1 - mean) * rho_l


def exponential_mean(steps):
    """Mean of an exponential approach above its end, as a share of the whole way."""
    return 1 / steps - 1 / math.expm1(steps)


def loop(t_e, t_c, water):
    """Everything that follows from the two saturation temperatures; returns the residuals and a record."""
    s = SIZE
    p_e, p_c = PropsSI("P", "T", t_e, "Q", 1, FLUID), PropsSI("P", "T", t_c, "Q", 1, FLUID)
    h1, s1, d1 = (PropsSI(k, "P", p_e, "T", t_e + SUPERHEAT, FLUID) for k in "HSD")
    ratio = p_c / p_e
    flow = s["displacement"] * (s["fill"] - s["fill_loss"] * (ratio - 1)) * d1
    x = math.log(ratio / s["best_ratio"])
    efficiency = s["best_efficiency"] * (1 - (0.37 if x < 0 else 0.16) * x * x)
    work = (PropsSI("H", "P", p_c, "S", s1, FLUID) - h1) / efficiency
    h2 = h1 + work * (1 - s["shell_loss"])
    t2, d2 = PropsSI("T", "P", p_c, "H", h2, FLUID), PropsSI("D", "P", p_c, "H", h2, FLUID)
    relative = flow / s["rated_flow"]

    # Condenser: standing water, so conductance times difference in every zone.
    warmth = math.exp(0.0098 * (water - 323.15))
    outside = s["outside"] * warmth

    def conductance(inside):
        return 1 / (1 / outside + 1 / inside)

    h_g, h_f = PropsSI("H", "P", p_c, "Q", 1, FLUID), PropsSI("H", "P", p_c, "Q", 0, FLUID)
    d_g, d_f = PropsSI("D", "P", p_c, "Q", 1, FLUID), PropsSI("D", "P", p_c, "Q", 0, FLUID)
    steps = math.log((t2 - water) / (t_c - water))
    hot = flow * (h2 - h_g) / (t2 - t_c) * steps / conductance(s["condenser_vapour"] * relative**0.8)
    wet = flow * (h_g - h_f) / (conductance(s["condensing"] * relative**0.4) * (t_c - water))
    left = 1 - hot - wet
    cp = PropsSI("C", "P", p_c, "Q", 0, FLUID)
    for _ in range(6):
        t3 = water + (t_c - water) * math.exp(-conductance(s["liquid"] * relative**0.8) * left / (flow * cp))
        t3 = min(t3, t_c - 0.05)  # the search may pass where nothing is left for the liquid
        h3 = PropsSI("H", "P", p_c, "T", t3, FLUID)
        cp = (h_f - h3) / (t_c - t3)
    d3 = PropsSI("D", "P", p_c, "T", t3, FLUID)
    condenser = hot * (d_g + exponential_mean(steps) * (d2 - d_g)) + wet * two_phase_density(p_c, 0, 1) + left * (d_f + d3) / 2

    # Evaporator in moist air, dry or wet whichever takes more.
    humidity = HAPropsSI("W", "T", AIR, "R", HUMIDITY, "P", ATMOSPHERE)
    dew = HAPropsSI("D", "T", AIR, "R", HUMIDITY, "P", ATMOSPHERE)
    cp_air = HAPropsSI("C", "T", AIR, "R", HUMIDITY, "P", ATMOSPHERE)
    h_air = HAPropsSI("H", "T", AIR, "W", humidity, "P", ATMOSPHERE)

    def saturated(t):
        return HAPropsSI("H", "T", t, "R", 1, "P", ATMOSPHERE)

    inside = s["boiling"] * relative**0.4
    stream = s["air_flow"] * cp_air
    heat = stream * (1 - math.exp(-1 / (1 / s["air_side"] + 1 / inside) / stream)) * (AIR - t_e)
    if t_e < dew:
        slope = max((saturated(dew) - saturated(t_e)) / (dew - t_e), cp_air)
        ntu = 1 / (cp_air / s["air_side"] + slope / inside) / s["air_flow"]
        heat = max(heat, s["air_flow"] * (1 - math.exp(-ntu)) * (h_air - saturated(t_e)))
    e_g, e_f = PropsSI("H", "P", p_e, "Q", 1, FLUID), PropsSI("H", "P", p_e, "Q", 0, FLUID)
    boiling = flow * (e_g - h3) / heat
    reach = stream * (1 - math.exp(-1 / (1 / s["air_side"] + 1 / (s["evaporator_vapour"] * relative**0.8)) / stream))
    cp_gas = (h1 - e_g) / SUPERHEAT
    superheat = (AIR - t_e) * (1 - math.exp(-reach * (1 - boiling) / (flow * cp_gas)))
    quality = (h3 - e_f) / (e_g - e_f)
    gas = PropsSI("D", "P", p_e, "Q", 1, FLUID)
    evaporator = boiling * two_phase_density(p_e, quality, 1) + (1 - boiling) * (gas + d1) / 2

    mass = s["volume_condenser"] * condenser + s["volume_liquid"] * d3
    mass += s["volume_evaporator"] * evaporator + s["volume_suction"] * d1
    record = {
        "evaporating": t_e,
        "condensing": t_c,
        "suction_pressure": p_e,
        "discharge_pressure": p_c,
        "flow": flow,
        "power": flow * work,
        "heat": flow * (h2 - h3),
        "discharge": t2,
        "liquid": t3,
        "boiling_share": boiling,
    }
    return [(superheat - SUPERHEAT) / SUPERHEAT, mass / s["charge"] - 1], record


def solve(celsius):
    water = celsius + 273.15
    t_e, t_c = fsolve(lambda y: loop(y[0], y[1], water)[0], [279.0, water + 8.5], xtol=1e-11)
    residuals, record = loop(t_e, t_c, water)
    assert max(map(abs, residuals)) < 1e-8, residuals
    return record


def text():
    lines = ["# Written by cycle.py with CoolProp 8.0.0; SI units. Air 20 degC, 50 %, superheat 6 K."]
    for celsius in (20.0, 35.0, 50.0, 60.0):
        values = " ".join(f"{k}={v:.8g}" for k, v in solve(celsius).items())
        lines.append(f"water={celsius} {values}")
    return "\n".join(lines) + "\n"


def main():
    stored = HERE / "cycle.txt"
    now = text()
    if "--check" not in sys.argv:
        stored.write_text(now)
        return

    def numbers(t):
        return [float(w.split("=")[1]) for line in t.splitlines()[1:] for w in line.split()]

    worst = max(abs(a / b - 1) for a, b in zip(numbers(now), numbers(stored.read_text()), strict=True))
    print(f"cycle.txt against a fresh solution: largest relative difference {worst:.1e}")
    if worst > 1e-6:
        sys.exit("cycle.txt is out of date: run cycle.py and look at what changed")


if __name__ == "__main__":
    main()
