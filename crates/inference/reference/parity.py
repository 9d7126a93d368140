#!/usr/bin/env python3
"""The engine against pyAgrum and pgmpy on the same networks.

    parity.py --write FIXTURE      draw the networks, solve them with both libraries, write the file
    parity.py --check FIXTURE CMD  solve the networks of the file again with the installed libraries
                                   and with CMD FIXTURE (the engine's `parity` example); print the
                                   largest differences and the times; exit 1 on disagreement

Two kinds of network:

* small ones, solved by the reasoner itself: up to five independent faults (all sets of them are
  listed), one shared unknown with three values (the samples), observations with any table of
  probabilities. This is exactly the reasoner's problem class: no approximation on either side.
* one layered noisy-OR network: 80 faults, 40 mechanisms, 120 observations, 10 of them found. Any
  number of faults may be present, so this is solved by the module `noisy_or`, not by the reasoner,
  which takes at most a few faults together. What is alike: the same network, the same findings, all
  80 posteriors to machine precision. What is not: pyAgrum's engines are general (any table, any
  query) and build a join tree that can be used again; `noisy_or` uses the gates' structure and
  starts afresh for every set of findings. The times are therefore of one whole answer: for pyAgrum
  both a fresh engine and an engine kept between findings.

Needs pyagrum and pgmpy from PyPI (versions in requirements.txt).
"""

import itertools
import json
import math
import random
import statistics
import subprocess
import sys
import time
import warnings

warnings.filterwarnings("ignore")

import pgmpy
import pyagrum as gum
from pgmpy.factors.discrete import TabularCPD
from pgmpy.inference import VariableElimination
from pgmpy.models import DiscreteBayesianNetwork

TOLERANCE = 1e-9
SMALL = 6


def draw_small(rng):
    faults = [round(rng.uniform(0.01, 0.3), 4) for _ in range(rng.randint(3, 5))]
    unknown = [round(rng.uniform(0.2, 1.0), 3) for _ in range(3)]
    observations = []
    for _ in range(6):
        parents = sorted(rng.sample(range(len(faults)), rng.randint(1, 3)))
        values = rng.randint(2, 4)
        rows = []
        for _ in range(3 * 2 ** len(parents)):
            row = [rng.uniform(0.02, 1.0) for _ in range(values)]
            total = sum(row)
            rows.append([x / total for x in row])
        observations.append({"parents": parents, "values": values, "rows": rows})
    findings = [
        [o, rng.randrange(observations[o]["values"])] for o in sorted(rng.sample(range(6), 4))
    ]
    total = sum(unknown)
    return {
        "faults": faults,
        "unknown": [u / total for u in unknown],
        "observations": observations,
        "findings": findings,
    }


def draw_gates(rng):
    def gate(pool, least, most, low, high):
        parents = sorted(rng.sample(range(pool), rng.randint(least, most)))
        return {
            "leak": round(rng.uniform(0.001, 0.02), 4),
            "parents": [[p, round(rng.uniform(low, high), 3)] for p in parents],
        }

    network = {
        "faults": [round(rng.uniform(0.002, 0.05), 4) for _ in range(80)],
        "mechanisms": [gate(80, 2, 4, 0.5, 0.95) for _ in range(40)],
        "observations": [gate(40, 1, 2, 0.5, 0.95) for _ in range(120)],
    }
    # The findings come from the network itself, with three faults present.
    present = set(rng.sample(range(80), 3))

    def fires(gate, active):
        on = rng.random() < gate["leak"]
        for parent, p in gate["parents"]:
            on |= parent in active and rng.random() < p
        return on

    active = {m for m, g in enumerate(network["mechanisms"]) if fires(g, present)}
    shown = [fires(g, active) for g in network["observations"]]
    on = [o for o in range(120) if shown[o]]
    off = [o for o in range(120) if not shown[o]]
    picked = rng.sample(on, min(5, len(on)))
    picked += rng.sample(off, 10 - len(picked))
    network["findings"] = [[o, shown[o]] for o in sorted(picked)]
    return network


def binary(name):
    return gum.LabelizedVariable(name, "", 2)


