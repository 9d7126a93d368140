//! How much flammable refrigerant a room may hold.

use halfsplit_units::Dimension::{Area, Length, Mass, Ratio};

use crate::known::Found;
use crate::refusal::{Refusal, contradiction, positive, within};
use crate::value::{Input, Output, Range, WorkingValue};

/// Litres per mole of gas at 25 °C and 101.325 kPa.
const MOLAR_VOLUME: f64 = 24.465;

/// The three charge steps of the standard, kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// m1: below it no restriction on the room.
    pub first: f64,
    /// m2: largest charge indoors without further measures.
    pub second: f64,
    /// m3: largest charge of all.
    pub third: f64,
}

fn limit(lower_limit: f64) -> Result<f64, Refusal> {
    positive("lower flammability limit", lower_limit, "kg/m³")?;
    within("lower flammability limit", lower_limit, (0.001, 2.0), "kg/m³")
}

/// Charge steps from the lower flammability limit (kg/m³); `mild` for class A2L under editions from 2018.
///
/// # Errors
/// Refuses a limit outside 0.001 to 2 kg/m³.
pub fn steps(lower_limit: f64, mild: bool) -> Result<Steps, Refusal> {
    let limit = limit(lower_limit)?;
    Ok(Steps { first: if mild { 6.0 } else { 4.0 } * limit, second: 26.0 * limit, third: 130.0 * limit })
}

/// 2.5 LFL^(5/4) h0: charge (kg) per square root of floor area (m).
fn per_root_area(lower_limit: f64, height: f64) -> Result<f64, Refusal> {
    let limit = limit(lower_limit)?;
    Ok(2.5 * libm::pow(limit, 1.25) * positive("height of the unit", height, "m")?)
}

/// Largest charge (kg) for a floor area (m²), unventilated; `height` of the unit in m.
///
/// # Errors
/// Refuses values not above zero.
pub fn largest(lower_limit: f64, height: f64, area: f64) -> Result<f64, Refusal> {
    Ok(per_root_area(lower_limit, height)? * positive("floor area", area, "m²")?.sqrt())
}

/// Least floor area (m²) for a charge (kg), unventilated.
///
/// # Errors
/// Refuses values not above zero.
pub fn least_area(lower_limit: f64, height: f64, charge: f64) -> Result<f64, Refusal> {
    let root = positive("charge", charge, "kg")? / per_root_area(lower_limit, height)?;
    Ok(root * root)
}

/// Lower flammability limit (kg/m³ at 25 °C, one atmosphere) from the share by volume and the molar mass (g/mol).
///
/// # Errors
/// Refuses values not above zero and shares above one.
pub fn lower_limit(share: f64, molar_mass: f64) -> Result<f64, Refusal> {
    positive("share by volume", share, "")?;
    within("share by volume", share, (0.0, 1.0), "")?;
    Ok(share * positive("molar mass", molar_mass, "g/mol")? / MOLAR_VOLUME)
}

/// Global warming potential of a blend: shares by mass (adding to one) and the components' potentials.
///
/// # Errors
/// Refuses lists of different length and shares that do not add up.
pub fn blend_warming(shares: &[f64], potentials: &[f64]) -> Result<f64, Refusal> {
    if shares.len() != potentials.len() || shares.is_empty() {
        return Err(contradiction(format!(
            "{} shares and {} potentials; give one potential for each share",
            shares.len(),
            potentials.len()
        )));
    }
    let sum: f64 = shares.iter().sum();
    if (sum - 1.0).abs() > 1e-6 {
        return Err(contradiction(format!("the shares add up to {:.2} %, not to 100 %", 100.0 * sum)));
    }
    Ok(shares.iter().zip(potentials).map(|(share, potential)| share * potential).sum())
}

const LIMIT: Input = Input::plain(
    "lower_limit",
    "lower flammability limit of the refrigerant (R32 0.307, R290 0.038)",
    "kg/m³",
    Range::from_to(0.001, 2.0),
);
const HEIGHT: Input = Input::quantity(
    "height",
    "height of the unit: floor 0.6 m, window 1.0 m, wall 1.8 m, ceiling 2.2 m",
    Length,
    "m",
    Range::above_zero(10.0),
);
const SOURCE: &str =
    "IEC 60335-2-40, from memory; 26 × LFL of R290 (988 g) confirmed by a trade notice of the 2022 edition";
