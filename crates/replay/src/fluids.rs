//! Working values of water, moist air and refrigerants over their ranges.

use halfsplit_fluids::air::MoistAir;
use halfsplit_fluids::refrigerant::Refrigerant;
use halfsplit_fluids::water;

use crate::digest::{Digest, Section, section};

/// One section for each fluid. What a fluid refuses is taken in too, as it is said.
pub fn sections() -> Vec<Section> {
    let mut out = vec![section("water", liquid_water), section("moist air", moist_air)];
    out.extend(Refrigerant::ALL.into_iter().map(|r| section(r.name(), |d| refrigerant(d, r))));
    out
}

fn steps(from: f64, to: f64, count: u32) -> impl Iterator<Item = f64> {
    (0..=count).map(move |i| from + (to - from) * f64::from(i) / f64::from(count))
}

fn liquid_water(d: &mut Digest) {
    for kelvin in steps(233.15, 473.15, 240) {
        d.debug(&water::vapour_pressure(kelvin));
        for pascal in [2e5, 2e6, 1e7] {
            d.debug(&water::vapour_temperature(pascal));
            match water::Liquid::new(pascal, kelvin) {
                Ok(w) => [w.density(), w.enthalpy(), w.heat_capacity()].into_iter().for_each(|x| d.float(x)),
                Err(e) => d.debug(&e),
            }
        }
    }
}

fn moist_air(d: &mut Digest) {
    for kelvin in steps(243.15, 333.15, 45) {
        for humidity in steps(0.05, 1.0, 19) {
            match MoistAir::from_relative_humidity(kelvin, humidity, 101_325.0) {
                Ok(air) => {
                    d.debug(&air.wet_bulb());
                    d.debug(&air.dew_point());
                    [air.enthalpy(), air.volume(), air.humidity_ratio()].into_iter().for_each(|x| d.float(x));
                }
                Err(e) => d.debug(&e),
            }
        }
    }
}

fn refrigerant(d: &mut Digest, r: Refrigerant) {
    for kelvin in steps(233.15, 343.15, 44) {
        d.debug(&r.bubble_pressure(kelvin));
        let dew = r.dew_pressure(kelvin);
        d.debug(&dew);
        let Ok(pascal) = dew else { continue };
        d.debug(&r.saturation(pascal));
        for state in [r.state_pt(pascal, kelvin + 8.0), r.state_pt(1.5 * pascal, kelvin - 5.0)] {
            d.debug(&state);
            if let Ok(s) = state {
                d.debug(&r.state_ps(0.8 * pascal, s.s));
                d.debug(&r.state_ph(0.8 * pascal, s.h));
            }
        }
    }
}
