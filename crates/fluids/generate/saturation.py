"""Sweeps of the saturation dome and their compression into piecewise polynomials."""

import CoolProp.CoolProp as CP
import numpy as np
from scipy.interpolate import make_interp_spline

import equations

DEGREE = 7
PROPERTIES = ["t", "rho", "h", "s"]
V_HALF = np.sqrt(0.5)


def sweep(refrigerant, quality, count=3000):
    """Saturated states at `quality` (0 bubble, 1 dew) from bottom to top, failures dropped.

    Points are spaced evenly in sqrt(top + margin - T), which is the natural scale of the dome
    near its critical point.
    """
    state = refrigerant.state()
    margin = 0.05
    u = np.linspace(np.sqrt(refrigerant.top_K + margin - refrigerant.bottom_K + refrigerant.sweep_below_K), np.sqrt(margin / 2), count)
    rows, dropped = [], 0
    for temperature in refrigerant.top_K + margin - u**2:
        try:
            state.update(CP.QT_INPUTS, quality, temperature)
            rows.append([temperature, state.p(), state.rhomass(), state.hmass(), state.smass()])
        except ValueError:
            dropped += 1
    rows = np.array(rows)
    # A flash that lands on the wrong root leaves the curve: drop what its neighbours contradict.
    keep = np.ones(len(rows), bool)
    for column in (1, 2):
        values = np.log(rows[:, column])
        middle = (values[:-2] + values[2:]) / 2
        keep[1:-1] &= np.abs(values[1:-1] - middle) < 0.02
    dropped += int(np.sum(~keep))
    return rows[keep], dropped


def reference_offset(refrigerant):
    """What to add to CoolProp's h and s for 200 kJ/kg and 1 kJ/(kg K) in saturated liquid at 0 degC."""
    state = refrigerant.state()
    state.update(CP.QT_INPUTS, 0, 273.15)
    return 200e3 - state.hmass(), 1e3 - state.smass()


def polynomial(function, low, high, x_of, inverse):
    """Coefficients in the local variable x between the arguments `low` and `high`, by interpolation at Chebyshev nodes.

    `x_of` gives x of an argument, `inverse` the argument of an x; x runs from -1 to 1 over a whole segment, of which
    [low, high] may be a part.
    """
    nodes = np.cos(np.pi * (np.arange(DEGREE + 1) + 0.5) / (DEGREE + 1))
    x_low, x_high = x_of(low), x_of(high)
    middle, half = (x_low + x_high) / 2, (x_high - x_low) / 2
    values = function(inverse(middle + nodes * half))
    series = np.polynomial.Chebyshev.fit(middle + nodes * half, values, DEGREE, domain=[x_low, x_high])
    return series.convert(kind=np.polynomial.Polynomial, domain=[-1, 1], window=[-1, 1]).coef


def evenly(function, low, high, segments):
    """Coefficients[segment][power] over equal segments of [low, high]."""
    width = (high - low) / segments
    table = []
    for segment in range(segments):
        middle = low + (segment + 0.5) * width
        table.append(polynomial(function, middle - width / 2, middle + width / 2,
                                lambda t, m=middle: (t - m) / width * 2, lambda x, m=middle: m + x * width / 2))
    return np.array(table)


def by_octave(function_of_q, q_low):
    """Coefficients[octave][power] over q in [1/4, 1/2), [1/8, 1/4) ... down to the one that holds `q_low`."""
    table = []
    high = 0.5
    while high > q_low:
        low = high / 2
        table.append(polynomial(function_of_q, max(low, q_low), high,
                                lambda q, low=low: 2 * (q / low - 1) - 1, lambda x, low=low: low * (1 + (x + 1) / 2)))
        high = low
    return np.array(table)


def horner(table, index, x):
    result = np.zeros_like(x)
    for power in range(DEGREE, -1, -1):
        result = result * x + table[index, power]
    return result


def evaluate_evenly(table, low, high, argument):
    position = (np.asarray(argument) - low) / (high - low) * len(table)
    index = np.clip(position.astype(int), 0, len(table) - 1)
    return horner(table, index, 2.0 * (position - index) - 1.0)


def evaluate_by_pressure(upper, lower, v_low, q):
    """The same arithmetic as the Rust code, for the error report."""
    v = np.sqrt(1 - q)
    result = evaluate_evenly(upper, v_low, V_HALF, v)
    mantissa, exponent = np.frexp(q)  # q = mantissa * 2^exponent, mantissa in [1/2, 1)
    index = np.clip(-exponent - 1, 0, len(lower) - 1)
    below = horner(lower, index, 2 * (2 * mantissa - 1) - 1)
    return np.where(q >= 0.5, result, below)


def caloric(equation, refrigerant, quality, temperature, density):
    """Enthalpy and entropy by `equation`; the residual derivatives are the library's."""
    state = refrigerant.state()
    state.specify_phase(CP.iphase_gas if quality else CP.iphase_liquid)
    state.update(CP.DmassT_INPUTS, density, temperature)
    tau, delta = equation.t_reducing / temperature, density / equation.molar_mass / equation.rho_reducing
    value, first, _ = equations.ideal_derivatives(equation, tau)
    r = equation.gas_constant / equation.molar_mass
    energy = tau * (first + state.dalphar_dTau())
    return (r * temperature * (1 + delta * state.dalphar_dDelta() + energy),
            r * (energy - np.log(delta) - value - state.alphar()))


