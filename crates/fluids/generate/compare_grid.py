"""Dense comparison of this crate with CoolProp 8.0.0, run live. Exit status 1 if a limit is missed.

    cargo build --release -p halfsplit-fluids --example refrigerant_values
    python compare_grid.py [path of the example]

For every refrigerant: saturation from -40 degC to the lower of 70 degC and the table's top, superheat to 130 degC,
subcooled liquid, dense fluid above the critical pressure, and the inverse requests p,h and p,s at the same states.
"""

import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

import grid
from refrigerants import REFRIGERANTS
from saturation import critical_pressure

EXAMPLE = Path(__file__).resolve().parents[3] / "target/release/examples/refrigerant_values"
T_LIMIT, H_LIMIT = 0.01, 50.0  # K, J/kg


def points(refrigerant):
    low, high = grid.bounds(refrigerant)
    yield from grid.saturation_points(refrigerant, [float(t) for t in np.arange(low, high, 0.1)])
    yield from grid.single_phase_points(refrigerant, "vapour", grid.vapour_pairs(refrigerant, 45, 40))
    yield from grid.single_phase_points(refrigerant, "liquid", grid.liquid_pairs(refrigerant, 40, 30))
    pairs = grid.dense_pairs(refrigerant, 15, 60, critical_pressure(refrigerant))
    yield from grid.single_phase_points(refrigerant, "dense", pairs)


def ask(example, requests):
    done = subprocess.run([example], input="\n".join(requests), capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


def compare(example, refrigerant):
    """Largest differences by kind, and the number of points and errors."""
    asked = list(points(refrigerant))
    answers = ask(example, [request for _, request, _ in asked])
    assert len(answers) == len(asked)
    worst, counts, errors = defaultdict(lambda: defaultdict(float)), defaultdict(int), []
    for (kind, request, expected), answer in zip(asked, answers):
        counts[kind] += 1
        if answer.startswith("error"):
            errors.append((kind, request, answer))
            continue
        got = np.array([float(word) for word in answer.split()])
        want = np.array(expected)
        if kind.startswith("p "):
            got = got[:1] if "bubble" in kind else got[1:]
            worst[kind]["p rel"] = max(worst[kind]["p rel"], abs(got[0] / want[0] - 1))
            continue
        if kind in ("bubble", "dew"):
            got = got[:4] if kind == "bubble" else got[4:]
        difference = np.abs(got - want)
        record = worst[kind]
        for name, index in (("T", 0), ("h", 2), ("s", 3)):
            record[name] = max(record[name], difference[index])
        record["rho rel"] = max(record["rho rel"], difference[1] / want[1])
        if len(want) > 4:
            for name, index in (("cp rel", 5), ("cv rel", 6), ("w rel", 7)):
                record[name] = max(record[name], difference[index] / want[index])
    return worst, counts, errors


def main():
    example = sys.argv[1] if len(sys.argv) > 1 else EXAMPLE
    failed = False
    total = 0
    for refrigerant in REFRIGERANTS:
        worst, counts, errors = compare(example, refrigerant)
        total += sum(counts.values())
        print(f"\n{refrigerant.name}")
        for kind, record in worst.items():
            shown = "  ".join(f"{name} {value:.1e}" for name, value in record.items())
            print(f"  {kind:12} {counts[kind]:5} points  {shown}")
            if record.get("T", 0) > T_LIMIT or record.get("h", 0) > H_LIMIT or record.get("p rel", 0) > 1e-4:
                print("    LIMIT MISSED")
                failed = True
        for kind, request, answer in errors[:5]:
            print(f"    ERROR {kind}: {request}: {answer}")
        if errors:
            print(f"    {len(errors)} errors")
            failed = True
    print(f"\n{total} points, limits {T_LIMIT} K and {H_LIMIT} J/kg: {'FAILED' if failed else 'kept'}")
    sys.exit(failed)


if __name__ == "__main__":
    main()
