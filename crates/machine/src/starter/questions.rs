//! The kinds of machine and what is asked of each.

use halfsplit_units::Dimension;
use serde::Serialize;

use super::structure;

/// A kind of machine that a sheet can be started for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind {
    /// Short name, as typed.
    pub key: &'static str,
    /// What it is.
    pub name: &'static str,
    /// The example that it is scaled from.
    pub example: &'static str,
}

/// The kinds.
pub const KINDS: &[Kind] = &[
    Kind {
        key: "water-heater",
        name: "integrated heat pump water heater",
        example: include_str!("../../../../machines/garage-water-heater.toml"),
    },
    Kind {
        key: "split",
        name: "unitary split heat pump",
        example: include_str!("../../../../machines/unitary-split.toml"),
    },
    Kind {
        key: "refrigerator",
        name: "household refrigerator",
        example: include_str!("../../../../machines/kitchen-refrigerator.toml"),
    },
    Kind {
        key: "dehumidifier",
        name: "dehumidifier",
        example: include_str!("../../../../machines/basement-dehumidifier.toml"),
    },
    Kind {
        key: "mini-split",
        name: "wall mini split with inverter",
        example: include_str!("../../../../machines/wall-mini-split.toml"),
    },
];

/// Finds a kind by its key.
pub fn kind(key: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|k| k.key == key)
}

/// Something asked for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Question {
    /// Key in [`super::Form::answers`].
    pub key: &'static str,
    /// How to ask.
    pub ask: &'static str,
    /// An answer, as an example.
    pub example: &'static str,
    /// What kind of quantity; `None` for a word.
    #[serde(skip)]
    pub dimension: Option<Dimension>,
    /// SI per unit of `range`.
    #[serde(skip)]
    pub unit: f64,
    /// Least and most that makes sense, in the question's unit.
    pub range: (f64, f64),
    /// The answers to choose from, each with what it means; `None` for a free one.
    pub ways: Option<&'static [(&'static str, &'static str)]>,
}

const fn number(
    key: &'static str,
    ask: &'static str,
    example: &'static str,
    dimension: Dimension,
    unit: f64,
    range: (f64, f64),
) -> Question {
    Question { key, ask, example, dimension: Some(dimension), unit, range, ways: None }
}

const PLATE: &[Question] = &[
    number("volts", "Rated volts", "240 V", Dimension::Voltage, 1.0, (90.0, 500.0)),
    number("hertz", "Frequency", "60 Hz", Dimension::Frequency, 1.0, (49.0, 61.0)),
    Question {
        key: "refrigerant",
        ask: "Refrigerant",
        example: "R410A",
        dimension: None,
        unit: 1.0,
        range: (0.0, 0.0),
        ways: None,
    },
    number("charge_kg", "Charge", "3.2 kg", Dimension::Mass, 1.0, (0.01, 50.0)),
    number("rated_load_a", "Compressor's rated-load amps (RLA)", "16.7 A", Dimension::Current, 1.0, (0.3, 100.0)),
    number("locked_rotor_a", "Compressor's locked-rotor amps (LRA)", "79 A", Dimension::Current, 1.0, (1.0, 600.0)),
    number(
        "capacity_w",
        "Capacity: heat given, or cold where it cools",
        "10.5 kW",
        Dimension::Power,
        1.0,
        (30.0, 60_000.0),
    ),
    number("breaker_a", "Breaker or fuse asked for", "40 A", Dimension::Current, 1.0, (3.0, 200.0)),
];

const INVERTER_AMPS: Question =
    number("rated_load_a", "Rated current of the outdoor unit", "7.5 A", Dimension::Current, 1.0, (0.3, 100.0));
const COMPRESSOR_CAPACITOR: Question =
    number("capacitor_uf", "Compressor's run capacitor", "45 uF", Dimension::Capacitance, 1e-6, (1.0, 150.0));
const FAN_AMPS: Question =
    number("fan_a", "Amps of the outdoor fan (FLA)", "1.2 A", Dimension::Current, 1.0, (0.05, 10.0));
const MINIMUM: Question =
    number("minimum_circuit_a", "Minimum circuit ampacity (MCA)", "22.1 A", Dimension::Current, 1.0, (1.0, 200.0));
const ELEMENT: Question = number("element_w", "Watts of an element", "4500 W", Dimension::Power, 1.0, (300.0, 9000.0));
const ELEMENT_OHM: Question = number(
    "element_ohm",
    "Ohms of an element, where printed or measured",
    "12.8 ohm",
    Dimension::Resistance,
    1.0,
    (2.0, 300.0),
);
const LITRES: Question = number("litres", "Water stored", "190 L", Dimension::Volume, 1e-3, (20.0, 1000.0));
const DEFROST: Question =
    number("defrost_w", "Watts of the defrost heater", "350 W", Dimension::Power, 1.0, (50.0, 1500.0));

/// What is asked of a kind: the nameplate first, then how it is built.
pub fn questions(kind: &Kind) -> Vec<Question> {
    let mut all = PLATE.to_vec();
    if kind.key == "mini-split" {
        // Nobody locks the rotor of an inverter's compressor on the mains.
        all.retain(|q| q.key != "locked_rotor_a");
        all.iter_mut().filter(|q| q.key == "rated_load_a").for_each(|q| *q = INVERTER_AMPS);
    }
    all.extend_from_slice(match kind.key {
        "water-heater" => &[COMPRESSOR_CAPACITOR, ELEMENT, ELEMENT_OHM, LITRES],
        "split" => &[COMPRESSOR_CAPACITOR, FAN_AMPS, MINIMUM],
        "refrigerator" => &[DEFROST],
        _ => &[],
    });
    all.extend(structure::choices(kind).map(|c| Question {
        key: c.key,
        ask: c.question,
        example: c.ways[0].0,
        dimension: None,
        unit: 1.0,
        range: (0.0, 0.0),
        ways: Some(c.ways),
    }));
    all
}
