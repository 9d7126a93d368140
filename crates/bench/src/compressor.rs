//! Compressor maps in ten coefficients.

use crate::known::Found;
use crate::refusal::{Refusal, within};
use crate::value::{Input, Output, Range, WorkingValue};

/// The ten-coefficient polynomial in suction and discharge dew temperature, both in the unit the map was fitted in.
///
/// Other conventions for a bicubic order the terms otherwise: check the map's own table before trusting a result.
///
/// # Errors
/// Refuses temperatures that are not finite.
pub fn ten_coefficients(c: &[f64; 10], suction: f64, discharge: f64) -> Result<f64, Refusal> {
    let s = within("suction dew temperature", suction, (-1000.0, 1000.0), "°")?;
    let d = within("discharge dew temperature", discharge, (-1000.0, 1000.0), "°")?;
    Ok(c[0]
        + c[1] * s
        + c[2] * d
        + c[3] * s * s
        + c[4] * s * d
        + c[5] * d * d
        + c[6] * s * s * s
        + c[7] * d * s * s
        + c[8] * s * d * d
        + c[9] * d * d * d)
}

const DEW: Range = Range::from_to(-150.0, 300.0);

pub(crate) const VALUES: &[WorkingValue] = &[WorkingValue {
    id: "compressor.map",
    title: "Power, flow, current or capacity from a compressor's ten coefficients",
    inputs: &[
        Input::plains("coefficients", "the ten coefficients, in order", "1", Range::from_to(-1e9, 1e9)),
        Input::plain("suction", "suction dew temperature, in the map's unit", "°", DEW),
        Input::plain("discharge", "discharge dew temperature, in the map's unit", "°", DEW),
    ],
    outputs: &[Output::plain("value", "the quantity that the coefficients stand for, in the map's unit", "1")],
    formula: "X = C1 + C2 S + C3 D + C4 S² + C5 S D + C6 D² + C7 S³ + C8 D S² + C9 S D² + C10 D³",
    source: "AHRI 540 / EN 12900, order of terms from memory",
    validity: "inside the map's envelope and at its superheat only; other conventions order the terms otherwise",
    example: &[
        ("coefficients", "100, 2.5, -0.8, 0.03, 0.01, 0.004, 0.0001, -0.00005, 0.00002, -0.00001"),
        ("suction", "45"),
        ("discharge", "130"),
    ],
    compute: |k| {
        let given = k.numbers("coefficients");
        let coefficients: &[f64; 10] = given.try_into().map_err(|_| {
            crate::refusal::contradiction(format!("a map has ten coefficients, {} were given", given.len()))
        })?;
        Ok(Found::number("value", ten_coefficients(coefficients, k.number("suction")?, k.number("discharge")?)?))
    },
}];
