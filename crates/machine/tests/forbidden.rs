//! What must never be proposed, on every example machine and for every test that it offers. Common practice, no source, but
//! where one is named.

use halfsplit_machine::examples::EXAMPLES;
use halfsplit_machine::starter::{Form, start};
use halfsplit_machine::test::{Hazard, Measure, PowerState, Spot, Test, Tool};
use halfsplit_machine::{Machine, Net, PlaceIx, Role};

fn each(mut check: impl FnMut(&Machine, &Test)) {
    let started = ["water-heater", "split"].map(unsure);
    for text in EXAMPLES.iter().map(|e| e.text).chain(started.iter().map(String::as_str)) {
        let m = Machine::build(text).unwrap_or_else(|x| panic!("{x}"));
        for t in &m.tests {
            check(&m, t);
        }
    }
}

/// A sheet of which nobody knows how the machine is built.
fn unsure(kind: &str) -> String {
    let started = start(&Form { kind: kind.to_owned(), ..Form::default() }).unwrap_or_else(|e| panic!("{kind}: {e}"));
    assert!(started.sheet.contains("[[unsure]]"), "{kind}");
    started.sheet
}

fn on_dead_parts(t: &Test) -> bool {
    matches!(
        t.measure,
        Measure::PartOhms(..)
            | Measure::PlugOhms(..)
            | Measure::WireOhms(..)
            | Measure::PartFarads(..)
            | Measure::Diode(..)
            | Measure::Insulation(..)
    )
}

#[test]
fn no_ohms_diode_test_or_capacitance_on_anything_live() {
    each(|m, t| {
        assert!(!on_dead_parts(t) || t.power == PowerState::Dead, "{}: {}", m.sheet.machine.name, t.id);
        assert!(!on_dead_parts(t) || t.command.is_none(), "{}: {}", m.sheet.machine.name, t.id);
    });
}

#[test]
fn nothing_live_at_hermetic_pins() {
    each(|m, t| {
        assert!(t.power != PowerState::Live || m.places[t.place.0].live_allowed, "{}: {}", m.sheet.machine.name, t.id);
    });
}

/// A capacitor or a bus on the part itself has its caution, and with it the report that it is empty.
#[test]
fn nothing_charged_is_measured_as_dead() {
    each(|m, t| {
        let Measure::PartFarads(part, ..) = t.measure else { return };
        let shown = t.hazards.iter().any(|h| matches!(h, Hazard::StoredCharge | Hazard::BusCharge));
        assert!(shown, "{}: {} ({})", m.sheet.machine.name, t.id, m.parts[part.0].id);
    });
}

/// On a machine with a bus every hand that goes into the unit that holds it waits until the bus is shown to be empty.
#[test]
fn no_hand_goes_to_a_charged_bus() {
    let (mut machines, mut clipped) = (0, 0);
    for e in EXAMPLES {
        let m = Machine::build(e.text).unwrap_or_else(|x| panic!("{}: {x}", e.name));
        let Some(bus) = m.find(|r| matches!(r, Role::BusCapacitor { .. })) else { continue };
        machines += 1;
        let outermost = |p: PlaceIx| m.way_to(p).into_iter().find(|x| x.0 > 0);
        let unit = outermost(m.parts[bus.0].place);
        for t in m.tests.iter().filter(|t| outermost(t.place) == unit) {
            let hands = on_dead_parts(t) || t.id.starts_with("tug ") || t.title.contains("by hand");
            assert!(!hands || t.power == PowerState::Dead, "{}", t.id);
            // What is clipped on or held in the hand behind its covers is put there while it is dead, or not at all.
            let inside = m.way_to(t.place).contains(&m.parts[bus.0].place);
            assert!(!inside || !matches!(t.measure, Measure::WarmedInHand(_)), "{}", t.id);
            let clipped_on = inside && t.tool == Some(Tool::Thermometer) && t.power != PowerState::Dead;
            clipped += usize::from(clipped_on);
            assert!(!clipped_on || t.how.contains("Put it on with the power off"), "{}", t.id);
            assert!(!clipped_on || t.hazards.contains(&Hazard::BusCharge), "{}", t.id);
            assert!(t.power != PowerState::Dead || t.hazards.contains(&Hazard::BusCharge), "{}", t.id);
            assert!(t.power != PowerState::Dead || t.how.contains("below 10 V"), "{}", t.id);
        }
        // Plus to minus is the only live pair of the power stage; phases and switches are measured dead.
        let stage = |n: Net| {
            m.parts.iter().any(|p| {
                matches!(p.role, Role::PowerModule { .. })
                    && p.terminals.iter().any(|x| x.net == Some(n) && ["U", "V", "W", "P"].contains(&x.name.as_str()))
            })
        };
        for t in m.tests.iter().filter(|t| t.power == PowerState::Live) {
            if let Measure::Volts(a, b) | Measure::ControlVolts(a, b) = t.measure {
                assert!(!stage(a) && !stage(b), "{}", t.id);
            }
            assert_ne!(t.measure, Measure::Thermometer(Spot::HeatSink));
        }
    }
    assert!(machines > 0 && clipped > 0, "no example machine has a bus and a sensor beside it");
}

/// A ground that is a side of the bus is live: whoever probes against it is told so.
#[test]
fn a_live_ground_is_named() {
    each(|m, t| {
        let Measure::ControlVolts(_, ground) = t.measure else { return };
        let on_bus = m
            .parts
            .iter()
            .any(|p| matches!(p.role, Role::BusCapacitor { .. }) && p.terminals.iter().any(|x| x.net == Some(ground)));
        assert!(!on_bus || t.hazards.contains(&Hazard::BusCharge), "{}", t.id);
    });
}

/// 500 V go to a part with its leads off, never through electronics.
#[test]
fn no_insulation_test_through_electronics() {
    each(|m, t| {
        let Measure::Insulation(part, _) = t.measure else { return };
        let electronics = matches!(
            m.parts[part.0].role,
            Role::Board { .. }
                | Role::OutdoorBoard { .. }
                | Role::PowerModule { .. }
                | Role::Rectifier { .. }
                | Role::PowerSupply { .. }
                | Role::BusSupply { .. }
                | Role::DcFan { .. }
                | Role::Thermistor(_)
        );
        assert!(!electronics && t.how.contains("leads off"), "{}: {}", m.sheet.machine.name, t.id);
    });
}

/// The signal between two units has no load to spare: a low-impedance meter would pull it down.
#[test]
fn no_low_impedance_meter_on_a_signal() {
    each(|_, t| {
        let Measure::Signal(_) = t.measure else { return };
        assert!(t.how.contains("never the low-impedance mode"), "{}", t.id);
    });
}