const VALIDITY: &str = "the unventilated case only: editions from 2022 add circulation and leak detection, which allow more. The nameplate and the local rule govern";

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "charge.steps",
        title: "Charge steps of a flammable refrigerant",
        inputs: &[LIMIT, Input::word("class", "safety class", &["A2L", "A2", "A3"]).or_word("A3")],
        outputs: &[
            Output::quantity("first", "below it the room does not matter", Mass, "kg"),
            Output::quantity("second", "most indoors without further measures", Mass, "kg"),
            Output::quantity("third", "most of all", Mass, "kg"),
        ],
        formula: "m1 = 4 LFL (6 LFL for A2L in editions from 2018), m2 = 26 LFL, m3 = 130 LFL",
        source: SOURCE,
        validity: VALIDITY,
        example: &[("lower_limit", "0.038"), ("class", "A3")],
        compute: |k| {
            let steps = steps(k.number("lower_limit")?, k.word("class") == "A2L")?;
            Ok(Found::number("first", steps.first).and("second", steps.second).and("third", steps.third))
        },
    },
    WorkingValue {
        id: "charge.largest",
        title: "Largest flammable charge for a room",
        inputs: &[LIMIT, HEIGHT, Input::quantity("area", "floor area", Area, "m²", Range::above_zero(10_000.0))],
        outputs: &[Output::quantity("charge", "largest charge", Mass, "kg")],
        formula: "m = 2.5 · LFL^(5/4) · h0 · √A",
        source: SOURCE,
        validity: VALIDITY,
        example: &[("lower_limit", "0.307"), ("height", "1.8 m"), ("area", "10 m2")],
        compute: |k| {
            Ok(Found::number("charge", largest(k.number("lower_limit")?, k.number("height")?, k.number("area")?)?))
        },
    },
    WorkingValue {
        id: "charge.least_area",
        title: "Least floor area for a flammable charge",
        inputs: &[LIMIT, HEIGHT, Input::quantity("charge", "charge", Mass, "kg", Range::above_zero(1000.0))],
        outputs: &[Output::quantity("area", "least floor area", Area, "m²")],
        formula: "A = (m / (2.5 · LFL^(5/4) · h0))²",
        source: SOURCE,
        validity: VALIDITY,
        example: &[("lower_limit", "0.307"), ("height", "1.8 m"), ("charge", "2 kg")],
        compute: |k| {
            Ok(Found::number("area", least_area(k.number("lower_limit")?, k.number("height")?, k.number("charge")?)?))
        },
    },
    WorkingValue {
        id: "charge.lower_limit",
        title: "Lower flammability limit by mass from that by volume",
        inputs: &[
            Input::quantity("share", "limit by volume", Ratio, "ppm", Range::above_zero(1e6)),
            Input::plain("molar_mass", "molar mass", "g/mol", Range::from_to(2.0, 400.0)),
        ],
        outputs: &[Output::plain("lower_limit", "lower flammability limit", "kg/m³")],
        formula: "LFL = share · M / 24.465, at 25 °C and 101.325 kPa",
        source: "molar volume of a gas; limits by volume as listed in ASHRAE 34, from memory",
        validity: "the 5/4 power magnifies small differences: fix the figure before comparing charges",
        example: &[("share", "21000 ppm"), ("molar_mass", "44.096")],
        compute: |k| Ok(Found::number("lower_limit", lower_limit(k.number("share")?, k.number("molar_mass")?)?)),
    },
    WorkingValue {
        id: "charge.blend_warming",
        title: "Global warming potential of a blend",
        inputs: &[
            Input::quantities("shares", "shares by mass", Ratio, "%", Range::from_to(0.0, 100.0)),
            Input::plains(
                "potentials",
                "potentials of the components, in the same order",
                "1",
                Range::from_to(0.0, 30_000.0),
            ),
        ],
        outputs: &[Output::plain("potential", "global warming potential over 100 years", "1")],
        formula: "Σ share · potential",
        source: "definition; components for example from 40 CFR 98 table A-1 (fourth report of the IPCC)",
        validity: "name the report the components come from; reports differ by some per cent",
        example: &[("shares", "50 %, 50 %"), ("potentials", "675, 3500")],
        compute: |k| Ok(Found::number("potential", blend_warming(k.numbers("shares"), k.numbers("potentials"))?)),
    },
];
