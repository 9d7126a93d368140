//! Tightness: nitrogen under pressure, the vacuum afterwards, and the leak rate over a year.

use halfsplit_fluids::water::{vapour_pressure, vapour_temperature};
use halfsplit_units::Dimension::{
    Mass, PressureAbsolute, PressureDifference, PressureGauge, Ratio, Temperature, Time, Vacuum, Volume,
};

use crate::known::Found;
use crate::nitrogen::at_constant_volume;
use crate::refusal::{Refusal, contradiction, positive};
use crate::value::{Input, Output, Range, Spread, WorkingValue};

const DAY: f64 = 86_400.0;

/// Gauge pressure (Pa) that a closed volume of gas shows at `t2` after `first` (gauge, Pa) at `t1`; temperatures in K.
///
/// # Errors
/// Refuses temperatures and absolute pressures not above zero.
pub fn after_temperature_change(first: f64, t1: f64, t2: f64, atmosphere: f64) -> Result<f64, Refusal> {
    positive("atmosphere", atmosphere, "Pa")?;
    positive("first temperature", t1, "K")?;
    positive("second temperature", t2, "K")?;
    Ok(positive("absolute pressure at the start", first + atmosphere, "Pa")? * t2 / t1 - atmosphere)
}

/// Gas load (Pa m³/s) that raises the pressure in a volume (m³) by `rise` (Pa) in a time (s).
///
/// # Errors
/// Refuses a volume or time not above zero.
pub fn gas_load(volume: f64, rise: f64, time: f64) -> Result<f64, Refusal> {
    Ok(positive("volume", volume, "m³")? * rise / positive("time", time, "s")?)
}

/// Yearly leak rate as a share of full charge: `added` and `full` in kg, time since the last addition in s.
///
/// # Errors
/// Refuses zero days, zero charge and nothing added.
pub fn annual_rate(added: f64, full: f64, since: f64) -> Result<f64, Refusal> {
    positive("time since the last addition", since, "s")?;
    Ok(positive("refrigerant added", added, "kg")? / positive("full charge", full, "kg")? * 365.0
        / (since / DAY).min(365.0))
}

/// What a vacuum that was shut off from its pump tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rise {
    /// Flat, or levelled off low.
    TightAndDry,
    /// Levelled off between the limits or above: water boils off inside.
    Moisture,
    /// Keeps rising.
    Leak,
    /// Above the dry limit, and no reading between start and end to tell moisture from a leak.
    Undecided,
}

impl Rise {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::TightAndDry => "tight and dry",
            Self::Moisture => "moisture: levels off; break with nitrogen, warm it, pull again",
            Self::Leak => "leak: keeps rising; find it, under nitrogen",
            Self::Undecided => "not tight and dry; take a reading halfway to tell moisture from a leak",
        }
    }
}

/// Judges a rise test: levels (Pa) at the start, halfway (if read) and at the end; limits (Pa).
///
/// A curve that gains less in the second half than half of what it gained in the first is called levelling off.
///
/// # Errors
/// Refuses levels not above zero and limits in the wrong order.
pub fn judge_rise(start: f64, halfway: Option<f64>, end: f64, dry: f64, leak: f64) -> Result<Rise, Refusal> {
    positive("level at the start", start, "Pa")?;
    positive("level at the end", end, "Pa")?;
    if dry > leak {
        return Err(contradiction("the dry limit must not be above the leak limit"));
    }
    let levels_off = halfway.map(|halfway| end - halfway < 0.5 * (halfway - start));
    Ok(match levels_off {
        _ if end <= dry => Rise::TightAndDry,
        Some(true) => Rise::Moisture,
        Some(false) => Rise::Leak,
        None if end > leak => Rise::Leak,
        None => Rise::Undecided,
    })
}

/// Kinds of appliance with the leak rate that triggers repair.
const TRIGGERS: &[(&str, f64)] =
    &[("commercial_refrigeration", 0.20), ("industrial_process", 0.30), ("comfort_cooling", 0.10), ("other", 0.10)];
