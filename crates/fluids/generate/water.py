#!/usr/bin/env python3
"""Water against iapws (pip install iapws==1.5.5), an independent implementation of the same releases.

    cargo run --release --example water_grid | water.py       exit status 1 if any figure is off
"""

import csv
import sys

from iapws._iapws import _Sublimation_Pressure
from iapws.iapws97 import _PSat_T, _Region1, _TSat_P

ALLOWED = {
    "vapour_pressure": 1e-9,  # relative
    "boiling": 1e-7,  # K
    "density": 1e-11,  # relative
    "enthalpy": 1e-6,  # J/kg
    "heat_capacity": 1e-11,  # relative
}


def main():
    worst = dict.fromkeys(ALLOWED, 0.0)
    rows = 0

    def note(column, difference):
        worst[column] = max(worst[column], abs(difference))

    for row in csv.DictReader(sys.stdin):
        rows += 1
        kelvin = float(row["celsius"]) + 273.15
        vapour = float(row["vapour_pressure"])
        reference = 1e6 * (_Sublimation_Pressure(kelvin) if kelvin <= 273.16 else _PSat_T(kelvin))
        note("vapour_pressure", vapour / reference - 1.0)
        if not row["density"]:
            continue
        note("boiling", float(row["boiling"]) + 273.15 - _TSat_P(vapour * 1e-6))
        liquid = _Region1(kelvin, float(row["pressure"]) * 1e-6)
        note("density", float(row["density"]) * liquid["v"] - 1.0)
        note("enthalpy", float(row["enthalpy"]) - 1e3 * liquid["h"])
        note("heat_capacity", float(row["heat_capacity"]) / (1e3 * liquid["cp"]) - 1.0)
    for column, difference in worst.items():
        verdict = "ok" if difference <= ALLOWED[column] else "OFF"
        print(f"{column:16} worst {difference:.2e}, allowed {ALLOWED[column]:.0e}: {verdict}")
    print(f"{rows} states")
    off = any(worst[column] > ALLOWED[column] for column in ALLOWED)
    return 1 if off or rows < 1000 else 0


if __name__ == "__main__":
    sys.exit(main())
