//! What technicians type, and what comes of it.

use halfsplit_units::{Dimension as D, Entry, EntryError, EntryProblem, Quantity, Waveform, parse_entry};

fn value(text: &str, asked: D) -> Quantity {
    match parse_entry(text, Some(asked)) {
        Ok(Entry::Value(quantity)) => quantity,
        other => panic!("{text}: {other:?}"),
    }
}

fn error(text: &str, asked: D) -> EntryError {
    match parse_entry(text, Some(asked)) {
        Err(error) => error,
        Ok(entry) => panic!("{text} was taken as {entry:?}"),
    }
}

fn near(actual: f64, expected: f64) -> bool {
    (actual - expected).abs() <= 1e-12 * expected.abs()
}

#[test]
fn values_with_units_in_every_spelling() {
    for (text, asked, si) in [
        ("2.1 uF", D::Capacitance, 2.1e-6),
        ("2.1µF", D::Capacitance, 2.1e-6),
        ("12,5 uF", D::Capacitance, 12.5e-6),
        ("12.5 MFD", D::Capacitance, 12.5e-6),
        ("45 mfd", D::Capacitance, 45e-6),
        ("1 F", D::Capacitance, 1.0),
        ("1 234 ohm", D::Resistance, 1234.0),
        ("4.7k", D::Resistance, 4700.0),
        ("4.7 K", D::Resistance, 4700.0),
        ("4k7", D::Resistance, 4700.0),
        ("2R2", D::Resistance, 2.2),
        ("1M5", D::Resistance, 1.5e6),
        ("12.8 ohms", D::Resistance, 12.8),
        ("20 meg", D::Resistance, 20e6),
        ("0 ohm", D::Resistance, 0.0),
        ("240", D::Voltage, 240.0),
        ("238 VAC", D::Voltage, 238.0),
        ("11.9 V DC", D::Voltage, 11.9),
        ("-12 V", D::Voltage, -12.0),
        ("350 mV", D::Voltage, 0.35),
        ("1.8 A", D::Current, 1.8),
        ("4,2 µA", D::Current, 4.2e-6),
        ("-6.1 C", D::Temperature, 267.05),
        ("−6.1 °C", D::Temperature, 267.05),
        ("68 F", D::Temperature, 293.15),
        ("68 deg. F", D::Temperature, 293.15),
        ("18 F", D::TemperatureDifference, 10.0),
        ("6 K", D::TemperatureDifference, 6.0),
        ("6 C", D::TemperatureDifference, 6.0),
        ("118 psi", D::PressureGauge, 813_581.360_593_756_7),
        ("8 bar", D::PressureGauge, 8e5),
        ("14.7 psia", D::PressureAbsolute, 101_352.932_209_574_2),
        ("101.3 kPa", D::PressureAbsolute, 101_300.0),
        ("500 microns", D::Vacuum, 66.661_193_707_5),
        ("400 µm Hg", D::Vacuum, 53.328_954_966),
        ("0.5 in. w.c.", D::PressureDifference, 124.544_455),
        ("125 Pa", D::PressureDifference, 125.0),
        ("4500 W", D::Power, 4500.0),
        ("36000 BTU/h", D::Power, 10_550.558_526_2),
        ("7.7 kWh", D::Energy, 27_720_000.0),
        ("7 s", D::Time, 7.0),
        ("5 min", D::Time, 300.0),
        ("1 min 30 s", D::Time, 90.0),
        ("2 lb 3 oz", D::Mass, 0.992_233_309_375),
        ("2lb3oz", D::Mass, 0.992_233_309_375),
        ("6ft2in", D::Length, 1.8796),
        ("1.5 m2", D::Area, 1.5),
        ("10 kg/cm2", D::PressureGauge, 980_665.0),
        ("800 g", D::Mass, 0.8),
        ("6 ft 2 in", D::Length, 1.8796),
        ("60 Hz", D::Frequency, 60.0),
        ("55 %", D::Humidity, 0.55),
        ("95 %", D::Ratio, 0.95),
        ("190 L", D::Volume, 0.19),
        ("2.5 gpm", D::VolumeFlow, 2.5 * 0.003_785_411_784 / 60.0),
        ("6 m³/h", D::VolumeFlow, 6.0 / 3600.0),
        ("350 cfm", D::VolumeFlow, 350.0 * 0.028_316_846_592 / 60.0),
        ("240 steps", D::Count, 240.0),
        ("5", D::Count, 5.0),
        ("1075 rpm", D::RotationalSpeed, 1075.0 / 60.0),
    ] {
        let quantity = value(text, asked);
        assert!(near(quantity.si, si), "{text}: {} against {si}", quantity.si);
        assert_eq!(quantity.dimension(), asked, "{text}");
        assert!(!quantity.rough);
    }
}

