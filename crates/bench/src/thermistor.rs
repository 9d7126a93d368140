//! Thermistors with a negative temperature coefficient: ohms to temperature and back.

use halfsplit_units::Dimension::{Resistance, Temperature, TemperatureDifference, Voltage};

use crate::known::Found;
use crate::refusal::{Refusal, contradiction, positive, within};
use crate::value::{Input, Output, Range, WorkingValue};

const ZERO_CELSIUS: f64 = 273.15;
/// 25 °C, the temperature at which the nominal resistance is stated, K.
pub const NOMINAL_TEMPERATURE: f64 = 298.15;
/// Temperatures accepted, K (−100 to 300 °C).
const TEMPERATURES: (f64, f64) = (173.15, 573.15);

fn temperature(kelvin: f64) -> Result<f64, Refusal> {
    within("temperature", kelvin - ZERO_CELSIUS, (TEMPERATURES.0 - ZERO_CELSIUS, TEMPERATURES.1 - ZERO_CELSIUS), "°C")?;
    Ok(kelvin)
}

/// A thermistor that follows the B law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beta {
    /// Resistance at 25 °C, Ω.
    pub r25: f64,
    /// B constant, K.
    pub b: f64,
}

impl Beta {
    /// From the resistance at 25 °C (Ω) and the B constant (K), both above zero.
    ///
    /// # Errors
    /// [`Refusal::NotPositive`].
    pub fn new(r25: f64, b: f64) -> Result<Self, Refusal> {
        Ok(Self { r25: positive("resistance at 25 °C", r25, "Ω")?, b: positive("B constant", b, "K")? })
    }

    /// Through two points: temperatures in K, resistances in Ω; the warmer point must have the lower resistance.
    ///
    /// # Errors
    /// Refuses resistances not above zero, equal temperatures, and a resistance that rises with temperature.
    pub fn through((t1, r1): (f64, f64), (t2, r2): (f64, f64)) -> Result<Self, Refusal> {
        positive("first resistance", r1, "Ω")?;
        positive("second resistance", r2, "Ω")?;
        let (t1, t2) = (temperature(t1)?, temperature(t2)?);
        if t1 == t2 {
            return Err(contradiction(
                "the two points have the same temperature; measure at two that differ by 20 K or more",
            ));
        }
        let b = libm::log(r1 / r2) / (1.0 / t1 - 1.0 / t2);
        if b <= 0.0 {
            return Err(contradiction(
                "the resistance rises with temperature: this is no NTC thermistor, or the two readings were exchanged",
            ));
        }
        Self::new(r1 * libm::exp(b * (1.0 / NOMINAL_TEMPERATURE - 1.0 / t1)), b)
    }

    /// Resistance at a temperature (K), Ω.
    ///
    /// # Errors
    /// Refuses temperatures outside −100 to 300 °C.
    pub fn resistance(self, kelvin: f64) -> Result<f64, Refusal> {
        let t = temperature(kelvin)?;
        Ok(self.r25 * libm::exp(self.b * (1.0 / t - 1.0 / NOMINAL_TEMPERATURE)))
    }

    /// Slope dR/dT at a temperature (K), Ω/K; negative.
    ///
    /// # Errors
    /// Refuses temperatures outside −100 to 300 °C.
    pub fn slope(self, kelvin: f64) -> Result<f64, Refusal> {
        Ok(-self.resistance(kelvin)? * self.b / (kelvin * kelvin))
    }

    /// Temperature at a resistance (Ω), K.
    ///
    /// # Errors
    /// Refuses resistances not above zero, and those that would mean a temperature outside −100 to 300 °C: an
    /// open or shorted sensor.
    pub fn temperature(self, resistance: f64) -> Result<f64, Refusal> {
        positive("resistance", resistance, "Ω")?;
        let inverse = 1.0 / NOMINAL_TEMPERATURE + libm::log(resistance / self.r25) / self.b;
        plausible(1.0 / inverse, resistance)
    }
}

/// Refuses a temperature that only a broken sensor could mean.
fn plausible(kelvin: f64, resistance: f64) -> Result<f64, Refusal> {
    if kelvin >= TEMPERATURES.0 && kelvin <= TEMPERATURES.1 {
        return Ok(kelvin);
    }
    let (end, cause) = if kelvin > TEMPERATURES.1 {
        ("above 300 °C", "a shorted sensor or lead")
    } else {
        ("below −100 °C", "an open sensor or plug")
    };
    Err(contradiction(format!(
        "{resistance} Ω would mean a temperature {end}; look for {cause}, or check the constants of the part"
    )))
}

