//! Prints water properties on a dense grid as CSV, for `generate/water.py`.

use halfsplit_fluids::water::{Liquid, boiling_temperature, vapour_pressure};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    println!("celsius,vapour_pressure,boiling,pressure,density,enthalpy,heat_capacity");
    for step in -400..=1000 {
        let celsius = f64::from(step) * 0.2;
        let kelvin = celsius + 273.15;
        let vapour = vapour_pressure(kelvin)?;
        if celsius <= 0.01 {
            println!("{celsius:?},{vapour:?},,,,,");
            continue;
        }
        for pressure in [vapour * 1.000_001, 2e6, 1e7] {
            let liquid = Liquid::new(pressure, kelvin)?;
            println!(
                "{celsius:?},{vapour:?},{:?},{pressure:?},{:?},{:?},{:?}",
                boiling_temperature(vapour)? - 273.15,
                liquid.density(),
                liquid.enthalpy(),
                liquid.heat_capacity(),
            );
        }
    }
    Ok(())
}