#[test]
fn the_unit_says_alternating_or_direct() {
    assert_eq!(value("238 VAC", D::Voltage).waveform(), Some(Waveform::Ac));
    assert_eq!(value("11.9 V dc", D::Voltage).waveform(), Some(Waveform::Dc));
    assert_eq!(value("238 V", D::Voltage).waveform(), None);
}

#[test]
fn the_last_digit_typed_is_kept() {
    assert!(near(value("2.1 uF", D::Capacitance).step, 1e-7));
    assert!(near(value("2.10 uF", D::Capacitance).step, 1e-8));
    assert!(near(value("68 F", D::Temperature).step, 5.0 / 9.0));
    assert!(near(value("1 min 30 s", D::Time).step, 1.0));
}

#[test]
fn open_line_in_every_form() {
    for text in ["OL", "ol", "O.L", "O.L.", "0L", "O L", "open", "Open line", "infinite", "∞", " OL "] {
        let entry = parse_entry(text, Some(D::Resistance));
        assert_eq!(entry, Ok(Entry::Over(Some(D::Resistance))), "{text}");
    }
    assert_eq!(parse_entry("OL", None), Ok(Entry::Over(None)));
    assert_eq!(parse_entry("OL Mohm", None), Ok(Entry::Over(Some(D::Resistance))));
    assert_eq!(parse_entry("O.L MΩ", Some(D::Resistance)), Ok(Entry::Over(Some(D::Resistance))));
    let problem = error("OL uF", D::Resistance).problem;
    assert!(matches!(problem, EntryProblem::WrongDimension { .. }), "{problem:?}");
}

#[test]
fn bounds_ranges_and_tolerances() {
    for text in [">20 MOhm", "> 20 MΩ", "over 20 megohm", "more than 20 M", "at least 20 MOhm", "≥20 MOhm"] {
        let Ok(Entry::AtLeast(bound)) = parse_entry(text, Some(D::Resistance)) else {
            panic!("{text}");
        };
        assert_eq!(bound.si, 20e6, "{text}");
    }
    for text in ["<0.5 ohm", "less than 0.5 ohm", "below 500 mΩ", "up to 0,5 ohm"] {
        let Ok(Entry::AtMost(bound)) = parse_entry(text, Some(D::Resistance)) else {
            panic!("{text}");
        };
        assert_eq!(bound.si, 0.5, "{text}");
    }
    for text in [
        "118..122 V",
        "118...122 V",
        "118…122 V",
        "118-122 V",
        "118 – 122 V",
        "118 V - 122 V",
        "118 to 122 V",
        "118 V to 122 V",
        "between 118 and 122 V",
        "from 118 to 122",
        "122-118 V",
        "120 ± 2 V",
        "120 V +/- 2 V",
        "120V±2V",
    ] {
        let Ok(Entry::Between { low, high }) = parse_entry(text, Some(D::Voltage)) else {
            panic!("{text}: {:?}", parse_entry(text, Some(D::Voltage)));
        };
        assert_eq!((low.si, high.si), (118.0, 122.0), "{text}");
    }
    let Ok(Entry::Between { low, high }) = parse_entry("12.8 ohm ±5 %", Some(D::Resistance)) else {
        panic!("a tolerance");
    };
    assert!(near(low.si, 12.16) && near(high.si, 13.44));
    let Ok(Entry::Between { low, high }) = parse_entry("-6--2 C", Some(D::Temperature)) else {
        panic!("a range below zero");
    };
    assert!(near(low.si, 267.15) && near(high.si, 271.15));
    let Ok(Entry::Between { low, high }) = parse_entry("20 ± 1 °C", Some(D::Temperature)) else {
        panic!("a tolerance in degrees");
    };
    assert!(near(low.si, 292.15) && near(high.si, 294.15));
}

