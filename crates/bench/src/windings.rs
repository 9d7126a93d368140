//! Motor windings by the ohmmeter and the insulation tester.

use halfsplit_units::Dimension::{Ratio, Resistance, Temperature, Voltage};

use crate::known::Found;
use crate::refusal::{Refusal, contradiction, positive, within};
use crate::value::{Input, Output, Range, Spread, WorkingValue};

const ZERO_CELSIUS: f64 = 273.15;

/// Temperature at which copper's resistance would reach zero if it went on straight, negated, °C, as IEEE and UL use it.
pub const COPPER: f64 = 234.5;

/// Resistance (Ω) at `t2` of a winding that has `r1` (Ω) at `t1`; temperatures in K, `k` in °C ([`COPPER`] or 235; aluminium 225).
///
/// # Errors
/// Refuses a resistance not above zero and temperatures outside −60 to 300 °C.
pub fn at_temperature(r1: f64, t1: f64, t2: f64, k: f64) -> Result<f64, Refusal> {
    positive("resistance", r1, "Ω")?;
    let (t1, t2) = (winding_celsius(t1)?, winding_celsius(t2)?);
    Ok(r1 * (k + t2) / (k + t1))
}

/// Temperature (K) of a winding that has `r2` (Ω) now and had `r1` (Ω) at `t1` (K).
///
/// # Errors
/// Refuses resistances not above zero and a temperature outside −60 to 300 °C, given or found.
pub fn temperature(r1: f64, t1: f64, r2: f64, k: f64) -> Result<f64, Refusal> {
    positive("first resistance", r1, "Ω")?;
    positive("second resistance", r2, "Ω")?;
    let t2 = r2 / r1 * (k + winding_celsius(t1)?) - k;
    if !(-60.0..=300.0).contains(&t2) {
        return Err(contradiction(format!(
            "{r2} Ω against {r1} Ω would mean a winding at {t2:.0} °C; check both readings, the lead resistance, and that they are of the same pair"
        )));
    }
    Ok(t2 + ZERO_CELSIUS)
}

fn winding_celsius(kelvin: f64) -> Result<f64, Refusal> {
    within("winding temperature", kelvin - ZERO_CELSIUS, (-60.0, 300.0), "°C")
}

/// The three pair readings of a single-phase compressor sorted out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pairs {
    /// Common to run, Ω: the smallest.
    pub common_run: f64,
    /// Common to start, Ω: the middle one.
    pub common_start: f64,
    /// Run to start, Ω: the largest.
    pub run_start: f64,
    /// Largest reading less the sum of the other two, as a share of that sum.
    pub disagreement: f64,
}

/// Sorts three pair readings (Ω): the largest is run to start and should be the sum of the other two.
///
/// # Errors
/// Refuses readings not above zero.
pub fn pairs(readings: [f64; 3]) -> Result<Pairs, Refusal> {
    let mut sorted = readings;
    for reading in sorted {
        positive("winding resistance", reading, "Ω")?;
    }
    sorted.sort_by(f64::total_cmp);
    let [common_run, common_start, run_start] = sorted;
    let sum = common_run + common_start;
    Ok(Pairs { common_run, common_start, run_start, disagreement: (run_start - sum) / sum })
}

/// Unbalance of three readings (any unit, above zero): the largest departure from the mean as a share of the mean.
///
/// # Errors
/// Refuses readings not above zero.
pub fn unbalance(readings: [f64; 3]) -> Result<f64, Refusal> {
    for reading in readings {
        positive("reading", reading, "")?;
    }
    let mean = (readings[0] + readings[1] + readings[2]) / 3.0;
    let worst = readings.iter().fold(0.0_f64, |worst, reading| worst.max((reading - mean).abs()));
    Ok(worst / mean)
}

/// Insulation resistance (Ω) corrected to 40 °C by the halving rule; `temperature` of the winding in K.
///
/// # Errors
/// Refuses a resistance not above zero and temperatures outside −60 to 300 °C.
pub fn insulation_at_40(resistance: f64, temperature: f64) -> Result<f64, Refusal> {
    let celsius = winding_celsius(temperature)?;
    Ok(positive("insulation resistance", resistance, "Ω")? * libm::exp2((celsius - 40.0) / 10.0))
}

