//! Properties that need no reference library: thermodynamic identities, ranges, errors, conventions.

use halfsplit_fluids::refrigerant::{
    GwpReport, Phase, Quantity, ReferenceState, Refrigerant, RefrigerantError, SafetyClass, absolute_from_gauge,
    gauge_from_absolute, standard_atmosphere,
};

const PURE: [Refrigerant; 8] = [
    Refrigerant::R134a,
    Refrigerant::R32,
    Refrigerant::R22,
    Refrigerant::R290,
    Refrigerant::R600a,
    Refrigerant::R744,
    Refrigerant::R1234yf,
    Refrigerant::R1234zeE,
];

/// `count` pressures evenly spaced in the logarithm over the saturation table.
fn pressures(r: Refrigerant, count: u32) -> impl Iterator<Item = f64> {
    let range = r.range();
    let (low, high) = (range.p_saturation_low, range.p_saturation_high);
    (0..=count).map(move |i| (low * libm::pow(high / low, f64::from(i) / f64::from(count))).clamp(low, high))
}

/// In a pure fluid the two phases in equilibrium have the same Gibbs energy (J. W. Gibbs).
#[test]
fn gibbs_energies_of_the_phases_agree_in_pure_fluids() {
    for r in PURE {
        for p in pressures(r, 200) {
            let s = r.saturation(p).unwrap();
            let gibbs = |end: &halfsplit_fluids::refrigerant::SaturationEnd| end.h - end.t * end.s;
            let difference = gibbs(&s.dew) - gibbs(&s.bubble);
            assert!(difference.abs() < 0.05, "{r} at {p} Pa: {difference} J/kg");
            assert!(s.glide().abs() < 1e-5, "{r} at {p} Pa: glide {}", s.glide());
        }
    }
}

/// Clapeyron's equation: dp/dT along saturation is the jump of entropy over the jump of volume.
#[test]
fn saturation_pressure_rises_as_clapeyron_says() {
    for r in PURE {
        let range = r.range();
        for i in 1..100 {
            let t = range.t_low + (range.t_saturation_high - 2.0 - range.t_low) * f64::from(i) / 100.0;
            let p = r.dew_pressure(t).unwrap();
            let slope = (r.dew_pressure(t + 0.01).unwrap() - r.dew_pressure(t - 0.01).unwrap()) / 0.02;
            let s = r.saturation(p).unwrap();
            let clapeyron = (s.dew.s - s.bubble.s) / (1.0 / s.dew.rho - 1.0 / s.bubble.rho);
            assert!((slope / clapeyron - 1.0).abs() < 2e-4, "{r} at {t} K: {slope} {clapeyron}");
        }
    }
}

/// The tables against the equation that they were made from: the saturated states are states of it.
#[test]
fn tables_lie_on_the_equation() {
    for r in Refrigerant::ALL {
        for p in pressures(r, 100) {
            let s = r.saturation(p).unwrap();
            let vapour = r.state_pt(p, s.dew.t).unwrap();
            assert_eq!(vapour.phase, Phase::Vapour);
            let near_top = p > 0.97 * r.range().p_saturation_high;
            // Close under the critical point a millikelvin is worth hundreds of joules.
            let allowed = if near_top { 40.0 } else { 1.0 };
            assert!((vapour.h - s.dew.h).abs() < allowed, "{r} dew at {p}: {} {}", vapour.h, s.dew.h);
            let t = s.bubble.t - 1e-7;
            if t > r.range().t_low {
                let liquid = r.state_pt(p, t).unwrap();
                assert_eq!(liquid.phase, Phase::Liquid);
                let difference = liquid.h - s.bubble.h;
                assert!(difference.abs() < allowed, "{r} bubble at {p} Pa: {difference} J/kg");
            }
        }
    }
}