def agrum_small(net):
    bn = gum.BayesNet()
    unknown = bn.add(gum.LabelizedVariable("u", "", 3))
    bn.cpt(unknown).fillWith(net["unknown"])
    faults = [bn.add(binary(f"f{i}")) for i in range(len(net["faults"]))]
    for node, p in zip(faults, net["faults"]):
        bn.cpt(node).fillWith([1 - p, p])
    for i, o in enumerate(net["observations"]):
        node = bn.add(gum.LabelizedVariable(f"o{i}", "", o["values"]))
        bn.addArc(unknown, node)
        for p in o["parents"]:
            bn.addArc(faults[p], node)
        for row, states in zip(o["rows"], small_rows(o)):
            where = {"u": states[0]}
            where.update({f"f{p}": s for p, s in zip(o["parents"], states[1:])})
            bn.cpt(node)[where] = row
    return bn


def small_rows(o):
    """The states of the unknown and of the parents, in the order of the rows."""
    return itertools.product(range(3), *[range(2) for _ in o["parents"]])


def pgmpy_small(net):
    model = DiscreteBayesianNetwork()
    model.add_node("u")
    tables = [TabularCPD("u", 3, [[p] for p in net["unknown"]])]
    for i, p in enumerate(net["faults"]):
        model.add_node(f"f{i}")
        tables.append(TabularCPD(f"f{i}", 2, [[1 - p], [p]]))
    for i, o in enumerate(net["observations"]):
        parents = ["u"] + [f"f{p}" for p in o["parents"]]
        for parent in parents:
            model.add_edge(parent, f"o{i}")
        columns = [[row[v] for row in o["rows"]] for v in range(o["values"])]
        sizes = [3] + [2] * len(o["parents"])
        tables.append(TabularCPD(f"o{i}", o["values"], columns, parents, sizes))
    model.add_cpds(*tables)
    return model


def off_table(gate):
    """Probability of staying off, for all states of the parents, the last fastest."""
    for states in itertools.product(range(2), repeat=len(gate["parents"])):
        off = 1 - gate["leak"]
        for state, (_, p) in zip(states, gate["parents"]):
            off *= 1 - p if state else 1
        yield states, off


def agrum_gates(net):
    bn = gum.BayesNet()
    faults = [bn.add(binary(f"f{i}")) for i in range(80)]
    for node, p in zip(faults, net["faults"]):
        bn.cpt(node).fillWith([1 - p, p])

    def layer(gates, above, letter):
        nodes = []
        for i, g in enumerate(gates):
            # Plain tables: pyAgrum's own noisy-OR nodes are slower for it than tables.
            node = bn.add(binary(f"{letter}{i}"))
            for parent, _ in g["parents"]:
                bn.addArc(above[parent], node)
            names = [bn.variable(above[p]).name() for p, _ in g["parents"]]
            for states, off in off_table(g):
                bn.cpt(node)[dict(zip(names, states))] = [off, 1 - off]
            nodes.append(node)
        return nodes

    layer(net["observations"], layer(net["mechanisms"], faults, "m"), "o")
    return bn


def pgmpy_gates(net):
    model = DiscreteBayesianNetwork()
    tables = []
    for i, p in enumerate(net["faults"]):
        model.add_node(f"f{i}")
        tables.append(TabularCPD(f"f{i}", 2, [[1 - p], [p]]))

    def layer(gates, above, letter):
        for i, g in enumerate(gates):
            parents = [f"{above}{p}" for p, _ in g["parents"]]
            for parent in parents:
                model.add_edge(parent, f"{letter}{i}")
            off = [off for _, off in off_table(g)]
            table = [off, [1 - x for x in off]]
            tables.append(TabularCPD(f"{letter}{i}", 2, table, parents, [2] * len(parents)))

    layer(net["mechanisms"], "f", "m")
    layer(net["observations"], "m", "o")
    model.add_cpds(*tables)
    return model


def set_up(bn, evidence, count, engine):
    ie = engine(bn)
    ie.setEvidence(evidence)
    # Without targets it works out every node and takes thirty times as long.
    ie.setTargets({f"f{i}" for i in range(count)})
    return ie


def ask_agrum(bn, evidence, count, engine=gum.LazyPropagation):
    ie = set_up(bn, evidence, count, engine)
    ie.makeInference()
    return [float(ie.posterior(f"f{i}")[1]) for i in range(count)]


def ask_pgmpy(model, evidence, count):
    solver = VariableElimination(model)
    return [
        float(solver.query([f"f{i}"], evidence, show_progress=False).values[1])
        for i in range(count)
    ]


def evidence_of(net):
    return {f"o{o}": int(v) for o, v in net["findings"]}


def farthest(a, b):
    return max(abs(x - y) for x, y in zip(a, b))


