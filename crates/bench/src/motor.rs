//! Single-phase and three-phase motors: nameplate letters and starting.

use halfsplit_units::Dimension::{Capacitance, Current, Frequency, Power, Ratio, Resistance, Voltage};

use crate::known::Found;
use crate::refusal::{Refusal, contradiction, positive, within};
use crate::value::{Input, Output, Range, WorkingValue};

/// Watts in one horsepower as nameplates and the code letters use it (rounded to 746, NEMA MG 1).
pub const HORSEPOWER: f64 = 746.0;

#[allow(clippy::approx_constant, reason = "3.14 kVA/hp is the table's figure, not a circle's")]
/// Code letter with the lowest and highest locked-rotor kVA per horsepower (NEC table 430.7(B)). V has no upper end.
const CODE_LETTERS: &[(&str, f64, f64)] = &[
    ("A", 0.0, 3.14),
    ("B", 3.15, 3.54),
    ("C", 3.55, 3.99),
    ("D", 4.0, 4.49),
    ("E", 4.5, 4.99),
    ("F", 5.0, 5.59),
    ("G", 5.6, 6.29),
    ("H", 6.3, 7.09),
    ("J", 7.1, 7.99),
    ("K", 8.0, 8.99),
    ("L", 9.0, 9.99),
    ("M", 10.0, 11.19),
    ("N", 11.2, 12.49),
    ("P", 12.5, 13.99),
    ("R", 14.0, 15.99),
    ("S", 16.0, 17.99),
    ("T", 18.0, 19.99),
    ("U", 20.0, 22.39),
    ("V", 22.4, f64::INFINITY),
];
const LETTERS: &[&str] =
    &["A", "B", "C", "D", "E", "F", "G", "H", "J", "K", "L", "M", "N", "P", "R", "S", "T", "U", "V"];

/// Locked-rotor kVA per horsepower of a code letter: lowest and highest (infinite for V).
///
/// # Errors
/// Refuses letters that the table does not have (I, O, Q and beyond V).
pub fn code_letter(letter: &str) -> Result<(f64, f64), Refusal> {
    CODE_LETTERS.iter().find(|row| row.0 == letter).map(|row| (row.1, row.2)).ok_or_else(|| {
        contradiction(format!("there is no code letter {letter}; the letters run from A to V without I, O and Q"))
    })
}

/// Locked-rotor current (A), lowest and highest: from a code letter, horsepower, voltage (V) and one or three phases.
///
/// # Errors
/// Refuses unknown letters, powers and voltages not above zero, and other numbers of phases.
pub fn locked_rotor(letter: &str, horsepower: f64, voltage: f64, phases: f64) -> Result<(f64, f64), Refusal> {
    let (low, high) = code_letter(letter)?;
    positive("power", horsepower, "hp")?;
    positive("voltage", voltage, "V")?;
    let lines = if phases == 1.0 {
        1.0
    } else if phases == 3.0 {
        3.0_f64.sqrt()
    } else {
        return Err(contradiction(format!("{phases} phases: motors here have one or three")));
    };
    let per_kva = 1000.0 * horsepower / (voltage * lines);
    Ok((low * per_kva, high * per_kva))
}

/// A winding's resistance and reactance with the rotor locked, Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Impedance {
    /// Resistance, Ω.
    pub resistance: f64,
    /// Reactance, Ω.
    pub reactance: f64,
}

/// Capacitance (F) that puts the auxiliary winding's current a quarter turn ahead of the main winding's at standstill.
///
/// # Errors
/// Refuses values not above zero.
pub fn quadrature_capacitor(main: Impedance, auxiliary: Impedance, frequency: f64) -> Result<f64, Refusal> {
    positive("main resistance", main.resistance, "Ω")?;
    positive("main reactance", main.reactance, "Ω")?;
    positive("auxiliary resistance", auxiliary.resistance, "Ω")?;
    within("auxiliary reactance", auxiliary.reactance, (0.0, 1e6), "Ω")?;
    positive("frequency", frequency, "Hz")?;
    let reactance = auxiliary.reactance + auxiliary.resistance * main.resistance / main.reactance;
    Ok(1.0 / (2.0 * core::f64::consts::PI * frequency * reactance))
}

