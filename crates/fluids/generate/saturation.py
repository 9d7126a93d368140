"""Sweeps of the saturation dome and their compression into piecewise polynomials."""

import CoolProp.CoolProp as CP
import numpy as np
from scipy.interpolate import make_interp_spline

DEGREE = 7
PROPERTIES = ["t", "rho", "h", "s"]


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


def piecewise(function, low, high, segments):
    """Coefficients[segment][power] in the local variable -1..1, by interpolation at Chebyshev nodes."""
    nodes = np.cos(np.pi * (np.arange(DEGREE + 1) + 0.5) / (DEGREE + 1))
    width = (high - low) / segments
    table = []
    for segment in range(segments):
        middle = low + (segment + 0.5) * width
        values = function(middle + nodes * width / 2)
        table.append(np.polynomial.chebyshev.cheb2poly(np.polynomial.chebyshev.chebfit(nodes, values, DEGREE)))
    return np.array(table)


def evaluate(table, low, high, x):
    """The same arithmetic as the Rust code, for the error report."""
    segments = len(table)
    position = (np.asarray(x) - low) / (high - low) * segments
    index = np.clip(position.astype(int), 0, segments - 1)
    local = 2.0 * (position - index) - 1.0
    result = np.zeros_like(local)
    for power in range(DEGREE, -1, -1):
        result = result * local + table[index, power]
    return result


class Dome:
    """Splines through the two swept curves, and the piecewise tables made from them."""

    def __init__(self, refrigerant):
        self.refrigerant = refrigerant
        dh, ds = reference_offset(refrigerant)
        self.curves, self.dropped = [], 0
        for quality in (0, 1):
            rows, dropped = sweep(refrigerant, quality)
            rows[:, 3] += dh
            rows[:, 4] += ds
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
        self.t_high = float(make_interp_spline(bubble_p, bubble_t)(ln_high)) - 1e-4
        # Critical pressure of a pure fluid, or a value a little above the table's top: the root-like
        # shape of the dome sits at w = 0.
        self.p_anchor = max(critical_pressure(refrigerant), self.p_high * 1.001)
        self.w_low = np.sqrt(np.log(self.p_anchor / self.p_high))
        self.w_high = np.sqrt(np.log(self.p_anchor / self.p_low))
        self.by_w = []
        self.ln_p_of_t = []
        for rows in self.curves:
            inside = rows[rows[:, 1] < self.p_anchor]
            w = np.sqrt(np.log(self.p_anchor / inside[:, 1]))[::-1]
            self.by_w.append(
                {name: make_interp_spline(w, inside[::-1, column], k=5)
                 for name, column in zip(PROPERTIES, (0, 2, 3, 4))}
            )
            self.ln_p_of_t.append(make_interp_spline(rows[:, 0], np.log(rows[:, 1]), k=5))

    def tables(self, segments_p, segments_t):
        by_pressure = []
        for name in PROPERTIES:
            for end in (0, 1):
                by_pressure.append(piecewise(self.by_w[end][name], self.w_low, self.w_high, segments_p))
        by_temperature = [
            piecewise(lambda t, end=end: np.exp(self.ln_p_of_t[end](t)),
                      self.t_low, self.t_high, segments_t)
            for end in (0, 1)
        ]
        return by_pressure, by_temperature

    def errors(self, by_pressure, by_temperature):
        """Largest departures of the tables from the swept points themselves."""
        report = {}
        for end in (0, 1):
            rows = self.curves[end]
            inside = rows[(rows[:, 1] >= self.p_low) & (rows[:, 1] <= self.p_high)]
            w = np.sqrt(np.log(self.p_anchor / inside[:, 1]))
            for index, (name, column) in enumerate(zip(PROPERTIES, (0, 2, 3, 4))):
                value = evaluate(by_pressure[2 * index + end], self.w_low, self.w_high, w)
                error = np.abs(value - inside[:, column])
                if name == "rho":
                    error = error / inside[:, column]
                report[f"{name}{'bd'[end]}"] = error.max()
            inside = rows[(rows[:, 0] >= self.t_low) & (rows[:, 0] <= self.t_high)]
            value = evaluate(by_temperature[end], self.t_low, self.t_high, inside[:, 0])
            report[f"p{'bd'[end]}"] = np.abs(value / inside[:, 1] - 1).max()
        return report


def critical_pressure(refrigerant):
    if refrigerant.is_mixture:
        points = [p for p in refrigerant.state().all_critical_points() if p.stable]
        return points[0].p
    return CP.PropsSI("pcrit", refrigerant.coolprop)
