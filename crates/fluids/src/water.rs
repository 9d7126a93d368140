//! Water: liquid up to 200 °C, its vapour pressure, and that of ice.
//!
//! Sources: IAPWS R7-97(2012), "Industrial Formulation 1997", region 1 by way of the library `seuif97` and region 4
//! (the saturation line) written out here; IAPWS R14-08(2011) for the sublimation pressure of ice.
//!
//! Temperatures are kelvin, pressures absolute pascal, enthalpy counted from saturated liquid at the triple point.
//!
//! Of the library only region 1 is called: it uses whole-number powers, that is multiplications, and its results were
//! compared bit for bit between this processor and WebAssembly. The library's saturation temperature takes a fourth root by
//! the platform's power function, which no standard fixes to the last bit; ours takes two square roots, which are exact.

use std::fmt;

/// Triple point of water: temperature, K.
pub const TRIPLE_TEMPERATURE: f64 = 273.16;
/// Triple point of water: pressure, Pa.
pub const TRIPLE_PRESSURE: f64 = 611.657;
/// Highest temperature accepted for the liquid and its vapour pressure, K (200 °C).
pub const HIGHEST_TEMPERATURE: f64 = 473.15;
/// Lowest temperature accepted for liquid, K (0 °C).
pub const LOWEST_LIQUID: f64 = 273.15;
/// Lowest temperature accepted for ice, K (−100 °C).
pub const LOWEST_ICE: f64 = 173.15;
/// Highest pressure accepted for liquid, Pa (100 MPa: the end of the formulation's region).
pub const HIGHEST_PRESSURE: f64 = 1e8;

const ZERO_CELSIUS: f64 = 273.15;

/// Why a water property has no answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WaterError {
    /// An input lies outside the range accepted.
    OutOfRange {
        /// What was out of range.
        what: &'static str,
        /// The value given, in `unit`.
        value: f64,
        /// Lowest value accepted.
        low: f64,
        /// Highest value accepted.
        high: f64,
        /// Unit of the three figures.
        unit: &'static str,
    },
    /// At this temperature and pressure water is vapour, not liquid.
    NotLiquid {
        /// Temperature, °C.
        temperature: f64,
        /// Pressure, Pa.
        pressure: f64,
        /// Pressure at which it boils at that temperature, Pa.
        boiling: f64,
    },
}

impl fmt::Display for WaterError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::OutOfRange { what, value, low, high, unit } => write!(
                f,
                "{what} of {value} {unit} is outside {low} to {high} {unit}, where the water formulas are used here; check the reading and its unit"
            ),
            Self::NotLiquid { temperature, pressure, boiling } => write!(
                f,
                "water at {temperature:.2} °C and {pressure:.0} Pa absolute is vapour (it boils at {boiling:.0} Pa); check that the pressure is absolute, not gauge"
            ),
        }
    }
}

impl std::error::Error for WaterError {}

fn within(what: &'static str, value: f64, low: f64, high: f64, unit: &'static str) -> Result<(), WaterError> {
    if value >= low && value <= high { Ok(()) } else { Err(WaterError::OutOfRange { what, value, low, high, unit }) }
}

/// Coefficients n1 to n10 of the saturation line (IAPWS R7-97, table 34).
const LINE: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Vapour pressure of liquid water, Pa (R7-97 eq. 30). `temperature` in K, 0 to 200 °C.
///
/// # Errors
/// [`WaterError::OutOfRange`] outside that range.
pub fn boiling_pressure(temperature: f64) -> Result<f64, WaterError> {
    within(
        "temperature",
        temperature - ZERO_CELSIUS,
        LOWEST_LIQUID - ZERO_CELSIUS,
        HIGHEST_TEMPERATURE - ZERO_CELSIUS,
        "°C",
    )?;
    let n = &LINE;
    let theta = temperature + n[8] / (temperature - n[9]);
    let a = theta * theta + n[0] * theta + n[1];
    let b = n[2] * theta * theta + n[3] * theta + n[4];
    let c = n[5] * theta * theta + n[6] * theta + n[7];
    let root = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    let square = root * root;
    Ok(1e6 * square * square)
}

