//! Nothing dangerous is ever proposed. What may be proposed is the list of tests that a machine offers and the repairs
//! of its modes; both are walked here whole on every example machine with a refrigerant of each class, for tests in every
//! power state; and visits are made by the advice itself, under a share of the hypotheses of every machine.
//!
//! The forbidden list is trade practice (no source unless named): dead measurements on nothing live or charged; no live
//! probe at hermetic pins; no insulation test through electronics; no low-impedance mode on control wires; no safety
//! bridged; no valve coil pulled off live; elements only in a full tank; no compressor without fan, charge or its
//! minimum off time; flammable refrigerants (ISO 817, ASHRAE 34) said where the circuit is touched.

use std::rc::Rc;

use halfsplit_diagnosis::{Case, Do, Errand, Judgement, Observed, Opening};
use halfsplit_machine::examples::EXAMPLES;
use halfsplit_machine::refrigerant::{Burns, burns};
use halfsplit_machine::starter::{Form, start};
use halfsplit_machine::test::{Hazard, Measure, Moment, PowerState, Test, Tool};
use halfsplit_machine::{Branch, Conditions, Machine, Mode, ModeIx, Net, Role};
use halfsplit_plant::{Plant, Prediction, Visit};

/// Machines small enough for walking half of their hypotheses within seconds; of the others it is one in eleven.
const SMALL: [&str; 2] = ["refrigerator", "dehumidifier"];

/// One refrigerant of each class, A1, A2L and A3.
const CLASSES: [&str; 3] = ["R134a", "R32", "R290"];

fn machines() -> Vec<(String, Machine)> {
    let mut all = Vec::new();
    for e in EXAMPLES {
        let own = Machine::build(e.text).unwrap_or_else(|x| panic!("{}: {x}", e.name));
        let plate = own.sheet.nameplate.refrigerant.clone().expect("a refrigerant");
        all.push((format!("{} with its own {plate}", e.name), own));
        for r in CLASSES.into_iter().filter(|r| *r != plate) {
            let text = e.text.replace(&format!("refrigerant = \"{plate}\""), &format!("refrigerant = \"{r}\""));
            let m = Machine::build(&text).unwrap_or_else(|x| panic!("{} with {r}: {x}", e.name));
            all.push((format!("{} with {r}", e.name), m));
        }
    }
    // Machines of which nobody knows how they are built: what is offered is offered under each way.
    for kind in ["water-heater", "split"] {
        let form = Form { kind: kind.to_owned(), ..Form::default() };
        let text = start(&form).unwrap_or_else(|x| panic!("{kind}: {x}")).sheet;
        let m = Machine::build(&text).unwrap_or_else(|x| panic!("{kind}: {x}"));
        assert!(m.unsure().next().is_some(), "{kind} leaves nothing open");
        all.push((format!("{kind}, started"), m));
    }
    all
}

