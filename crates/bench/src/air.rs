//! Moist air at the coil: its state, and what a coil takes out of it.

use halfsplit_fluids::air::{MoistAir, STANDARD_PRESSURE, pressure_at_altitude, saturation_pressure};
use halfsplit_fluids::water::Liquid;
use halfsplit_units::Dimension::{
    Humidity, Length, MassFlow, Power, PressureAbsolute, Ratio, Temperature, TemperatureDifference, VolumeFlow,
};

use crate::known::{Found, Known};
use crate::refusal::{Refusal, contradiction, positive};
use crate::value::{Input, Output, Range, Spread, WorkingValue};

const ZERO_CELSIUS: f64 = 273.15;

/// What a coil does to a stream of moist air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coil {
    /// Dry air, kg/s.
    pub dry_air: f64,
    /// Entering less leaving enthalpy of the moist air, W; negative when the air is heated.
    pub enthalpy_change: f64,
    /// Heat taken by the coil, W: the enthalpy change less what the condensate carries away.
    pub cooling: f64,
    /// Part of it that changed the dry bulb, W.
    pub sensible: f64,
    /// Water taken out, kg/s; never negative.
    pub condensate: f64,
}

impl Coil {
    /// From the air on both sides and the volume flow (m³/s) measured on the entering side.
    ///
    /// The condensate is taken to leave as liquid at the leaving dry bulb. Below 0 °C it is counted at 0 °C.
    ///
    /// # Errors
    /// Refuses a flow not above zero, and leaving air above 200 °C.
    pub fn new(entering: MoistAir, leaving: MoistAir, volume_flow: f64) -> Result<Self, Refusal> {
        let dry_air = positive("air flow", volume_flow, "m³/s")? / entering.volume();
        let enthalpy_change = dry_air * (entering.enthalpy() - leaving.enthalpy());
        let condensate = dry_air * (entering.humidity_ratio() - leaving.humidity_ratio()).max(0.0);
        let water = Liquid::new(STANDARD_PRESSURE, leaving.dry_bulb().clamp(ZERO_CELSIUS, 373.0))?;
        Ok(Self {
            dry_air,
            enthalpy_change,
            cooling: enthalpy_change - condensate * water.enthalpy(),
            sensible: dry_air * entering.heat_capacity() * (entering.dry_bulb() - leaving.dry_bulb()),
            condensate,
        })
    }
}

/// Pressure from the inputs `pressure` or `altitude`, Pa.
pub(crate) fn local_pressure(k: &Known) -> Result<f64, Refusal> {
    match k.maybe("pressure") {
        Some(pressure) => Ok(pressure),
        None => Ok(pressure_at_altitude(k.number("altitude")?)?),
    }
}

/// A state from a dry bulb and exactly one of the moisture readings named.
pub(crate) fn state(
    k: &Known,
    pressure: f64,
    dry_bulb: &'static str,
    wet_bulb: &'static str,
    humidity: &'static str,
    dew_point: &'static str,
) -> Result<Option<MoistAir>, Refusal> {
    let dry = k.number(dry_bulb)?;
    Ok(match (k.maybe(wet_bulb), k.maybe(humidity), k.maybe(dew_point)) {
        (Some(wet), None, None) => Some(MoistAir::from_wet_bulb(dry, wet, pressure)?),
        (None, Some(share), None) => Some(MoistAir::from_relative_humidity(dry, share, pressure)?),
        (None, None, Some(dew)) => Some(MoistAir::from_dew_point(dry, dew, pressure)?),
        (None, None, None) => None,
        _ => {
            return Err(contradiction(format!(
                "the moisture at {dry_bulb} is given more than once; give one of wet bulb, relative humidity or dew point"
            )));
        }
    })
}

/// The air entering and leaving a coil. Leaving moisture left out means that no water was taken out or added.
pub(crate) fn both_sides(k: &Known) -> Result<(MoistAir, MoistAir), Refusal> {
    let pressure = local_pressure(k)?;
    let entering = state(k, pressure, "entering", "entering_wet_bulb", "entering_humidity", "")?
        .ok_or_else(|| contradiction("give entering_wet_bulb or entering_humidity"))?;
    let leaving = match state(k, pressure, "leaving", "leaving_wet_bulb", "leaving_humidity", "")? {
        Some(air) => air,
        None => MoistAir::from_humidity_ratio(k.number("leaving")?, entering.humidity_ratio(), pressure)?,
    };
    Ok((entering, leaving))
}

