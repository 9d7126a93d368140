//! Refrigerants at the gauges: saturation, superheat, subcooling, compression ratio, the cycle from five readings.

use halfsplit_fluids::refrigerant::{Phase, Refrigerant, Saturation, absolute_from_gauge};
use halfsplit_units::Dimension::{
    MassFlow, Power, PressureAbsolute, PressureGauge, Ratio, Temperature, TemperatureDifference,
};

use crate::air::{ALTITUDE, PRESSURE, local_pressure};
use crate::known::{Found, Known};
use crate::refusal::{Refusal, contradiction, positive, within};
use crate::value::{Input, Output, Range, WorkingValue};

/// The refrigerant that a nameplate names: `R-410A`, `r410a` and `410A` are the same.
///
/// # Errors
/// Refuses a name that is not served, with those that are.
pub fn named(designation: &str) -> Result<Refrigerant, Refusal> {
    Refrigerant::from_designation(designation).ok_or_else(|| {
        let served: Vec<&str> = Refrigerant::ALL.iter().map(|refrigerant| refrigerant.name()).collect();
        contradiction(format!("\"{designation}\" is not among the refrigerants known here: {}", served.join(", ")))
    })
}

/// How far beside the dome a state is taken that is meant to lie on it, K: less than any thermometer shows.
const EDGE: f64 = 1e-6;

/// Discharge over suction pressure, both absolute (Pa).
///
/// # Errors
/// Refuses pressures not above zero.
pub fn compression_ratio(suction: f64, discharge: f64) -> Result<f64, Refusal> {
    Ok(positive("absolute discharge pressure", discharge, "Pa")?
        / positive("absolute suction pressure", suction, "Pa")?)
}

/// A refrigerant circuit from pressures (Pa absolute) and temperatures (K) at five places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Readings {
    /// At the compressor's suction.
    pub suction: (f64, f64),
    /// At its discharge.
    pub discharge: (f64, f64),
    /// In the liquid line before the metering device.
    pub liquid: (f64, f64),
}

/// What the readings of a circuit come to, per kilogram of refrigerant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cycle {
    /// Heat taken up between metering device and suction, J/kg.
    pub effect: f64,
    /// Enthalpy gained in the compressor, J/kg.
    pub work: f64,
    /// Heat given off between discharge and liquid line, J/kg.
    pub rejected: f64,
    /// Enthalpy gain of a loss-free compressor over the one measured.
    pub isentropic_efficiency: f64,
    /// Vapour's share after the metering device, where the liquid has begun to boil.
    pub quality: Option<f64>,
}

impl Cycle {
    /// From the readings.
    ///
    /// # Errors
    /// Refuses readings outside the refrigerant's range, a suction that is not vapour, and a discharge
    /// that holds no more enthalpy than the suction.
    pub fn new(refrigerant: Refrigerant, at: Readings) -> Result<Self, Refusal> {
        let suction = refrigerant.state_pt(at.suction.0, at.suction.1)?;
        let discharge = refrigerant.state_pt(at.discharge.0, at.discharge.1)?;
        let liquid = refrigerant.state_pt(at.liquid.0, at.liquid.1)?;
        if !matches!(suction.phase, Phase::Vapour) {
            return Err(contradiction(
                "at these suction readings the refrigerant is not vapour: no superheat, or a reading is off; without the share of liquid the cycle cannot be worked out",
            ));
        }
        let work = positive("enthalpy gained in the compressor", discharge.h - suction.h, "J/kg")?;
        let ideal = refrigerant.state_ps(at.discharge.0, suction.s)?.h - suction.h;
        let quality = refrigerant.quality(at.suction.0, liquid.h).ok().filter(|quality| (0.0..=1.0).contains(quality));
        Ok(Self {
            effect: positive("heat taken up by the evaporator", suction.h - liquid.h, "J/kg")?,
            work,
            rejected: discharge.h - liquid.h,
            isentropic_efficiency: ideal / work,
            quality,
        })
    }
}

