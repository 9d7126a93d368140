//! Water and ice against the check figures printed in the IAPWS releases.

use halfsplit_fluids::water::{
    Liquid, TRIPLE_PRESSURE, TRIPLE_TEMPERATURE, WaterError, boiling_pressure, boiling_temperature,
    sublimation_pressure, vapour_pressure, vapour_temperature,
};

#[track_caller]
fn relative(what: &str, value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() <= tolerance, "{what}: {value} against {expected}");
}

/// IAPWS R7-97(2012), table 5 (region 1), the two columns at 300 K.
#[test]
fn release_figures_for_the_liquid() {
    for (temperature, pressure, volume, enthalpy, heat_capacity) in [
        (300.0, 3e6, 0.100_215_168e-2, 115.331_273e3, 4.173_012_18e3),
        (300.0, 80e6, 0.971_180_894e-3, 184.142_828e3, 4.010_089_87e3),
    ] {
        let water = Liquid::new(pressure, temperature).unwrap();
        relative("volume", 1.0 / water.density(), volume, 1e-8);
        relative("enthalpy", water.enthalpy(), enthalpy, 1e-8);
        relative("heat capacity", water.heat_capacity(), heat_capacity, 1e-8);
    }
}

/// IAPWS R7-97(2012), tables 35 and 36 (saturation line).
#[test]
fn release_figures_for_boiling() {
    relative("pressure at 300 K", boiling_pressure(300.0).unwrap(), 0.353_658_941e4, 1e-8);
    relative("temperature at 0.1 MPa", boiling_temperature(1e5).unwrap(), 0.372_755_919e3, 1e-8);
    relative("temperature at 1 MPa", boiling_temperature(1e6).unwrap(), 0.453_035_632e3, 1e-8);
}

/// IAPWS R14-08(2011), section 4: 8.947 35 Pa at 230 K.
#[test]
fn release_figure_for_ice() {
    relative("ice at 230 K", sublimation_pressure(230.0).unwrap(), 8.947_35, 1e-6);
    relative("triple point", sublimation_pressure(TRIPLE_TEMPERATURE).unwrap(), TRIPLE_PRESSURE, 1e-9);
}

/// Both curves meet at the triple point (IAPWS R7-97 itself is 6 parts in a million below R14-08 there), and invert.
#[test]
fn vapour_curve_is_continuous_and_inverts() {
    let below = vapour_pressure(TRIPLE_TEMPERATURE).unwrap();
    let above = vapour_pressure(TRIPLE_TEMPERATURE + 1e-6).unwrap();
    relative("across the triple point", above, below, 1e-5);
    let mut last = 0.0;
    for step in -990..=1990 {
        let temperature = 273.15 + f64::from(step) * 0.1;
        let pressure = vapour_pressure(temperature).unwrap();
        assert!(pressure > last, "rises with temperature");
        last = pressure;
        let back = vapour_temperature(pressure).unwrap();
        assert!((back - temperature).abs() < 1e-5 * temperature, "{temperature} K came back as {back} K");
    }
}

#[test]
fn nonsense_is_refused_in_words() {
    assert!(matches!(Liquid::new(101_325.0, 400.0), Err(WaterError::NotLiquid { .. })));
    assert!(matches!(Liquid::new(f64::NAN, 300.0), Err(WaterError::OutOfRange { .. })));
    assert!(matches!(Liquid::new(1e5, 250.0), Err(WaterError::OutOfRange { .. })));
    assert!(matches!(sublimation_pressure(280.0), Err(WaterError::OutOfRange { .. })));
    assert!(matches!(vapour_temperature(-5.0), Err(WaterError::OutOfRange { .. })));
    assert!(matches!(boiling_temperature(3e7), Err(WaterError::OutOfRange { .. })));
    let message = Liquid::new(20_000.0, 360.0).unwrap_err().to_string();
    assert!(message.contains("absolute, not gauge"), "{message}");
}