const DRY: Range = Range::from_to(-60.0, 120.0);
const SHARE: Range = Range::from_to(0.0, 100.0);
pub(crate) const ALTITUDE: Input = Input::quantity(
    "altitude",
    "altitude above sea level, unless the pressure is given",
    Length,
    "m",
    Range::from_to(-500.0, 9000.0),
)
.or(0.0);
pub(crate) const PRESSURE: Input = Input::quantity(
    "pressure",
    "barometric pressure on the spot (not reduced to sea level)",
    PressureAbsolute,
    "kPa(a)",
    Range::from_to(30.0, 200.0),
)
.optional();
pub(crate) const FLOW: Input =
    Input::quantity("flow", "air flow measured on the entering side", VolumeFlow, "m³/h", Range::above_zero(1e6));
pub(crate) const ENTERING: Input = Input::quantity("entering", "dry bulb before the coil", Temperature, "°C", DRY);
pub(crate) const ENTERING_WET: Input =
    Input::quantity("entering_wet_bulb", "wet bulb before the coil", Temperature, "°C", DRY).optional();
pub(crate) const ENTERING_HUMIDITY: Input =
    Input::quantity("entering_humidity", "relative humidity before the coil", Humidity, "%RH", SHARE).optional();
pub(crate) const LEAVING: Input = Input::quantity("leaving", "dry bulb after the coil", Temperature, "°C", DRY);
pub(crate) const LEAVING_WET: Input =
    Input::quantity("leaving_wet_bulb", "wet bulb after the coil", Temperature, "°C", DRY).optional();
pub(crate) const LEAVING_HUMIDITY: Input =
    Input::quantity("leaving_humidity", "relative humidity after the coil", Humidity, "%RH", SHARE).optional();