/// What is wrong with proposing a test; empty if nothing.
fn forbidden(m: &Machine, t: &Test) -> Vec<&'static str> {
    let mut wrong = Vec::new();
    let mut no = |bad: bool, why: &'static str| {
        if bad {
            wrong.push(why);
        }
    };
    let text = format!("{} {}", t.title, t.how).to_lowercase();
    let live = t.power == PowerState::Live;
    let place = &m.places[t.place.0];
    let dead_measure = matches!(
        t.measure,
        Measure::PartOhms(..)
            | Measure::PlugOhms(..)
            | Measure::WireOhms(..)
            | Measure::PartFarads(..)
            | Measure::Diode(..)
            | Measure::Insulation(..)
    );
    no(dead_measure && t.power != PowerState::Dead, "ohms, capacitance or insulation on what may be live");
    no(dead_measure && t.command.is_some(), "ohms while something is commanded");
    no(dead_measure && near_capacitor(m, t) && !t.hazards.contains(&Hazard::StoredCharge), "ohms beside a charge");
    no(live && !place.live_allowed, "live where the place forbids it");
    let probed: Vec<Net> = match t.measure {
        Measure::Volts(a, b) | Measure::ControlVolts(a, b) => vec![a, b],
        _ => Vec::new(),
    };
    for net in probed {
        let reached = m.parts.iter().any(|p| {
            let hermetic = matches!(p.role, Role::Compressor(_));
            p.terminals.iter().any(|x| x.net == Some(net) && x.place == t.place && x.live_allowed && !hermetic)
        });
        no(!reached, "a live probe where only hermetic pins or forbidden terminals are");
    }
    let shocks = matches!(
        t.measure,
        Measure::Volts(..) | Measure::ControlVolts(..) | Measure::SupplyAmps | Measure::LeadAmps(..)
    );
    no(shocks && !t.hazards.contains(&Hazard::Shock), "a live measurement without its caution");
    if let Measure::Insulation(part, _) = t.measure {
        let electronics = matches!(
            m.parts[part.0].role,
            Role::Board { .. } | Role::PowerSupply { .. } | Role::CurrentSensor { .. } | Role::Thermistor(_)
        );
        no(electronics, "an insulation test through electronics");
        no(!text.contains("leads off"), "an insulation test with the leads on");
    }
    let plain = text.replace("never the low-impedance mode", "").replace("never in low-impedance mode", "");
    no(plain.contains("low-impedance") || plain.contains("low impedance"), "low-impedance mode");
    for word in ["jumper", "bridge out", "bypass the"] {
        no(text.contains(word), "a safety bridged");
    }
    no(text.contains("pull the coil") || text.contains("lift the coil"), "a valve coil pulled off");
    no(
        t.tool == Some(Tool::Gauges) && !m.sheet.refrigerant_loop.as_ref().is_some_and(|l| l.ports),
        "gauges on no port",
    );
    let flammable = burns(m.sheet.nameplate.refrigerant.as_deref()) != Burns::No;
    let said = t.hazards.contains(&Hazard::Flammable);
    no(flammable && t.hazards.contains(&Hazard::Pressure) && !said, "a flammable refrigerant kept quiet");
    no(!flammable && said, "a refrigerant that does not burn called flammable");
    if let Some(c) = t.command {
        let command = &m.commands[c.0];
        let told: Vec<_> = command.stages.iter().flat_map(|s| &s.on).collect();
        let drives = |f: &dyn Fn(&Role) -> bool| {
            (0..m.parts.len())
                .map(halfsplit_machine::PartIx)
                .any(|p| f(&m.parts[p.0].role) && m.commands_driving(p).contains(&c) && !told.is_empty())
        };
        let compressor = drives(&|r| matches!(r, Role::Compressor(_)));
        no(command.forced && compressor, "a compressor forced without its fan, its charge or its minimum off time");
        let minimum = command.how.contains("minimum off time") || command.how.contains("minutes");
        no(compressor && !minimum, "a compressor started without a word on its minimum off time");
        let element = drives(&|r| matches!(r, Role::Element { .. }));
        no(
            command.forced && element && !command.how.contains("Tank full"),
            "an element forced in a tank that may be empty",
        );
    }
    no(matches!(t.measure, Measure::LeadAmps(..)) && !place.live_allowed, "a clamp under the compressor's cover");
    wrong
}

fn near_capacitor(m: &Machine, t: &Test) -> bool {
    let nets: Vec<Net> = match t.measure {
        Measure::WireOhms(a, b) => vec![a, b],
        Measure::PartOhms(p, ..)
        | Measure::PlugOhms(p, ..)
        | Measure::Insulation(p, _)
        | Measure::PartFarads(p, ..) => m.parts[p.0].terminals.iter().filter_map(|x| x.net).collect(),
        _ => Vec::new(),
    };
    m.branches.iter().any(|(p, b)| {
        matches!(*b, Branch::Capacitor { a, b, .. }
            if [a, b].iter().any(|x| m.parts[p.0].terminals[*x].net.is_some_and(|n| nets.contains(&n))))
    })
}

#[test]
fn no_test_of_any_machine_is_on_the_forbidden_list() {
    let mut seen = std::collections::BTreeSet::new();
    for (name, m) in machines() {
        assert!(m.tests.len() > 60, "{name}: {} tests", m.tests.len());
        for t in &m.tests {
            let wrong = forbidden(&m, t);
            assert!(wrong.is_empty(), "{name}: \"{}\": {}", t.id, wrong.join("; "));
            seen.insert(format!("{:?} {:?}", t.power, t.moment));
        }
    }
    // Every power state was there: looked at, dead, live at rest, live told, live settled.
    for state in ["Any AtRest", "Dead AtRest", "Live AtRest", "Live AtStart", "Live Settled"] {
        assert!(seen.contains(state), "no test in state {state}");
    }
}

/// The list itself must be able to say no.
#[test]
fn a_dangerous_test_is_recognised() {
    let m = Machine::build(EXAMPLES[0].text).expect("the demo machine");
    let by = |id: &str| m.tests.iter().find(|t| t.id == id).unwrap_or_else(|| panic!("{id}")).clone();
    let mut t = by("ohms COMP.C-COMP.R off");
    t.power = PowerState::Live;
    assert!(!forbidden(&m, &t).is_empty(), "ohms live");
    let mut t = by("volts L1E-R at rest");
    t.place = m.parts[m.part("COMP").expect("COMP").0].place;
    assert!(!forbidden(&m, &t).is_empty(), "volts at hermetic pins");
    let mut t = by("microfarads CRUN");
    t.hazards.clear();
    assert!(!forbidden(&m, &t).is_empty(), "a charge kept quiet");
    let mut t = by("watch COMP while heat-pump");
    t.how.push_str(" Jumper the high-pressure switch.");
    assert!(!forbidden(&m, &t).is_empty(), "a jumper");
    let mut t = by("amps supply while force-lower");
    assert!(forbidden(&m, &t).is_empty());
    let mut empty = m.clone();
    let c = t.command.expect("a command").0;
    empty.commands[c].how = "Service menu.".into();
    assert!(!forbidden(&empty, &t).is_empty(), "an element in an empty tank");
    t.moment = Moment::AtRest;
    let mut burning = m.clone();
    burning.sheet.nameplate.refrigerant = Some("R290".into());
    assert!(!forbidden(&burning, &by("look CHARGE oil stain")).is_empty(), "fire kept quiet");
}