/// A thermistor that follows the Steinhart–Hart equation, 1/T = A + B ln R + C (ln R)³.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteinhartHart {
    /// A, 1/K.
    pub a: f64,
    /// B, 1/K.
    pub b: f64,
    /// C, 1/K.
    pub c: f64,
}

impl SteinhartHart {
    /// Through three points (K, Ω), solved exactly.
    ///
    /// # Errors
    /// Refuses resistances not above zero and points that do not fix a falling curve.
    pub fn through(points: [(f64, f64); 3]) -> Result<Self, Refusal> {
        let mut y = [0.0; 3];
        let mut x = [0.0; 3];
        for (i, &(kelvin, ohm)) in points.iter().enumerate() {
            y[i] = 1.0 / temperature(kelvin)?;
            x[i] = libm::log(positive("resistance", ohm, "Ω")?);
        }
        if x[0] == x[1] || x[1] == x[2] || x[0] == x[2] {
            return Err(contradiction("two of the three points have the same resistance; take three that differ"));
        }
        // Divided differences; those of x³ follow from x³ = … so that no matrix has to be inverted.
        let slope12 = (y[1] - y[0]) / (x[1] - x[0]);
        let slope13 = (y[2] - y[0]) / (x[2] - x[0]);
        let c = (slope13 - slope12) / ((x[2] - x[1]) * (x[0] + x[1] + x[2]));
        let b = slope12 - c * (x[0] * x[0] + x[0] * x[1] + x[1] * x[1]);
        let a = y[0] - (b + c * x[0] * x[0]) * x[0];
        let law = Self { a, b, c };
        if !a.is_finite() || x.iter().any(|x| b + 3.0 * c * x * x <= 0.0) {
            return Err(contradiction("the three points do not lie on a falling curve; check them for a slip"));
        }
        Ok(law)
    }

    /// Temperature at a resistance (Ω), K.
    ///
    /// # Errors
    /// As [`Beta::temperature`].
    pub fn temperature(self, resistance: f64) -> Result<f64, Refusal> {
        let x = libm::log(positive("resistance", resistance, "Ω")?);
        plausible(1.0 / (self.a + (self.b + self.c * x * x) * x), resistance)
    }

    /// Resistance at a temperature (K), Ω: the one real root of the cubic, in closed form.
    ///
    /// # Errors
    /// Refuses temperatures outside −100 to 300 °C, and constants with B or C not above zero.
    pub fn resistance(self, kelvin: f64) -> Result<f64, Refusal> {
        let t = temperature(kelvin)?;
        positive("constant B", self.b, "1/K")?;
        positive("constant C", self.c, "1/K")?;
        let x = (self.a - 1.0 / t) / (2.0 * self.c);
        let third = self.b / (3.0 * self.c);
        let y = (third * third * third + x * x).sqrt();
        Ok(libm::exp(libm::cbrt(y - x) - libm::cbrt(y + x)))
    }
}

/// A thermistor known by a table of temperatures (K) and resistances (Ω).
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Rising temperatures with ln of falling resistances.
    points: Vec<(f64, f64)>,
}

impl Table {
    /// From at least two points, in any order.
    ///
    /// # Errors
    /// Refuses fewer than two points, resistances not above zero, equal temperatures, and a resistance
    /// that does not fall all the way.
    pub fn new(temperatures: &[f64], resistances: &[f64]) -> Result<Self, Refusal> {
        if temperatures.len() != resistances.len() || temperatures.len() < 2 {
            return Err(contradiction(format!(
                "the table has {} temperatures and {} resistances; give as many of one as of the other, at least two",
                temperatures.len(),
                resistances.len()
            )));
        }
        let mut points = Vec::with_capacity(temperatures.len());
        for (&kelvin, &ohm) in temperatures.iter().zip(resistances) {
            points.push((temperature(kelvin)?, libm::log(positive("resistance", ohm, "Ω")?)));
        }
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        for pair in points.windows(2) {
            if pair[0].0 == pair[1].0 || pair[0].1 <= pair[1].1 {
                return Err(contradiction(format!(
                    "in the table the resistance does not fall between {:.2} and {:.2} °C; check those two lines",
                    pair[0].0 - ZERO_CELSIUS,
                    pair[1].0 - ZERO_CELSIUS
                )));
            }
        }
        Ok(Self { points })
    }