/// The design of a cycle without pressure drops.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    /// Suction pressure, Pa absolute.
    pub suction_pressure: f64,
    /// Discharge pressure, Pa absolute.
    pub discharge_pressure: f64,
    /// Superheat at the compressor, K.
    pub superheat: f64,
    /// Subcooling before the metering device, K.
    pub subcooling: f64,
    /// Loss-free over real enthalpy gain of the compressor, above 0 up to 1.
    pub efficiency: f64,
}

impl Design {
    /// What the readings of such a cycle would be.
    ///
    /// # Errors
    /// Refuses pressures outside the saturation table, superheat or subcooling below zero, and an efficiency outside 0 to 1.
    pub fn readings(self, refrigerant: Refrigerant) -> Result<Readings, Refusal> {
        within("superheat", self.superheat, (0.0, 100.0), "K")?;
        within("subcooling", self.subcooling, (0.0, 100.0), "K")?;
        positive("efficiency", self.efficiency, "")?;
        within("efficiency", self.efficiency, (0.0, 1.0), "(as a fraction)")?;
        let low = refrigerant.saturation(self.suction_pressure)?;
        let high = refrigerant.saturation(self.discharge_pressure)?;
        // On the dome itself temperature and pressure do not fix the state, so a hair to the side of it.
        let suction = (self.suction_pressure, low.dew.t + self.superheat.max(EDGE));
        let liquid = (self.discharge_pressure, high.bubble.t - self.subcooling.max(EDGE));
        let start = refrigerant.state_pt(suction.0, suction.1)?;
        let ideal = refrigerant.state_ps(self.discharge_pressure, start.s)?;
        let h = start.h + (ideal.h - start.h) / self.efficiency;
        let discharge = (self.discharge_pressure, refrigerant.state_ph(self.discharge_pressure, h)?.t);
        Ok(Readings { suction, discharge, liquid })
    }
}

/// An absolute pressure from the input `gauge` with the local atmosphere, or from the input `absolute`.
fn absolute(k: &Known, gauge: &'static str, absolute: &'static str) -> Result<Option<f64>, Refusal> {
    match (k.maybe(gauge), k.maybe(absolute)) {
        (Some(gauge), None) => Ok(Some(absolute_from_gauge(gauge, local_pressure(k)?))),
        (None, given) => Ok(given),
        (Some(_), Some(_)) => Err(contradiction(format!("give {gauge} or {absolute}, not both"))),
    }
}

fn needed(pressure: Option<f64>, gauge: &str, absolute: &str) -> Result<f64, Refusal> {
    pressure.ok_or_else(|| contradiction(format!("give {gauge} (the gauge reading) or {absolute}")))
}

/// Says how far a refrigerant's figures can be trusted, where that is worth saying.
fn with_caution(found: Found, refrigerant: Refrigerant) -> Found {
    match refrigerant {
        Refrigerant::R454B | Refrigerant::R513A => found.remark(format!(
            "{refrigerant}: from one mixture model, no second source to check it by; allow 1 % in pressure"
        )),
        _ => found,
    }
}

fn glide_remark(found: Found, saturation: &Saturation, used: &str) -> Found {
    if saturation.glide() > 0.5 {
        found.remark(format!("glide of {:.1} K at this pressure: {used}", saturation.glide()))
    } else {
        found
    }
}

const WORKING_GAUGE: Range = Range::from_to(-101.0, 16_000.0);
const WORKING_ABSOLUTE: Range = Range::above_zero(16_000.0);
const LINE: Range = Range::from_to(-100.0, 200.0);
const REFRIGERANT: Input = Input::word("refrigerant", "refrigerant on the nameplate", &[]);
const GAUGE: Input = Input::quantity("gauge", "gauge reading", PressureGauge, "kPa(g)", WORKING_GAUGE).optional();
const ABSOLUTE: Input =
    Input::quantity("absolute", "absolute pressure, if not by gauge", PressureAbsolute, "kPa(a)", WORKING_ABSOLUTE)
        .optional();
