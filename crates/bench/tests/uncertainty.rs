//! The ± of results against propagation by hand (JCGM 100:2008, 5.1.2).

use halfsplit_bench::{Given, Inputs, work_out};

fn plus_minus(id: &str, inputs: &Inputs, result: &str) -> f64 {
    let worked = work_out(id, inputs).unwrap_or_else(|error| panic!("{id}: {error}"));
    worked.number(result).expect("a number").plus_minus.unwrap_or(0.0)
}

#[track_caller]
fn relative(found: f64, expected: f64, tolerance: f64) {
    assert!((found / expected - 1.0).abs() < tolerance, "{found} against {expected}");
}

/// C = I/(2π f V): relative uncertainties add as squares, √(2² + 1²) %.
#[test]
fn a_quotient_adds_relative_squares() {
    let inputs =
        Inputs::default().text("current", "4.98 A ± 2 %").text("voltage", "440 V ± 1 %").text("frequency", "60 Hz");
    relative(plus_minus("capacitor.under_load", &inputs, "capacitance"), 30.022_41 * 0.05_f64.sqrt() / 10.0, 2e-4);
}

/// T from R by the B law: dT = T²/B · dR/R.
#[test]
fn a_thermistor_divides_by_its_slope() {
    let inputs = Inputs::default().text("r25", "10 kΩ").text("beta", "3950 K").text("resistance", "5 kΩ ± 1 %");
    let kelvin = 273.15 + 41.460_23;
    relative(plus_minus("thermistor.temperature", &inputs, "temperature"), kelvin * kelvin / 3950.0 * 0.01, 1e-4);
}

/// Water side: with a 5 K difference and 0.2 K on each thermometer, the thermometers decide: √2 × 0.2/5 = 5.7 %.
#[test]
fn a_small_difference_is_decided_by_the_thermometers() {
    let inputs = Inputs::default()
        .text("flow", "20 L/min ± 2 %")
        .text("entering", "45 °C ± 0.2 K")
        .text("leaving", "50 °C ± 0.2 K")
        .text("electric", "1900 W ± 1 %");
    let worked = work_out("heat.water_side", &inputs).expect("a capacity");
    let capacity = worked.number("capacity").expect("a number");
    let by_hand = (0.02 * 0.02 + 2.0 * 0.04 * 0.04_f64).sqrt();
    relative(capacity.plus_minus.expect("±") / capacity.value, by_hand, 1e-2);
    let cop = worked.number("cop").expect("a number");
    relative(cop.plus_minus.expect("±") / cop.value, (by_hand * by_hand + 1e-4).sqrt(), 1e-2);
    let parts = &worked.results.iter().find(|outcome| outcome.name == "capacity").expect("capacity").parts;
    assert!(parts[0].from == "leaving" || parts[0].from == "entering", "{parts:?}");
    relative(parts[0].share + parts[1].share, 2.0 * 0.04 * 0.04 / (by_hand * by_hand), 1e-2);
}

/// No ± in, none out; and a formula's own doubt shows even then.
#[test]
fn doubt_of_the_formula_stands_alone() {
    let ohms = Inputs::default().text("power", "4500 W").text("voltage", "240 V");
    assert_eq!(plus_minus("element.expected", &ohms, "resistance"), 0.0);
    let altitude = Inputs::default().text("altitude", "0 m");
    relative(plus_minus("air.at_altitude", &altitude, "pressure"), 0.03 * 101.325, 1e-12);
}

/// Within the meter's ± a verdict may turn: it is said.
#[test]
fn a_verdict_on_the_edge_names_the_other() {
    let near = Inputs::default()
        .text("current", "2.70 A ± 3 %")
        .text("voltage", "254 V")
        .text("frequency", "60 Hz")
        .text("rated", "30 µF");
    let worked = work_out("capacitor.under_load", &near).expect("a capacitance");
    let verdict = worked.results.iter().find(|outcome| outcome.name == "verdict").expect("a verdict");
    assert!(worked.word("verdict").expect("a word").starts_with("weak"), "{worked:?}");
    assert!(verdict.could_also_be.iter().any(|other| other.starts_with("sound")), "{verdict:?}");
}

/// JSON takes text, SI numbers with ±, and lists.
#[test]
fn inputs_come_from_json() {
    let inputs: Inputs = serde_json::from_str(
        r#"{ "failed": [720000.0, 1260000.0], "running": "400 h; 500 h", "time": { "si": 1440000.0 } }"#,
    )
    .expect("inputs read");
    assert_eq!(inputs.0["time"], Given::Si { si: 1_440_000.0, plus_minus: None });
    // One of four failed at 200 h, one of the three left at 350 h: 3/4 × 2/3.
    let worked = work_out("life.survival", &inputs).expect("a share");
    relative(worked.number("good").expect("a number").value, 50.0, 1e-12);
    let inputs: Inputs =
        serde_json::from_str(r#"{ "power": { "si": 4500.0, "plus_minus": 45.0 }, "voltage": "240 V" }"#)
            .expect("inputs read");
    relative(plus_minus("element.expected", &inputs, "resistance"), 0.128, 1e-3);
    let slip = serde_json::from_str::<Inputs>(r#"{ "power": { "si": 4500.0, "plusminus": 45.0 } }"#);
    assert!(slip.is_err(), "a misspelled field is not dropped in silence");
    let mut endless = Inputs::default().text("voltage", "240 V");
    endless.0.insert("power".to_owned(), Given::Si { si: 4500.0, plus_minus: Some(f64::INFINITY) });
    assert_eq!(work_out("element.expected", &endless).expect_err("an endless ±").kind(), "unreadable");
}