    /// Resistance at a temperature (K), Ω: between points straight in ln R against 1/T, which is the B law of that pair.
    ///
    /// # Errors
    /// Refuses temperatures outside the table.
    pub fn resistance(&self, kelvin: f64) -> Result<f64, Refusal> {
        let (first, last) = (self.points[0], self.points[self.points.len() - 1]);
        within(
            "temperature",
            kelvin - ZERO_CELSIUS,
            (first.0 - ZERO_CELSIUS, last.0 - ZERO_CELSIUS),
            "°C (the table's ends)",
        )?;
        let (low, high) = self.around(|point| point.0 < kelvin);
        let share = (1.0 / kelvin - 1.0 / low.0) / (1.0 / high.0 - 1.0 / low.0);
        Ok(libm::exp(low.1 + share * (high.1 - low.1)))
    }

    /// Temperature at a resistance (Ω), K.
    ///
    /// # Errors
    /// Refuses resistances not above zero or outside the table.
    pub fn temperature(&self, resistance: f64) -> Result<f64, Refusal> {
        let log = libm::log(positive("resistance", resistance, "Ω")?);
        let (first, last) = (self.points[0], self.points[self.points.len() - 1]);
        // Compared as logarithms, so that a resistance typed straight from the table's end is inside.
        if log > first.1 || log < last.1 {
            return Err(Refusal::OutOfRange {
                what: "resistance",
                value: resistance,
                low: libm::exp(last.1),
                high: libm::exp(first.1),
                unit: "Ω (the table's ends)",
            });
        }
        let (low, high) = self.around(|point| point.1 > log);
        let share = (log - low.1) / (high.1 - low.1);
        Ok(1.0 / (1.0 / low.0 + share * (1.0 / high.0 - 1.0 / low.0)))
    }

    /// The two points on either side.
    fn around(&self, before: impl Fn(&(f64, f64)) -> bool) -> ((f64, f64), (f64, f64)) {
        let high = self.points.partition_point(before).clamp(1, self.points.len() - 1);
        (self.points[high - 1], self.points[high])
    }
}

/// Voltage at a board's input: sensor to ground, `pull_up` (Ω) to the `supply` (V).
///
/// # Errors
/// Refuses resistances and supplies not above zero.
pub fn divider_voltage(resistance: f64, pull_up: f64, supply: f64) -> Result<f64, Refusal> {
    positive("sensor resistance", resistance, "Ω")?;
    positive("pull-up resistance", pull_up, "Ω")?;
    positive("supply", supply, "V")?;
    Ok(supply * resistance / (resistance + pull_up))
}

/// Sensor resistance (Ω) that puts this `voltage` at the input.
///
/// # Errors
/// Refuses a voltage not between zero and the supply.
pub fn divider_resistance(voltage: f64, pull_up: f64, supply: f64) -> Result<f64, Refusal> {
    positive("pull-up resistance", pull_up, "Ω")?;
    positive("supply", supply, "V")?;
    if !(voltage > 0.0 && voltage < supply) {
        return Err(contradiction(format!(
            "{voltage} V at the input of a divider on {supply} V: at zero the sensor is shorted, at the supply it is open"
        )));
    }
    Ok(pull_up * voltage / (supply - voltage))
}

const R25: Input =
    Input::quantity("r25", "resistance at 25 °C, from the part's data", Resistance, "kΩ", Range::above_zero(10_000.0));
const B: Input =
    Input::quantity("beta", "B constant of the part", TemperatureDifference, "K", Range::from_to(1000.0, 10_000.0));
const AT: Input =
    Input::quantity("temperature", "temperature of the sensor", Temperature, "°C", Range::from_to(-100.0, 300.0));
const OHMS: Input =
    Input::quantity("resistance", "resistance measured, sensor unplugged", Resistance, "kΩ", Range::above_zero(1e6));