#[test]
fn both_ends_of_a_range_measure_the_same() {
    // Found by fuzzing: from an ampere to a degree Fahrenheit.
    for text in ["1a-6 F", "5 V ± 2 A", "10 ohm to 12 V", "20 °C ± 5 %", "2 lb 3 in"] {
        let error = parse_entry(text, None).expect_err(text);
        assert!(matches!(error.problem, EntryProblem::WrongDimension { .. }), "{error}");
    }
    // What the first unit says settles the second's double meaning.
    let Ok(Entry::Between { low, high }) = parse_entry("10 µF .. 1 F", None) else { panic!("farads") };
    assert_eq!((low.si, high.si), (1e-5, 1.0));
    let Ok(Entry::Between { low, high }) = parse_entry("55 ± 3 %", Some(D::Humidity)) else { panic!("points") };
    assert!(near(low.si, 0.52) && near(high.si, 0.58));
    let Ok(Entry::Between { low, high }) = parse_entry("55 % ± 3 %", Some(D::Humidity)) else { panic!("points") };
    assert!(near(low.si, 0.52) && near(high.si, 0.58));
}

#[test]
fn roughly_is_kept() {
    for text in ["about 9.6 A", "~9.6 A", "approx. 9.6 A", "≈ 9,6 A", "around 9.6 amps"] {
        let quantity = value(text, D::Current);
        assert!(quantity.rough && quantity.si == 9.6, "{text}");
    }
}

#[test]
fn words_stay_words() {
    let hum = "hums 7 s then silent";
    assert_eq!(parse_entry(hum, Some(D::Words)), Ok(Entry::Words(hum.into())));
    assert_eq!(parse_entry(hum, None), Ok(Entry::Words(hum.into())));
    assert_eq!(parse_entry("  5 blinks, pause ", Some(D::Words)), Ok(Entry::Words("5 blinks, pause".into())));
    assert_eq!(parse_entry("open since Tuesday", None), Ok(Entry::Words("open since Tuesday".into())));
    assert_eq!(parse_entry("oil at the bend", None), Ok(Entry::Words("oil at the bend".into())));
}

#[test]
fn nothing_asked_lets_the_unit_decide() {
    for (text, dimension) in [
        ("12.5 uF", D::Capacitance),
        ("68 F", D::Temperature),
        ("4.7k", D::Resistance),
        ("118 psi", D::PressureGauge),
        ("400 micron", D::Vacuum),
        ("20 MOhm", D::Resistance),
    ] {
        assert_eq!(parse_entry(text, None).map(|entry| entry.dimension()), Ok(Some(dimension)));
    }
}

