//! Moist air against the ASHRAE handbook and PsychroLib.

use halfsplit_fluids::air::{
    AirError, MoistAir, STANDARD_PRESSURE, pressure_at_altitude, saturation_pressure, saturation_temperature,
};

fn kelvin(celsius: f64) -> f64 {
    celsius + 273.15
}

fn celsius(kelvin: f64) -> f64 {
    kelvin - 273.15
}

#[track_caller]
fn close(what: &str, value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{what}: {value} against {expected} ± {tolerance}");
}

/// ASHRAE Handbook — Fundamentals (2017), chapter 1: example 1 (40 °C dry bulb, 20 °C wet bulb, sea level), printed answers.
#[test]
fn handbook_example_one() {
    let air = MoistAir::from_wet_bulb(kelvin(40.0), kelvin(20.0), STANDARD_PRESSURE).unwrap();
    close("humidity ratio", air.humidity_ratio(), 0.0065, 1e-4);
    close("dew point", celsius(air.dew_point().unwrap()), 7.0, 0.5);
    close("relative humidity", air.relative_humidity(), 0.14, 0.01);
    close("enthalpy", air.enthalpy(), 56_700.0, 100.0);
    close("volume", air.volume(), 0.896, 0.009);
    close("wet bulb, the way back", celsius(air.wet_bulb().unwrap()), 20.0, 1e-9);
}

/// ASHRAE Handbook — Fundamentals (2017), chapter 1: tables 1 (altitude) and 3 (saturation pressure).
#[test]
fn handbook_tables() {
    for (temperature, pressure) in
        [(-20.0, 103.24), (-5.0, 401.74), (5.0, 872.6), (25.0, 3169.7), (50.0, 12_351.3), (100.0, 101_418.0)]
    {
        close("saturation pressure", saturation_pressure(kelvin(temperature)).unwrap(), pressure, 3e-4 * pressure);
    }
    for (altitude, pressure) in
        [(-500.0, 107_478.0), (0.0, 101_325.0), (500.0, 95_461.0), (1000.0, 89_875.0), (4000.0, 61_640.0)]
    {
        close("altitude", pressure_at_altitude(altitude).unwrap(), pressure, 1.0);
    }
}

/// `air_psychrolib.csv` is written by `generate/moist_air.py` with PsychroLib 2.5.0.
#[test]
fn agrees_with_psychrolib() {
    let table = include_str!("air_psychrolib.csv");
    let mut states = 0;
    for line in table.lines().skip(1) {
        let row: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let &[altitude, dry_bulb, humidity, pressure, saturation, ratio, volume, wet_bulb, dew_point, enthalpy] =
            row.as_slice()
        else {
            panic!("unexpected row: {line}");
        };
        close("pressure", pressure_at_altitude(altitude).unwrap(), pressure, 1e-7);
        close("saturation", saturation_pressure(kelvin(dry_bulb)).unwrap() / saturation, 1.0, 1e-12);
        let air = MoistAir::from_relative_humidity(kelvin(dry_bulb), humidity, pressure).unwrap();
        close("humidity ratio", air.humidity_ratio() / ratio, 1.0, 1e-11);
        close("volume", air.volume() / volume, 1.0, 1e-11);
        close("enthalpy", air.enthalpy(), enthalpy, 1e-5);
        close("dew point", celsius(air.dew_point().unwrap()), dew_point, 1e-8);
        close("wet bulb", celsius(air.wet_bulb().unwrap()), wet_bulb, 1e-8);
        states += 1;
    }
    assert_eq!(states, 108);
}

/// No outside reference: a state must come back from each of its own descriptions.
#[test]
fn every_description_leads_back() {
    for dry_bulb in [-25.0, -3.0, 0.0, 2.0, 14.0, 31.0, 55.0, 80.0] {
        for humidity in [0.05, 0.3, 0.7, 1.0] {
            let air = MoistAir::from_relative_humidity(kelvin(dry_bulb), humidity, 95_000.0).unwrap();
            let same = |other: MoistAir| close("humidity ratio", other.humidity_ratio(), air.humidity_ratio(), 1e-10);
            same(MoistAir::from_dew_point(kelvin(dry_bulb), air.dew_point().unwrap(), 95_000.0).unwrap());
            same(MoistAir::from_wet_bulb(kelvin(dry_bulb), air.wet_bulb().unwrap(), 95_000.0).unwrap());
            close("relative humidity", air.relative_humidity(), humidity, 1e-12);
        }
    }
    for tenth in -900..=1900 {
        let temperature = kelvin(f64::from(tenth) * 0.1);
        let back = saturation_temperature(saturation_pressure(temperature).unwrap()).unwrap();
        close("saturation temperature", back, temperature, 1e-6);
    }
}