/// Temperature at which liquid water boils, K (R7-97 eq. 31).
///
/// `pressure` absolute in Pa, from the vapour pressure at 0 °C (611.2 Pa) to that at 200 °C (1.555 MPa).
///
/// # Errors
/// [`WaterError::OutOfRange`] outside that range.
pub fn boiling_temperature(pressure: f64) -> Result<f64, WaterError> {
    within("absolute pressure", pressure, 611.213, boiling_pressure(HIGHEST_TEMPERATURE)?, "Pa")?;
    let n = &LINE;
    let beta = (pressure * 1e-6).sqrt().sqrt();
    let e = beta * beta + n[2] * beta + n[5];
    let f = n[0] * beta * beta + n[3] * beta + n[6];
    let g = n[1] * beta * beta + n[4] * beta + n[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = n[9] + d;
    Ok(0.5 * (sum - (sum * sum - 4.0 * (n[8] + n[9] * d)).sqrt()))
}

/// Vapour pressure of ice, Pa (R14-08 eq. 6). `temperature` in K, −100 to 0.01 °C.
///
/// # Errors
/// [`WaterError::OutOfRange`] outside that range.
pub fn sublimation_pressure(temperature: f64) -> Result<f64, WaterError> {
    within(
        "temperature of ice",
        temperature - ZERO_CELSIUS,
        LOWEST_ICE - ZERO_CELSIUS,
        TRIPLE_TEMPERATURE - ZERO_CELSIUS,
        "°C",
    )?;
    Ok(TRIPLE_PRESSURE * libm::exp(ln_sublimation(temperature).0))
}

/// ln(p / p_triple) over ice, and its derivative by temperature, 1/K.
fn ln_sublimation(temperature: f64) -> (f64, f64) {
    const TERMS: [(f64, f64); 3] =
        [(-0.212_144_006e2, 0.333_333_333e-2), (0.273_203_819e2, 0.120_666_667e1), (-0.610_598_130e1, 0.170_333_333e1)];
    let theta = temperature / TRIPLE_TEMPERATURE;
    let (mut value, mut slope) = (0.0, 0.0);
    for (a, b) in TERMS {
        let term = a * libm::pow(theta, b) / theta;
        value += term;
        slope += (b - 1.0) * term / theta;
    }
    (value, slope / TRIPLE_TEMPERATURE)
}

/// Vapour pressure over whatever water is at this temperature, Pa: ice up to 0.01 °C, liquid above.
///
/// `temperature` in K, −100 to 200 °C.
///
/// # Errors
/// [`WaterError::OutOfRange`] outside that range.
pub fn vapour_pressure(temperature: f64) -> Result<f64, WaterError> {
    if temperature <= TRIPLE_TEMPERATURE { sublimation_pressure(temperature) } else { boiling_pressure(temperature) }
}

/// Temperature at which water stands in balance with its vapour at this pressure, K: below 611.657 Pa ice, above it liquid.
///
/// A vacuum below this pressure dries; above it the water stays. `pressure` absolute in Pa, from the vapour pressure of ice at
/// −100 °C (0.0014 Pa) to 1.555 MPa.
///
/// # Errors
/// [`WaterError::OutOfRange`] outside that range.
pub fn vapour_temperature(pressure: f64) -> Result<f64, WaterError> {
    if pressure > TRIPLE_PRESSURE {
        return Ok(boiling_temperature(pressure)?.max(TRIPLE_TEMPERATURE));
    }
    within("absolute pressure", pressure, sublimation_pressure(LOWEST_ICE)?, TRIPLE_PRESSURE, "Pa")?;
    let target = libm::log(pressure / TRIPLE_PRESSURE);
    // ln p is nearly a straight line in 1/T, so Newton's method in 1/T lands within a few steps.
    let mut temperature = TRIPLE_TEMPERATURE;
    for _ in 0..20 {
        let (value, slope) = ln_sublimation(temperature);
        let step = (value - target) / (slope * temperature * temperature);
        temperature = (1.0 / (1.0 / temperature + step)).clamp(LOWEST_ICE, TRIPLE_TEMPERATURE);
        if step.abs() * temperature < 1e-14 {
            break;
        }
    }
    Ok(temperature)
}

/// Liquid water at a pressure and a temperature, checked on construction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Liquid {
    /// MPa and °C, as the library takes them.
    megapascal: f64,
    celsius: f64,
}

impl Liquid {
    /// At `pressure` (absolute, Pa, up to 100 MPa) and `temperature` (K, 0 to 200 °C).
    ///
    /// # Errors
    /// [`WaterError::OutOfRange`], or [`WaterError::NotLiquid`] below the boiling pressure.
    pub fn new(pressure: f64, temperature: f64) -> Result<Self, WaterError> {
        let boiling = boiling_pressure(temperature)?;
        within("absolute pressure", pressure, 0.0, HIGHEST_PRESSURE, "Pa")?;
        if pressure < boiling {
            return Err(WaterError::NotLiquid { temperature: temperature - ZERO_CELSIUS, pressure, boiling });
        }
        Ok(Self { megapascal: pressure * 1e-6, celsius: temperature - ZERO_CELSIUS })
    }

    /// Naming the region keeps the library off its search, whose border uses the platform's power function.
    fn property(self, id: i32) -> f64 {
        const LIQUID_REGION: i32 = 1;
        seuif97::pt(self.megapascal, self.celsius, (id, LIQUID_REGION))
    }

    /// Density, kg/m³.
    pub fn density(self) -> f64 {
        1.0 / self.property(seuif97::OV)
    }

    /// Enthalpy, J/kg.
    pub fn enthalpy(self) -> f64 {
        1e3 * self.property(seuif97::OH)
    }

    /// Specific heat at constant pressure, J/(kg K).
    pub fn heat_capacity(self) -> f64 {
        1e3 * self.property(seuif97::OCP)
    }
}
