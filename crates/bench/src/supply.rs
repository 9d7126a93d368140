//! The supply: unbalance, drop, circuit sizing, the rectified bus.

use halfsplit_units::Dimension::{Capacitance, Current, Energy, Length, Power, Ratio, Time, Voltage};

use crate::known::Found;
use crate::refusal::{Refusal, contradiction, positive, within};
use crate::value::{Input, Output, Range, Spread, WorkingValue};
use crate::windings::unbalance;

/// Points of the derating curve: unbalance as a share, and the share of rated power then allowed.
const DERATING: [(f64, f64); 9] = [
    (0.0, 1.0),
    (0.015, 0.97),
    (0.02, 0.95),
    (0.025, 0.93),
    (0.03, 0.89),
    (0.035, 0.85),
    (0.04, 0.82),
    (0.045, 0.78),
    (0.05, 0.76),
];

/// Share of rated power that a three-phase motor may give under a voltage unbalance (as a share, 0 to 0.05).
///
/// # Errors
/// Refuses unbalance above 5 %, where the motor must not run.
pub fn derating(unbalance: f64) -> Result<f64, Refusal> {
    if unbalance > 0.05 {
        return Err(contradiction(format!(
            "{:.1} % unbalance: above 5 % a three-phase motor must not run; find the single-phase load, loose lug or lost phase first",
            100.0 * unbalance
        )));
    }
    within("voltage unbalance", unbalance, (0.0, 0.05), "(as a fraction)")?;
    let high = DERATING.partition_point(|point| point.0 < unbalance).clamp(1, DERATING.len() - 1);
    let ((x1, y1), (x2, y2)) = (DERATING[high - 1], DERATING[high]);
    Ok(y1 + (unbalance - x1) / (x2 - x1) * (y2 - y1))
}

/// Voltage lost (V) in a two-wire run of a length (ft, one way): resistivity in Ω·cmil/ft, current in A, conductor area in cmil.
///
/// # Errors
/// Refuses values not above zero.
pub fn two_wire_drop(resistivity: f64, current: f64, feet: f64, circular_mils: f64) -> Result<f64, Refusal> {
    positive("resistivity", resistivity, "Ω·cmil/ft")?;
    positive("current", current, "A")?;
    positive("length", feet, "ft")?;
    Ok(2.0 * resistivity * current * feet / positive("conductor area", circular_mils, "cmil")?)
}

/// Minimum circuit ampacity (A) for one motor-compressor plus another load.
///
/// # Errors
/// Refuses a rated-load current not above zero and a negative other load.
pub fn minimum_circuit_ampacity(rated_load: f64, other: f64) -> Result<f64, Refusal> {
    within("other load", other, (0.0, 1e4), "A")?;
    Ok(1.25 * positive("rated-load current", rated_load, "A")? + other)
}

/// Direct voltage (V) of an unloaded bus behind a full-wave rectifier on an effective voltage (V).
///
/// # Errors
/// [`Refusal::NotPositive`].
pub fn rectified_bus(rms: f64) -> Result<f64, Refusal> {
    Ok(core::f64::consts::SQRT_2 * positive("supply voltage", rms, "V")?)
}

