//! Refrigerants at the gauges, and the pressure–enthalpy picture.

use halfsplit_bench::chart::{Trace, pressure_enthalpy};
use halfsplit_bench::refrigerant::{Cycle, Design, Readings, compression_ratio, named};
use halfsplit_bench::{Inputs, Worked, work_out};

fn work(id: &str, inputs: &[(&str, &str)]) -> Worked {
    work_out(id, &inputs.iter().copied().collect::<Inputs>()).unwrap_or_else(|error| panic!("{id}: {error}"))
}

#[track_caller]
fn number(worked: &Worked, name: &str) -> f64 {
    worked.number(name).unwrap_or_else(|| panic!("{} gives no {name}", worked.id)).value
}

#[track_caller]
fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} against {expected} ± {tolerance}");
}

fn error(id: &str, inputs: &[(&str, &str)]) -> String {
    work_out(id, &inputs.iter().copied().collect::<Inputs>()).expect_err("an error").to_string()
}

/// ASHRAE refrigerant properties, recomputed with an open library: R410A at 118 psig and sea level boils at 4.4 °C or so; the
/// same gauge at 1600 m (air at 83.5 kPa by the standard atmosphere) is some 18 kPa less and so colder.
#[test]
fn altitude_moves_the_gauge() {
    let at = |altitude: &str| {
        let inputs = [("refrigerant", "R-410A"), ("gauge", "118 psig"), ("altitude", altitude)];
        number(&work("refrigerant.saturation", &inputs), "dew")
    };
    close(at("0 m"), 4.36, 0.05);
    assert!(at("1600 m") < at("0 m") - 0.3);
}

/// Superheat counts from dew and subcooling from bubble: on R407C mixing them up would err by the glide, 5 to 6 K (CoolProp 8.0.0:
/// 500 kPa −3.8548 to 2.3601 °C, 1700 kPa 38.8435 to 43.7858 °C).
#[test]
fn the_right_end_of_the_glide() {
    let superheat = [("refrigerant", "R407C"), ("absolute", "500 kPa(a)"), ("line", "10 °C")];
    let worked = work("refrigerant.superheat", &superheat);
    close(number(&worked, "superheat"), 10.0 - 2.3601, 0.1);
    assert!(worked.remarks.iter().any(|remark| remark.contains("glide of 6.2 K")), "{:?}", worked.remarks);
    let subcooling = [("refrigerant", "R407C"), ("absolute", "1700 kPa(a)"), ("line", "35 °C")];
    close(number(&work("refrigerant.subcooling", &subcooling), "subcooling"), 38.8435 - 35.0, 0.1);
}

#[test]
fn impossible_lines_are_remarked() {
    let wet = [("refrigerant", "R134a"), ("absolute", "200 kPa(a)"), ("line", "-15 °C")];
    assert!(work("refrigerant.superheat", &wet).remarks[0].contains("colder than the vapour can be"));
    let flashing = [("refrigerant", "R134a"), ("absolute", "1000 kPa(a)"), ("line", "45 °C")];
    assert!(work("refrigerant.subcooling", &flashing).remarks[0].contains("bubbles"));
    let single_source = [("refrigerant", "R454B"), ("absolute", "900 kPa(a)"), ("line", "20 °C")];
    assert!(work("refrigerant.superheat", &single_source).remarks.iter().any(|r| r.contains("no second source")));
}

#[test]
fn nonsense_is_refused() {
    let unknown = error("refrigerant.saturation", &[("refrigerant", "R999"), ("gauge", "100 psig")]);
    assert!(unknown.contains("R410A") && unknown.contains("R999"), "{unknown}");
    let both = [("refrigerant", "R32"), ("gauge", "100 psig"), ("absolute", "9 bar(a)")];
    assert!(error("refrigerant.saturation", &both).contains("not both"));
    assert!(error("refrigerant.saturation", &[("refrigerant", "R32")]).contains("one of them"));
    assert!(error("refrigerant.superheat", &[("refrigerant", "R32"), ("line", "5 °C")]).contains("give gauge"));
    let hot = error("refrigerant.saturation", &[("refrigerant", "R744"), ("temperature", "35 °C")]);
    assert!(hot.contains("R744") && hot.contains("outside"), "{hot}");
    assert!(compression_ratio(0.0, 1e6).is_err());
    let exchanged = [("suction", "300 psig"), ("discharge", "100 psig")];
    assert!(work("refrigerant.compression_ratio", &exchanged).remarks[0].contains("exchanged"));
    let wet = [
        ("refrigerant", "R134a"),
        ("suction_pressure", "200 kPa(a)"),
        ("suction", "-25 °C"),
        ("discharge_pressure", "1000 kPa(a)"),
        ("discharge", "60 °C"),
        ("liquid", "30 °C"),
    ];
    assert!(error("refrigerant.cycle", &wet).contains("not vapour"));
}

