//! Sensors by all three laws, as a sheet gives them.

use halfsplit_machine::thermistor::Law;
use halfsplit_machine::{Machine, Role};

const DEMO: &str = include_str!("../../../machines/garage-water-heater.toml");
const BETA: &str = "r25_ohm = 50000, beta_k = 3950";

fn law_of_t5(ratings: &str) -> Law {
    assert_eq!(DEMO.matches(BETA).count(), 1);
    let m = Machine::build(&DEMO.replace(BETA, ratings)).unwrap_or_else(|e| panic!("{e}"));
    match &m.parts[m.part("T5").expect("T5").0].role {
        Role::Thermistor(t) => t.law.clone(),
        other => panic!("{other:?}"),
    }
}

fn near(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() < relative, "got {got}, want {want}");
}

/// Source: B-value definition of IEC 60539-1; arithmetic. 10 kohm, B 3950 K have 1086.671 ohm at 85 °C; 50 kohm five times as much.
#[test]
fn beta() {
    near(law_of_t5(BETA).ohms(358.15), 5.0 * 1_086.671, 1e-6);
}

/// Coefficients of a generic 10 kohm part, from memory; 1/T = A + B ln R + C (ln R)³ (Steinhart and Hart 1968) redone:
/// 32 650 ohm is 0.0002 °C, 3603 ohm 49.9857 °C.
#[test]
fn steinhart_hart() {
    let law = law_of_t5("steinhart_hart = [1.129148e-3, 2.34125e-4, 8.76741e-8]");
    assert!(matches!(law, Law::SteinhartHart { .. }));
    assert!((law.temperature(32_650.0) - 273.1502).abs() < 2e-4);
    assert!((law.temperature(3_603.0) - 323.1357).abs() < 2e-4);
}

/// The points come back as given, and between them the curve is that of a beta law.
/// Points: beta law of 10 kohm, 3950 K (IEC 60539-1, arithmetic).
#[test]
fn table() {
    let law = law_of_t5("table_c_ohm = [[-20, 105384.7], [0, 33620.60], [25, 10000], [50, 3588.183], [85, 1086.671]]");
    assert!(matches!(law, Law::Table(_)));
    for (c, ohms) in [(-20.0, 105_384.7), (25.0, 10_000.0), (85.0, 1_086.671)] {
        near(law.ohms(c + 273.15), ohms, 1e-9);
    }
    near(law.temperature(5_000.0), 41.4602 + 273.15, 1e-5);
}
