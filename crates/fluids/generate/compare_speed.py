"""Time per call of this crate and of CoolProp 8.0.0's low-level HEOS interface, over the same states in the same run.

    cargo build --release -p halfsplit-fluids --example refrigerant_speed
    python compare_speed.py [path of the example]

Exit status 1 if a single-phase p,T call is not at least three times as fast or a saturation temperature takes more than 30 ns. Best of
many short rounds on both sides. For CoolProp the bare `update` is timed, with the phase already imposed and without reading any property;
for this crate the call returns all properties. The Python loop around `update` costs some 0.1 us, printed as "loop".
"""

import subprocess
import sys
import time
from pathlib import Path

import CoolProp.CoolProp as CP
import numpy as np

import grid
from refrigerants import REFRIGERANTS

EXAMPLE = Path(__file__).resolve().parents[3] / "target/release/examples/refrigerant_speed"
ROUNDS = 40


def ours(example, refrigerant, kind, pairs):
    lines = "\n".join(f"{refrigerant.name} {kind} " + " ".join(repr(float(x)) for x in pair) for pair in pairs)
    done = subprocess.run([example], input=lines, capture_output=True, text=True, check=True)
    return float(done.stdout)


def timed(call, inputs, pairs):
    repeat = max(1, 200 // len(pairs))
    best = np.inf
    for _ in range(ROUNDS):
        start = time.perf_counter()
        for _ in range(repeat):
            for a, b in pairs:
                call(inputs, a, b)
        best = min(best, (time.perf_counter() - start) / (repeat * len(pairs)))
    return best * 1e9


def theirs(refrigerant, inputs, pairs, phase):
    state = refrigerant.state()
    if phase is not None:
        state.specify_phase(phase)
    return timed(state.update, inputs, pairs)


def main():
    example = sys.argv[1] if len(sys.argv) > 1 else EXAMPLE
    failed = False
    loop = timed(lambda inputs, a, b: None, 0, [(1.0, 1.0)] * 100)
    print(f"loop: {loop:.0f} ns\n")
    print(f"{'':12}{'what':14}{'ours, ns':>10}{'CoolProp, ns':>14}{'ratio':>8}")
    for refrigerant in REFRIGERANTS:
        vapour = [(p, t) for p, t in grid.vapour_pairs(refrigerant, 12, 10)][1:]
        liquid = [(p, t) for p, t in grid.liquid_pairs(refrigerant, 12, 10) if t > grid.bounds(refrigerant)[0]]
        rows = [("vapour p,T", "pt", CP.PT_INPUTS, vapour, CP.iphase_gas),
                ("liquid p,T", "pt", CP.PT_INPUTS, liquid, CP.iphase_liquid)]
        if refrigerant.name == "R744":
            dense = [(p, t) for p in np.linspace(7.5e6, 13e6, 10) for t in np.linspace(280, 400, 12)]
            rows.append(("75-130 bar p,T", "pt", CP.PT_INPUTS, dense, None))
        offset = grid.reference_offset(refrigerant)
        with_h, with_s = [], []
        state = refrigerant.state()
        state.specify_phase(CP.iphase_gas)
        for p, t in vapour:
            state.update(CP.PT_INPUTS, p, t)
            with_h.append((p, state.hmass()))
            with_s.append((p, state.smass()))
        our_h = [(p, h + offset[0]) for p, h in with_h]
        our_s = [(p, s + offset[1]) for p, s in with_s]
        for name, kind, inputs, pairs, phase in rows:
            a, b = ours(example, refrigerant, kind, pairs), theirs(refrigerant, inputs, pairs, phase)
            print(f"{refrigerant.name:12}{name:14}{a:10.0f}{b:14.0f}{b / a:8.1f}", flush=True)
            failed |= b / a < 3
        for name, kind, pairs, inputs, library in (
            ("vapour p,h", "ph", our_h, CP.HmassP_INPUTS, [(h, p) for p, h in with_h]),
            ("vapour p,s", "ps", our_s, CP.PSmass_INPUTS, with_s),
        ):
            a = ours(example, refrigerant, kind, pairs)
            if refrigerant.is_mixture:
                print(f"{refrigerant.name:12}{name:14}{a:10.0f}{'not offered':>14}")
                continue
            try:
                b = theirs(refrigerant, inputs, library, None)
                print(f"{refrigerant.name:12}{name:14}{a:10.0f}{b:14.0f}{b / a:8.1f}", flush=True)
            except ValueError as error:
                print(f"{refrigerant.name:12}{name:14}{a:10.0f}   {str(error)[:40]}", flush=True)
        pressures = sorted({p for p, _ in vapour})
        one = ours(example, refrigerant, "tdew", [(p,) for p in pressures])
        both = ours(example, refrigerant, "sat", [(p,) for p in pressures])
        library = theirs(refrigerant, CP.PQ_INPUTS, [(p, 1.0) for p in pressures], None)
        print(f"{refrigerant.name:12}{'dew T of p':14}{one:10.1f}{library:14.0f}{library / one:8.0f}")
        print(f"{refrigerant.name:12}{'both ends':14}{both:10.1f}", flush=True)
        failed |= one > 30
    sys.exit(failed)


if __name__ == "__main__":
    main()