/// Sum of two currents given by size (A) and angle (degrees): size and angle of the sum.
///
/// # Errors
/// Refuses sizes below zero or not finite.
pub fn sum_of_currents(first: (f64, f64), second: (f64, f64)) -> Result<(f64, f64), Refusal> {
    let mut real = 0.0;
    let mut imaginary = 0.0;
    for (size, degrees) in [first, second] {
        within("current", size, (0.0, 1e5), "A")?;
        let (sine, cosine) = libm::sincos(degrees.to_radians());
        real += size * cosine;
        imaginary += size * sine;
    }
    Ok((libm::hypot(real, imaginary), libm::atan2(imaginary, real).to_degrees()))
}

const AMPS: Range = Range::from_to(0.0, 10_000.0);
const DEGREES: Range = Range::from_to(-180.0, 180.0);
const OHMS: Range = Range::above_zero(10_000.0);
const LETTER: Input = Input::word("letter", "code letter on the nameplate", LETTERS);
const CODE_SOURCE: &str = "NEC table 430.7(B)";

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "motor.code_letter",
        title: "What a nameplate code letter says",
        inputs: &[LETTER],
        outputs: &[
            Output::plain("low", "least locked-rotor kVA per horsepower", "kVA/hp"),
            Output::plain("high", "most", "kVA/hp"),
        ],
        formula: "table of letters A to V",
        source: CODE_SOURCE,
        validity: "motors marked with a code letter; not hermetic compressors, which state LRA",
        example: &[("letter", "K")],
        compute: |k| {
            let (low, high) = code_letter(k.word("letter"))?;
            Ok(Found::number("low", low).and_maybe("high", high.is_finite().then_some(high)))
        },
    },
    WorkingValue {
        id: "motor.locked_rotor",
        title: "Locked-rotor amps from the code letter",
        inputs: &[
            LETTER,
            Input::plain("horsepower", "rated power", "hp", Range::above_zero(1000.0)),
            Input::quantity("voltage", "rated voltage", Voltage, "V", Range::above_zero(20_000.0)),
            Input::plain("phases", "one or three", "1", Range::from_to(1.0, 3.0)),
        ],
        outputs: &[
            Output::quantity("low", "least locked-rotor current", Current, "A"),
            Output::quantity("high", "most", Current, "A"),
        ],
        formula: "LRA = kVA/hp · hp · 1000 / V, divided by √3 for three phases",
        source: CODE_SOURCE,
        validity: "at rated voltage and frequency; falls in proportion to the voltage",
        example: &[("letter", "K"), ("horsepower", "1"), ("voltage", "230 V"), ("phases", "1")],
        compute: |k| {
            let (low, high) =
                locked_rotor(k.word("letter"), k.number("horsepower")?, k.number("voltage")?, k.number("phases")?)?;
            Ok(Found::number("low", low).and_maybe("high", high.is_finite().then_some(high)))
        },
    },
    WorkingValue {
        id: "motor.start_capacitor",
        title: "Start capacitor that sets the two currents at right angles",
        inputs: &[
            Input::quantity("main_resistance", "main winding, resistance with the rotor locked", Resistance, "Ω", OHMS),
            Input::quantity("main_reactance", "main winding, reactance", Resistance, "Ω", OHMS),
            Input::quantity("auxiliary_resistance", "auxiliary winding, resistance", Resistance, "Ω", OHMS),
            Input::quantity("auxiliary_reactance", "auxiliary winding, reactance", Resistance, "Ω", OHMS),
            Input::quantity("frequency", "mains frequency", Frequency, "Hz", Range::above_zero(1000.0)),
        ],
        outputs: &[Output::quantity("capacitance", "start capacitor", Capacitance, "µF")],
        formula: "Xc = Xaux + Raux·Rmain/Xmain; C = 1/(2π f Xc)",
        source: "phasor condition of quadrature; Fitzgerald, Kingsley and Umans, Electric Machinery, 6th ed., ex. 9.1, from memory",
        validity: "standstill; the part fitted by the maker also minds voltage and heat, so replace like with like",
        example: &[
            ("main_resistance", "3.5 Ω"),
            ("main_reactance", "2.5 Ω"),
            ("auxiliary_resistance", "8.6 Ω"),
            ("auxiliary_reactance", "2.5 Ω"),
            ("frequency", "60 Hz"),
        ],
        compute: |k| {
            let main = Impedance { resistance: k.number("main_resistance")?, reactance: k.number("main_reactance")? };
            let auxiliary = Impedance {
                resistance: k.number("auxiliary_resistance")?,
                reactance: k.number("auxiliary_reactance")?,
            };
            Ok(Found::number("capacitance", quadrature_capacitor(main, auxiliary, k.number("frequency")?)?))
        },
    },
    WorkingValue {
        id: "motor.split_phase",
        title: "Line current of a split-phase motor at start",
        inputs: &[
            Input::quantity("start_current", "start-winding current", Current, "A", AMPS),
            Input::plain("start_angle", "its angle against the voltage, lagging negative", "°", DEGREES),
            Input::quantity("run_current", "run-winding current", Current, "A", AMPS),
            Input::plain("run_angle", "its angle", "°", DEGREES),
        ],
        outputs: &[
            Output::quantity("current", "line current", Current, "A"),
            Output::plain("power_factor", "power factor", "1"),
        ],
        formula: "sum of the two currents as phasors; power factor = cos of its angle",
        source: "Kosow, Electric Machinery and Transformers, ex. 10-1",
        validity: "currents and angles at standstill",
        example: &[("start_current", "4 A"), ("start_angle", "-15"), ("run_current", "6 A"), ("run_angle", "-40")],
        compute: |k| {
            let (size, degrees) = sum_of_currents(
                (k.number("start_current")?, k.number("start_angle")?),
                (k.number("run_current")?, k.number("run_angle")?),
            )?;
            Ok(Found::number("current", size).and("power_factor", libm::cos(degrees.to_radians())))
        },
    },
    WorkingValue {
        id: "motor.efficiency",
        title: "Efficiency of a running motor",
        inputs: &[
            Input::plain("horsepower", "shaft power", "hp", Range::above_zero(1000.0)),
            Input::quantity("voltage", "voltage", Voltage, "V", Range::above_zero(20_000.0)),
            Input::quantity("current", "current", Current, "A", Range::above_zero(10_000.0)),
            Input::plain("angle", "angle of the current, lagging negative", "°", Range::from_to(-90.0, 90.0)),
        ],
        outputs: &[
            Output::quantity("input", "electrical input", Power, "W"),
            Output::quantity("efficiency", "shaft power over input", Ratio, "%"),
        ],
        formula: "P = V I cos φ; efficiency = 746 · hp / P",
        source: "Kosow, Electric Machinery and Transformers, ex. 10-2",
        validity: "single phase",
        example: &[("horsepower", "0.25"), ("voltage", "110 V"), ("current", "6 A"), ("angle", "-40")],
        compute: |k| {
            let input = k.number("voltage")? * k.number("current")? * libm::cos(k.number("angle")?.to_radians());
            positive("electrical input", input, "W")?;
            let share = HORSEPOWER * positive("shaft power", k.number("horsepower")?, "hp")? / input;
            if share > 1.0 {
                return Err(contradiction(format!(
                    "the shaft would give {share:.2} times what goes in ({input:.0} W); check amps, angle and the horsepower"
                )));
            }
            Ok(Found::number("input", input).and("efficiency", share))
        },
    },
];