const FLOW: Input = Input::quantity("flow", "refrigerant flow", MassFlow, "g/s", Range::above_zero(1e6)).optional();
const EFFECT: Output = Output::plain("effect", "heat taken up per kilogram", "J/kg");
const WORK: Output = Output::plain("work", "enthalpy gained in the compressor per kilogram", "J/kg");
const COP_COOLING: Output = Output::plain("cop_cooling", "heat taken up over work", "1");
const COP_HEATING: Output = Output::plain("cop_heating", "heat given off over work", "1");
const QUALITY: Output = Output::quantity("quality", "vapour's share after the metering device", Ratio, "%");
const TAKEN_UP: Output = Output::quantity("taken_up", "heat taken up", Power, "W");
const GIVEN_OFF: Output = Output::quantity("given_off", "heat given off", Power, "W");
const COMPRESSOR: Output = Output::quantity("compressor", "enthalpy gained in the compressor", Power, "W");
const SOURCE: &str = "Helmholtz-energy equations by the authors named with each refrigerant's coefficients; blends without one from a mixture model";
const VALIDITY: &str = "right refrigerant, no air in it, clean gauge; −40 °C to the top of the refrigerant's table. Gauge readings count from the air around: give the altitude";

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "refrigerant.saturation",
        title: "Boiling and condensing: pressure to temperature and back",
        inputs: &[
            REFRIGERANT,
            GAUGE,
            ABSOLUTE,
            Input::quantity("temperature", "temperature, if the pressure is wanted", Temperature, "°C", LINE)
                .optional(),
            ALTITUDE,
            PRESSURE,
        ],
        outputs: &[
            Output::quantity(
                "bubble",
                "temperature at which the last bubble condenses (for subcooling)",
                Temperature,
                "°C",
            ),
            Output::quantity("dew", "temperature at which the last drop boils (for superheat)", Temperature, "°C"),
            Output::quantity("glide", "dew less bubble", TemperatureDifference, "K"),
            Output::quantity("bubble_pressure", "pressure of saturated liquid", PressureAbsolute, "kPa(a)"),
            Output::quantity("dew_pressure", "pressure of saturated vapour", PressureAbsolute, "kPa(a)"),
            Output::quantity("bubble_gauge", "the same on the gauge, liquid", PressureGauge, "kPa(g)"),
            Output::quantity("dew_gauge", "the same on the gauge, vapour", PressureGauge, "kPa(g)"),
        ],
        formula: "saturation curve; absolute = gauge + local air pressure",
        source: SOURCE,
        validity: VALIDITY,
        example: &[("refrigerant", "R-410A"), ("gauge", "118 psig ± 1 psig")],
        compute: |k| {
            let refrigerant = named(k.word("refrigerant"))?;
            let found = match (absolute(k, "gauge", "absolute")?, k.maybe("temperature")) {
                (Some(pressure), None) => {
                    let saturation = refrigerant.saturation(pressure)?;
                    let found = Found::number("bubble", saturation.bubble.t)
                        .and("dew", saturation.dew.t)
                        .and("glide", saturation.glide());
                    glide_remark(found, &saturation, "superheat counts from dew, subcooling from bubble")
                }
                (None, Some(temperature)) => {
                    let (bubble, dew) =
                        (refrigerant.bubble_pressure(temperature)?, refrigerant.dew_pressure(temperature)?);
                    let air = local_pressure(k)?;
                    Found::number("bubble_pressure", bubble)
                        .and("dew_pressure", dew)
                        .and("bubble_gauge", bubble - air)
                        .and("dew_gauge", dew - air)
                }
                _ => {
                    return Err(contradiction(
                        "give a gauge reading, an absolute pressure or a temperature: one of them",
                    ));
                }
            };
            Ok(with_caution(found, refrigerant))
        },
    },
    WorkingValue {
        id: "refrigerant.superheat",
        title: "Superheat",
        inputs: &[
            REFRIGERANT,
            GAUGE,
            ABSOLUTE,
            Input::quantity("line", "suction-line temperature where the gauge is", Temperature, "°C", LINE),
            ALTITUDE,
            PRESSURE,
        ],
        outputs: &[
            Output::quantity("superheat", "line less dew temperature", TemperatureDifference, "K"),
            Output::quantity("dew", "dew temperature at that pressure", Temperature, "°C"),
        ],
        formula: "superheat = line temperature − dew temperature at the suction pressure",
        source: SOURCE,
        validity: VALIDITY,
        example: &[("refrigerant", "R410A"), ("gauge", "118 psig ± 1 psig"), ("line", "10 °C ± 1 K")],
        compute: |k| {
            let refrigerant = named(k.word("refrigerant"))?;
            let pressure = needed(absolute(k, "gauge", "absolute")?, "gauge", "absolute")?;
            let saturation = refrigerant.saturation(pressure)?;
            let superheat = k.number("line")? - saturation.dew.t;
            let found = Found::number("superheat", superheat).and("dew", saturation.dew.t);
            let found = glide_remark(found, &saturation, "superheat counts from dew");
            let found = if superheat < 0.0 {
                found.remark("the line reads colder than the vapour can be: liquid in the suction line, a loose clamp, or a gauge that is off")
            } else {
                found
            };
            Ok(with_caution(found, refrigerant))
        },
    },
    WorkingValue {
        id: "refrigerant.subcooling",
        title: "Subcooling",
        inputs: &[
            REFRIGERANT,
            GAUGE,
            ABSOLUTE,
            Input::quantity("line", "liquid-line temperature where the gauge is", Temperature, "°C", LINE),
            ALTITUDE,
            PRESSURE,
        ],
        outputs: &[
            Output::quantity("subcooling", "bubble less line temperature", TemperatureDifference, "K"),
            Output::quantity("bubble", "bubble temperature at that pressure", Temperature, "°C"),
        ],
        formula: "subcooling = bubble temperature at the liquid pressure − line temperature",
        source: SOURCE,
        validity: VALIDITY,
        example: &[("refrigerant", "R410A"), ("gauge", "365 psig ± 3 psig"), ("line", "38 °C ± 1 K")],
        compute: |k| {
            let refrigerant = named(k.word("refrigerant"))?;
            let pressure = needed(absolute(k, "gauge", "absolute")?, "gauge", "absolute")?;
            let saturation = refrigerant.saturation(pressure)?;
            let subcooling = saturation.bubble.t - k.number("line")?;
            let found = Found::number("subcooling", subcooling).and("bubble", saturation.bubble.t);
            let found = glide_remark(found, &saturation, "subcooling counts from bubble");
            let found = if subcooling < 0.0 {
                found.remark("the line reads warmer than liquid can be: bubbles in it, a pressure drop up to the gauge, or a reading that is off")
            } else {
                found
            };
            Ok(with_caution(found, refrigerant))
        },
    },
    WorkingValue {
        id: "refrigerant.compression_ratio",
        title: "Compression ratio",
        inputs: &[
            Input::quantity("suction", "suction gauge", PressureGauge, "kPa(g)", WORKING_GAUGE),
            Input::quantity("discharge", "discharge gauge", PressureGauge, "kPa(g)", WORKING_GAUGE),
            ALTITUDE,
            PRESSURE,
        ],
        outputs: &[Output::plain("ratio", "absolute discharge over absolute suction pressure", "1")],
        formula: "ratio = (discharge + air) / (suction + air)",
        source: "definition",
        validity: "always with absolute pressures; a gauge in vacuum reads below zero",
        example: &[("suction", "118 psig"), ("discharge", "370 psig")],
        compute: |k| {
            let air = local_pressure(k)?;
            let ratio = compression_ratio(k.number("suction")? + air, k.number("discharge")? + air)?;
            let found = Found::number("ratio", ratio);
            Ok(if ratio < 1.0 { found.remark("discharge below suction: are the hoses exchanged?") } else { found })
        },
    },
    WorkingValue {
        id: "refrigerant.cycle",
        title: "The circuit from its pressures and temperatures: effect, work, COP, compressor efficiency",
        inputs: &[
            REFRIGERANT,
            Input::quantity(
                "suction_pressure",
                "absolute, at the compressor",
                PressureAbsolute,
                "kPa(a)",
                WORKING_ABSOLUTE,
            ),
            Input::quantity("suction", "suction temperature at the compressor", Temperature, "°C", LINE),
            Input::quantity(
                "discharge_pressure",
                "absolute, at the compressor",
                PressureAbsolute,
                "kPa(a)",
                WORKING_ABSOLUTE,
            ),
            Input::quantity("discharge", "discharge temperature at the compressor", Temperature, "°C", LINE),
            Input::quantity(
                "liquid_pressure",
                "absolute, before the metering device (the discharge pressure if left out)",
                PressureAbsolute,
                "kPa(a)",
                WORKING_ABSOLUTE,
            )
            .optional(),
            Input::quantity("liquid", "liquid-line temperature", Temperature, "°C", LINE),
            FLOW,
            Input::quantity(
                "given_off",
                "heat given off as measured on the air or water side, to find the flow from",
                Power,
                "W",
                Range::above_zero(1e7),
            )
            .optional(),
        ],
        outputs: &[
            EFFECT,
            WORK,
            COP_COOLING,
            COP_HEATING,
            Output::quantity("isentropic_efficiency", "loss-free work over work", Ratio, "%"),
            QUALITY,
            Output::quantity("flow", "refrigerant flow", MassFlow, "g/s"),
            TAKEN_UP,
            GIVEN_OFF,
            COMPRESSOR,
        ],
        formula: "effect = h(suction) − h(liquid); work = h(discharge) − h(suction); efficiency = [h(p2, s1) − h1]/[h2 − h1]",
        source: SOURCE,
        validity: "steady running; the compressor's shell loses heat, so the work from temperatures is below the electrical input. Suction must be vapour and liquid must be liquid",
        example: &[
            ("refrigerant", "R134a"),
            ("suction_pressure", "140 kPa(a)"),
            ("suction", "-10 °C"),
            ("discharge_pressure", "800 kPa(a)"),
            ("discharge", "50 °C"),
            ("liquid_pressure", "720 kPa(a)"),
            ("liquid", "26 °C"),
            ("flow", "50 g/s"),
        ],
        compute: |k| {
            let refrigerant = named(k.word("refrigerant"))?;
            let discharge_pressure = k.number("discharge_pressure")?;
            let readings = Readings {
                suction: (k.number("suction_pressure")?, k.number("suction")?),
                discharge: (discharge_pressure, k.number("discharge")?),
                liquid: (k.maybe("liquid_pressure").unwrap_or(discharge_pressure), k.number("liquid")?),
            };
            let cycle = Cycle::new(refrigerant, readings)?;
            let flow = match (k.maybe("flow"), k.maybe("given_off")) {
                (Some(_), Some(_)) => {
                    return Err(contradiction("give the flow or the heat given off, not both"));
                }
                (flow, given_off) => flow.or(given_off.map(|heat| heat / cycle.rejected)),
            };
            let found = report(&cycle, flow);
            let found = if cycle.isentropic_efficiency > 1.0 {
                found.remark("more efficient than a loss-free compressor: a reading is off, most often the discharge temperature")
            } else {
                found
            };
            Ok(with_caution(found, refrigerant))
        },
    },
    WorkingValue {
        id: "refrigerant.expected_cycle",
        title: "The cycle to expect between two pressures: discharge temperature, COP, heat",
        inputs: &[
            REFRIGERANT,
            Input::quantity("evaporating", "dew temperature at the suction", Temperature, "°C", LINE).optional(),
            Input::quantity(
                "suction_pressure",
                "absolute, instead of the evaporating temperature",
                PressureAbsolute,
                "kPa(a)",
                WORKING_ABSOLUTE,
            )
            .optional(),
            Input::quantity("condensing", "dew temperature at the discharge", Temperature, "°C", LINE).optional(),
            Input::quantity(
                "discharge_pressure",
                "absolute, instead of the condensing temperature",
                PressureAbsolute,
                "kPa(a)",
                WORKING_ABSOLUTE,
            )
            .optional(),
            Input::quantity("superheat", "at the compressor", TemperatureDifference, "K", Range::from_to(0.0, 60.0))
                .or(5.0),
            Input::quantity(
                "subcooling",
                "before the metering device",
                TemperatureDifference,
                "K",
                Range::from_to(0.0, 60.0),
            )
            .or(5.0),
            Input::quantity(
                "efficiency",
                "isentropic efficiency of the compressor",
                Ratio,
                "%",
                Range::above_zero(100.0),
            )
            .or(65.0),
            FLOW,
        ],
        outputs: &[
            Output::quantity("discharge", "discharge temperature", Temperature, "°C"),
            EFFECT,
            WORK,
            COP_COOLING,
            COP_HEATING,
            QUALITY,
            TAKEN_UP,
            GIVEN_OFF,
            COMPRESSOR,
        ],
        formula: "h2 = h1 + [h(p2, s1) − h1]/efficiency; effect = h1 − h3; COP = effect / (h2 − h1)",
        source: SOURCE,
        validity: "no pressure drops, no heat lost at the shell; 65 % for the efficiency is judgement, to be set",
        example: &[
            ("refrigerant", "R134a"),
            ("evaporating", "7 °C"),
            ("condensing", "56 °C"),
            ("superheat", "6 K"),
            ("subcooling", "5 K"),
            ("efficiency", "70 %"),
        ],
        compute: |k| {
            let refrigerant = named(k.word("refrigerant"))?;
            let design = Design {
                suction_pressure: end_pressure(k, refrigerant, "evaporating", "suction_pressure")?,
                discharge_pressure: end_pressure(k, refrigerant, "condensing", "discharge_pressure")?,
                superheat: k.number("superheat")?,
                subcooling: k.number("subcooling")?,
                efficiency: k.number("efficiency")?,
            };
            let readings = design.readings(refrigerant)?;
            let found = report(&Cycle::new(refrigerant, readings)?, k.maybe("flow"));
            Ok(with_caution(found.and("discharge", readings.discharge.1), refrigerant))
        },
    },
    WorkingValue {
        id: "refrigerant.limits",
        title: "Critical point of a refrigerant and the range of its saturation table",
        inputs: &[REFRIGERANT],
        outputs: &[
            Output::quantity("critical", "critical temperature: above it nothing condenses", Temperature, "°C"),
            Output::quantity("critical_pressure", "critical pressure", PressureAbsolute, "kPa(a)"),
            Output::quantity("lowest", "lowest saturation temperature served", Temperature, "°C"),
            Output::quantity("highest", "highest saturation temperature served", Temperature, "°C"),
        ],
        formula: "from the refrigerant's equation",
        source: SOURCE,
        validity: "of a blend: as it is charged",
        example: &[("refrigerant", "R744")],
        compute: |k| {
            let refrigerant = named(k.word("refrigerant"))?;
            let (critical, range) = (refrigerant.critical_point(), refrigerant.range());
            Ok(Found::number("critical", critical.t)
                .and("critical_pressure", critical.p)
                .and("lowest", range.t_low)
                .and("highest", range.t_saturation_high))
        },
    },
];

/// The results that every cycle has.
fn report(cycle: &Cycle, flow: Option<f64>) -> Found {
    Found::number("effect", cycle.effect)
        .and("work", cycle.work)
        .and("cop_cooling", cycle.effect / cycle.work)
        .and("cop_heating", cycle.rejected / cycle.work)
        .and("isentropic_efficiency", cycle.isentropic_efficiency)
        .and_maybe("quality", cycle.quality)
        .and_maybe("flow", flow)
        .and_maybe("taken_up", flow.map(|flow| flow * cycle.effect))
        .and_maybe("given_off", flow.map(|flow| flow * cycle.rejected))
        .and_maybe("compressor", flow.map(|flow| flow * cycle.work))
}

/// The pressure of one end of the cycle, from its dew temperature or as given.
fn end_pressure(
    k: &Known,
    refrigerant: Refrigerant,
    temperature: &'static str,
    pressure: &'static str,
) -> Result<f64, Refusal> {
    match (k.maybe(temperature), k.maybe(pressure)) {
        (Some(temperature), None) => Ok(refrigerant.dew_pressure(temperature)?),
        (None, Some(pressure)) => Ok(pressure),
        _ => Err(contradiction(format!("give {temperature} or {pressure}: one of the two"))),
    }
}
