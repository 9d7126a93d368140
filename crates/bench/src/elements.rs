//! Resistive heating elements.

use halfsplit_units::Dimension::{Current, Power, Ratio, Resistance, Voltage};

use crate::known::Found;
use crate::refusal::{Refusal, positive};
use crate::value::{Input, Output, Range, WorkingValue};

/// Resistance (Ω) of an element of a power (W) at a voltage (V).
///
/// # Errors
/// [`Refusal::NotPositive`] for either.
pub fn resistance(power: f64, voltage: f64) -> Result<f64, Refusal> {
    positive("voltage", voltage, "V")?;
    Ok(voltage * voltage / positive("power", power, "W")?)
}

/// Power (W) of a resistance (Ω) at a voltage (V).
///
/// # Errors
/// [`Refusal::NotPositive`] for either.
pub fn power(resistance: f64, voltage: f64) -> Result<f64, Refusal> {
    positive("voltage", voltage, "V")?;
    Ok(voltage * voltage / positive("resistance", resistance, "Ω")?)
}

const WATTS: Input = Input::quantity("power", "watts on the label", Power, "W", Range::above_zero(100_000.0));
const VOLTS: Input = Input::quantity("voltage", "voltage", Voltage, "V", Range::above_zero(1000.0));
const LAW: &str = "Ohm's law";

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "element.expected",
        title: "Ohms and amps to expect of an element",
        inputs: &[
            WATTS,
            VOLTS,
            Input::quantity("measured", "ohms measured, both wires off", Resistance, "Ω", Range::above_zero(1e6))
                .optional(),
            Input::quantity("tolerance", "departure to allow", Ratio, "%", Range::from_to(0.0, 30.0)).or(5.0),
        ],
        outputs: &[
            Output::quantity("resistance", "resistance to expect", Resistance, "Ω"),
            Output::quantity("current", "current to expect", Current, "A"),
            Output::word("verdict", "on the measured ohms"),
        ],
        formula: "R = V²/P; I = P/V",
        source: "Ohm's law; ±5 % is common practice, no source",
        validity: "resistive loads only: a motor's amps never follow from its ohms",
        example: &[("power", "4500 W"), ("voltage", "240 V"), ("measured", "12.6 Ω")],
        compute: |k| {
            let (watts, volts) = (k.number("power")?, k.number("voltage")?);
            let ohms = resistance(watts, volts)?;
            let found = Found::number("resistance", ohms).and("current", watts / volts);
            let Some(measured) = k.maybe("measured") else {
                return Ok(found);
            };
            let share = measured / ohms - 1.0;
            let verdict = if share.abs() <= k.number("tolerance")? {
                "sound"
            } else if share > 0.0 {
                "high: a bad joint, a broken strand, or another element than the label says"
            } else {
                "low: shorted turns, or another element than the label says"
            };
            Ok(found.and_word("verdict", verdict))
        },
    },
    WorkingValue {
        id: "element.power",
        title: "Watts of an element at another voltage",
        inputs: &[
            Input::quantity("resistance", "resistance of the element", Resistance, "Ω", Range::above_zero(1e6)),
            VOLTS,
        ],
        outputs: &[
            Output::quantity("power", "power at that voltage", Power, "W"),
            Output::quantity("current", "current at that voltage", Current, "A"),
        ],
        formula: "P = V²/R; I = V/R",
        source: LAW,
        validity: "metal-sheathed elements change by a few per cent when hot",
        example: &[("resistance", "12.8 Ω"), ("voltage", "208 V")],
        compute: |k| {
            let (ohms, volts) = (k.number("resistance")?, k.number("voltage")?);
            Ok(Found::number("power", power(ohms, volts)?).and("current", volts / ohms))
        },
    },
    WorkingValue {
        id: "element.branch_circuit",
        title: "Least branch-circuit amps for a storage water heater",
        inputs: &[WATTS, VOLTS],
        outputs: &[Output::quantity("current", "least rating of the branch circuit", Current, "A")],
        formula: "I = 1.25 · P/V",
        source: "NEC 422.13 (2014 wording): fixed storage heaters of 450 L (120 gal) or less count as continuous load",
        validity: "the branch circuit only; feeder and service are not raised. Follow the local code",
        example: &[("power", "4500 W"), ("voltage", "240 V")],
        compute: |k| {
            Ok(Found::number(
                "current",
                1.25 * positive("power", k.number("power")?, "W")? / positive("voltage", k.number("voltage")?, "V")?,
            ))
        },
    },
];
