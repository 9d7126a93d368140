#!/usr/bin/env python3
"""Moist air against PsychroLib (pip install psychrolib==2.5.0).

    moist_air.py fixture > ../tests/air_psychrolib.csv     writes the small table the tests use
    cargo run --release --example moist_air_grid | moist_air.py compare
                                                           compares a dense grid; exit status 1 if any figure is off

PsychroLib stops its searches at 0.001 K; that tolerance is tightened here so that the searches do not hide anything.
"""

import csv
import sys

import psychrolib as psy

psy.SetUnitSystem(psy.SI)
psy.PSYCHROLIB_TOLERANCE = 1e-11

# Largest difference allowed, per column. Pressures, ratios and volumes relative, temperatures in K, enthalpy in J/kg.
RELATIVE = {"pressure": 1e-12, "saturation": 1e-12, "humidity_ratio": 1e-11, "volume": 1e-11}
ABSOLUTE = {"wet_bulb": 1e-8, "dew_point": 1e-7, "enthalpy": 1e-5}


def state(altitude, dry_bulb, humidity):
    pressure = psy.GetStandardAtmPressure(altitude)
    ratio = psy.GetHumRatioFromRelHum(dry_bulb, humidity, pressure)
    return {
        "pressure": pressure,
        "saturation": psy.GetSatVapPres(dry_bulb),
        "humidity_ratio": ratio,
        "wet_bulb": psy.GetTWetBulbFromHumRatio(dry_bulb, ratio, pressure),
        "dew_point": psy.GetTDewPointFromHumRatio(dry_bulb, ratio, pressure),
        "enthalpy": psy.GetMoistAirEnthalpy(dry_bulb, ratio),
        "volume": psy.GetMoistAirVolume(dry_bulb, ratio, pressure),
    }


def fixture():
    out = csv.writer(sys.stdout, lineterminator="\n")
    columns = [*RELATIVE, *ABSOLUTE]
    out.writerow(["altitude", "dry_bulb", "relative_humidity", *columns])
    for altitude in (0.0, 1500.0, 4000.0):
        for dry_bulb in (-30.0, -8.0, 3.0, 12.5, 20.0, 27.0, 35.0, 46.0, 60.0):
            for humidity in (0.08, 0.35, 0.62, 0.97):
                values = state(altitude, dry_bulb, humidity)
                out.writerow([altitude, dry_bulb, humidity, *(repr(values[c]) for c in columns)])


def compare():
    worst = {column: (0.0, "") for column in (*RELATIVE, *ABSOLUTE)}
    two_wet_bulbs = rows = too_dry = 0
    for row in csv.DictReader(sys.stdin):
        rows += 1
        dry_bulb, humidity = float(row["dry_bulb"]), float(row["relative_humidity"])
        expected = state(float(row["altitude"]), dry_bulb, humidity)
        where = f"{row['altitude']} m, {dry_bulb} °C, {humidity:.0%}"
        for column in worst:
            ours, theirs = float(row[column]), expected[column]
            difference = abs(ours / theirs - 1.0) if column in RELATIVE else abs(ours - theirs)
            if column == "wet_bulb" and difference > ABSOLUTE[column] and -1.5 < theirs < 1.5:
                # Near 0 °C one humidity has a wet bulb with a frozen and one with an unfrozen wick, and which of
                # them a search finds is chance: ours must then lead back to the same humidity.
                back = psy.GetHumRatioFromTWetBulb(dry_bulb, ours, expected["pressure"])
                difference = abs(back - expected["humidity_ratio"]) * 1e3
                two_wet_bulbs += 1
            if difference > worst[column][0]:
                worst[column] = (difference, where)
    failed = False
    for column, (difference, where) in worst.items():
        allowed = RELATIVE.get(column) or ABSOLUTE[column]
        kind = "relative" if column in RELATIVE else "absolute"
        verdict = "ok" if difference <= allowed else "OFF"
        failed |= difference > allowed
        print(f"{column:15} worst {difference:.2e} {kind}, allowed {allowed:.0e}: {verdict}  ({where})")
    print(f"{rows} states; {two_wet_bulbs} with two wet bulbs, checked by the way back")
    if rows < 1000:
        print("too few states on standard input: was the grid piped in?")
        failed = True
    return 1 if failed else 0


if __name__ == "__main__":
    if sys.argv[1:] == ["fixture"]:
        fixture()
    elif sys.argv[1:] == ["compare"]:
        sys.exit(compare())
    else:
        sys.exit(__doc__)
