//! The functions behind the values: refusals, ways back, and figures beyond those of `check_points.toml`.

use halfsplit_bench::leaktest::{Rise, judge_rise};
use halfsplit_bench::life::{Weibull, kaplan_meier, replacement_age};
use halfsplit_bench::nitrogen::at_constant_volume;
use halfsplit_bench::thermistor::{Beta, SteinhartHart, Table, divider_resistance, divider_voltage};
use halfsplit_bench::{Inputs, Refusal, Worked, work_out};
use halfsplit_bench::{capacitor, charge, compressor, elements, heat, leaktest, money, motor, supply, windings};
use proptest::prelude::*;

const ZERO: f64 = 273.15;

#[track_caller]
fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} against {expected} ± {tolerance}");
}

fn work(id: &str, inputs: &[(&str, &str)]) -> Worked {
    work_out(id, &inputs.iter().copied().collect::<Inputs>()).unwrap_or_else(|error| panic!("{id}: {error}"))
}

#[track_caller]
fn number(worked: &Worked, name: &str) -> f64 {
    worked.number(name).unwrap_or_else(|| panic!("{} gives no {name}", worked.id)).value
}

#[track_caller]
fn refused<T: std::fmt::Debug>(outcome: Result<T, Refusal>, word: &str) {
    let message = outcome.expect_err("nonsense is refused").to_string();
    assert!(message.contains(word), "\"{message}\" does not mention \"{word}\"");
}

proptest! {
    /// No outside reference: there and back within a millionth of a kelvin.
    #[test]
    fn b_law_there_and_back(r25 in 100.0..1e6_f64, b in 2500.0..5000.0_f64, celsius in -60.0..150.0_f64) {
        let law = Beta::new(r25, b).unwrap();
        let back = law.temperature(law.resistance(celsius + ZERO).unwrap()).unwrap();
        prop_assert!((back - celsius - ZERO).abs() < 1e-6);
    }

    #[test]
    fn three_constants_there_and_back(celsius in -60.0..150.0_f64) {
        let law = SteinhartHart { a: 1.129_148e-3, b: 2.341_25e-4, c: 8.767_41e-8 };
        let back = law.temperature(law.resistance(celsius + ZERO).unwrap()).unwrap();
        prop_assert!((back - celsius - ZERO).abs() < 1e-6);
    }

    /// A fit through three points of a B-law part goes through them, and stays within 0.1 K between.
    #[test]
    fn three_point_fit_goes_through_its_points(b in 3000.0..4500.0_f64, between in 0.0..50.0_f64) {
        let part = Beta::new(10_000.0, b).unwrap();
        let point = |celsius: f64| (celsius + ZERO, part.resistance(celsius + ZERO).unwrap());
        let law = SteinhartHart::through([point(0.0), point(25.0), point(50.0)]).unwrap();
        for celsius in [0.0, 25.0, 50.0] {
            prop_assert!((law.temperature(point(celsius).1).unwrap() - celsius - ZERO).abs() < 1e-6);
        }
        prop_assert!((law.temperature(point(between).1).unwrap() - between - ZERO).abs() < 0.1);
    }

    /// A table of a B-law part is exact between its lines too, because it interpolates by that law.
    #[test]
    fn a_table_of_the_b_law_is_exact_between_lines(celsius in -20.0..80.0_f64) {
        let part = Beta::new(10_000.0, 3950.0).unwrap();
        let temperatures: Vec<f64> = (-2..=8).map(|ten| f64::from(ten) * 10.0 + ZERO).collect();
        let resistances: Vec<f64> = temperatures.iter().map(|&t| part.resistance(t).unwrap()).collect();
        let table = Table::new(&temperatures, &resistances).unwrap();
        let ohms = table.resistance(celsius + ZERO).unwrap();
        prop_assert!((ohms / part.resistance(celsius + ZERO).unwrap() - 1.0).abs() < 1e-10);
        prop_assert!((table.temperature(ohms).unwrap() - celsius - ZERO).abs() < 1e-6);
    }

    #[test]
    fn winding_temperature_there_and_back(r in 0.05..500.0_f64, from in -20.0..60.0_f64, to in -40.0..200.0_f64) {
        let hot = windings::at_temperature(r, from + ZERO, to + ZERO, windings::COPPER).unwrap();
        let back = windings::temperature(r, from + ZERO, hot, windings::COPPER).unwrap();
        prop_assert!((back - to - ZERO).abs() < 1e-9);
    }

    /// Largest charge and least area are each other's inverse.
    #[test]
    fn charge_and_area_there_and_back(limit in 0.01..0.5_f64, height in 0.5..3.0_f64, area in 1.0..200.0_f64) {
        let most = charge::largest(limit, height, area).unwrap();
        prop_assert!((charge::least_area(limit, height, most).unwrap() / area - 1.0).abs() < 1e-12);
    }

    /// ∫₀ᵗ R dt by the series against Simpson's rule.
    #[test]
    fn mean_time_in_service_agrees_with_quadrature(shape in 1.0..5.0_f64, age in 0.05..2.5_f64) {
        let life = Weibull::new(1.0, shape).unwrap();
        let steps = 2000;
        let h = age / f64::from(steps);
        let sum: f64 = (0..=steps)
            .map(|i| {
                let weight = if i == 0 || i == steps { 1.0 } else if i % 2 == 1 { 4.0 } else { 2.0 };
                weight * life.survival(f64::from(i) * h).unwrap()
            })
            .sum();
        prop_assert!((life.mean_up_to(age) - sum * h / 3.0).abs() < 1e-6);
    }
}

