//! What on a nameplate contradicts what else stands on it. Both are taken, and doubted.

use super::Given;
use crate::sheet::{Rating, Sheet};

/// Notes on what does not fit together; what is doubted gets a wide spread by being marked assumed.
pub(super) fn weigh(given: &Given, sheet: &mut Sheet) -> Vec<String> {
    let mut notes = Vec::new();
    let plate = sheet.nameplate.clone();
    let mut doubted: Vec<(&str, &str)> = Vec::new();
    let has = |key: &str| given.number(key).is_some();
    if let (Some(rla), Some(lra)) = (plate.rated_load_a, plate.locked_rotor_a)
        && (has("rated_load_a") || has("locked_rotor_a"))
    {
        let ratio = lra / rla;
        // Usual are 4 to 6 (common practice, no source); small machines without run capacitor reach 10.
        if !(2.8..=11.0).contains(&ratio) {
            notes.push(format!(
                "LRA {lra} A is {ratio:.1} times RLA {rla} A; usual are 4 to 6. One of the two may be misread: both are doubted."
            ));
            doubted.extend([("compressor", "run_ohm"), ("compressor", "start_ohm")]);
        }
    }
    if let (Some(rla), Some(capacity)) = (plate.rated_load_a, plate.heat_w)
        && has("rated_load_a")
        && has("capacity_w")
    {
        let per_watt = capacity / (rla * plate.volts);
        // A plate's RLA is well above what the rating point draws: 1.3 to 5 W of heat or cold for each VA. Judgement.
        if !(0.6..=6.0).contains(&per_watt) {
            notes.push(format!(
                "{capacity} W of capacity from {rla} A at {} V are {per_watt:.1} W for each VA; usual are 1 to 4. One of them may be misread.",
                plate.volts
            ));
        }
    }
    if let (Some(minimum), Some(rla)) =
        (given.number("minimum_circuit_a"), plate.rated_load_a.filter(|_| has("rated_load_a")))
    {
        let fan = given.number("fan_a").unwrap_or(0.07 * rla);
        // 1.25 times the largest motor and the others once (NEC 440, from memory).
        let expected = 1.25 * rla + fan;
        if (minimum / expected - 1.0).abs() > 0.12 {
            notes.push(format!(
                "MCA {minimum} A does not fit 1.25 times RLA {rla} A and the fan ({expected:.1} A): there is another motor on the circuit, or one of them is misread."
            ));
        }
    }
    if let (Some(watts), Some(ohms)) = (given.number("element_w"), given.number("element_ohm")) {
        let expected = plate.volts * plate.volts / watts;
        if (ohms / expected - 1.0).abs() > 0.07 {
            notes.push(format!(
                "An element of {watts} W at {} V has {expected:.1} ohm, not {ohms}: made for other volts, or misread. Both are doubted.",
                plate.volts
            ));
        }
    }
    if let (Some(charge), Some(capacity)) = (given.number("charge_kg"), given.number("capacity_w")) {
        let per_kw = charge / (capacity / 1000.0);
        if !(0.06..=0.9).contains(&per_kw) {
            notes.push(format!("{charge} kg for {capacity} W is {per_kw:.2} kg for each kW; usual are 0.1 to 0.6. Weigh what comes out."));
        }
    }
    for p in &mut sheet.parts {
        for (class, key) in &doubted {
            if p.class.starts_with(class)
                && matches!(p.ratings.get(*key), Some(Rating::Number(_)))
                && !p.assumed.iter().any(|a| a == key)
            {
                p.assumed.push((*key).to_owned());
            }
        }
    }
    notes
}