const CATEGORIES: &[&str] = &["commercial_refrigeration", "industrial_process", "comfort_cooling", "other"];

/// Yearly leak rate (share of full charge) above which a category of appliance must be repaired.
///
/// # Errors
/// Refuses categories that the rule does not have.
pub fn rate_trigger(category: &str) -> Result<f64, Refusal> {
    TRIGGERS
        .iter()
        .find(|row| row.0 == category)
        .map(|row| row.1)
        .ok_or_else(|| contradiction(format!("no category {category}; one of {}", CATEGORIES.join(", "))))
}

const LEVEL: Range = Range::above_zero(760_000.0);
const OUTDOORS: Range = Range::from_to(-30.0, 60.0);
const FULL: Input = Input::quantity("full_charge", "full charge of the appliance", Mass, "kg", Range::above_zero(1e5));
const WATER_SOURCE: &str = "liquid: IAPWS R7-97(2012); ice: IAPWS R14-08(2011)";
const RATE_SOURCE: &str = "40 CFR 82.152, from memory; triggers 40 CFR 82.157";

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "leak_test.nitrogen",
        title: "What the gauge of a standing nitrogen test should read after a change of temperature",
        inputs: &[
            Input::quantity("first", "gauge at the start", PressureGauge, "kPa(g)", Range::from_to(0.0, 6800.0)),
            Input::quantity("first_temperature", "temperature of the gas then", Temperature, "°C", OUTDOORS),
            Input::quantity("temperature", "temperature of the gas now", Temperature, "°C", OUTDOORS),
            Input::quantity("atmosphere", "air pressure", PressureAbsolute, "kPa(a)", Range::from_to(30.0, 110.0))
                .or(101.325),
            Input::quantity(
                "second",
                "gauge now, for a verdict",
                PressureGauge,
                "kPa(g)",
                Range::from_to(-101.325, 6800.0),
            )
            .optional(),
            Input::quantity("band", "departure to allow", PressureDifference, "kPa", Range::from_to(0.0, 200.0))
                .or(14.0),
        ],
        outputs: &[
            Output::quantity("expected", "gauge to expect with no leak", PressureGauge, "kPa(g)").spread(
                Spread::Relative(0.0035, "nitrogen is not quite ideal: up to 1.8 psi off at 550 psig over 11 K"),
            ),
            Output::quantity(
                "expected_real",
                "the same, with nitrogen as the real gas it is; the verdict goes by this",
                PressureGauge,
                "kPa(g)",
            )
            .spread(Spread::Absolute(0.5, "virial equation, within 0.5 kPa of CoolProp up to 4.2 MPa and 15 K")),
            Output::quantity("departure", "gauge now less expected of the real gas", PressureDifference, "kPa"),
            Output::word("verdict", "on the second reading"),
        ],
        formula: "p2 = (p1 + atmosphere) · T2/T1 − atmosphere",
        source: "gas law at constant volume; real gas by the virial coefficients of Tsonopoulos (1974) and Orbey and Vera (1983), from memory, checked against CoolProp 8.0.0; the band is judgement, to be set",
        validity: "dry nitrogen, whole circuit at one temperature: wait until sun and brazing heat are out. Never oxygen or air, never above the low-side design pressure",
        example: &[
            ("first", "300 psig"),
            ("first_temperature", "80 °F ± 1 °F"),
            ("temperature", "60 °F ± 1 °F"),
            ("second", "287.5 psig ± 0.5 psig"),
        ],
        compute: |k| {
            let (first, atmosphere) = (k.number("first")?, k.number("atmosphere")?);
            let (t1, t2) = (k.number("first_temperature")?, k.number("temperature")?);
            let expected = after_temperature_change(first, t1, t2, atmosphere)?;
            let real = at_constant_volume(first + atmosphere, t1, t2)? - atmosphere;
            let found = Found::number("expected", expected).and("expected_real", real);
            let Some(second) = k.maybe("second") else {
                return Ok(found);
            };
            let departure = second - real;
            let verdict = if departure.abs() <= k.number("band")? {
                "holds"
            } else if departure < 0.0 {
                "lost gas: leak"
            } else {
                "gained: the temperatures are not those of the gas, or a valve lets nitrogen in"
            };
            Ok(found.and("departure", departure).and_word("verdict", verdict))
        },
    },
    WorkingValue {
        id: "leak_test.water_boils_at",
        title: "Temperature at which water boils or ice vanishes in a vacuum",
        inputs: &[Input::quantity("level", "vacuum", Vacuum, "micron", Range::above_zero(760_000.0))],
        outputs: &[
            Output::quantity("temperature", "water colder than this stays in the circuit", Temperature, "°C"),
            Output::word("form", "what it stays as"),
        ],
        formula: "saturation curve of water and ice",
        source: WATER_SOURCE,
        validity: "0.01 micron to one atmosphere; below 4588 micron what is left is ice",
        example: &[("level", "500 micron")],
        compute: |k| {
            let temperature = vapour_temperature(k.number("level")?)?;
            Ok(Found::number("temperature", temperature)
                .and_word("form", if temperature < 273.16 { "ice" } else { "liquid" }))
        },
    },
    WorkingValue {
        id: "leak_test.water_holds",
        title: "Vacuum at which water of a temperature holds the gauge",
        inputs: &[Input::quantity(
            "temperature",
            "coldest place in the circuit",
            Temperature,
            "°C",
            Range::from_to(-100.0, 100.0),
        )],
        outputs: &[Output::quantity("level", "vapour pressure", Vacuum, "micron")],
        formula: "saturation curve of water and ice",
        source: WATER_SOURCE,
        validity: "while water is left there, no pump gets lower",
        example: &[("temperature", "20 °C")],
        compute: |k| Ok(Found::number("level", vapour_pressure(k.number("temperature")?)?)),
    },
    WorkingValue {
        id: "leak_test.rise",
        title: "Verdict on a vacuum rise test",
        inputs: &[
            Input::quantity("start", "level when the pump was shut off", Vacuum, "micron", LEVEL),
            Input::quantity("end", "level at the end", Vacuum, "micron", LEVEL),
            Input::quantity("time", "time between them", Time, "min", Range::above_zero(10_000.0)),
            Input::quantity("halfway", "level halfway", Vacuum, "micron", LEVEL).optional(),
            Input::quantity("volume", "internal volume, for the gas load", Volume, "L", Range::above_zero(10_000.0))
                .optional(),
            Input::quantity("dry_limit", "tight and dry up to", Vacuum, "micron", LEVEL).or(1000.0),
            Input::quantity("leak_limit", "leak for certain from", Vacuum, "micron", LEVEL).or(2000.0),
        ],
        outputs: &[
            Output::word("verdict", "what it points to"),
            Output::quantity("rise", "rise", Vacuum, "micron"),
            Output::plain("gas_load", "gas coming in", "Pa·m³/s"),
        ],
        formula: "levels against the limits; levelling off if the second half gains less than half of the first; gas load = V Δp/t",
        source: "common practice, no source: start at or below 500 micron, 10 minutes or more, limits 1000 and 2000 micron",
        validity: "gauge far from the pump, cores out, pump valved off; the gauge's own hoses leak too",
        example: &[
            ("start", "400 micron"),
            ("halfway", "650 micron"),
            ("end", "700 micron"),
            ("time", "10 min"),
            ("volume", "5 L"),
        ],
        compute: |k| {
            let (start, end, time) = (k.number("start")?, k.number("end")?, k.number("time")?);
            let verdict = judge_rise(start, k.maybe("halfway"), end, k.number("dry_limit")?, k.number("leak_limit")?)?;
            let load = k.maybe("volume").map(|volume| gas_load(volume, end - start, time)).transpose()?;
            let mut found =
                Found::number("rise", end - start).and_maybe("gas_load", load).and_word("verdict", verdict.words());
            if time < 600.0 {
                found = found.remark("shorter than the usual 10 minutes: watch on");
            }
            if start > 67.0 {
                found = found.remark("started above 500 micron: pull lower first, the verdict is weak");
            }
            Ok(found)
        },
    },
    WorkingValue {
        id: "leak_rate.yearly",
        title: "Leak rate from one addition, taken over a year",
        inputs: &[
            Input::quantity("added", "refrigerant added", Mass, "kg", Range::above_zero(1e5)),
            FULL,
            Input::quantity("since", "time since refrigerant was last added", Time, "d", Range::above_zero(100_000.0)),
            Input::word("category", "kind of appliance, to compare with the trigger", CATEGORIES).or_word("other"),
        ],
        outputs: &[
            Output::quantity("rate", "share of full charge per year", Ratio, "%"),
            Output::word("verdict", "against the trigger"),
        ],
        formula: "rate = added/full · 365/min(days, 365)",
        source: RATE_SOURCE,
        validity: "rule of the United States for appliances of 50 lb or more with ozone-depleting refrigerant; elsewhere a yardstick. Follow the local law",
        example: &[
            ("added", "10 lb"),
            ("full_charge", "100 lb"),
            ("since", "180 days"),
            ("category", "comfort_cooling"),
        ],
        compute: |k| {
            let rate = annual_rate(k.number("added")?, k.number("full_charge")?, k.number("since")?)?;
            let verdict = against_trigger(rate, rate_trigger(k.word("category"))?);
            Ok(Found::number("rate", rate).and_word("verdict", verdict))
        },
    },
    WorkingValue {
        id: "leak_rate.rolling",
        title: "Leak rate from all additions of the last 365 days",
        inputs: &[
            Input::quantities(
                "added",
                "each addition in the last 365 days, or since the last successful repair",
                Mass,
                "kg",
                Range::above_zero(1e5),
            ),
            FULL,
            Input::word("category", "kind of appliance, to compare with the trigger", CATEGORIES).or_word("other"),
        ],
        outputs: &[
            Output::quantity("rate", "share of full charge per year", Ratio, "%"),
            Output::word("verdict", "against the trigger"),
        ],
        formula: "rate = sum of additions / full charge",
        source: RATE_SOURCE,
        validity: "as leak_rate.yearly; keep to one of the two methods",
        example: &[("added", "10 lb, 8 lb, 4 lb"), ("full_charge", "100 lb")],
        compute: |k| {
            let added: f64 = k.numbers("added").iter().sum();
            let rate =
                positive("refrigerant added", added, "kg")? / positive("full charge", k.number("full_charge")?, "kg")?;
            let verdict = against_trigger(rate, rate_trigger(k.word("category"))?);
            Ok(Found::number("rate", rate).and_word("verdict", verdict))
        },
    },
    WorkingValue {
        id: "leak_rate.trigger",
        title: "Leak rate above which an appliance must be repaired",
        inputs: &[Input::word("category", "kind of appliance", CATEGORIES)],
        outputs: &[Output::quantity("rate", "share of full charge per year", Ratio, "%")],
        formula: "table",
        source: "40 CFR 82.157",
        validity: "United States, full charge of 50 lb or more; since 10 April 2020 ozone-depleting refrigerants only (other rules cover the rest)",
        example: &[("category", "comfort_cooling")],
        compute: |k| Ok(Found::number("rate", rate_trigger(k.word("category"))?)),
    },
];

fn against_trigger(rate: f64, trigger: f64) -> &'static str {
    if rate > trigger { "above the trigger: repair is due" } else { "below the trigger; repair the leak all the same" }
}