#[test]
fn density_counts_air_and_vapour() {
    // Dry air at 20 °C and one atmosphere: p / (R T) = 101325 / (287.042 × 293.15), the gas law.
    let air = MoistAir::from_humidity_ratio(293.15, 0.0, STANDARD_PRESSURE).unwrap();
    close("dry density", air.density(), 101_325.0 / (287.042 * 293.15), 1e-12);
    let humid = MoistAir::from_relative_humidity(293.15, 0.9, STANDARD_PRESSURE).unwrap();
    assert!(humid.density() < air.density(), "humid air is lighter than dry");
}

#[test]
fn nonsense_is_refused_in_words() {
    let sea = STANDARD_PRESSURE;
    assert!(matches!(MoistAir::from_wet_bulb(293.0, 295.0, sea), Err(AirError::AboveDryBulb { .. })));
    assert!(matches!(MoistAir::from_dew_point(293.0, 295.0, sea), Err(AirError::AboveDryBulb { .. })));
    assert!(matches!(MoistAir::from_wet_bulb(kelvin(40.0), kelvin(5.0), sea), Err(AirError::WetBulbTooLow { .. })));
    assert!(matches!(MoistAir::from_relative_humidity(293.0, 1.2, sea), Err(AirError::OutOfRange { .. })));
    assert!(matches!(MoistAir::from_relative_humidity(293.0, -0.1, sea), Err(AirError::OutOfRange { .. })));
    assert!(matches!(MoistAir::from_relative_humidity(293.0, f64::NAN, sea), Err(AirError::OutOfRange { .. })));
    assert!(matches!(MoistAir::from_relative_humidity(293.0, 0.5, 101.325), Err(AirError::OutOfRange { .. })));
    assert!(matches!(MoistAir::from_humidity_ratio(293.0, 0.03, sea), Err(AirError::Fog { .. })));
    assert!(matches!(MoistAir::from_relative_humidity(kelvin(105.0), 1.0, sea), Err(AirError::Boils { .. })));
    assert!(matches!(MoistAir::from_humidity_ratio(293.0, 0.0, sea).unwrap().dew_point(), Err(AirError::NoDewPoint)));
    assert!(matches!(saturation_pressure(500.0), Err(AirError::OutOfRange { .. })));
    assert!(matches!(pressure_at_altitude(12_000.0), Err(AirError::OutOfRange { .. })));
    let message = MoistAir::from_wet_bulb(kelvin(20.0), kelvin(22.0), sea).unwrap_err().to_string();
    assert!(message.contains("22.00 °C") && message.contains("exchanged"), "{message}");
}

/// Between the branches for a frozen and an unfrozen wick the unfrozen reading is given, and it leads back.
#[test]
fn the_step_at_freezing_is_resolved() {
    // (2501 Ws − 1.006 × 7) / (2501 + 1.86 × 7), eq. 33 at 0 °C with Ws from 611.15 Pa: the driest air whose wick stays unfrozen.
    let saturated = 0.621_945 * 611.15 / (STANDARD_PRESSURE - 611.15);
    let driest = (2501.0 * saturated - 1.006 * 7.0) / (2501.0 + 1.86 * 7.0);
    for thousandth in 900..=1400 {
        let ratio = f64::from(thousandth) * 1e-6;
        let air = MoistAir::from_humidity_ratio(kelvin(7.0), ratio, STANDARD_PRESSURE).unwrap();
        let wet_bulb = air.wet_bulb().unwrap();
        let back = MoistAir::from_wet_bulb(kelvin(7.0), wet_bulb, STANDARD_PRESSURE).unwrap();
        close("humidity ratio", back.humidity_ratio(), ratio, 1e-12);
        assert_eq!(wet_bulb >= 273.15, ratio > driest, "{ratio} gave {wet_bulb}");
    }
}