/// The readings of a designed cycle lead back to the efficiency they were designed with.
#[test]
fn design_and_readings_agree() {
    for name in ["R134a", "R32", "R410A", "R407C", "R290", "R600a", "R454B"] {
        let refrigerant = named(name).unwrap();
        let design = Design {
            suction_pressure: refrigerant.dew_pressure(278.15).unwrap(),
            discharge_pressure: refrigerant.dew_pressure(318.15).unwrap(),
            superheat: 6.0,
            subcooling: 4.0,
            efficiency: 0.68,
        };
        let readings = design.readings(refrigerant).unwrap();
        let cycle = Cycle::new(refrigerant, readings).unwrap();
        close(cycle.isentropic_efficiency, 0.68, 2e-3);
        close(cycle.rejected - cycle.effect - cycle.work, 0.0, 1e-6);
        assert!((0.1..0.5).contains(&cycle.quality.unwrap()), "{name}: {:?}", cycle.quality);
        assert!(Design { efficiency: 1.2, ..design }.readings(refrigerant).is_err());
        assert!(Design { superheat: -1.0, ..design }.readings(refrigerant).is_err());
    }
}

/// Above its critical pressure R744 cools without condensing, and the cycle still adds up.
#[test]
fn a_transcritical_cycle() {
    let inputs = [
        ("refrigerant", "R744"),
        ("suction_pressure", "3500 kPa(a)"),
        ("suction", "8 °C"),
        ("discharge_pressure", "9000 kPa(a)"),
        ("discharge", "90 °C"),
        ("liquid", "33 °C"),
    ];
    let worked = work("refrigerant.cycle", &inputs);
    close(number(&worked, "cop_heating") - number(&worked, "cop_cooling"), 1.0, 1e-9);
    assert!((40.0..100.0).contains(&number(&worked, "isentropic_efficiency")), "{worked:?}");
}

fn readings(suction: (f64, f64), discharge: (f64, f64), liquid: (f64, f64)) -> Readings {
    let kelvin = |(p, t): (f64, f64)| (p, t + 273.15);
    Readings { suction: kelvin(suction), discharge: kelvin(discharge), liquid: kelvin(liquid) }
}

/// The numbers in a `points` attribute, pair by pair.
fn points(line: &str) -> Vec<(f64, f64)> {
    let inside = line.split("points=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("points");
    let pair = |text: &str| {
        let (x, y) = text.split_once(',').expect("a pair");
        (x.parse().expect("x"), y.parse().expect("y"))
    };
    inside.split(' ').map(pair).collect()
}

#[test]
fn the_picture_shows_dome_isotherms_and_cycles() {
    let r134a = readings((350e3, 11.0), (1500e3, 85.0), (1480e3, 50.0));
    let r744 = readings((3500e3, 8.0), (9000e3, 90.0), (9000e3, 33.0));
    for (name, at) in [("R134a", r134a), ("R744", r744)] {
        let refrigerant = named(name).unwrap();
        let later = Readings { suction: (at.suction.0, at.suction.1 + 5.0), ..at };
        let traces = [
            Trace { label: "measured <today>", readings: at, dashed: false },
            Trace { label: "expected", readings: later, dashed: true },
        ];
        let svg = pressure_enthalpy(refrigerant, &traces).unwrap();
        assert_eq!(svg, pressure_enthalpy(refrigerant, &traces).unwrap(), "the same inputs give the same bytes");
        assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
        assert!(svg.contains("measured &lt;today&gt;") && !svg.contains("<today>"), "labels are escaped");
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
        let lines = |class: &str| -> Vec<Vec<(f64, f64)>> {
            let start = format!("<polyline class=\"{class}\"");
            svg.lines().filter(|line| line.starts_with(&start)).map(points).collect()
        };
        assert!(!lines("dome").is_empty() && lines("isotherm").len() >= 4, "{name}");
        for (x, y) in lines("dome").concat().into_iter().chain(lines("isotherm").concat()) {
            assert!(
                (63.9..=704.1).contains(&x) && (39.9..=432.1).contains(&y),
                "{name}: {x}, {y} is outside the frame"
            );
        }
        let (full, dashed) = (lines("full"), lines("dashed"));
        assert_eq!((full.len(), dashed.len()), (1, 1));
        let [suction, discharge, liquid, inlet, closed] = full[0][..] else { panic!("five points") };
        assert_eq!(suction, closed, "the cycle closes");
        assert!(discharge.0 > suction.0 && suction.0 > liquid.0, "enthalpies in order");
        assert!(discharge.1 < suction.1, "discharge lies above suction");
        assert_eq!((liquid.0, inlet.1), (inlet.0, suction.1), "expansion at constant enthalpy to the suction pressure");
        assert!(dashed[0][0].0 > suction.0, "more superheat lies further right");
    }
}

#[test]
fn a_picture_of_nothing_is_refused() {
    let refrigerant = named("R134a").unwrap();
    assert!(pressure_enthalpy(refrigerant, &[]).unwrap_err().to_string().contains("no cycle"));
    let beyond = readings((350e3, 11.0), (1500e3, 900.0), (1480e3, 50.0));
    assert!(pressure_enthalpy(refrigerant, &[Trace { label: "measured", readings: beyond, dashed: false }]).is_err());
}