/// Repairs: what bridges a safety, plugs a relief valve or resets without a cause is no repair.
#[test]
fn no_repair_is_on_the_forbidden_list() {
    for (name, m) in machines() {
        for mode in &m.modes {
            let wrong = forbidden_repair(mode);
            assert!(wrong.is_none(), "{name}: {}: {}", mode.id, wrong.unwrap_or_default());
        }
    }
}

/// What is wrong with a repair, if anything.
fn forbidden_repair(mode: &Mode) -> Option<String> {
    let text = format!("{} {}", mode.repair.what, mode.proof).to_lowercase();
    let words =
        ["jumper", "bridge the", "bridge out", "bypass the", "plug the relief", "oxygen", "vent the charge", "top up"];
    if let Some(word) = words.iter().find(|word| text.contains(*word)) {
        return Some((*word).to_owned());
    }
    let blind = text.contains("reset") && !text.contains("make sure") && !text.contains("cause");
    blind.then(|| format!("reset without a cause: {text}"))
}

/// Visits by the advice under a hypothesis: what is proposed is read as that fault would show it, up to the first repair.
/// Whatever the readings before have left open, dead, running or settled, the next proposal stands on the allowed list.
#[test]
fn what_is_proposed_under_a_hypothesis_is_allowed() {
    let mut states = std::collections::BTreeSet::new();
    let (mut proposals, mut repairs) = (0, 0);
    for e in EXAMPLES {
        let machine = Machine::build(e.text).expect(e.name);
        let plant = Rc::new(Plant::new(machine).expect(e.name));
        let m = plant.machine.clone();
        let visit = Visit { conditions: Conditions::default(), reset: false };
        let opening = Opening {
            errand: Errand::Call,
            conditions: visit.conditions,
            tools: Tool::ALL.to_vec(),
            judgement: Judgement::default(),
        };
        let mut case = Case::open(plant.clone(), opening);
        let share = if SMALL.contains(&e.name) { 2 } else { 11 };
        for mode in (0..m.modes.len()).step_by(share) {
            case.begin_again();
            let mut p = m.sound();
            m.apply(ModeIx(mode), &mut p);
            let o = plant.operate(&p, &visit);
            for id in ["complaint", "display message"] {
                let Ok(test) = case.test(id) else { continue };
                answer(&mut case, &plant, &p, &o, test);
            }
            let of = |what: &str| format!("{}: {}: \"{what}\"", e.name, m.modes[mode].id);
            for _ in 0..8 {
                match case.next_step() {
                    Do::Test(advice) => {
                        let t = &m.tests[advice.test];
                        let wrong = forbidden(&m, t);
                        assert!(wrong.is_empty(), "{}: {}", of(&t.id), wrong.join("; "));
                        states.insert(format!("{:?} {:?}", t.power, t.moment));
                        proposals += 1;
                        answer(&mut case, &plant, &p, &o, advice.test);
                    }
                    Do::Repair { group, .. } => {
                        let mends: Vec<_> = m.modes.iter().filter(|x| x.repair_group == group).collect();
                        assert!(!mends.is_empty(), "{}: no such repair", of(&group));
                        for x in mends {
                            let wrong = forbidden_repair(x);
                            assert!(wrong.is_none(), "{}: {}", of(&group), wrong.unwrap_or_default());
                        }
                        repairs += 1;
                        break;
                    }
                    Do::End(_) => break,
                }
            }
        }
    }
    for state in ["Any AtRest", "Dead AtRest", "Live AtRest", "Live AtStart", "Live Settled"] {
        assert!(states.contains(state), "nothing was proposed in state {state}");
    }
    assert!(proposals > 400 && repairs > 40, "{proposals} proposals, {repairs} repairs");
}

fn answer(case: &mut Case, plant: &Plant, p: &[f64], o: &halfsplit_plant::Operation, test: usize) {
    let observed = match plant.predict(p, o, &plant.machine.tests[test]) {
        Prediction::Words(w) => {
            let most = w.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |x| x.0);
            Observed::Category(most)
        }
        Prediction::Number { over, .. } if over > 0.5 => Observed::Over,
        Prediction::Number { centre, .. } => Observed::Value(centre),
    };
    case.read(test, observed).expect("a reading of its kind");
}