/// Two tables that circulate for a 10 kΩ part (no source): zero and open must be refused, not turned into a temperature.
#[test]
fn open_and_shorted_sensors_are_named() {
    let law = Beta::new(10_000.0, 3950.0).unwrap();
    refused(law.temperature(1.0), "shorted");
    refused(law.temperature(1e9), "open");
    refused(law.temperature(0.0), "above zero");
    refused(law.temperature(-5.0), "above zero");
    refused(law.temperature(f64::NAN), "above zero");
    refused(law.resistance(10.0), "temperature");
    refused(Beta::new(0.0, 3950.0), "25 °C");
    refused(Beta::new(10_000.0, -1.0), "B constant");
    refused(Beta::through((300.0, 1000.0), (300.0, 900.0)), "same temperature");
    refused(Beta::through((300.0, 900.0), (320.0, 1000.0)), "exchanged");
    refused(SteinhartHart::through([(273.0, 1e4), (298.0, 1e4), (323.0, 1e3)]), "same resistance");
    refused(SteinhartHart::through([(273.0, 1e3), (298.0, 1e4), (323.0, 1e5)]), "falling");
    refused(Table::new(&[300.0, 310.0], &[1000.0]), "2 temperatures and 1 resistances");
    refused(Table::new(&[300.0, 310.0], &[1000.0, 1100.0]), "does not fall");
    refused(Table::new(&[300.0, 310.0], &[1000.0, 900.0]).unwrap().temperature(1200.0), "outside");
    refused(divider_resistance(5.0, 10_000.0, 5.0), "open");
}

/// Common practice: 10 k part on 10 k to 5 V reads 2.50 V at 25 °C and 1.32 V at 50 °C.
#[test]
fn board_input_voltages() {
    let law = Beta::new(10_000.0, 3950.0).unwrap();
    close(divider_voltage(law.resistance(25.0 + ZERO).unwrap(), 10_000.0, 5.0).unwrap(), 2.5, 0.005);
    close(divider_voltage(law.resistance(50.0 + ZERO).unwrap(), 10_000.0, 5.0).unwrap(), 1.32, 0.005);
    close(divider_resistance(1.25, 10_000.0, 5.0).unwrap(), 10_000.0 / 3.0, 1e-9);
}

