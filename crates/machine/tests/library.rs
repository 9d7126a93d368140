//! What every class file must say: where its numbers come from, what brings each fault about, what it leads to, how it is
//! found and put right.

use halfsplit_machine::Machine;
use halfsplit_machine::library::{CLASSES, ModeSpec, PartClass, TestWhat, nearest};
use halfsplit_machine::test::{Hazard, PowerState};

fn modes() -> impl Iterator<Item = (&'static PartClass, &'static ModeSpec)> {
    CLASSES.iter().flat_map(|c| c.modes.iter().map(move |m| (*c, m)))
}

#[test]
fn every_class_says_what_it_is_for_and_where_its_rates_come_from() {
    for c in CLASSES {
        assert!(!c.name.is_empty() && !c.purpose.is_empty(), "{}", c.name);
        assert!(c.source.len() >= "judgement".len(), "{}: no source", c.name);
        assert!(c.rate > 0.0 && c.rate <= 500.0, "{}: {} failures per 1000 a year", c.name, c.rate);
        assert!(!c.modes.is_empty(), "{} never goes wrong", c.name);
        assert!(c.loose.iter().all(|l| c.terminals.iter().any(|t| t.name == *l)), "{}: loose at no terminal", c.name);
        for r in c.ratings {
            assert!(!r.meaning.is_empty() && r.min <= r.max, "{} {}", c.name, r.key);
        }
    }
}

#[test]
fn every_mode_has_cause_repair_and_proof() {
    for (c, m) in modes() {
        let at = format!("{} {}", c.name, m.key);
        assert!(!m.name.is_empty() && !m.cause.is_empty() && !m.proof.is_empty(), "{at}");
        assert!(!m.repair.what.is_empty() && !m.repair.group.is_empty(), "{at}");
        assert!(m.repair.minutes > 0.0 && m.repair.price >= 0.0, "{at}");
        assert!(m.share > 0.0 && m.levels.iter().all(|l| l.share > 0.0 && !l.edits.is_empty()), "{at}");
        // Several degrees need a word each.
        assert!(m.levels.len() == 1 || m.levels.iter().all(|l| !l.word.is_empty()), "{at}");
        assert!(c.modes.iter().filter(|o| o.key == m.key).count() == 1, "{at} twice");
    }
}

/// What a part is built to do says why, how long and what shows that it is over; never what to fit.
#[test]
fn every_state_by_design_says_why_how_long_and_when_it_is_over() {
    for (c, s) in CLASSES.iter().flat_map(|c| c.states.iter().map(move |s| (c, s))) {
        let at = format!("{} {}", c.name, s.key);
        assert!(!s.name.is_empty() && !s.cause.is_empty() && !s.source.is_empty() && !s.over.is_empty(), "{at}");
        assert!(s.wait.starts_with("wait ") && !s.wait.contains("replace"), "{at}: {}", s.wait);
        assert!(s.odds > 0.0 && s.odds < 1.0 && s.minutes > 0.0 && s.minutes < 60.0, "{at}");
        assert!(!s.edits.is_empty() && c.modes.iter().all(|m| m.key != s.key), "{at}");
    }
}

#[test]
fn what_promotes_what_leads_somewhere() {
    for (c, m) in modes() {
        for (class, key, factor) in m.promotes {
            let found = CLASSES.iter().any(|o| o.name == *class && o.modes.iter().any(|x| x.key == *key));
            assert!(found, "{} {} promotes {class} {key}, which is not there", c.name, m.key);
            assert!(*factor > 1.0 && *factor <= 50.0, "{} {}: factor {factor}", c.name, m.key);
        }
    }
}

/// A repair is one thing: modes of a class with the same group say the same of it.
#[test]
fn one_group_is_one_repair() {
    for c in CLASSES {
        for a in c.modes {
            for b in c.modes.iter().filter(|b| b.repair.group == a.repair.group) {
                assert_eq!(a.repair.what, b.repair.what, "{} {} and {}", c.name, a.key, b.key);
                assert_eq!(a.repair.minutes, b.repair.minutes, "{} {} and {}", c.name, a.key, b.key);
            }
        }
    }
}

#[test]
fn every_test_has_minutes_and_says_what_tells() {
    for c in CLASSES {
        for t in c.tests {
            assert!(t.minutes > 0.0 && !t.tells.is_empty(), "{} {:?}", c.name, t.what);
            let named = |n: &str| c.terminals.iter().any(|x| x.name == n);
            match t.what {
                TestWhat::Ohms(a, b) | TestWhat::PlugOhms(a, b) | TestWhat::Farads(a, b) | TestWhat::Diode(a, b) => {
                    assert!(named(a) && named(b) && a != b, "{} {a} {b}", c.name);
                }
                TestWhat::Insulation(a) | TestWhat::LeadAmps(a) => assert!(named(a), "{} {a}", c.name),
                TestWhat::Look { cuts, words, blur, title, .. } => {
                    assert_eq!(words.len(), cuts.len() + 1, "{} {title}", c.name);
                    assert!(cuts.is_sorted() && (0.0..0.5).contains(&blur) && !title.is_empty(), "{} {title}", c.name);
                }
                _ => {}
            }
        }
    }
}

