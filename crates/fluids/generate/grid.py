"""Independent states from CoolProp: saturation, superheated vapour, subcooled liquid, dense fluid.

A point is (kind, request, expected): `request` is a line for examples/refrigerant_values.rs, `expected` the library's values in
the order of that program's answer, with h and s (and u) moved to this project's reference state.
"""

from functools import cache

import CoolProp.CoolProp as CP
import numpy as np

from saturation import Dome, reference_offset

CELSIUS = 273.15


def _values(state, offset):
    dh, ds = offset
    return [state.T(), state.rhomass(), state.hmass() + dh, state.smass() + ds, state.umass() + dh,
            state.cpmass(), state.cvmass(), state.speed_sound()]


def saturation_points(refrigerant, temperatures):
    """Both curves swept by temperature; the request is by pressure, so that a point serves one end."""
    offset = reference_offset(refrigerant)
    state = refrigerant.state()
    for quality, kind in ((0, "bubble"), (1, "dew")):
        for temperature in temperatures:
            try:
                state.update(CP.QT_INPUTS, quality, temperature)
            except ValueError:
                continue  # the mixture flash fails at single points
            values = [state.T(), state.rhomass(), state.hmass() + offset[0], state.smass() + offset[1]]
            yield kind, f"{refrigerant.name} sat {state.p()!r}", values
            yield f"p {kind}", f"{refrigerant.name} psat {temperature!r}", [state.p()]


def single_phase_points(refrigerant, kind, pairs, inverses=True):
    """`pairs` of (p, T); for each also the inverse requests from h and from s."""
    offset = reference_offset(refrigerant)
    state = refrigerant.state()
    if kind != "dense":
        state.specify_phase({"vapour": CP.iphase_gas, "liquid": CP.iphase_liquid}[kind])
    for p, temperature in pairs:
        if kind == "dense" and refrigerant.is_mixture:
            # Left to itself the library cannot classify the mixture here; told only "supercritical" it returns a root of higher Gibbs
            # energy at some cold points.
            cold = temperature < critical_temperature(refrigerant)
            state.specify_phase(CP.iphase_liquid if cold else CP.iphase_gas)
        try:
            state.update(CP.PT_INPUTS, p, temperature)
            values = _values(state, offset)
        except ValueError:
            continue
        p, temperature = float(p), float(temperature)
        yield kind, f"{refrigerant.name} pt {p!r} {temperature!r}", values
        if inverses:
            yield f"{kind} p,h", f"{refrigerant.name} ph {p!r} {values[2]!r}", values
            yield f"{kind} p,s", f"{refrigerant.name} ps {p!r} {values[3]!r}", values


def saturated(refrigerant, quality, temperature):
    """Saturation pressure, or None where the flash fails."""
    state = refrigerant.state()
    try:
        state.update(CP.QT_INPUTS, quality, temperature)
        return state.p()
    except ValueError:
        return None


def bounds(refrigerant):
    """Lowest and highest saturation temperature of the comparison: -40 degC to the lower of 70 degC and the table's top."""
    return max(-40 + CELSIUS, refrigerant.bottom_K), min(70 + CELSIUS, table_top(refrigerant))


@cache
def critical_temperature(refrigerant):
    return next(point.T for point in refrigerant.state().all_critical_points() if point.stable)


@cache
def table_top(refrigerant):
    """The highest temperature that the table serves at both ends."""
    return Dome(refrigerant).t_high


def vapour_pairs(refrigerant, pressures, temperatures, hottest=130 + CELSIUS):
    """From 0.02 K superheat to `hottest`, denser near the dew line."""
    low, high = bounds(refrigerant)
    for dew in np.linspace(low, high, pressures):
        p = saturated(refrigerant, 1, dew)
        if p is not None:
            for part in np.linspace(0, 1, temperatures):
                yield p, dew + 0.02 + (hottest - dew - 0.02) * part**2


def liquid_pairs(refrigerant, pressures, temperatures):
    """From 0.02 K subcooling down to -40 degC, denser near the bubble line."""
    low, high = bounds(refrigerant)
    for bubble in np.linspace(low + 1, high, pressures):
        p = saturated(refrigerant, 0, bubble)
        if p is not None:
            for part in np.linspace(0, 1, temperatures):
                yield p, bubble - 0.02 - (bubble - 0.02 - low) * part**2


def dense_pairs(refrigerant, pressures, temperatures, p_critical, hottest=130 + CELSIUS):
    """Above the critical pressure, to 15 MPa in R744 and to 1.8 times critical elsewhere."""
    low, _ = bounds(refrigerant)
    last = 15e6 if refrigerant.name == "R744" else 1.8 * p_critical
    for p in np.linspace(1.02 * p_critical, last, pressures):
        for temperature in np.linspace(low, hottest, temperatures):
            yield p, temperature