#[test]
fn errors_say_what_where_and_what_to_do() {
    // Text, what was asked for, and the whole message.
    for (text, asked, message) in [
        (
            "2.1 ufx",
            D::Capacitance,
            "\"2.1 ufx\", character 5: \"ufx\" is not a unit I know. Did you mean µF, pF or nF?",
        ),
        (
            "12 V",
            D::Resistance,
            "\"12 V\", character 4: V measures a voltage, but a resistance was asked for. Type a resistance, like \"4.7 kOhm\".",
        ),
        (
            "-4 ohm",
            D::Resistance,
            "\"-4 ohm\", character 1: a resistance cannot be below zero. A meter shows less than nothing when its leads were not zeroed or the circuit is live: prove it dead, then measure again.",
        ),
        (
            "-3 K",
            D::Temperature,
            "\"-3 K\", character 1: \"-3\" is below absolute zero, -273.15 °C or -459.67 °F. Check the sign and the unit.",
        ),
        (
            "banana",
            D::Current,
            "\"banana\", character 1: \"banana\" is not a number. Type it like \"1.8 A\", or OL if the meter shows no reading.",
        ),
        ("12.5", D::Capacitance, "\"12.5\", character 5: the unit is missing. Add the unit, as in \"12.5 uF\"."),
        ("1,234 ohm", D::Resistance, "\"1,234 ohm\", character 1: \"1,234\" can be 1234 or 1.234. Type 1234 or 1.234."),
        (
            "3/8 in",
            D::Length,
            "\"3/8 in\", character 1: \"3/8 in\" is a fraction. Type the fraction as a decimal, 0.375 for 3/8.",
        ),
        ("", D::Voltage, "Nothing was typed. Type it like \"240 V\", or OL if the meter shows no reading."),
        (
            "118 psig",
            D::PressureAbsolute,
            "\"118 psig\", character 5: psig measures a gauge pressure, but an absolute pressure was asked for. If it was measured from a perfect vacuum, type psia, bar(a) or kPa(a); a gauge that shows 0 in the open air reads gauge pressure.",
        ),
        (
            "120 %",
            D::Humidity,
            "\"120 %\", character 1: \"120\" is more than 100 % relative humidity. Check the number and the unit.",
        ),
        (
            "2.5 steps",
            D::Count,
            "\"2.5 steps\", character 1: \"2.5\" is not a whole number. Type a whole number, like \"240 steps\".",
        ),
        (
            "> 5 V 3",
            D::Voltage,
            "\"> 5 V 3\", character 7: \"3\" does not belong to the entry. Leave it out here, and enter it as a note or an observation of its own.",
        ),
    ] {
        assert_eq!(error(text, asked).to_string(), message);
    }
}

#[test]
fn impossible_values_are_refused_wherever_they_stand() {
    for (text, asked) in [
        ("> -5 ohm", D::Resistance),
        ("-5..5 ohm", D::Resistance),
        ("1 ± 5 ohm", D::Resistance),
        ("-5 uF", D::Capacitance),
        ("-300 C", D::Temperature),
        ("-500 F", D::Temperature),
        ("-1 psia", D::PressureAbsolute),
        ("-20 psig", D::PressureGauge),
        ("-400 micron", D::Vacuum),
        ("-2 kg", D::Mass),
        ("1e300 GΩ", D::Resistance),
        ("3 oz 2 lb", D::Mass),
        ("1 ± 2", D::Resistance),
        ("5 V ± 2 A", D::Voltage),
        ("5 V .. 2 A", D::Voltage),
        ("5 V ..", D::Voltage),
        ("MoHm", D::Resistance),
        ("3 MoHm", D::Resistance),
        ("20 m", D::Resistance),
        ("2 mF", D::Capacitance),
        ("2 MF", D::Capacitance),
    ] {
        let message = error(text, asked).to_string();
        assert!(message.starts_with(&format!("\"{text}\", character ")), "{message}");
    }
    // A compound gauge in vacuum is no mistake: 20 inHg below the air.
    assert!(value("-20 inHg", D::PressureGauge).si < 0.0);
}

#[test]
fn the_place_counts_characters_not_bytes() {
    let error = error("≈ 5 µω?", D::Capacitance);
    assert_eq!((error.at, error.excerpt().as_str()), (4, "µω?"));
}

#[test]
fn an_entry_survives_the_file() {
    for (text, asked) in [
        ("2.1 uF", Some(D::Capacitance)),
        ("about 238.5 VAC", Some(D::Voltage)),
        (">20 MOhm", None),
        ("<0.5 ohm", None),
        ("118..122 V", None),
        ("OL", Some(D::Resistance)),
        ("OL", None),
        ("hums", None),
    ] {
        let entry = parse_entry(text, asked).expect("an entry");
        let json = serde_json::to_string(&entry).expect("JSON");
        let back: Entry = serde_json::from_str(&json).expect("the same entry");
        assert_eq!(back, entry, "{json}");
    }
    let unknown = r#"{"value":{"si":1.0,"step":0.1,"dimension":"voltage","unit":"zorkmid"}}"#;
    let error = serde_json::from_str::<Entry>(unknown).expect_err("no such unit").to_string();
    assert!(error.contains("zorkmid"), "{error}");
}