class Dome:
    """Splines through the two swept curves, and the piecewise tables made from them."""

    def __init__(self, refrigerant, equation=None):
        """With `equation`, h and s of the two curves are taken from it instead of from the library's own sums."""
        self.refrigerant = refrigerant
        dh, ds = reference_offset(refrigerant)
        self.curves, self.dropped = [], 0
        for quality in (0, 1):
            rows, dropped = sweep(refrigerant, quality)
            if equation is None:
                rows[:, 3] += dh
                rows[:, 4] += ds
            else:
                rows[:, 3:5] = [caloric(equation, refrigerant, quality, row[0], row[2]) for row in rows]
            self.curves.append(rows)
            self.dropped += dropped
        bubble, dew = self.curves
        # Every saturation temperature served has both its pressures in the pressure table, and the other way about: the table begins at
        # the dew pressure of the lowest temperature and ends where the dew curve does; the highest temperature served is the
        # bubble temperature there.
        bubble_t, bubble_p = bubble[:, 0], np.log(bubble[:, 1])
        dew_t, dew_p = dew[:, 0], np.log(dew[:, 1])
        ln_low = min(make_interp_spline(t, p)(refrigerant.bottom_K) for t, p in ((bubble_t, bubble_p), (dew_t, dew_p)))
        ln_high = min(make_interp_spline(t, p)(refrigerant.top_K) for t, p in ((bubble_t, bubble_p), (dew_t, dew_p)))
        self.p_low, self.p_high = np.exp(ln_low) * (1 - 1e-6), np.exp(ln_high)
        self.t_low = refrigerant.bottom_K
        self.t_high = float(make_interp_spline(bubble_p, bubble_t)(ln_high)) - 1e-3
        # Critical pressure of a pure fluid, or a value a little above the table's top: the root-like shape of the dome sits at
        # q = p / p_anchor = 1.
        self.p_anchor = max(critical_pressure(refrigerant), self.p_high * 1.001)
        # The Rust code multiplies by the rounded inverse: so does this.
        self.inverse_anchor = 1.0 / self.p_anchor
        self.v_low = float(np.sqrt(1 - self.p_high * self.inverse_anchor))
        self.by_v = []
        self.ln_p_of_t = []
        for rows in self.curves:
            inside = rows[rows[:, 1] < self.p_anchor]
            # w = sqrt(-ln q) is smooth over the whole curve, so the splines run in it.
            w = np.sqrt(-np.log(inside[:, 1] * self.inverse_anchor))[::-1]
            self.by_v.append(
                {name: make_interp_spline(w, inside[::-1, column], k=5)
                 for name, column in zip(PROPERTIES, (0, 2, 3, 4))}
            )
            self.ln_p_of_t.append(make_interp_spline(rows[:, 0], np.log(rows[:, 1]), k=5))

    def _of_q(self, end, name):
        return lambda q: self.by_v[end][name](np.sqrt(-np.log(q)))

    def tables(self, segments_p, segments_t):
        """Against pressure (upper part, lower part; by property and end) and against temperature (by end)."""
        ends = [(name, end) for name in PROPERTIES for end in (0, 1)]
        upper = [evenly(lambda v, f=self._of_q(end, name): f(1 - v**2), self.v_low, V_HALF, segments_p)
                 for name, end in ends]
        q_low = self.p_low * self.inverse_anchor
        lower = [by_octave(self._of_q(end, name), q_low) for name, end in ends]
        by_temperature = [evenly(lambda t, f=self.ln_p_of_t[end]: np.exp(f(t)), self.t_low, self.t_high, segments_t)
                          for end in (0, 1)]
        return upper, lower, by_temperature

    def errors(self, upper, lower, by_temperature):
        """Largest departures of the tables from the swept points themselves."""
        report = {}
        for end in (0, 1):
            rows = self.curves[end]
            inside = rows[(rows[:, 1] >= self.p_low) & (rows[:, 1] <= self.p_high)]
            q = inside[:, 1] * self.inverse_anchor
            for index, (name, column) in enumerate(zip(PROPERTIES, (0, 2, 3, 4))):
                value = evaluate_by_pressure(upper[2 * index + end], lower[2 * index + end], self.v_low, q)
                error = np.abs(value - inside[:, column])
                if name == "rho":
                    error = error / inside[:, column]
                report[f"{name}{'bd'[end]}"] = error.max()
            inside = rows[(rows[:, 0] >= self.t_low) & (rows[:, 0] <= self.t_high)]
            value = evaluate_evenly(by_temperature[end], self.t_low, self.t_high, inside[:, 0])
            report[f"p{'bd'[end]}"] = np.abs(value / inside[:, 1] - 1).max()
        return report


def critical_pressure(refrigerant):
    if refrigerant.is_mixture:
        points = [p for p in refrigerant.state().all_critical_points() if p.stable]
        return points[0].p
    return CP.PropsSI("pcrit", refrigerant.coolprop)
