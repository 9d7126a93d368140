//! What depends on size, volts and frequency. The rules are judgement: similar machines, larger or smaller.

use super::Given;
use crate::sheet::{Rating, Sheet};

/// Limits of pressure switches as usually set, kPa gauge: refrigerant, high, low. Judgement.
const LIMITS: [(&str, f64, f64); 7] = [
    ("R410A", 4200.0, 250.0),
    ("R32", 4300.0, 250.0),
    ("R454B", 4000.0, 190.0),
    ("R407C", 2900.0, 140.0),
    ("R22", 2750.0, 140.0),
    ("R134a", 1900.0, 50.0),
    ("R290", 2400.0, 140.0),
];

/// Breakers that are made, A.
const BREAKERS: [f64; 12] = [6.0, 10.0, 15.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 80.0];

/// Fills the nameplate and scales every rating; what was not given is marked assumed.
pub(super) fn apply(given: &Given, sheet: &mut Sheet) {
    let was = sheet.nameplate.clone();
    let volts = given.number("volts").unwrap_or(was.volts);
    let hertz = given.number("hertz").unwrap_or(was.hertz);
    let (was_rla, was_lra) = (was.rated_load_a.unwrap_or(1.0), was.locked_rotor_a.unwrap_or(5.0));
    let was_heat = was.heat_w.unwrap_or(1000.0);
    // Size by capacity, else by what the compressor draws.
    let by_amps = given.number("rated_load_a").map(|a| a * volts / (was_rla * was.volts));
    let size = given.number("capacity_w").map(|w| w / was_heat).or(by_amps).unwrap_or(1.0);
    let rla = given.number("rated_load_a").unwrap_or(round(was_rla * size * was.volts / volts));
    let lra = given.number("locked_rotor_a").unwrap_or(round(rla * was_lra / was_rla)).max(1.05 * rla);
    let plate = &mut sheet.nameplate;
    (plate.volts, plate.hertz) = (volts, hertz);
    plate.refrigerant = given.word("refrigerant").map(str::to_owned).or(was.refrigerant.clone());
    plate.charge_kg = given.number("charge_kg").or(was.charge_kg.map(|c| round(c * size)));
    plate.rated_load_a = Some(rla);
    // An inverter's compressor has none.
    plate.locked_rotor_a = was.locked_rotor_a.map(|_| lra);
    plate.heat_w = Some(given.number("capacity_w").unwrap_or(round(was_heat * size)));
    plate.water_litres = given.number("litres").or(was.water_litres);
    let wanted = 1.6 * rla + 0.15 * was.breaker_a.unwrap_or(15.0) * was.volts / volts;
    let breaker = BREAKERS.into_iter().find(|b| *b >= wanted).unwrap_or(100.0);
    plate.breaker_a = Some(given.number("breaker_a").unwrap_or(match was.water_litres {
        // A water heater's elements decide.
        Some(_) => was.breaker_a.unwrap_or(30.0),
        None => breaker,
    }));
    let breaker = plate.breaker_a.unwrap_or(breaker);

    let up = volts / was.volts;
    // Ohms of windings go with volts over locked-rotor amps; microfarads with amps over volts and frequency.
    let windings = (volts / lra) / (was.volts / was_lra);
    let farads = (rla / (volts * hertz)) / (was_rla / (was.volts * was.hertz));
    let fan = libm::sqrt(size) / up;
    let watts = libm::pow(size, 0.7);
    let of_class = |class: &str| {
        sheet.parts.iter().find(|p| p.class == class).and_then(|p| match p.ratings.get("watts") {
            Some(Rating::Number(w)) => Some(*w),
            _ => None,
        })
    };
    let given_watts = |class: &str, key: &str| Some(given.number(key)? / of_class(class)?);
    let element = of_class("heating element").map(|_| given_watts("heating element", "element_w").unwrap_or(1.0));
    let heats = element.or(given_watts("defrost heater", "defrost_w")).unwrap_or(watts);
    let limits = sheet
        .nameplate
        .refrigerant
        .as_deref()
        .and_then(|r| LIMITS.iter().find(|l| l.0.eq_ignore_ascii_case(&r.replace('-', ""))));
    for p in &mut sheet.parts {
        let class = p.class.as_str();
        let id = p.id.clone();
        let compressor_side = id != "CBL" && class != "fan, capacitor motor";
        let mut assumed: Vec<String> = Vec::new();
        for (key, rating) in &mut p.ratings {
            let Rating::Number(v) = rating else { continue };
            let (factor, given) = match (class, key.as_str()) {
                (
                    "compressor, permanent split capacitor" | "compressor, start winding only",
                    "run_ohm" | "start_ohm",
                ) => (windings, None),
                ("compressor, permanent split capacitor", "capacitor_uf") => (farads, given.number("capacitor_uf")),
                ("run capacitor", "microfarad") if compressor_side => (farads, given.number("capacitor_uf")),
                ("dual run capacitor", "herm_uf") => (farads, given.number("capacitor_uf")),
                ("start capacitor", "microfarad") => (farads, None),
                ("dual run capacitor", "fan_uf")
                | ("run capacitor", "microfarad")
                | ("fan, capacitor motor", "capacitor_uf") => (fan / up * was.hertz / hertz, None),
                (c, "rated_a") if c.starts_with("fan,") => {
                    (fan, if id == "OFAN" { given.number("fan_a") } else { None })
                }
                (c, "winding_ohm" | "run_ohm" | "start_ohm") if c.starts_with("fan,") => (up / fan, None),
                ("start thermistor", "cold_ohm") => (windings, None),
                // The bus has the same volts whatever the size, so what drives more has fewer ohms, more microfarads, a higher trip.
                ("compressor, permanent magnet", "pair_ohm") => (1.0 / size, None),
                ("bus capacitor", "microfarad") => (size, None),
                ("power module", "trips_a") => (size, None),
                // The fuse behind the breaker is as large.
                ("fuse", "rated_a") if *v >= BREAKERS[1] => (breaker / *v, None),
                ("heating element", "watts") => (1.0, given.number("element_w")),
                ("heating element", "ohm") => (up * up, given.number("element_ohm")),
                ("defrost heater", "watts") => (watts, given.number("defrost_w")),
                ("strip heater" | "crankcase heater", "watts") => (watts, None),
                ("breaker", "trips_a") => (breaker / *v, Some(breaker).filter(|_| given.number("breaker_a").is_some())),
                // What it carries at most is what heats.
                ("breaker", "load_a") => (heats / up, None),
                ("pressure switch", "opens_above_kpa") => (limits.map_or(1.0, |l| l.1 / *v), None),
                ("pressure switch", "opens_below_kpa") => (limits.map_or(1.0, |l| l.2 / *v), None),
                _ => (1.0, None),
            };
            // What was guessed stays within what the class takes for sensible.
            let spec = crate::library::class(class).and_then(|c| c.ratings.iter().find(|r| r.key == key));
            let sensible = |x: f64| spec.map_or(x, |s| x.clamp(s.min, s.max));
            *v = given.unwrap_or_else(|| sensible(round(*v * factor)));
            if given.is_none() {
                assumed.push(key.clone());
            }
        }
        if class == "supply" {
            // Up to 130 V, and on 50 Hz, one conductor is a neutral.
            let neutral = volts < 130.0 || hertz < 55.0;
            p.ratings.insert("earthed".into(), Rating::Number(if neutral { 1.0 } else { 2.0 }));
            assumed.push("earthed".into());
        }
        // An element's ohms follow from its watts unless somebody read them.
        if class == "heating element" && given.number("element_ohm").is_none() {
            p.ratings.remove("ohm");
        }
        assumed.retain(|k| p.ratings.contains_key(k));
        assumed.dedup();
        p.assumed = assumed;
    }
}

/// Three figures: nobody believes more of a guess.
fn round(x: f64) -> f64 {
    figures(x, 3)
}

/// So many significant figures.
pub(super) fn figures(x: f64, n: u32) -> f64 {
    if x == 0.0 || !x.is_finite() {
        return x;
    }
    let places = i32::try_from(n).unwrap_or(3) - 1 - libm::floor(libm::log10(libm::fabs(x))) as i32;
    // Ten to a whole power is exact both ways, so that 45e-6 farad come back as 45 microfarad.
    if places >= 0 {
        let scale = libm::pow(10.0, f64::from(places));
        libm::round(x * scale) / scale
    } else {
        let scale = libm::pow(10.0, f64::from(-places));
        libm::round(x / scale) * scale
    }
}
