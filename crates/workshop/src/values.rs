//! The trade's single computations and the pressure–enthalpy picture, for clients.

pub use halfsplit_bench::{
    Content, Explanation, Inputs, Number, Outcome, WorkError, Worked, WorkingValue, catalogue, explain, find, work_out,
};

use halfsplit_bench::chart::{Trace, pressure_enthalpy};
use halfsplit_bench::refrigerant::{Readings, named};
use halfsplit_units::{Dimension, Entry, parse_entry};

/// A cycle as somebody typed it: suction; discharge; liquid line, each as pressure and temperature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CycleText {
    /// For the legend.
    pub label: &'static str,
    /// For example "2.9 bara, 12 C; 14.8 bara, 80 C; 14.8 bara, 47 C".
    pub text: String,
    /// Drawn in dashes.
    pub dashed: bool,
}

/// The pressure–enthalpy picture (SVG) of cycles as typed.
///
/// # Errors
/// Says which refrigerant, pressure or temperature could not be taken and what to write instead.
pub fn pressure_enthalpy_picture(refrigerant: &str, cycles: &[CycleText]) -> Result<String, String> {
    let fluid = named(refrigerant).map_err(|e| e.to_string())?;
    let readings: Vec<Readings> =
        cycles.iter().map(|c| readings(&c.text).map_err(|e| format!("{}: {e}", c.label))).collect::<Result<_, _>>()?;
    let traces: Vec<Trace<'_>> =
        cycles.iter().zip(readings).map(|(c, readings)| Trace { label: c.label, readings, dashed: c.dashed }).collect();
    pressure_enthalpy(fluid, &traces).map_err(|e| e.to_string())
}

fn readings(text: &str) -> Result<Readings, String> {
    let places: Vec<&str> = text.split(';').collect();
    let [suction, discharge, liquid] = places[..] else {
        return Err(format!(
            "\"{text}\" names {} places; write three, separated by semicolons: suction; discharge; liquid line",
            places.len()
        ));
    };
    Ok(Readings { suction: place(suction)?, discharge: place(discharge)?, liquid: place(liquid)? })
}

fn place(text: &str) -> Result<(f64, f64), String> {
    let Some((p, t)) = text.split_once(',') else {
        return Err(format!(
            "\"{}\" is no place: write pressure, temperature, for example 2.9 bara, 12 C",
            text.trim()
        ));
    };
    Ok((value(p, Dimension::PressureAbsolute)?, value(t, Dimension::Temperature)?))
}

fn value(text: &str, dimension: Dimension) -> Result<f64, String> {
    match parse_entry(text.trim(), Some(dimension)).map_err(|e| e.to_string())? {
        Entry::Value(q) => Ok(q.si),
        _ => Err(format!("\"{}\" should be one value, for example {}", text.trim(), dimension.example())),
    }
}