#[test]
fn pressure_and_temperature_of_saturation_are_inverses() {
    for r in Refrigerant::ALL {
        let range = r.range();
        for i in 0..=500 {
            let t = range.t_low + (range.t_saturation_high - range.t_low) * f64::from(i) / 500.0;
            let t_dew = r.dew_temperature(r.dew_pressure(t).unwrap()).unwrap();
            let t_bubble = r.bubble_temperature(r.bubble_pressure(t).unwrap()).unwrap();
            assert!((t_dew - t).abs() < 1e-3, "{r} dew {t}: {t_dew}");
            assert!((t_bubble - t).abs() < 1e-3, "{r} bubble {t}: {t_bubble}");
        }
    }
}

#[test]
fn tables_have_no_steps_between_segments() {
    for r in Refrigerant::ALL {
        let mut before: Option<halfsplit_fluids::refrigerant::Saturation> = None;
        for p in pressures(r, 20_000) {
            let s = r.saturation(p).unwrap();
            if let Some(b) = before {
                assert!(s.bubble.t > b.bubble.t && s.dew.t > b.dew.t, "{r} at {p}: temperature falls");
                assert!(s.bubble.rho < b.bubble.rho, "{r} at {p}: liquid density rises");
                assert!(s.dew.rho > b.dew.rho, "{r} at {p}: vapour density falls");
            }
            before = Some(s);
        }
    }
}

/// Same state whichever pair it is asked by; across liquid, vapour, two-phase and dense.
#[test]
fn the_pairs_agree_with_each_other() {
    for r in Refrigerant::ALL {
        let range = r.range();
        let top = range.p_high.min(1.6 * r.critical_point().p);
        for i in 0..40 {
            let p = 20e3 * libm::pow(top / 20e3, f64::from(i) / 40.0);
            for j in 0..=40 {
                let t = range.t_low + (range.t_high - range.t_low) * f64::from(j) / 40.0;
                let Ok(state) = r.state_pt(p, t) else {
                    continue;
                };
                let by_h = r.state_ph(p, state.h).unwrap_or_else(|e| panic!("{p} {t}: {e}"));
                let by_s = r.state_ps(p, state.s).unwrap_or_else(|e| panic!("{p} {t}: {e}"));
                for (how, other) in [("p,h", by_h), ("p,s", by_s)] {
                    assert!((other.t - t).abs() < 1e-5, "{r} {how} at {p} Pa, {t} K: {}", other.t);
                    let rho = other.rho / state.rho - 1.0;
                    assert!(rho.abs() < 1e-6, "{r} {how} at {p} Pa, {t} K: density {rho:e} off");
                    assert_eq!(other.phase, state.phase, "{r} {how} at {p} Pa, {t} K");
                }
                assert!((state.u - (state.h - p / state.rho)).abs() < 1e-6 * state.h.abs());
            }
        }
    }
}

#[test]
fn two_phase_states_mix_the_ends() {
    for r in Refrigerant::ALL {
        let p = 1.2e6;
        let s = r.saturation(p).unwrap();
        for x in [0.0, 0.25, 0.5, 0.999] {
            let state = r.state_px(p, x).unwrap();
            let back = r.state_ph(p, state.h).unwrap();
            let quality = back.quality().expect("two phases");
            assert!((quality - x).abs() < 1e-9, "{r}: {quality} instead of {x}");
            assert!((r.quality(p, state.h).unwrap() - x).abs() < 1e-9);
            assert!(state.t >= s.bubble.t - 1e-9 && state.t <= s.dew.t + 1e-9);
            assert!(state.rho <= s.bubble.rho * (1.0 + 1e-12) && state.rho >= s.dew.rho * (1.0 - 1e-12));
        }
        assert!(r.quality(p, s.dew.h + 1e4).unwrap() > 1.0);
        assert!(r.quality(p, s.bubble.h - 1e4).unwrap() < 0.0);
    }
}

/// Far from saturation a vapour at low pressure is an ideal gas: p = rho R T, and cp - cv = R.
#[test]
fn thin_vapour_is_an_ideal_gas() {
    for r in Refrigerant::ALL {
        let state = r.state_pt(1000.0, 330.0).unwrap();
        let gas_constant = 8.314_462_618 / r.molar_mass();
        assert!((state.p / (state.rho * gas_constant * state.t) - 1.0).abs() < 5e-4, "{r}");
        let response = state.response.unwrap();
        assert!(((response.cp - response.cv) / gas_constant - 1.0).abs() < 2e-3, "{r}");
    }
}