/// Whoever touches these can be hurt by them: trade practice, no source.
#[test]
fn hazards_are_named_where_they_are() {
    for (class, hazard) in [
        ("run capacitor", Hazard::StoredCharge),
        ("heating element", Hazard::Heat),
        ("heating element", Hazard::Shock),
        ("compressor, permanent split capacitor", Hazard::Pressure),
        ("fan, AC motor", Hazard::Moving),
        ("thermal cut-off", Hazard::Shock),
        ("bus capacitor", Hazard::BusCharge),
        ("bridge rectifier", Hazard::BusCharge),
        ("power module", Hazard::BusCharge),
        ("power-factor stage", Hazard::BusCharge),
        ("inrush limiter", Hazard::BusCharge),
        ("compressor, permanent magnet", Hazard::BusCharge),
        ("compressor, permanent magnet", Hazard::Pressure),
        ("fan, DC five-wire", Hazard::Moving),
    ] {
        let c = CLASSES.iter().find(|c| c.name == class).expect("the class");
        assert!(c.tests.iter().any(|t| t.hazards.contains(&hazard)), "{class}: {hazard:?} is not named");
    }
}

/// Common practice, no source: what takes hands among pins is done on a machine that is isolated, discharged and proved dead, not
/// on one whose switch is off.
#[test]
fn a_look_or_tug_with_the_power_off_that_can_shock_asks_for_a_dead_machine() {
    let mut asked = 0;
    for example in halfsplit_machine::examples::EXAMPLES {
        let m = Machine::build(example.text).unwrap_or_else(|e| panic!("{e}"));
        for t in m.tests.iter().filter(|t| t.title.contains("power off")) {
            if t.hazards.iter().any(|h| matches!(h, Hazard::Shock | Hazard::StoredCharge | Hazard::BusCharge)) {
                assert_eq!(t.power, PowerState::Dead, "{}: {}", example.name, t.id);
                asked += 1;
            }
        }
    }
    assert!(asked > 50, "{asked}");
}

#[test]
fn a_misspelt_class_has_a_nearest() {
    assert_eq!(nearest("run capacitator").name, "run capacitor");
    assert_eq!(nearest("thermistors").name, "thermistor");
}

/// Nobody is sent to the water of a refrigerator.
#[test]
fn water_is_measured_only_where_there_is_a_tank() {
    use halfsplit_machine::Role;
    use halfsplit_machine::test::{Measure, Spot};
    for example in halfsplit_machine::examples::EXAMPLES {
        let m = Machine::build(example.text).unwrap_or_else(|e| panic!("{e}"));
        let tank = m.parts.iter().any(|p| matches!(p.role, Role::Tank { .. }));
        let water = |t: &&halfsplit_machine::test::Test| {
            matches!(t.measure, Measure::Thermometer(Spot::WaterTop | Spot::WaterBottom))
        };
        assert_eq!(m.tests.iter().filter(water).count() > 0, tank, "{}", example.name);
    }
}

/// That something else was repaired does not say that a trip's cause was looked for: it stays on the list until it is reset itself.
/// Common practice, no source.
#[test]
fn only_its_own_reset_puts_a_trip_right() {
    use halfsplit_machine::{Machine, ModeIx, examples::EXAMPLES};
    let mut trips = 0;
    for example in EXAMPLES {
        let m = Machine::build(example.text).unwrap_or_else(|e| panic!("{e}"));
        for (i, mode) in m.modes.iter().enumerate() {
            assert_eq!(m.is_a_trip(ModeIx(i)), mode.name_id.ends_with(":tripped"), "{}", mode.id);
            trips += u32::from(m.is_a_trip(ModeIx(i)));
        }
        for group in m.modes.iter().filter(|x| !x.nature.harmless()).map(|x| &x.repair_group) {
            let beside = m.puts_right(group).filter(|i| m.is_a_trip(*i) && m.modes[i.0].repair_group != *group);
            assert_eq!(beside.count(), 0, "{group}");
        }
    }
    assert!(trips >= 6, "{trips}");
}

/// Whoever empties a circuit and charges it anew has put its charge right, whatever he did it for.
#[test]
fn a_circuit_charged_anew_has_neither_too_much_nor_air_in_it() {
    use halfsplit_machine::{Machine, examples::EXAMPLES};
    let m = Machine::build(EXAMPLES[0].text).unwrap_or_else(|e| panic!("{e}"));
    let right = |group: &str| m.puts_right(group).map(|i| m.modes[i.0].name_id.as_str()).collect::<Vec<_>>();
    for group in ["CHARGE/recharge", "CHARGE/drier", "CHARGE/weigh-in", "COMP/replace", "EEV/body"] {
        assert!(right(group).contains(&"CHARGE:over") && right(group).contains(&"CHARGE:air"), "{group}");
    }
    assert!(!right("CHARGE/weigh-in").contains(&"CHARGE:low"), "a leak is still there");
    assert!(!right("EEV/coil").contains(&"CHARGE:over"), "only where the circuit was open");
}