/// By the B law: a B 3435 part on a board made for B 3950 is right at 25 °C and shows 55 °C at 60 °C.
#[test]
fn a_wrong_part_and_a_bad_plug_show_wrong() {
    let wrong = |at: &str| {
        let inputs = [("r25", "10 kΩ"), ("beta", "3435 K"), ("board_beta", "3950 K"), ("temperature", at)];
        number(&work("thermistor.shown", &inputs), "shown")
    };
    close(wrong("25 °C"), 25.0, 1e-9);
    close(wrong("60 °C"), 55.0, 0.5);
    // 5 kΩ of corrosion in the plug of a 10 kΩ B 3950 sensor at 21 °C: 11.97 kΩ becomes 16.97 kΩ, shown as 13.6 °C.
    let plug = [("r25", "10 kΩ"), ("beta", "3950 K"), ("temperature", "21 °C"), ("in_series", "5 kΩ")];
    close(number(&work("thermistor.shown", &plug), "shown"), 13.6, 0.1);
}

#[test]
fn capacitor_nonsense_is_refused() {
    refused(capacitor::under_load(1.0, 0.0, 60.0), "voltage");
    refused(capacitor::under_load(-1.0, 240.0, 60.0), "current");
    refused(capacitor::under_load(1.0, 240.0, 0.0), "frequency");
    refused(capacitor::series(0.0, 5e-6), "first");
    refused(capacitor::discharge_time(45e-6, 15e3, 50.0, 50.0), "below");
    refused(capacitor::discharge_resistance(45e-6, 0.0, 600.0, 50.0), "time");
}

/// E = C V²/2: 2040 µF at 339 V hold 117 J, and 1.8 kW pull the bus from 333 to 200 V in about 40 ms.
#[test]
fn bus_energy_and_ride_through() {
    close(capacitor::energy(2040e-6, 339.0).unwrap(), 117.2, 0.05);
    let bus = [("supply", "235.5 V"), ("capacitance", "2040 µF"), ("load", "1800 W"), ("lowest", "200 V")];
    close(number(&work("supply.bus", &bus), "ride_through"), 40.2, 0.2);
}

/// Series circuit: 8.6 and 11.9 make 20.5, in whatever order they are measured; 15 % off is not a healthy motor.
#[test]
fn three_pin_readings_are_sorted() {
    let pairs = windings::pairs([20.5, 8.6, 11.9]).unwrap();
    assert_eq!((pairs.common_run, pairs.common_start, pairs.run_start), (8.6, 11.9, 20.5));
    close(pairs.disagreement, 0.0, 1e-12);
    let bad = work("windings.pairs", &[("first", "8.6 Ω"), ("second", "8.9 Ω"), ("third", "20.5 Ω")]);
    assert!(bad.word("verdict").unwrap().starts_with("do not agree"));
    refused(windings::pairs([8.6, 0.0, 20.5]), "above zero");
}

#[test]
fn winding_nonsense_is_refused() {
    refused(windings::at_temperature(-1.0, 293.0, 340.0, 234.5), "resistance");
    refused(windings::temperature(1.0, 293.0, 5.0, 234.5), "check both readings");
    refused(windings::insulation_at_40(0.0, 313.0), "insulation");
    refused(windings::unbalance([1.0, f64::NAN, 1.0]), "above zero");
    refused(motor::code_letter("I"), "without I, O and Q");
    refused(motor::locked_rotor("K", 1.0, 230.0, 2.0), "one or three");
    // 200 MΩ at 20 °C halves twice to 50 at 40 °C, and 10 at 20 °C to 2.5 (halving rule of IEEE 43, from memory).
    close(windings::insulation_at_40(200e6, 293.15).unwrap(), 50e6, 1e-3);
    close(windings::insulation_at_40(10e6, 293.15).unwrap(), 2.5e6, 1e-4);
}

/// Table of the MG 1 curve: 0.89 at 3 %; above 5 % the motor must not run.
#[test]
fn derating_ends_at_five_per_cent() {
    close(supply::derating(0.03).unwrap(), 0.89, 0.01);
    close(supply::derating(0.0275).unwrap(), 0.91, 1e-9);
    refused(supply::derating(0.051), "must not run");
    refused(supply::derating(-0.01), "unbalance");
    let stop = work("supply.unbalance", &[("a_b", "230 V"), ("b_c", "230 V"), ("c_a", "200 V")]);
    assert!(stop.word("verdict").unwrap().starts_with("stop"));
    assert!(stop.number("derating").is_none());
}