const FOOT: f64 = 0.3048;
const VOLTS: Range = Range::above_zero(1000.0);
const AMPS: Range = Range::above_zero(2000.0);
const CURVE: Spread = Spread::Absolute(0.01, "read from a printed curve; another copy has 0.88 at 3 % and 0.75 at 5 %");

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "supply.unbalance",
        title: "Voltage unbalance of a three-phase supply and what it allows",
        inputs: &[
            Input::quantity("a_b", "between lines A and B", Voltage, "V", VOLTS),
            Input::quantity("b_c", "between B and C", Voltage, "V", VOLTS),
            Input::quantity("c_a", "between C and A", Voltage, "V", VOLTS),
        ],
        outputs: &[
            Output::quantity("unbalance", "largest departure from the mean", Ratio, "%"),
            Output::plain("derating", "share of rated power allowed", "1").spread(CURVE),
            Output::word("verdict", "what to do"),
        ],
        formula: "unbalance = max|V − mean| / mean",
        source: "NEMA MG 1 definition; derating curve of MG 1 from a public engineering table",
        validity: "three-phase motors only; the rule means nothing for single phase",
        example: &[("a_b", "462 V"), ("b_c", "463 V"), ("c_a", "455 V")],
        compute: |k| {
            let share = unbalance([k.number("a_b")?, k.number("b_c")?, k.number("c_a")?])?;
            let verdict = if share <= 0.01 {
                "within the 1 % that motors are rated for"
            } else if share <= 0.05 {
                "derate, and find the cause"
            } else {
                "stop: above 5 % a three-phase motor must not run"
            };
            Ok(Found::number("unbalance", share)
                .and_maybe("derating", derating(share).ok())
                .and_word("verdict", verdict))
        },
    },
    WorkingValue {
        id: "supply.derating",
        title: "Derating of a three-phase motor for voltage unbalance",
        inputs: &[Input::quantity("unbalance", "voltage unbalance", Ratio, "%", Range::from_to(0.0, 100.0))],
        outputs: &[Output::plain("derating", "share of rated power allowed", "1").spread(CURVE)],
        formula: "straight lines between the points of the MG 1 curve",
        source: "public engineering table of the NEMA MG 1 curve",
        validity: "three-phase motors, 0 to 5 %; added temperature rise is about 2·(unbalance in %)² per cent (from memory)",
        example: &[("unbalance", "3.5 %")],
        compute: |k| Ok(Found::number("derating", derating(k.number("unbalance")?)?)),
    },
    WorkingValue {
        id: "supply.drop",
        title: "Voltage lost in a run of cable",
        inputs: &[
            Input::quantity("current", "current", Current, "A", AMPS),
            Input::quantity("length", "length one way", Length, "m", Range::above_zero(5000.0)),
            Input::plain(
                "area",
                "conductor area (10 AWG is 10 380 cmil; 1 mm² is 1973.5 cmil)",
                "cmil",
                Range::above_zero(2e6),
            ),
            Input::plain("resistivity", "copper 12.9, aluminium 21.2", "Ω·cmil/ft", Range::from_to(8.0, 40.0)).or(12.9),
            Input::quantity("voltage", "supply, to give the drop as a share", Voltage, "V", VOLTS).optional(),
        ],
        outputs: &[
            Output::quantity("drop", "voltage lost, out and back", Voltage, "V"),
            Output::quantity("share", "of the supply", Ratio, "%"),
        ],
        formula: "V = 2 K I L / CM, L in ft",
        source: "common practice; NEC informational notes advise 3 % for the branch and 5 % with the feeder",
        validity: "two-wire circuits at power factor near one; warm copper",
        example: &[("current", "20 A"), ("length", "100 ft"), ("area", "10380"), ("voltage", "240 V")],
        compute: |k| {
            let drop = two_wire_drop(
                k.number("resistivity")?,
                k.number("current")?,
                k.number("length")? / FOOT,
                k.number("area")?,
            )?;
            Ok(Found::number("drop", drop).and_maybe("share", k.maybe("voltage").map(|v| drop / v)))
        },
    },
    WorkingValue {
        id: "supply.minimum_ampacity",
        title: "Minimum circuit ampacity of a unit with one compressor",
        inputs: &[
            Input::quantity("rated_load", "compressor RLA", Current, "A", AMPS),
            Input::quantity("other", "fan FLA and other loads together", Current, "A", Range::from_to(0.0, 2000.0))
                .or(0.0),
        ],
        outputs: &[Output::quantity("ampacity", "minimum circuit ampacity", Current, "A")],
        formula: "MCA = 1.25 · RLA + FLA",
        source: "NEC article 440",
        validity: "one motor-compressor; with several the largest alone is raised. The nameplate governs",
        example: &[("rated_load", "16.7 A"), ("other", "1.2 A")],
        compute: |k| {
            Ok(Found::number("ampacity", minimum_circuit_ampacity(k.number("rated_load")?, k.number("other")?)?))
        },
    },
    WorkingValue {
        id: "supply.bus",
        title: "Volts on an inverter's DC bus, at rest and when the mains drop out",
        inputs: &[
            Input::quantity("supply", "mains voltage", Voltage, "V", VOLTS),
            Input::quantity("capacitance", "bus capacitors together", Capacitance, "µF", Range::above_zero(1e6))
                .optional(),
            Input::quantity("load", "power drawn from the bus", Power, "W", Range::above_zero(1e5)).optional(),
            Input::quantity("lowest", "bus voltage at which the load gives up", Voltage, "V", VOLTS).optional(),
        ],
        outputs: &[
            Output::quantity("bus", "bus with no load", Voltage, "V"),
            Output::quantity("energy", "energy stored", Energy, "J"),
            Output::quantity("ride_through", "time the load can run without mains", Time, "ms"),
        ],
        formula: "bus = √2 · V; E = C V²/2; t = C (V² − Vlowest²) / (2 P)",
        source: "peak of a sine wave; energy of a capacitor",
        validity: "no power-factor stage (with one the bus is regulated above this, 350–400 V: from memory); under load it sags a few per cent. The bus stays charged if its bleeder fails: prove it dead",
        example: &[("supply", "240 V"), ("capacitance", "2040 µF"), ("load", "1.8 kW"), ("lowest", "200 V")],
        compute: |k| {
            let bus = rectified_bus(k.number("supply")?)?;
            let mut found = Found::number("bus", bus);
            let capacitance = k.maybe("capacitance");
            if let Some(c) = capacitance {
                found = found.and("energy", crate::capacitor::energy(c, bus)?);
            }
            if let (Some(c), Some(load), Some(lowest)) = (capacitance, k.maybe("load"), k.maybe("lowest")) {
                if lowest >= bus {
                    return Err(contradiction(format!(
                        "the load gives up at {lowest} V, but the bus only reaches {bus:.0} V"
                    )));
                }
                let spent = crate::capacitor::energy(c, bus)? - crate::capacitor::energy(c, lowest)?;
                found = found.and("ride_through", spent / positive("load", load, "W")?);
            }
            Ok(found)
        },
    },
];