/// What the insulation minimum depends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Winding {
    /// Random-wound, or rated below 1 kV.
    Random,
    /// Form-wound, from about 1970 on.
    Form,
    /// Made before about 1970.
    Old,
}

/// Least insulation resistance at 40 °C after one minute, Ω; `rated` in V.
///
/// # Errors
/// Refuses a rating not above zero.
pub fn insulation_minimum(winding: Winding, rated: f64) -> Result<f64, Refusal> {
    positive("rated voltage", rated, "V")?;
    Ok(match winding {
        Winding::Random => 5e6,
        Winding::Form => 100e6,
        Winding::Old => (rated / 1000.0 + 1.0) * 1e6,
    })
}

const OHMS: Range = Range::above_zero(100_000.0);
const WINDING_TEMPERATURES: Range = Range::from_to(-60.0, 300.0);
const K: Input = Input::plain(
    "k",
    "constant of the conductor: 234.5 copper (IEEE, UL), 235 copper (IEC), 225 aluminium",
    "°C",
    Range::from_to(200.0, 260.0),
)
.or(COPPER);
const R1: Input =
    Input::quantity("first_resistance", "resistance when the temperature was known", Resistance, "Ω", OHMS);
const T1: Input = Input::quantity("first_temperature", "temperature then", Temperature, "°C", WINDING_TEMPERATURES);
const COPPER_SOURCE: &str =
    "resistance method of winding temperature; 234.5 in IEEE and UL tests, 235 in IEC 60034-1 (from memory)";

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "windings.pairs",
        title: "Which pin is which, and whether the three readings agree",
        inputs: &[
            Input::quantity("first", "one pair of pins", Resistance, "Ω", OHMS),
            Input::quantity("second", "another pair", Resistance, "Ω", OHMS),
            Input::quantity("third", "the third pair", Resistance, "Ω", OHMS),
        ],
        outputs: &[
            Output::quantity("common_run", "common to run, the smallest", Resistance, "Ω"),
            Output::quantity("common_start", "common to start, the middle one", Resistance, "Ω"),
            Output::quantity("run_start", "run to start, the largest", Resistance, "Ω"),
            Output::quantity("disagreement", "largest reading against the sum of the other two", Ratio, "%"),
            Output::word("verdict", "whether they fit a single-phase motor"),
        ],
        formula: "R(run–start) = R(common–run) + R(common–start); common is the pin left out of the largest reading",
        source: "series circuit; the 5 % limit is common practice, no source",
        validity: "single-phase motors only, power off and disconnected, lead resistance taken off; an open overload in the common shows as two open pairs",
        example: &[("first", "8.6 Ω"), ("second", "11.9 Ω"), ("third", "20.5 Ω")],
        compute: |k| {
            let pairs = pairs([k.number("first")?, k.number("second")?, k.number("third")?])?;
            let verdict = if pairs.disagreement.abs() <= 0.05 {
                "agree: a sound single-phase motor, as far as ohms tell"
            } else {
                "do not agree: measure again with the leads off; then suspect shorted turns, or a motor that is not single-phase"
            };
            Ok(Found::number("common_run", pairs.common_run)
                .and("common_start", pairs.common_start)
                .and("run_start", pairs.run_start)
                .and("disagreement", pairs.disagreement)
                .and_word("verdict", verdict))
        },
    },
    WorkingValue {
        id: "windings.at_temperature",
        title: "Ohms of a winding at another temperature",
        inputs: &[
            R1,
            T1,
            Input::quantity("temperature", "temperature asked for", Temperature, "°C", WINDING_TEMPERATURES),
            K,
        ],
        outputs: &[
            Output::quantity("resistance", "resistance then", Resistance, "Ω"),
            Output::plain("factor", "resistance then against now", "1"),
        ],
        formula: "R2 = R1 · (k + t2)/(k + t1), t in °C",
        source: COPPER_SOURCE,
        validity: "copper between −50 and 200 °C; not for PTC parts or rotors",
        example: &[("first_resistance", "2.5 Ω"), ("first_temperature", "25 °C"), ("temperature", "95 °C")],
        compute: |k| {
            let r1 = k.number("first_resistance")?;
            let r2 = at_temperature(r1, k.number("first_temperature")?, k.number("temperature")?, k.number("k")?)?;
            Ok(Found::number("resistance", r2).and("factor", r2 / r1))
        },
    },
    WorkingValue {
        id: "windings.temperature",
        title: "Temperature of a winding from its ohms",
        inputs: &[R1, T1, Input::quantity("resistance", "resistance now", Resistance, "Ω", OHMS), K],
        outputs: &[Output::quantity("temperature", "winding temperature, averaged along the wire", Temperature, "°C")],
        formula: "t2 = (R2/R1)·(k + t1) − k, t in °C",
        source: COPPER_SOURCE,
        validity: "same pair of pins, same leads; the winding cools within a minute of stopping",
        example: &[
            ("first_resistance", "1.00 Ω ± 0.5 %"),
            ("first_temperature", "25 °C ± 1 K"),
            ("resistance", "1.25 Ω ± 0.5 %"),
        ],
        compute: |k| {
            Ok(Found::number(
                "temperature",
                temperature(
                    k.number("first_resistance")?,
                    k.number("first_temperature")?,
                    k.number("resistance")?,
                    k.number("k")?,
                )?,
            ))
        },
    },
    WorkingValue {
        id: "windings.balance",
        title: "Balance of a three-phase winding",
        inputs: &[
            Input::quantity("u_v", "U to V", Resistance, "Ω", OHMS),
            Input::quantity("v_w", "V to W", Resistance, "Ω", OHMS),
            Input::quantity("w_u", "W to U", Resistance, "Ω", OHMS),
            Input::quantity("limit", "unbalance to allow", Ratio, "%", Range::from_to(0.1, 50.0)).or(5.0),
        ],
        outputs: &[
            Output::quantity("unbalance", "largest departure from the mean", Ratio, "%"),
            Output::word("verdict", "against the limit"),
        ],
        formula: "unbalance = max|R − mean| / mean",
        source: "same form as the voltage rule of NEMA MG 1; a limit of 3–5 % is common practice, no source",
        validity: "power off, bus proved dead, plug off; below 1 Ω use a four-wire meter or take off the leads",
        example: &[("u_v", "0.84 Ω"), ("v_w", "0.85 Ω"), ("w_u", "0.86 Ω")],
        compute: |k| {
            let share = unbalance([k.number("u_v")?, k.number("v_w")?, k.number("w_u")?])?;
            let verdict =
                if share <= k.number("limit")? { "balanced" } else { "unbalanced: shorted turns or a bad joint" };
            Ok(Found::number("unbalance", share).and_word("verdict", verdict))
        },
    },
    WorkingValue {
        id: "windings.pair_of_three",
        title: "What a terminal pair of a three-phase winding reads",
        inputs: &[
            Input::quantity("leg", "resistance of one leg", Resistance, "Ω", OHMS),
            Input::word("connection", "how the legs are joined", &["wye", "delta"]),
        ],
        outputs: &[Output::quantity("pair", "reading between two terminals", Resistance, "Ω")],
        formula: "wye: 2 R; delta: 2 R / 3",
        source: "series and parallel circuit",
        validity: "equal legs",
        example: &[("leg", "1.5 Ω"), ("connection", "wye")],
        compute: |k| {
            let leg = positive("leg resistance", k.number("leg")?, "Ω")?;
            Ok(Found::number("pair", if k.word("connection") == "wye" { 2.0 * leg } else { 2.0 * leg / 3.0 }))
        },
    },
    WorkingValue {
        id: "windings.stepper",
        title: "What the coils of a valve stepper read",
        inputs: &[Input::quantity("common_to_end", "common to one end", Resistance, "Ω", OHMS)],
        outputs: &[Output::quantity("end_to_end", "end to end of one pair", Resistance, "Ω")],
        formula: "end to end = 2 × common to end",
        source: "series circuit with a centre tap",
        validity: "five- and six-wire (unipolar) coils; a four-wire coil is two separate equal coils, open between them",
        example: &[("common_to_end", "46 Ω")],
        compute: |k| {
            Ok(Found::number("end_to_end", 2.0 * positive("coil resistance", k.number("common_to_end")?, "Ω")?))
        },
    },
    WorkingValue {
        id: "windings.insulation",
        title: "Insulation resistance, corrected to 40 °C and against the least allowed",
        inputs: &[
            Input::quantity("resistance", "reading after one minute", Resistance, "MΩ", Range::above_zero(1e7)),
            Input::quantity("temperature", "winding temperature", Temperature, "°C", WINDING_TEMPERATURES).or(40.0),
            Input::quantity("rated", "rated voltage", Voltage, "V", Range::above_zero(20_000.0)),
            Input::word("winding", "kind of winding", &["random", "form", "old"]).or_word("random"),
        ],
        outputs: &[
            Output::quantity("at_40", "corrected to 40 °C", Resistance, "MΩ").spread(Spread::Relative(
                0.3,
                "the halving rule is a rule of thumb; how far windings differ is judgement",
            )),
            Output::quantity("minimum", "least allowed at 40 °C", Resistance, "MΩ"),
            Output::word("verdict", "against that"),
        ],
        formula: "R40 = R · 0.5^((40 − t)/10); minimum 5 MΩ random-wound or below 1 kV, 100 MΩ form-wound, (kV + 1) MΩ before about 1970",
        source: "IEEE 43-2013, from memory",
        validity: "IEEE 43 begins at about 750 W, so hermetic compressors lie at its edge, and refrigerant and oil in the shell lower the reading: a cold flooded shell may show 2–20 MΩ and recover when warm (common practice, no source). Never under vacuum, never through electronics",
        example: &[("resistance", "50 MΩ"), ("temperature", "50 °C"), ("rated", "230 V")],
        compute: |k| {
            let winding = match k.word("winding") {
                "form" => Winding::Form,
                "old" => Winding::Old,
                _ => Winding::Random,
            };
            let at_40 = insulation_at_40(k.number("resistance")?, k.number("temperature")?)?;
            let minimum = insulation_minimum(winding, k.number("rated")?)?;
            let verdict = if at_40 >= minimum {
                "good enough"
            } else {
                "too low: warm the shell, dry it out, measure again before condemning it"
            };
            Ok(Found::number("at_40", at_40).and("minimum", minimum).and_word("verdict", verdict))
        },
    },
    WorkingValue {
        id: "windings.polarisation",
        title: "Polarisation index: ten-minute against one-minute insulation reading",
        inputs: &[
            Input::quantity("after_1_min", "reading after one minute", Resistance, "MΩ", Range::above_zero(1e7)),
            Input::quantity("after_10_min", "reading after ten minutes", Resistance, "MΩ", Range::above_zero(1e7)),
        ],
        outputs: &[
            Output::plain("index", "ten-minute over one-minute reading", "1"),
            Output::word("verdict", "for insulation class 130 and up"),
        ],
        formula: "PI = R(10 min) / R(1 min); at least 2.0 (1.5 for class 105)",
        source: "IEEE 43-2013, from memory",
        validity: "not meaningful above 5000 MΩ, nor on small random-wound motors, where the absorption current is gone within seconds",
        example: &[("after_1_min", "150 MΩ"), ("after_10_min", "420 MΩ")],
        compute: |k| {
            let first = positive("one-minute reading", k.number("after_1_min")?, "Ω")?;
            let index = positive("ten-minute reading", k.number("after_10_min")?, "Ω")? / first;
            let found = Found::number("index", index)
                .and_word("verdict", if index >= 2.0 { "good" } else { "low: damp or dirty" });
            Ok(if first > 5e9 { found.remark("above 5000 MΩ the index says nothing") } else { found })
        },
    },
];