#[test]
fn reference_states() {
    for r in Refrigerant::ALL {
        // Saturated liquid at 0 degC: 200 kJ/kg and 1 kJ/(kg K).
        let zero = r.saturation(r.bubble_pressure(273.15).unwrap()).unwrap().bubble;
        assert!((zero.h - 200e3).abs() < 0.5, "{r}: {}", zero.h);
        assert!((zero.s - 1e3).abs() < 2e-3, "{r}: {}", zero.s);
        let (dh, ds) = r.reference_offset(ReferenceState::Ashrae).unwrap();
        let cold = r.saturation(r.bubble_pressure(233.15).unwrap()).unwrap().bubble;
        assert!((cold.h + dh).abs() < 0.5 && (cold.s + ds).abs() < 2e-3, "{r}");
    }
    assert!(Refrigerant::R744.reference_offset(ReferenceState::NormalBoilingPoint).is_err());
}

/// Normal boiling points, bubble and dew, degC, as ASHRAE 34 prints them (from memory); agreement within 0.5 K.
#[test]
fn normal_boiling_points_of_the_blends() {
    for (r, bubble, dew) in [
        (Refrigerant::R410A, -51.6, -51.5),
        (Refrigerant::R407C, -43.8, -36.7),
        (Refrigerant::R454B, -50.9, -50.0),
        (Refrigerant::R513A, -29.2, -29.1),
    ] {
        let s = r.saturation(101_325.0).unwrap();
        assert!((s.bubble.t - 273.15 - bubble).abs() < 0.5, "{r}: {}", s.bubble.t - 273.15);
        assert!((s.dew.t - 273.15 - dew).abs() < 0.5, "{r}: {}", s.dew.t - 273.15);
    }
}

#[test]
fn what_is_out_of_range_is_refused() {
    let r = Refrigerant::R410A;
    let range = r.range();
    for bad in [f64::NAN, -1.0, 0.0, 1e9] {
        assert!(r.dew_temperature(bad).is_err());
        assert!(r.saturation(bad).is_err());
        assert!(r.state_pt(bad, 300.0).is_err());
        assert!(r.state_ph(bad, 400e3).is_err());
    }
    for bad in [f64::NAN, -10.0, range.t_low - 0.01, range.t_high + 0.01, f64::INFINITY] {
        assert!(r.state_pt(1e6, bad).is_err());
        assert!(r.dew_pressure(bad).is_err());
    }
    for p in [10e3, 1e6, 4.85e6, 5.5e6] {
        for bad in [f64::NAN, -1e6, 1e6, f64::INFINITY] {
            assert!(r.state_ph(p, bad).is_err(), "h {bad} at {p}");
        }
        for bad in [f64::NAN, -1e4, 1e4] {
            assert!(r.state_ps(p, bad).is_err(), "s {bad} at {p}");
        }
    }
    assert!(r.state_px(1e6, 1.01).is_err());
    // Inside the glide pressure and temperature do not say what is there.
    let blend = Refrigerant::R407C;
    let s = blend.saturation(500e3).unwrap();
    let middle = 0.5 * (s.bubble.t + s.dew.t);
    assert!(matches!(
        blend.state_pt(500e3, middle),
        Err(RefrigerantError::TwoPhase { t_bubble, .. }) if t_bubble == s.bubble.t
    ));
}

#[test]
fn errors_say_what_where_and_what_to_do() {
    let gauge = Refrigerant::R134a.dew_temperature(0.0).unwrap_err();
    assert!(matches!(gauge, RefrigerantError::OutOfRange { quantity: Quantity::Pressure, .. }));
    let text = gauge.to_string();
    assert!(text.starts_with("R134a: pressure 0.0 kPa absolute is outside"), "{text}");
    assert!(text.contains("gauge reading"), "{text}");
    let transcritical = Refrigerant::R744.dew_temperature(9e6).unwrap_err().to_string();
    assert!(transcritical.contains("critical pressure is 7377"), "{transcritical}");
    assert!(transcritical.contains("gas cools without condensing"), "{transcritical}");
}