pub(crate) const SOURCE: &str = "ASHRAE Handbook — Fundamentals (2017), ch. 1; saturation by Hyland and Wexler (1983)";
pub(crate) const PERFECT_GAS: Spread =
    Spread::Relative(0.007, "moist air taken as perfect gases, rated better than 0.7 % by the handbook");

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "air.state",
        title: "Everything about moist air from the dry bulb and one more reading",
        inputs: &[
            Input::quantity("dry_bulb", "dry bulb", Temperature, "°C", DRY),
            Input::quantity("wet_bulb", "wet bulb (iced below 0 °C)", Temperature, "°C", DRY).optional(),
            Input::quantity("humidity", "relative humidity", Humidity, "%RH", SHARE).optional(),
            Input::quantity("dew_point", "dew point (frost point below 0 °C)", Temperature, "°C", DRY).optional(),
            ALTITUDE,
            PRESSURE,
        ],
        outputs: &[
            Output::quantity("humidity", "relative humidity", Humidity, "%RH"),
            Output::quantity("wet_bulb", "thermodynamic wet bulb", Temperature, "°C"),
            Output::quantity("dew_point", "dew or frost point", Temperature, "°C"),
            Output::plain("humidity_ratio", "water per kilogram of dry air", "kg/kg"),
            Output::plain("enthalpy", "enthalpy per kilogram of dry air, from 0 °C", "J/kg"),
            Output::plain("volume", "volume per kilogram of dry air", "m³/kg"),
            Output::plain("density", "density of the moist air", "kg/m³"),
        ],
        formula: "W = 0.621945·pw/(p − pw); h = 1.006 t + W (2501 + 1.86 t); v = 0.287042 T (1 + 1.607858 W)/p; wet bulb by the handbook's psychrometer equation, solved",
        source: SOURCE,
        validity: "−60 to 120 °C, 30 to 200 kPa. A wet-bulb thermometer needs a wet wick and 3–5 m/s of air over it; near 0 °C say whether the wick is frozen",
        example: &[("dry_bulb", "27 °C ± 0.3 K"), ("wet_bulb", "19 °C ± 0.3 K")],
        compute: |k| {
            let air = state(k, local_pressure(k)?, "dry_bulb", "wet_bulb", "humidity", "dew_point")?
                .ok_or_else(|| contradiction("give one of wet_bulb, humidity or dew_point beside the dry bulb"))?;
            Ok(Found::number("humidity", air.relative_humidity())
                .and("humidity_ratio", air.humidity_ratio())
                .and("enthalpy", air.enthalpy())
                .and("volume", air.volume())
                .and("density", air.density())
                .and_maybe("wet_bulb", air.wet_bulb().ok())
                .and_maybe("dew_point", air.dew_point().ok()))
        },
    },
    WorkingValue {
        id: "air.saturation",
        title: "Vapour pressure at which air is saturated",
        inputs: &[Input::quantity("temperature", "air temperature", Temperature, "°C", Range::from_to(-100.0, 200.0))],
        outputs: &[Output::quantity(
            "pressure",
            "vapour pressure over ice below 0.01 °C, over liquid above",
            PressureAbsolute,
            "Pa(a)",
        )],
        formula: "Hyland–Wexler polynomial for ln p",
        source: SOURCE,
        validity: "−100 to 200 °C; agrees with the handbook's printed table within 0.03 %",
        example: &[("temperature", "25 °C")],
        compute: |k| Ok(Found::number("pressure", saturation_pressure(k.number("temperature")?)?)),
    },
    WorkingValue {
        id: "air.at_altitude",
        title: "Air pressure at an altitude",
        inputs: &[Input::quantity(
            "altitude",
            "altitude above sea level",
            Length,
            "m",
            Range::from_to(-5000.0, 11_000.0),
        )],
        outputs: &[Output::quantity("pressure", "pressure of the standard atmosphere", PressureAbsolute, "kPa(a)")
            .spread(Spread::Relative(0.03, "weather moves the barometer by about 3 %"))],
        formula: "p = 101.325 · (1 − 2.25577e−5 · Z)^5.2559 kPa, Z in m",
        source: "ASHRAE Handbook — Fundamentals (2017), ch. 1, eq. 3",
        validity: "−5000 to 11 000 m",
        example: &[("altitude", "1000 m")],
        compute: |k| Ok(Found::number("pressure", pressure_at_altitude(k.number("altitude")?)?)),
    },
    WorkingValue {
        id: "air.coil",
        title: "Condensate and heat taken out by a cooling coil",
        inputs: &[
            FLOW,
            ENTERING,
            ENTERING_WET,
            ENTERING_HUMIDITY,
            LEAVING,
            LEAVING_WET,
            LEAVING_HUMIDITY,
            ALTITUDE,
            PRESSURE,
        ],
        outputs: &[
            Output::quantity("condensate", "water to expect at the drain", MassFlow, "kg/h"),
            Output::plain("per_dry_air", "water taken out of each kilogram of dry air", "kg/kg"),
            Output::quantity("cooling", "heat taken by the coil", Power, "W").spread(PERFECT_GAS),
            Output::quantity("enthalpy_change", "enthalpy change of the air, condensate left out", Power, "W"),
            Output::quantity("sensible", "part that lowers the dry bulb", Power, "W"),
            Output::quantity("sensible_share", "sensible heat ratio", Ratio, "%"),
            Output::quantity("drop", "fall of the dry bulb", TemperatureDifference, "K"),
        ],
        formula: "m = V/v1; water = m (W1 − W2); Q = m [(h1 − h2) − (W1 − W2) h_water]",
        source: "balance over the coil; properties as for air.state; textbook case: Moran and Shapiro, Fundamentals of Engineering Thermodynamics, ex. 12.11",
        validity: "steady running, no by-pass; the entering air must be measured where the flow is; with frost on the coil the water stays there",
        example: &[
            ("flow", "1800 m³/h ± 5 %"),
            ("entering", "26.7 °C ± 0.3 K"),
            ("entering_wet_bulb", "19.4 °C ± 0.3 K"),
            ("leaving", "12.8 °C ± 0.3 K"),
            ("leaving_humidity", "95 %"),
        ],
        compute: |k| {
            let (entering, leaving) = both_sides(k)?;
            let coil = Coil::new(entering, leaving, k.number("flow")?)?;
            let found = Found::number("condensate", coil.condensate)
                .and("per_dry_air", coil.condensate / coil.dry_air)
                .and("cooling", coil.cooling)
                .and("enthalpy_change", coil.enthalpy_change)
                .and("sensible", coil.sensible)
                .and_maybe("sensible_share", (coil.cooling > 0.0).then_some(coil.sensible / coil.cooling))
                .and("drop", entering.dry_bulb() - leaving.dry_bulb());
            let gains = leaving.humidity_ratio() > entering.humidity_ratio() * 1.001;
            Ok(if gains {
                found.remark(
                    "the air leaves with more water than it brought: check the wet bulbs, or the coil is drying off",
                )
            } else {
                found
            })
        },
    },
];