const A_CONSTANT: Input = Input::plain("a", "constant A", "1/K", Range::from_to(-1.0, 1.0));
const B_CONSTANT: Input = Input::plain("b", "constant B", "1/K", Range::from_to(-1.0, 1.0));
const C_CONSTANT: Input = Input::plain("c", "constant C", "1/K", Range::from_to(-1.0, 1.0));
const OUT_OHMS: Output = Output::quantity("resistance", "resistance of a sound part", Resistance, "kΩ");
const OUT_TEMPERATURE: Output = Output::quantity("temperature", "temperature of the sensor", Temperature, "°C");

const B_LAW: &str = "R = R25 · exp(B · (1/T − 1/298.15)), T in kelvin";
const B_SOURCE: &str = "definition of the B value, IEC 60539-1";
const B_VALID: &str = "exact by definition; a real part leaves the law by 1–2 K at −20 °C, because its B is stated between two temperatures (B25/50, B25/85)";
const SH_LAW: &str = "1/T = A + B·ln R + C·(ln R)³, T in kelvin, R in ohm";
const SH_SOURCE: &str = "Steinhart and Hart, Deep-Sea Research 15 (1968) 497";
const SH_VALID: &str = "within and near the three points the constants were fitted to";

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "thermistor.resistance",
        title: "Ohms of a thermistor at a temperature, by its B constant",
        inputs: &[R25, B, AT],
        outputs: &[OUT_OHMS, Output::plain("slope", "change of resistance per kelvin", "Ω/K")],
        formula: B_LAW,
        source: B_SOURCE,
        validity: B_VALID,
        example: &[("r25", "10 kΩ"), ("beta", "3950 K"), ("temperature", "50 °C")],
        compute: |k| {
            let law = Beta::new(k.number("r25")?, k.number("beta")?)?;
            let at = k.number("temperature")?;
            Ok(Found::number("resistance", law.resistance(at)?).and("slope", law.slope(at)?))
        },
    },
    WorkingValue {
        id: "thermistor.temperature",
        title: "Temperature of a thermistor from its ohms, by its B constant",
        inputs: &[R25, B, OHMS],
        outputs: &[OUT_TEMPERATURE],
        formula: "1/T = 1/298.15 + ln(R/R25)/B, T in kelvin",
        source: B_SOURCE,
        validity: B_VALID,
        example: &[("r25", "10 kΩ"), ("beta", "3950 K"), ("resistance", "5 kΩ ± 1 %")],
        compute: |k| {
            let law = Beta::new(k.number("r25")?, k.number("beta")?)?;
            Ok(Found::number("temperature", law.temperature(k.number("resistance")?)?))
        },
    },
    WorkingValue {
        id: "thermistor.b_constant",
        title: "B constant and 25 °C ohms of an unknown thermistor from two readings",
        inputs: &[
            Input::quantity("temperature_1", "first temperature", Temperature, "°C", Range::from_to(-100.0, 300.0)),
            Input::quantity("resistance_1", "ohms at the first", Resistance, "kΩ", Range::above_zero(1e6)),
            Input::quantity("temperature_2", "second temperature", Temperature, "°C", Range::from_to(-100.0, 300.0)),
            Input::quantity("resistance_2", "ohms at the second", Resistance, "kΩ", Range::above_zero(1e6)),
            Input::quantity(
                "at",
                "temperature at which to give ohms as well",
                Temperature,
                "°C",
                Range::from_to(-100.0, 300.0),
            )
            .optional(),
        ],
        outputs: &[
            Output::quantity("beta", "B constant", TemperatureDifference, "K"),
            Output::quantity("r25", "resistance at 25 °C", Resistance, "kΩ"),
            Output::quantity("resistance", "resistance at the temperature asked for", Resistance, "kΩ"),
            Output::plain("slope", "change of resistance per kelvin there", "Ω/K"),
        ],
        formula: "B = ln(R1/R2) / (1/T1 − 1/T2), T in kelvin",
        source: B_SOURCE,
        validity: "the further apart the two temperatures, the better; between them to about 1 K",
        example: &[
            ("temperature_1", "0 °C ± 0.2 K"),
            ("resistance_1", "32.7 kΩ ± 1 %"),
            ("temperature_2", "50 °C ± 0.5 K"),
            ("resistance_2", "3.6 kΩ ± 1 %"),
        ],
        compute: |k| {
            let law = Beta::through(
                (k.number("temperature_1")?, k.number("resistance_1")?),
                (k.number("temperature_2")?, k.number("resistance_2")?),
            )?;
            let mut found = Found::number("beta", law.b).and("r25", law.r25);
            if let Some(at) = k.maybe("at") {
                found = found.and("resistance", law.resistance(at)?).and("slope", law.slope(at)?);
            }
            Ok(found)
        },
    },
    WorkingValue {
        id: "thermistor.three_constants.temperature",
        title: "Temperature of a thermistor from its ohms, by the three-constant equation",
        inputs: &[A_CONSTANT, B_CONSTANT, C_CONSTANT, OHMS],
        outputs: &[OUT_TEMPERATURE],
        formula: SH_LAW,
        source: SH_SOURCE,
        validity: SH_VALID,
        example: &[("a", "0.001129148"), ("b", "0.000234125"), ("c", "8.76741e-8"), ("resistance", "10 kΩ")],
        compute: |k| Ok(Found::number("temperature", three(k)?.temperature(k.number("resistance")?)?)),
    },
    WorkingValue {
        id: "thermistor.three_constants.resistance",
        title: "Ohms of a thermistor at a temperature, by the three-constant equation",
        inputs: &[A_CONSTANT, B_CONSTANT, C_CONSTANT, AT],
        outputs: &[OUT_OHMS],
        formula: "x = (A − 1/T)/(2C), y = √((B/3C)³ + x²), R = exp(∛(y−x) − ∛(y+x))",
        source: SH_SOURCE,
        validity: SH_VALID,
        example: &[("a", "0.001129148"), ("b", "0.000234125"), ("c", "8.76741e-8"), ("temperature", "50 °C")],
        compute: |k| Ok(Found::number("resistance", three(k)?.resistance(k.number("temperature")?)?)),
    },
    WorkingValue {
        id: "thermistor.three_constants.fit",
        title: "The three constants through three lines of a part's table",
        inputs: &[
            Input::quantities("temperatures", "three temperatures", Temperature, "°C", Range::from_to(-100.0, 300.0)),
            Input::quantities(
                "resistances",
                "their resistances, in the same order",
                Resistance,
                "kΩ",
                Range::above_zero(1e6),
            ),
        ],
        outputs: &[
            Output::plain("a", "constant A", "1/K"),
            Output::plain("b", "constant B", "1/K"),
            Output::plain("c", "constant C", "1/K"),
        ],
        formula: SH_LAW,
        source: SH_SOURCE,
        validity: "exact at the three points; take them from the ends and the middle of the range you need",
        example: &[("temperatures", "0 °C, 25 °C, 50 °C"), ("resistances", "32.65 kΩ, 10 kΩ, 3.603 kΩ")],
        compute: |k| {
            let (&[t1, t2, t3], &[r1, r2, r3]) = (k.numbers("temperatures"), k.numbers("resistances")) else {
                return Err(contradiction("the fit needs exactly three temperatures and three resistances"));
            };
            let law = SteinhartHart::through([(t1, r1), (t2, r2), (t3, r3)])?;
            Ok(Found::number("a", law.a).and("b", law.b).and("c", law.c))
        },
    },
    WorkingValue {
        id: "thermistor.table",
        title: "A part's own table, read between its lines both ways",
        inputs: &[
            Input::quantities(
                "temperatures",
                "temperatures of the table",
                Temperature,
                "°C",
                Range::from_to(-100.0, 300.0),
            ),
            Input::quantities(
                "resistances",
                "their resistances, in the same order",
                Resistance,
                "kΩ",
                Range::above_zero(1e6),
            ),
            OHMS.optional(),
            AT.optional(),
        ],
        outputs: &[OUT_TEMPERATURE, OUT_OHMS],
        formula: "between two lines ln R runs straight against 1/T (the B law of that pair)",
        source: "interpolation by the B law of IEC 60539-1 between neighbours",
        validity: "inside the table only; with lines every 10 K the reading between them is good to about 0.02 K",
        example: &[
            ("temperatures", "0 °C, 10 °C, 20 °C, 30 °C"),
            ("resistances", "32.65 kΩ, 19.9 kΩ, 12.49 kΩ, 8.06 kΩ"),
            ("resistance", "15 kΩ"),
        ],
        compute: |k| {
            let table = Table::new(k.numbers("temperatures"), k.numbers("resistances"))?;
            let (ohms, at) = (k.maybe("resistance"), k.maybe("temperature"));
            if ohms.is_none() && at.is_none() {
                return Err(contradiction("give a resistance or a temperature to look up"));
            }
            Ok(Found::default()
                .and_maybe("temperature", ohms.map(|ohms| table.temperature(ohms)).transpose()?)
                .and_maybe("resistance", at.map(|at| table.resistance(at)).transpose()?))
        },
    },
    WorkingValue {
        id: "thermistor.input_voltage",
        title: "Volts at a board's sensor input, and the ohms behind a voltage measured there",
        inputs: &[
            Input::quantity(
                "pull_up",
                "resistor from the input to the supply",
                Resistance,
                "kΩ",
                Range::above_zero(10_000.0),
            ),
            Input::quantity("supply", "supply of the pull-up", Voltage, "V", Range::above_zero(24.0)).or(5.0),
            OHMS.optional(),
            Input::quantity("voltage", "voltage measured at the input", Voltage, "V", Range::from_to(0.0, 24.0))
                .optional(),
        ],
        outputs: &[
            Output::quantity("voltage", "voltage to expect at the input", Voltage, "V"),
            Output::quantity("resistance", "resistance behind the voltage measured", Resistance, "kΩ"),
        ],
        formula: "V = supply · R / (R + pull-up)",
        source: "Ohm's law",
        validity: "sensor from input to ground, pull-up to the supply; a board that has it the other way round shows supply − V",
        example: &[("pull_up", "10 kΩ"), ("supply", "5 V"), ("resistance", "10 kΩ")],
        compute: |k| {
            let (pull_up, supply) = (k.number("pull_up")?, k.number("supply")?);
            let (ohms, volts) = (k.maybe("resistance"), k.maybe("voltage"));
            if ohms.is_none() && volts.is_none() {
                return Err(contradiction("give the sensor's resistance or the voltage measured at the input"));
            }
            Ok(Found::default()
                .and_maybe("voltage", ohms.map(|r| divider_voltage(r, pull_up, supply)).transpose()?)
                .and_maybe("resistance", volts.map(|v| divider_resistance(v, pull_up, supply)).transpose()?))
        },
    },
    WorkingValue {
        id: "thermistor.shown",
        title: "What a display shows when the plug adds ohms or the part has the wrong constants",
        inputs: &[
            R25,
            B,
            AT,
            Input::quantity(
                "in_series",
                "ohms added by plug or splice",
                Resistance,
                "kΩ",
                Range::from_to(0.0, 10_000.0),
            )
            .or(0.0),
            Input::quantity(
                "board_r25",
                "25 °C resistance that the board expects (the part's own if left out)",
                Resistance,
                "kΩ",
                Range::above_zero(10_000.0),
            )
            .optional(),
            Input::quantity(
                "board_beta",
                "B constant that the board expects (the part's own if left out)",
                TemperatureDifference,
                "K",
                Range::from_to(1000.0, 10_000.0),
            )
            .optional(),
        ],
        outputs: &[
            Output::quantity("shown", "temperature on the display", Temperature, "°C"),
            Output::quantity("error", "shown less true", TemperatureDifference, "K"),
        ],
        formula: "shown = board's law at (R(true temperature) + ohms in series)",
        source: "the B law of IEC 60539-1 applied twice",
        validity: B_VALID,
        example: &[("r25", "10 kΩ"), ("beta", "3950 K"), ("temperature", "7 °C"), ("in_series", "5 kΩ")],
        compute: |k| {
            let part = Beta::new(k.number("r25")?, k.number("beta")?)?;
            let board = Beta::new(k.maybe("board_r25").unwrap_or(part.r25), k.maybe("board_beta").unwrap_or(part.b))?;
            let at = k.number("temperature")?;
            let shown = board.temperature(part.resistance(at)? + k.number("in_series")?)?;
            Ok(Found::number("shown", shown).and("error", shown - at))
        },
    },
];

fn three(k: &crate::known::Known) -> Result<SteinhartHart, Refusal> {
    Ok(SteinhartHart { a: k.number("a")?, b: k.number("b")?, c: k.number("c")? })
}