def solve(file):
    """Posteriors by each library, for all networks of a fixture."""
    answers = {"lazy": [], "shafer_shenoy": [], "pgmpy": []}
    for net in file["small"]:
        count, evidence = len(net["faults"]), evidence_of(net)
        bn = agrum_small(net)
        answers["lazy"].append(ask_agrum(bn, evidence, count))
        answers["shafer_shenoy"].append(
            ask_agrum(bn, evidence, count, gum.ShaferShenoyInference)
        )
        answers["pgmpy"].append(ask_pgmpy(pgmpy_small(net), evidence, count))
    net = file["noisy_or"]
    evidence = evidence_of(net)
    bn = agrum_gates(net)
    answers["lazy"].append(ask_agrum(bn, evidence, 80))
    answers["shafer_shenoy"].append(ask_agrum(bn, evidence, 80, gum.ShaferShenoyInference))
    answers["pgmpy"].append(ask_pgmpy(pgmpy_gates(net), evidence, 80))
    return answers


def median_ms(run, rounds):
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        run()
        times.append(1e3 * (time.perf_counter() - start))
    return statistics.median(times)


def times_of_agrum(net):
    bn = agrum_gates(net)
    evidence = evidence_of(net)
    names = list(evidence)
    times = {}
    for label, engine in [
        ("LazyPropagation", gum.LazyPropagation),
        ("ShaferShenoy", gum.ShaferShenoyInference),
    ]:
        times[f"{label}, fresh"] = median_ms(lambda: ask_agrum(bn, evidence, 80, engine), 30)
        kept = set_up(bn, evidence, 80, engine)
        kept.makeInference()
        turn = itertools.count()

        def again():
            # Another answer for one finding: what a new reading does to a kept engine.
            name = names[next(turn) % len(names)]
            kept.chgEvidence(name, 1 - evidence[name])
            kept.makeInference()
            [kept.posterior(f"f{i}") for i in range(80)]
            kept.chgEvidence(name, evidence[name])

        times[f"{label}, kept"] = median_ms(again, 30)
    return times


def write(path):
    rng = random.Random(20260101)
    file = {
        "made_by": "reference/parity.py --write",
        "pyagrum": gum.__version__,
        "pgmpy": pgmpy.__version__,
        "small": [draw_small(rng) for _ in range(SMALL)],
        "noisy_or": draw_gates(rng),
    }
    answers = solve(file)
    for name in ("shafer_shenoy", "pgmpy"):
        for a, b in zip(answers["lazy"], answers[name]):
            assert farthest(a, b) < TOLERANCE, f"{name} disagrees with lazy: {farthest(a, b)}"
    for net, posterior in zip(file["small"] + [file["noisy_or"]], answers["lazy"]):
        net["posteriors"] = posterior
    with open(path, "w") as out:
        json.dump(file, out, indent=1)
        out.write("\n")
    print(f"wrote {path}")


def check(path, command):
    with open(path) as source:
        file = json.load(source)
    ours = json.loads(subprocess.run(command + [path], check=True, stdout=subprocess.PIPE).stdout)
    answers = solve(file)
    stored = [net["posteriors"] for net in file["small"] + [file["noisy_or"]]]
    failed = False
    for name, theirs in [("the fixture", stored)] + sorted(answers.items()):
        worst = max(farthest(a, b) for a, b in zip(ours["posteriors"], theirs))
        fine = worst < TOLERANCE and not math.isnan(worst)
        failed |= not fine
        print(f"largest difference from {name:13}: {worst:.2e}{'' if fine else '  TOO MUCH'}")
    own = ours["noisy_or_ms"]
    print(f"all 80 posteriors, this engine         : {own:8.4f} ms")
    for name, ms in times_of_agrum(file["noisy_or"]).items():
        print(f"all 80 posteriors, {name:22}: {ms:8.4f} ms  ({ms / own:.0f} times ours)")
    solver = pgmpy_gates(file["noisy_or"])
    evidence = evidence_of(file["noisy_or"])
    ms = median_ms(lambda: ask_pgmpy(solver, evidence, 80), 3)
    print(f"all 80 posteriors, pgmpy                 : {ms:8.1f} ms  ({ms / own:.0f} times ours)")
    return 1 if failed else 0


if __name__ == "__main__":
    if len(sys.argv) == 3 and sys.argv[1] == "--write":
        write(sys.argv[2])
    elif len(sys.argv) >= 4 and sys.argv[1] == "--check":
        sys.exit(check(sys.argv[2], sys.argv[3:]))
    else:
        sys.exit(__doc__)
