//! Prints moist-air states on a dense grid as CSV, for `generate/moist_air.py compare`.

use halfsplit_fluids::air::{MoistAir, pressure_at_altitude, saturation_pressure};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    println!(
        "altitude,pressure,dry_bulb,relative_humidity,saturation,humidity_ratio,wet_bulb,dew_point,enthalpy,volume"
    );
    for step in 0..=9 {
        let altitude = f64::from(step) * 500.0 - 500.0;
        let pressure = pressure_at_altitude(altitude)?;
        for half_degree in -80..=140 {
            let celsius = f64::from(half_degree) * 0.5;
            for percent in [1, 5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100] {
                let humidity = f64::from(percent) / 100.0;
                let air = MoistAir::from_relative_humidity(celsius + 273.15, humidity, pressure)?;
                println!(
                    "{altitude},{pressure:?},{celsius},{humidity},{:?},{:?},{:?},{:?},{:?},{:?}",
                    saturation_pressure(celsius + 273.15)?,
                    air.humidity_ratio(),
                    air.wet_bulb()? - 273.15,
                    air.dew_point()? - 273.15,
                    air.enthalpy(),
                    air.volume(),
                );
            }
        }
    }
    Ok(())
}