/// NEC article 440: 1.25 × 16.7 + 1.2 = 22.1 A.
#[test]
fn minimum_circuit_ampacity() {
    close(supply::minimum_circuit_ampacity(16.7, 1.2).unwrap(), 22.075, 1e-9);
    refused(supply::minimum_circuit_ampacity(0.0, 1.2), "rated-load");
    refused(elements::resistance(0.0, 240.0), "power");
    refused(elements::power(-1.0, 240.0), "resistance");
}

/// iapws 1.5.5: 200 L filled at 15 °C take 9.282470 kWh to 55 °C by the industrial formulation (IAPWS-95, for science, gives
/// 9.283453, a ten-thousandth more).
#[test]
fn a_tank_of_real_water() {
    close(heat::tank(0.2, 15.0 + ZERO, 55.0 + ZERO).unwrap() / 3.6e6, 9.282_470, 1e-6);
    refused(heat::tank(0.0, 288.0, 328.0), "volume");
    assert!(heat::tank(0.2, 288.0, 400.0).is_err(), "water boils at one atmosphere above 100 °C");
    let cooled = work_out(
        "heat.tank",
        &[("volume", "190 L"), ("from", "50 °C"), ("to", "40 °C"), ("heating", "1500 W")].into_iter().collect(),
    );
    assert!(cooled.unwrap_err().to_string().contains("did not warm"));
}

/// PsychroLib 2.5.0: 0.5 m³/s from 26.7/19.4 °C to 12.8 °C at 95 %: 11.687 kW of moist-air enthalpy.
/// Moran and Shapiro, ex. 12.11: 319.35 kg/min of dry air (PsychroLib 319.13).
#[test]
fn coil_balances() {
    let coil = work(
        "air.coil",
        &[
            ("flow", "1800 m3/h"),
            ("entering", "26.7 °C"),
            ("entering_wet_bulb", "19.4 °C"),
            ("leaving", "12.8 °C"),
            ("leaving_humidity", "95 %"),
        ],
    );
    close(number(&coil, "enthalpy_change"), 11_687.0, 5.0);
    assert!(number(&coil, "cooling") < number(&coil, "enthalpy_change"), "the condensate carries some away");
    assert!(number(&coil, "sensible") < number(&coil, "cooling"));
    // A heating coil: no water moves, and the capacity is negative (given to the air). 1006 × 20 K with a little for the vapour.
    let heating = [("flow", "1000 m3/h"), ("entering", "20 °C"), ("entering_humidity", "40 %"), ("leaving", "40 °C")];
    let worked = work("heat.air_side", &heating);
    let dry = 1000.0 / 3600.0 / 0.8379;
    close(number(&worked, "capacity"), -dry * 1006.0 * 20.0, 80.0);
}

/// Gas law: 400 psig at 25 °C reads 386 psig at 15 °C.
#[test]
fn nitrogen_verdicts() {
    let base = [("first", "400 psig"), ("first_temperature", "25 °C"), ("temperature", "15 °C")];
    close(expected_psig(&work("leak_test.nitrogen", &base)), 386.1, 0.1);
    let verdict = |second: &'static str| {
        let inputs: Vec<_> = base.into_iter().chain([("second", second)]).collect();
        work("leak_test.nitrogen", &inputs).word("verdict").unwrap().to_owned()
    };
    assert_eq!(verdict("386 psig"), "holds");
    assert!(verdict("370 psig").starts_with("lost gas"));
    assert!(verdict("399 psig").starts_with("gained"));
    refused(leaktest::after_temperature_change(-2e5, 298.0, 288.0, 101_325.0), "absolute pressure");
    refused(leaktest::after_temperature_change(2e5, 0.0, 288.0, 101_325.0), "temperature");
}