/// A gas cooler: R744 at 90 bar from 100 to 35 degC passes its critical temperature without a step.
#[test]
fn transcritical_carbon_dioxide() {
    let r = Refrigerant::R744;
    let mut before = f64::INFINITY;
    for i in 0..=650 {
        let state = r.state_pt(9e6, 373.15 - 0.1 * f64::from(i)).unwrap();
        assert_eq!(state.phase, Phase::Supercritical);
        assert!(state.h < before && before - state.h < 5e3 || before.is_infinite());
        before = state.h;
    }
    // Compression from 35 bar and 10 K superheat to 90 bar.
    let suction = r.state_pt(3.5e6, r.dew_temperature(3.5e6).unwrap() + 10.0).unwrap();
    let discharge = r.state_ps(9e6, suction.s).unwrap();
    assert!(discharge.t > 340.0 && discharge.t < 370.0, "{}", discharge.t);
}

#[test]
fn designations_as_on_a_nameplate() {
    for r in Refrigerant::ALL {
        assert_eq!(Refrigerant::from_designation(r.name()), Some(r));
    }
    for text in ["R-410A", "r410a", "410A", "R 410 a"] {
        assert_eq!(Refrigerant::from_designation(text), Some(Refrigerant::R410A), "{text}");
    }
    assert_eq!(Refrigerant::from_designation("R1234ze"), None);
    assert_eq!(Refrigerant::from_designation(""), None);
    assert_eq!(Refrigerant::from_designation("water"), None);
}

/// ASHRAE Handbook - Fundamentals 2017, ch. 1, table 1, as held in the test suite of PsychroLib 2.5.0; within 1 Pa.
#[test]
fn standard_atmosphere_by_altitude() {
    for (altitude, p) in
        [(-500.0, 107_478.0), (0.0, 101_325.0), (500.0, 95_461.0), (1000.0, 89_875.0), (4000.0, 61_640.0)]
    {
        assert!((standard_atmosphere(altitude) - p).abs() < 1.0, "{altitude} m");
    }
    let atmosphere = standard_atmosphere(1500.0);
    let absolute = absolute_from_gauge(800e3, atmosphere);
    assert_eq!(gauge_from_absolute(absolute, atmosphere), 800e3);
    // The same gauge reading at 1500 m means a saturation temperature more than half a kelvin lower than at the sea.
    let r = Refrigerant::R134a;
    let high = r.dew_temperature(absolute_from_gauge(200e3, atmosphere)).unwrap();
    let sea = r.dew_temperature(absolute_from_gauge(200e3, standard_atmosphere(0.0))).unwrap();
    assert!(sea - high > 0.5);
}

#[test]
fn facts_are_consistent() {
    for r in Refrigerant::ALL {
        let sum: f64 = r.composition().iter().map(|c| c.mass_fraction).sum();
        assert!((sum - 1.0).abs() < 1e-12, "{r}: {sum}");
        let flammable = r.safety_class().value.is_flammable();
        assert_eq!(flammable, r.lower_flammability_limit().is_some(), "{r}");
        for report in [GwpReport::Ar4, GwpReport::Ar5] {
            if let Some(gwp) = r.gwp(report) {
                assert!(gwp.value >= 1.0 && gwp.source.contains(if report == GwpReport::Ar4 { "AR4" } else { "AR5" }));
            }
        }
    }
    assert_eq!(Refrigerant::R290.safety_class().value, SafetyClass::A3);
    // R32: a quarter of the limit by volume is the concentration limit of the International Mechanical Code.
    let limit = Refrigerant::R32.concentration_limit().unwrap().value;
    assert_eq!(limit.ppm, 0.25 * 144_000.0);
    assert!((Refrigerant::R32.lower_flammability_limit().unwrap().value / 4.0 - limit.kg_per_m3.unwrap()).abs() < 1e-3);
}
