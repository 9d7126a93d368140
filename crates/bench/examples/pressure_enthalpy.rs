//! Prints a pressure–enthalpy picture: an expected cycle, and the same machine short of refrigerant. Invented readings.

use halfsplit_bench::chart::{Trace, pressure_enthalpy};
use halfsplit_bench::refrigerant::{Design, Readings, named};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let name = std::env::args().nth(1).unwrap_or_else(|| "R134a".to_owned());
    let refrigerant = named(&name)?;
    let celsius = |t: f64| t + 273.15;
    let (low, high) = (refrigerant.dew_pressure(celsius(7.0))?, refrigerant.dew_pressure(celsius(55.0))?);
    let expected =
        Design { suction_pressure: low, discharge_pressure: high, superheat: 6.0, subcooling: 5.0, efficiency: 0.7 }
            .readings(refrigerant)?;
    let measured = Readings {
        suction: (0.72 * low, celsius(17.0)),
        discharge: (0.96 * high, celsius(104.0)),
        liquid: (0.95 * high, celsius(50.0)),
    };
    let traces = [
        Trace { label: "measured", readings: measured, dashed: false },
        Trace { label: "expected", readings: expected, dashed: true },
    ];
    print!("{}", pressure_enthalpy(refrigerant, &traces)?);
    Ok(())
}
