//! Run and start capacitors: microfarads under load, substitutes, discharge.

use halfsplit_units::Dimension::{Capacitance, Current, Energy, Frequency, Ratio, Resistance, Time, Voltage};

use crate::known::Found;
use crate::refusal::{Refusal, contradiction, positive};
use crate::value::{Input, Output, Range, WorkingValue};

const TWO_PI: f64 = 2.0 * core::f64::consts::PI;

/// Capacitance (F) from the current through it (A), the voltage across it (V) and the frequency (Hz).
///
/// # Errors
/// [`Refusal::NotPositive`] for any of them.
pub fn under_load(current: f64, voltage: f64, frequency: f64) -> Result<f64, Refusal> {
    positive("current", current, "A")?;
    positive("voltage across the capacitor", voltage, "V")?;
    positive("frequency", frequency, "Hz")?;
    Ok(current / (TWO_PI * frequency * voltage))
}

/// Current (A) through a capacitance (F) at a voltage (V) and frequency (Hz).
///
/// # Errors
/// [`Refusal::NotPositive`] for any of them.
pub fn current(capacitance: f64, voltage: f64, frequency: f64) -> Result<f64, Refusal> {
    positive("capacitance", capacitance, "F")?;
    positive("voltage", voltage, "V")?;
    positive("frequency", frequency, "Hz")?;
    Ok(TWO_PI * frequency * capacitance * voltage)
}

/// Two capacitances (F) in series.
///
/// # Errors
/// [`Refusal::NotPositive`] for either.
pub fn series(first: f64, second: f64) -> Result<f64, Refusal> {
    positive("first capacitance", first, "F")?;
    positive("second capacitance", second, "F")?;
    Ok(first * second / (first + second))
}

/// Two capacitances (F) in parallel.
///
/// # Errors
/// [`Refusal::NotPositive`] for either.
pub fn parallel(first: f64, second: f64) -> Result<f64, Refusal> {
    Ok(positive("first capacitance", first, "F")? + positive("second capacitance", second, "F")?)
}

/// Energy (J) stored in a capacitance (F) at a voltage (V).
///
/// # Errors
/// [`Refusal::NotPositive`] for the capacitance.
pub fn energy(capacitance: f64, voltage: f64) -> Result<f64, Refusal> {
    Ok(0.5 * positive("capacitance", capacitance, "F")? * voltage * voltage)
}

/// ln(start / end), refusing an end that is not below the start.
fn decay(start: f64, end: f64) -> Result<f64, Refusal> {
    positive("voltage at the start", start, "V")?;
    positive("voltage at the end", end, "V")?;
    if end >= start {
        return Err(contradiction(format!(
            "the voltage falls while discharging, so {end} V at the end must be below {start} V"
        )));
    }
    Ok(libm::log(start / end))
}

/// Time (s) for a capacitance (F) to fall from one voltage to another through a resistance (Ω).
///
/// # Errors
/// Refuses values not above zero and an end voltage not below the start.
pub fn discharge_time(capacitance: f64, resistance: f64, start: f64, end: f64) -> Result<f64, Refusal> {
    Ok(positive("resistance", resistance, "Ω")? * positive("capacitance", capacitance, "F")? * decay(start, end)?)
}

/// Resistance (Ω) through which a capacitance (F) falls from one voltage to another in a time (s).
///
/// # Errors
/// Refuses values not above zero and an end voltage not below the start.
pub fn discharge_resistance(capacitance: f64, time: f64, start: f64, end: f64) -> Result<f64, Refusal> {
    Ok(positive("time", time, "s")? / (positive("capacitance", capacitance, "F")? * decay(start, end)?))
}

