//! The demo sheet builds into a machine, and every class of the library keeps its own promises.

use halfsplit_machine::library::{CLASSES, Op};
use halfsplit_machine::{Machine, ParamIx};

const DEMO: &str = include_str!("../../../machines/garage-water-heater.toml");

fn demo() -> Machine {
    Machine::build(DEMO).unwrap_or_else(|e| panic!("{e}"))
}

/// Every example machine.
fn all() -> Vec<Machine> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../machines");
    let mut paths: Vec<_> = std::fs::read_dir(folder).expect("machines").map(|e| e.expect("entry").path()).collect();
    paths.sort();
    let sheet = |p: &std::path::PathBuf| {
        let name = p.file_name().expect("name").to_string_lossy();
        name.ends_with(".toml") && !name.ends_with(".flowchart.toml")
    };
    let read = |p: std::path::PathBuf| std::fs::read_to_string(p).expect("readable");
    let texts = paths.into_iter().filter(sheet).map(read);
    texts.map(|t| Machine::build(&t).unwrap_or_else(|e| panic!("{e}"))).collect()
}

#[test]
fn the_demo_sheet_builds_with_at_least_sixty_modes() {
    let m = demo();
    let mut names: Vec<&str> = m.modes.iter().map(|x| x.name_id.as_str()).collect();
    names.dedup();
    assert!(names.len() >= 60, "{} modes", names.len());
    assert_eq!(m.findings, Vec::new());
}

#[test]
fn every_mode_edits_something_and_changes_the_machine() {
    for m in all() {
        let sound = m.sound();
        for (i, mode) in m.modes.iter().enumerate() {
            let mut params = sound.clone();
            m.apply(halfsplit_machine::ModeIx(i), &mut params);
            assert_ne!(params, sound, "{} changes nothing", mode.id);
        }
    }
}

#[test]
fn every_edit_in_the_library_names_a_parameter_of_its_class() {
    let machines = all();
    for class in CLASSES {
        let found = |m: &Machine| m.parts.iter().position(|p| p.class.name == class.name);
        let Some((m, part)) = machines.iter().find_map(|m| found(m).map(|p| (m, p))) else {
            panic!("no part of class \"{}\" on any example machine", class.name);
        };
        let params: Vec<&str> = m.params.iter().filter(|p| p.part.0 == part).map(|p| p.name.as_str()).collect();
        for mode in class.modes {
            assert!(!mode.levels.is_empty());
            for edit in mode.levels.iter().flat_map(|l| l.edits).chain(class.wrong_part) {
                assert!(params.contains(&edit.param), "{} {}: no parameter `{}`", class.name, mode.key, edit.param);
            }
        }
    }
}

#[test]
fn edits_set_scale_and_add() {
    let m = demo();
    let mode = m.modes.iter().position(|x| x.id == "CRUN:weak:a-third-left").expect("mode");
    let mut params = m.sound();
    m.apply(halfsplit_machine::ModeIx(mode), &mut params);
    let ParamIx(farads) = m.modes[mode].edits[0].param;
    assert!(matches!(m.modes[mode].edits[0].op, Op::Scale(_)));
    assert!((params[farads] - 0.34 * 12.5e-6).abs() < 1e-12);
}

#[test]
fn test_ids_are_unique() {
    for m in all() {
        let mut ids: Vec<&str> = m.tests.iter().map(|t| t.id.as_str()).collect();
        ids.sort_unstable();
        let n = ids.len();
        ids.dedup();
        assert_eq!(ids.len(), n);
        assert!(m.modes.iter().all(|x| m.modes.iter().filter(|y| y.id == x.id).count() == 1));
    }
}

#[test]
fn nothing_is_measured_live_at_hermetic_pins_or_dead_things_on_live_parts() {
    use halfsplit_machine::test::{Measure, PowerState};
    let m = demo();
    for t in &m.tests {
        let dead_only = matches!(
            t.measure,
            Measure::PartOhms(..)
                | Measure::PlugOhms(..)
                | Measure::WireOhms(..)
                | Measure::PartFarads(..)
                | Measure::Insulation(..)
        );
        assert!(!dead_only || t.power == PowerState::Dead, "{}", t.id);
        assert!(t.power != PowerState::Live || m.places[t.place.0].live_allowed, "{}", t.id);
    }
}

#[test]
fn a_part_that_is_fitted_makes_its_own_joints_anew_and_is_not_meant_for_them() {
    let mut with_joints = 0;
    for m in all() {
        let mut groups: Vec<&str> = m.modes.iter().map(|x| x.repair_group.as_str()).collect();
        groups.sort_unstable();
        groups.dedup();
        for group in groups {
            let meant: Vec<_> = m.meant_for(group).collect();
            assert!(meant.iter().all(|i| m.modes[i.0].repair_group == group && !m.modes[i.0].nature.harmless()));
            let right: Vec<_> = m.puts_right(group).collect();
            assert!(meant.iter().all(|i| right.contains(i)), "{group}");
            let besides: Vec<_> = right.iter().filter(|i| !meant.contains(i)).collect();
            with_joints += besides.iter().filter(|i| m.modes[i.0].repair_group.ends_with("/connection")).count();
            for i in besides {
                let joint = &m.modes[i.0];
                if joint.repair_group.ends_with("/weigh-in") {
                    let evacuated = meant.iter().any(|x| m.modes[x.0].repair.what.contains("evacuate"));
                    assert!(evacuated, "{group} does nothing to the charge");
                    continue;
                }
                assert_eq!(
                    joint.repair_group.strip_suffix("/connection"),
                    group.strip_suffix("/replace"),
                    "{}",
                    joint.id
                );
            }
        }
        assert_eq!(m.meant_for("no such thing").count(), 0);
    }
    assert!(with_joints > 20, "{with_joints}");
}