/// CoolProp 8.0.0, nitrogen at constant density, gauges at sea level (14.696 psi). The ideal law errs by 0.6 to 6 psi here.
#[test]
fn nitrogen_is_no_ideal_gas() {
    const PSI: f64 = 6_894.757_293;
    let kelvin = |fahrenheit: f64| (fahrenheit + 459.67) / 1.8;
    for (first, from, to, expected, tolerance) in [
        (300.0, 80.0, 60.0, 287.7529, 0.05),
        (500.0, 75.0, 95.0, 520.8402, 0.05),
        (550.0, 90.0, 70.0, 527.6991, 0.05),
        (580.152, 77.0, 50.0, 547.3637, 0.07),
        (600.0, 100.0, 0.0, 480.1487, 0.5),
    ] {
        let absolute = (first + 14.696) * PSI;
        let found = at_constant_volume(absolute, kelvin(from), kelvin(to)).unwrap() / PSI - 14.696;
        close(found, expected, tolerance);
        close(at_constant_volume(absolute, kelvin(from), kelvin(from)).unwrap(), absolute, 1e-6);
    }
    refused(at_constant_volume(20e6, 300.0, 310.0), "pressure");
    refused(at_constant_volume(1e6, 100.0, 310.0), "temperature");
}

/// AHRI 540, order of terms from memory: with two coefficients exchanged the map must answer otherwise.
#[test]
fn a_map_with_exchanged_coefficients_differs() {
    let map = [100.0, 2.5, -0.8, 0.03, 0.01, 0.004, 1e-4, -5e-5, 2e-5, -1e-5];
    let right = compressor::ten_coefficients(&map, 45.0, 130.0).unwrap();
    for first in 0..10 {
        for second in 0..first {
            let mut wrong = map;
            wrong.swap(first, second);
            let answer = compressor::ten_coefficients(&wrong, 45.0, 130.0).unwrap();
            assert!((answer - right).abs() > 1e-3, "exchanging {first} and {second} makes no difference");
        }
    }
    let nine = [("coefficients", "1, 2, 3, 4, 5, 6, 7, 8, 9"), ("suction", "0"), ("discharge", "40")];
    let error = work_out("compressor.map", &nine.into_iter().collect()).unwrap_err().to_string();
    assert!(error.contains("9 were given"), "{error}");
}

fn expected_psig(worked: &Worked) -> f64 {
    worked.number("expected").unwrap().si / 6_894.757_293
}

/// Common practice, no source: flat below 1000 micron tight and dry, levelling off above it moisture, steady rise a leak.
#[test]
fn rise_verdicts() {
    let micron = 0.133_322;
    let judge = |start: f64, halfway: Option<f64>, end: f64| {
        judge_rise(start * micron, halfway.map(|level| level * micron), end * micron, 1000.0 * micron, 2000.0 * micron)
            .unwrap()
    };
    assert_eq!(judge(400.0, None, 700.0), Rise::TightAndDry);
    assert_eq!(judge(400.0, Some(1300.0), 1500.0), Rise::Moisture);
    assert_eq!(judge(400.0, Some(4000.0), 4500.0), Rise::Moisture);
    assert_eq!(judge(400.0, Some(1500.0), 2600.0), Rise::Leak);
    assert_eq!(judge(400.0, None, 2600.0), Rise::Leak);
    assert_eq!(judge(400.0, None, 1500.0), Rise::Undecided);
    refused(judge_rise(50.0, None, 0.0, 130.0, 260.0), "end");
    refused(judge_rise(50.0, None, 60.0, 260.0, 130.0), "limit");
}

/// 40 CFR 82.152, from memory: zero days or charge cannot be; 5 lb into 60 lb after 91 days is 33.4249 % a year.
#[test]
fn leak_rates() {
    close(leaktest::annual_rate(5.0, 60.0, 91.0 * 86_400.0).unwrap(), 0.334_249, 1e-6);
    refused(leaktest::annual_rate(5.0, 60.0, 0.0), "time since");
    refused(leaktest::annual_rate(5.0, 0.0, 86_400.0), "full charge");
    refused(leaktest::annual_rate(0.0, 60.0, 86_400.0), "added");
    refused(leaktest::rate_trigger("kettle"), "comfort_cooling");
    refused(leaktest::gas_load(0.0, 10.0, 10.0), "volume");
}

#[test]
fn charge_nonsense_is_refused() {
    refused(charge::steps(0.0, false), "flammability");
    refused(charge::steps(307.0, false), "0.001 to 2");
    refused(charge::largest(0.3, 0.0, 10.0), "height");
    refused(charge::least_area(0.3, 1.8, -1.0), "charge");
    refused(charge::blend_warming(&[0.5, 0.4], &[1.0, 2.0]), "90.00 %");
    refused(charge::lower_limit(2.0, 44.0), "share");
}