const MICROFARADS: Range = Range::above_zero(1e6);
const VOLTS: Range = Range::above_zero(2000.0);
const C: Input = Input::quantity("capacitance", "capacitance", Capacitance, "µF", MICROFARADS);
const FIRST: Input = Input::quantity("first", "first capacitor", Capacitance, "µF", MICROFARADS);
const SECOND: Input = Input::quantity("second", "second capacitor", Capacitance, "µF", MICROFARADS);
const HERTZ: Input = Input::quantity("frequency", "mains frequency", Frequency, "Hz", Range::above_zero(1000.0));
const START: Input = Input::quantity(
    "start",
    "voltage at the start; the worst case is the peak, √2 × the alternating voltage",
    Voltage,
    "V",
    VOLTS,
);
const END: Input = Input::quantity("end", "voltage at the end", Voltage, "V", VOLTS);

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "capacitor.under_load",
        title: "Microfarads of a run capacitor, measured while the motor runs",
        inputs: &[
            Input::quantity("current", "current in the start-winding lead", Current, "A", Range::above_zero(200.0)),
            Input::quantity("voltage", "voltage across the capacitor itself", Voltage, "V", VOLTS),
            HERTZ,
            Input::quantity("rated", "microfarads on the label", Capacitance, "µF", MICROFARADS).optional(),
            Input::quantity("tolerance", "tolerance on the label", Ratio, "%", Range::from_to(0.0, 30.0)).or(6.0),
        ],
        outputs: &[
            Output::quantity("capacitance", "capacitance now", Capacitance, "µF"),
            Output::quantity("share", "share of the label", Ratio, "%"),
            Output::word("verdict", "against the label"),
        ],
        formula: "C = I / (2π f V)",
        source: "definition of capacitive reactance; tolerance classes of run capacitors ±5, ±6, ±10 %: IEC 60252-1, from memory",
        validity: "sine-wave mains; V across the capacitor, not across the line; only the capacitor's own current in the clamp",
        example: &[
            ("current", "4.98 A ± 2 %"),
            ("voltage", "440 V ± 1 %"),
            ("frequency", "60 Hz"),
            ("rated", "30 µF"),
            ("tolerance", "6 %"),
        ],
        compute: |k| {
            let c = under_load(k.number("current")?, k.number("voltage")?, k.number("frequency")?)?;
            let mut found = Found::number("capacitance", c);
            if let Some(rated) = k.maybe("rated") {
                let share = c / positive("rated capacitance", rated, "F")?;
                found = found.and("share", share).and_word("verdict", verdict(share, k.number("tolerance")?));
            }
            Ok(found)
        },
    },
    WorkingValue {
        id: "capacitor.current",
        title: "Current that a sound capacitor draws",
        inputs: &[C, Input::quantity("voltage", "voltage across it", Voltage, "V", VOLTS), HERTZ],
        outputs: &[Output::quantity("current", "current to expect", Current, "A")],
        formula: "I = 2π f C V",
        source: "definition of capacitive reactance",
        validity: "sine-wave mains",
        example: &[("capacitance", "45 µF"), ("voltage", "440 V"), ("frequency", "60 Hz")],
        compute: |k| {
            Ok(Found::number(
                "current",
                current(k.number("capacitance")?, k.number("voltage")?, k.number("frequency")?)?,
            ))
        },
    },
    WorkingValue {
        id: "capacitor.series",
        title: "Two capacitors in series, and how the voltage divides",
        inputs: &[FIRST, SECOND, Input::quantity("voltage", "voltage across both", Voltage, "V", VOLTS).optional()],
        outputs: &[
            Output::quantity("capacitance", "capacitance of the pair", Capacitance, "µF"),
            Output::quantity("across_first", "voltage across the first", Voltage, "V"),
            Output::quantity("across_second", "voltage across the second", Voltage, "V"),
        ],
        formula: "C = C1·C2/(C1+C2); V1 = V·C2/(C1+C2)",
        source: "circuit law; the rule of thumb to rate each for the full voltage is common practice",
        validity: "film capacitors for alternating current; never two electrolytic start capacitors",
        example: &[("first", "25 µF"), ("second", "25 µF"), ("voltage", "370 V")],
        compute: |k| {
            let (first, second) = (k.number("first")?, k.number("second")?);
            let pair = series(first, second)?;
            let volts = k.maybe("voltage");
            Ok(Found::number("capacitance", pair)
                .and_maybe("across_first", volts.map(|v| v * pair / first))
                .and_maybe("across_second", volts.map(|v| v * pair / second)))
        },
    },
    WorkingValue {
        id: "capacitor.parallel",
        title: "Two capacitors in parallel",
        inputs: &[FIRST, SECOND],
        outputs: &[Output::quantity("capacitance", "capacitance of the pair", Capacitance, "µF")],
        formula: "C = C1 + C2",
        source: "circuit law",
        validity: "each must be rated for the full voltage",
        example: &[("first", "7.5 µF"), ("second", "5 µF")],
        compute: |k| Ok(Found::number("capacitance", parallel(k.number("first")?, k.number("second")?)?)),
    },
    WorkingValue {
        id: "capacitor.energy",
        title: "Energy stored in a capacitor or DC bus",
        inputs: &[C, Input::quantity("voltage", "voltage across it", Voltage, "V", VOLTS)],
        outputs: &[Output::quantity("energy", "stored energy", Energy, "J")],
        formula: "E = C V² / 2",
        source: "definition",
        validity: "always; for a capacitor on alternating current take the peak, √2 × the voltage",
        example: &[("capacitance", "2040 µF"), ("voltage", "339 V")],
        compute: |k| Ok(Found::number("energy", energy(k.number("capacitance")?, k.number("voltage")?)?)),
    },
    WorkingValue {
        id: "capacitor.discharge_time",
        title: "Time for a bleeder to bring a capacitor down",
        inputs: &[
            C,
            Input::quantity("resistance", "bleed resistor", Resistance, "kΩ", Range::above_zero(1e9)),
            START,
            END.or(50.0),
        ],
        outputs: &[Output::quantity("time", "time until the end voltage", Time, "s")],
        formula: "t = R C ln(Vstart/Vend)",
        source: "circuit law; 50 V within 1 minute is the yardstick of NEC 460.6",
        validity: "nothing else connected; prove it with a meter all the same",
        example: &[("capacitance", "45 µF"), ("resistance", "15 kΩ"), ("start", "622 V"), ("end", "50 V")],
        compute: |k| {
            let time = discharge_time(
                k.number("capacitance")?,
                k.number("resistance")?,
                k.number("start")?,
                k.number("end")?,
            )?;
            Ok(Found::number("time", time))
        },
    },
    WorkingValue {
        id: "capacitor.bleed_resistance",
        title: "Resistance behind a fall of voltage: largest bleeder for a limit, or leakage of a part",
        inputs: &[
            C,
            START,
            END,
            Input::quantity("time", "time the fall took or may take", Time, "s", Range::above_zero(1e7)),
        ],
        outputs: &[Output::quantity("resistance", "resistance that does it", Resistance, "kΩ")],
        formula: "R = t / (C ln(Vstart/Vend))",
        source: "circuit law; limits: 50 V in 60 s (NEC 460.6), 75 V in 180 s (IEC 60831-1, from memory)",
        validity: "as leakage: only with the meter's own input resistance taken into account",
        example: &[("capacitance", "45 µF"), ("start", "622 V"), ("end", "50 V"), ("time", "60 s")],
        compute: |k| {
            let resistance = discharge_resistance(
                k.number("capacitance")?,
                k.number("time")?,
                k.number("start")?,
                k.number("end")?,
            )?;
            Ok(Found::number("resistance", resistance))
        },
    },
];

fn verdict(share: f64, tolerance: f64) -> &'static str {
    if share < 1.0 - tolerance {
        "weak: below its tolerance, replace"
    } else if share > 1.0 + tolerance {
        "high: above its tolerance; check the label, the clamp and the voltage"
    } else {
        "sound: within its tolerance"
    }
}
