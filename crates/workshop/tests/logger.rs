//! Values from a logger: columns, units, times, and errors that point at line and column.

use halfsplit_workshop::logger::readings;
use halfsplit_workshop::machine::Machine;
use halfsplit_workshop::machine::examples::example;

fn machine() -> Machine {
    Machine::build(example("dehumidifier").expect("example").text).expect("builds")
}

#[test]
fn columns_are_mapped_and_units_recognised() {
    let csv = "Time,Coil,Room (F),Supply current [A],Door\n\
               2026-05-01T10:00:00Z,9.0,70,3.3,shut\n\
               2026-05-01T10:01:00Z,7.0,70,3.4,shut\n\
               2026-05-01T10:02:00Z,7.2,71,,open\n";
    let all = readings(&machine(), csv).expect("a log");
    let of = |test: &str| all.iter().find(|r| r.test == test).unwrap_or_else(|| panic!("{test}: {all:?}"));
    // The middle of three; the time of the last that was there.
    assert_eq!(of("shown T1 settled").as_typed, "7.2 C");
    assert_eq!(of("shown T2 settled").as_typed, "70 F");
    let amps = of("amps supply while drying settled");
    assert_eq!(amps.taken_at.as_deref(), Some("2026-05-01T10:01:00Z"));
    assert!(amps.note.contains("lines 2 to 3"), "{}", amps.note);
    assert_eq!(all.len(), 3, "a column that nobody mapped is left alone");
}

#[test]
fn semicolons_and_decimal_commas() {
    let all = readings(&machine(), "date;Coil\n1.5.2026;\"7,5\"\n").expect("a log");
    assert_eq!(all[0].as_typed, "7.5 C");
}

#[test]
fn errors_point_at_line_and_column() {
    let m = machine();
    let at = |csv: &str| {
        let e = readings(&m, csv).expect_err(csv);
        assert!(!e.hint.is_empty());
        (e.line, e.column)
    };
    assert_eq!(at("Time,Coil\n1,7\n2,seven\n"), (3, 2));
    assert_eq!(at("Time,Coil\n1,7,8\n"), (2, 0));
    assert_eq!(at("Time,Elsewhere\n1,7\n"), (1, 0));
    assert_eq!(at(""), (1, 0));
    assert_eq!(at("Time,Coil\n1,\"7\n"), (2, 2));
    assert_eq!(at("Time,Coil\n1,-\n"), (1, 0));
}

#[test]
fn codes_of_a_table_stand_for_detections_and_others_are_kept() {
    let m = machine();
    assert_eq!(m.shown_for_code("D 5"), Some("bucket full"));
    assert!(m.about_code("d5").contains("page 14"));
    assert_eq!(m.shown_for_code("d9"), None);
    assert!(m.about_code("d9").contains("Memory fault"));
    let other = m.about_code("d77 fan");
    assert!(
        other.contains("kept as text") && other.contains("fan's speed") && !other.contains("tank too hot"),
        "{other}"
    );
}