/// Kaplan–Meier of the NIST set falls by 0.05 with each of ten failures of twenty units, to 0.50; the fit's sd is 323.806 h.
#[test]
fn life_of_the_handbook_set() {
    let failed = [54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0];
    let running = [500.0; 10];
    for (count, time) in failed.iter().enumerate() {
        let share = kaplan_meier(&failed, &running, *time).unwrap().share;
        close(share, 1.0 - 0.05 * (count as f64 + 1.0), 1e-12);
    }
    let fit = Weibull::fit(&failed, &running).unwrap();
    close(fit.life.scale, 606.528_0, 0.01);
    close(fit.life.deviation(), 323.806, 0.01);
    refused(Weibull::fit(&[], &running), "without a failure");
    refused(Weibull::fit(&[100.0, 100.0], &[]), "spread");
    refused(Weibull::fit(&[100.0, -1.0], &[]), "above zero");
    refused(fit.life.quantile(1.0), "share failed");
    refused(fit.life.survival(-1.0), "time");
    refused(kaplan_meier(&[], &[], 5.0), "no unit");
}

/// Barlow and Proschan, from memory: no finite optimum where the hazard does not rise or a failure is no dearer.
#[test]
fn replacement_by_age_needs_wear_and_a_dear_failure() {
    assert_eq!(replacement_age(Weibull::new(1000.0, 1.0).unwrap(), 1.0, 5.0).unwrap(), None);
    assert_eq!(replacement_age(Weibull::new(1000.0, 3.0).unwrap(), 5.0, 5.0).unwrap(), None);
    close(replacement_age(Weibull::new(1000.0, 2.0).unwrap(), 1.0, 10.0).unwrap().unwrap().age, 336.451, 0.2);
    refused(replacement_age(Weibull::new(1000.0, 2.0).unwrap(), 0.0, 10.0), "planned");
}

/// Interest tables: at zero rate money keeps its worth; equal rate and escalation give the number of periods.
#[test]
fn money_at_the_edges() {
    close(money::uniform_present_value(0.0, 0.0, 7.0).unwrap(), 7.0, 1e-12);
    close(money::uniform_present_value(0.03, 0.03, 7.0).unwrap(), 7.0, 1e-12);
    close(money::single_present_value(0.0, 7.0).unwrap(), 1.0, 1e-12);
    refused(money::uniform_present_value(0.03, 0.0, 0.0), "periods");
    refused(money::single_present_value(-0.5, 3.0), "rate");
    refused(heat::hot_share(50.0, 10.0, 60.0), "which is which");
    refused(heat::burn_time(300.0), "skin");
}

/// What a technician types wrong is answered in words that say what to do.
#[test]
fn typing_errors_are_answered() {
    let error = |id: &str, inputs: &[(&str, &str)]| {
        work_out(id, &inputs.iter().copied().collect::<Inputs>()).expect_err("an error").to_string()
    };
    let negative = error("element.power", &[("resistance", "-12 ohm"), ("voltage", "240 V")]);
    assert!(negative.contains("cannot be below zero"), "{negative}");
    let unit = error("element.power", &[("resistance", "12 volts"), ("voltage", "240 V")]);
    assert!(unit.contains("resistance"), "{unit}");
    let open = error("element.power", &[("resistance", "OL"), ("voltage", "240 V")]);
    assert!(open.contains("no single value"), "{open}");
    let letter = error("motor.code_letter", &[("letter", "Q")]);
    assert!(letter.contains("not among A, B"), "{letter}");
    let days = error("leak_rate.yearly", &[("added", "5 lb"), ("full_charge", "60 lb"), ("since", "0 days")]);
    assert!(days.contains("above 0"), "{days}");
    let twice = error("air.state", &[("dry_bulb", "25 °C"), ("wet_bulb", "18 °C"), ("humidity", "50 %")]);
    assert!(twice.contains("more than once"), "{twice}");
    let exchanged = error("air.state", &[("dry_bulb", "18 °C"), ("wet_bulb", "25 °C")]);
    assert!(exchanged.contains("exchanged"), "{exchanged}");
}
