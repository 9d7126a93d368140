//! Moist air by the ASHRAE formulation.
//!
//! Source throughout: ASHRAE Handbook — Fundamentals (2017), chapter 1, "Psychrometrics". Saturation
//! pressure is Hyland and Wexler's (1983, eqs. 5 and 6 there); everything else treats moist air as a
//! mixture of perfect gases, which the handbook rates at better than 0.7 % in humidity ratio, enthalpy
//! and volume between −50 and 50 °C at sea level.
//!
//! Temperatures are kelvin, pressures absolute pascal, enthalpies and volumes per kilogram of **dry**
//! air, enthalpy counted from dry air and liquid water at 0 °C.
//!
//! Two seams of the formulation deserve a word:
//!
//! - The ice and liquid curves meet at the triple point (273.16 K), so that is where we change over; the
//!   handbook's nominal 0 °C would leave a step there.
//! - The wet-bulb equation jumps at 0 °C, because an iced wick gives heat of fusion as well. Between the two branches
//!   one humidity has two wet bulbs: an unfrozen wick a little above 0 °C and a frozen one a little below.
//!   [`MoistAir::wet_bulb`] then gives the unfrozen reading.

use std::fmt;

/// Lowest temperature of the saturation curve, K (−100 °C).
pub const LOWEST_TEMPERATURE: f64 = 173.15;
/// Highest temperature of the saturation curve, K (200 °C).
pub const HIGHEST_TEMPERATURE: f64 = 473.15;
/// Pressure of the standard atmosphere at sea level, Pa.
pub const STANDARD_PRESSURE: f64 = 101_325.0;

/// Lowest and highest absolute pressure accepted, Pa. Our own limits: they hold every place where
/// anyone services a machine (about 9000 m up to one bar of overpressure) and keep the perfect-gas error small.
pub const PRESSURE_RANGE: (f64, f64) = (30_000.0, 200_000.0);

const ZERO_CELSIUS: f64 = 273.15;
const TRIPLE_POINT: f64 = 273.16;
/// Gas constant of dry air, J/(kg K): 8314.472 / 28.966.
const DRY_AIR: f64 = 287.042;
/// Molar mass of dry air over that of water.
const AIR_OVER_WATER: f64 = 1.607_858;
/// Molar mass of water over that of dry air, as the handbook rounds it.
const WATER_OVER_AIR: f64 = 0.621_945;
/// Rounding allowed above saturation before a state counts as fog.
const SATURATION_SLACK: f64 = 1e-9;

/// Why a moist-air question has no answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AirError {
    /// An input lies outside the range of the formulation.
    OutOfRange {
        /// What was out of range, in trade words.
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
    /// The wet bulb or dew point given is above the dry bulb.
    AboveDryBulb {
        /// Which of the two.
        what: &'static str,
        /// Its value, °C.
        value: f64,
        /// The dry bulb, °C.
        dry_bulb: f64,
    },
    /// The wet bulb is lower than bone-dry air at this dry bulb could make it.
    WetBulbTooLow {
        /// The wet bulb, °C.
        wet_bulb: f64,
        /// The dry bulb, °C.
        dry_bulb: f64,
    },
    /// More water than the air can carry as vapour at this temperature and pressure.
    Fog {
        /// The humidity ratio asked for, kg/kg.
        humidity_ratio: f64,
        /// The humidity ratio at saturation, kg/kg.
        saturated: f64,
    },
    /// At this temperature the water-vapour pressure reaches the pressure of the air: water boils.
    Boils {
        /// Dry bulb, °C.
        temperature: f64,
        /// Pressure, Pa.
        pressure: f64,
    },
    /// The air holds so little water that it has no dew or frost point above −100 °C.
    NoDewPoint,
}

impl fmt::Display for AirError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::OutOfRange { what, value, low, high, unit } => write!(
                f,
                "{what} of {value} {unit} is outside {low} to {high} {unit}, where the moist-air formulas hold; check the reading and its unit"
            ),
            Self::AboveDryBulb { what, value, dry_bulb } => write!(
                f,
                "{what} {value:.2} °C is above the dry bulb {dry_bulb:.2} °C, which cannot be; check whether the two readings were exchanged"
            ),
            Self::WetBulbTooLow { wet_bulb, dry_bulb } => write!(
                f,
                "wet bulb {wet_bulb:.2} °C is lower than even bone-dry air at {dry_bulb:.2} °C could give; check the wick and both thermometers"
            ),
            Self::Fog { humidity_ratio, saturated } => write!(
                f,
                "humidity ratio {humidity_ratio:.5} kg/kg is above saturation ({saturated:.5} kg/kg); part of the water would be fog: check temperature and humidity"
            ),
            Self::Boils { temperature, pressure } => write!(
                f,
                "water boils at {temperature:.1} °C under {pressure:.0} Pa, so no humidity can be given; check temperature and pressure"
            ),
            Self::NoDewPoint => {
                f.write_str("the air is too dry to have a dew point above −100 °C; check the humidity reading")
            }
        }
    }
}

impl std::error::Error for AirError {}

fn within(what: &'static str, value: f64, low: f64, high: f64, unit: &'static str) -> Result<(), AirError> {
    if value >= low && value <= high { Ok(()) } else { Err(AirError::OutOfRange { what, value, low, high, unit }) }
}

fn temperature_within(what: &'static str, kelvin: f64) -> Result<(), AirError> {
    within(what, kelvin - ZERO_CELSIUS, LOWEST_TEMPERATURE - ZERO_CELSIUS, HIGHEST_TEMPERATURE - ZERO_CELSIUS, "°C")
}

/// Pressure of the standard atmosphere at an altitude, Pa.
///
/// `altitude` in metres above sea level, −5000 to 11 000 (eq. 3 of the chapter).
///
/// # Errors
/// [`AirError::OutOfRange`] outside that range.
pub fn pressure_at_altitude(altitude: f64) -> Result<f64, AirError> {
    within("altitude", altitude, -5000.0, 11_000.0, "m")?;
    Ok(STANDARD_PRESSURE * libm::pow(1.0 - 2.255_77e-5 * altitude, 5.2559))
}

/// Saturation pressure of water vapour, Pa: over ice up to the triple point, over liquid above it.
///
/// `temperature` in K, −100 to 200 °C.
///
/// # Errors
/// [`AirError::OutOfRange`] outside that range.
pub fn saturation_pressure(temperature: f64) -> Result<f64, AirError> {
    temperature_within("temperature", temperature)?;
    Ok(libm::exp(ln_saturation(temperature).0))
}

/// Temperature at which water vapour of this pressure saturates (frost point below 0.01 °C, dew point above), K.
///
/// # Errors
/// [`AirError::NoDewPoint`] below the pressure at −100 °C; [`AirError::OutOfRange`] above the pressure at 200 °C.
pub fn saturation_temperature(vapour_pressure: f64) -> Result<f64, AirError> {
    let lowest = libm::exp(ln_saturation(LOWEST_TEMPERATURE).0);
    let highest = libm::exp(ln_saturation(HIGHEST_TEMPERATURE).0);
    if vapour_pressure < lowest {
        return Err(AirError::NoDewPoint);
    }
    within("water-vapour pressure", vapour_pressure, lowest, highest, "Pa")?;
    let target = libm::log(vapour_pressure);
    // ln p is nearly a straight line in 1/T, so Newton's method in 1/T lands within a few steps.
    let mut x = 1.0 / TRIPLE_POINT;
    for _ in 0..20 {
        let temperature = (1.0 / x).clamp(LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE);
        let (ln_p, slope) = ln_saturation(temperature);
        let step = (target - ln_p) / (-slope * temperature * temperature);
        x = 1.0 / temperature + step;
        if step.abs() * temperature < 1e-15 {
            break;
        }
    }
    Ok((1.0 / x).clamp(LOWEST_TEMPERATURE, HIGHEST_TEMPERATURE))
}

/// Natural logarithm of the saturation pressure in Pa, and its derivative by temperature, 1/K.
fn ln_saturation(t: f64) -> (f64, f64) {
    if t <= TRIPLE_POINT {
        let value =
            -5.674_535_9e3 / t + 6.392_524_7 - 9.677_843e-3 * t + 6.221_570_1e-7 * t * t + 2.074_782_5e-9 * t * t * t
                - 9.484_024e-13 * t * t * t * t
                + 4.163_501_9 * libm::log(t);
        let slope = 5.674_535_9e3 / (t * t) - 9.677_843e-3 + 2.0 * 6.221_570_1e-7 * t + 3.0 * 2.074_782_5e-9 * t * t
            - 4.0 * 9.484_024e-13 * t * t * t
            + 4.163_501_9 / t;
        (value, slope)
    } else {
        let value = -5.800_220_6e3 / t + 1.391_499_3 - 4.864_023_9e-2 * t + 4.176_476_8e-5 * t * t
            - 1.445_209_3e-8 * t * t * t
            + 6.545_967_3 * libm::log(t);
        let slope = 5.800_220_6e3 / (t * t) - 4.864_023_9e-2 + 2.0 * 4.176_476_8e-5 * t - 3.0 * 1.445_209_3e-8 * t * t
            + 6.545_967_3 / t;
        (value, slope)
    }
}

/// Humidity ratio of saturated air, kg water per kg dry air.
///
/// `temperature` in K, `pressure` absolute in Pa.
///
/// # Errors
/// [`AirError::OutOfRange`], or [`AirError::Boils`] where the vapour pressure reaches the air's.
pub fn saturated_humidity_ratio(temperature: f64, pressure: f64) -> Result<f64, AirError> {
    within("pressure", pressure, PRESSURE_RANGE.0, PRESSURE_RANGE.1, "Pa")?;
    let vapour = saturation_pressure(temperature)?;
    if vapour >= pressure {
        return Err(AirError::Boils { temperature: temperature - ZERO_CELSIUS, pressure });
    }
    Ok(WATER_OVER_AIR * vapour / (pressure - vapour))
}

/// Humidity ratio from dry and wet bulb, without checks (eqs. 33 and 35). `saturated` is that at the wet bulb.
fn psychrometer(dry_bulb: f64, wet_bulb: f64, saturated: f64, iced: bool) -> f64 {
    let t = dry_bulb - ZERO_CELSIUS;
    let w = wet_bulb - ZERO_CELSIUS;
    if iced {
        ((2830.0 - 0.24 * w) * saturated - 1.006 * (t - w)) / (2830.0 + 1.86 * t - 2.1 * w)
    } else {
        ((2501.0 - 2.326 * w) * saturated - 1.006 * (t - w)) / (2501.0 + 1.86 * t - 4.186 * w)
    }
}

/// A state of moist air: dry bulb, humidity ratio and pressure, checked on construction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistAir {
    dry_bulb: f64,
    humidity_ratio: f64,
    pressure: f64,
}

impl MoistAir {
    /// From dry bulb (K), humidity ratio (kg/kg dry air, 0 to saturation) and absolute pressure (Pa).
    ///
    /// # Errors
    /// Out of range, or [`AirError::Fog`] above saturation. Where water boils below the dry bulb any humidity ratio is allowed.
    pub fn from_humidity_ratio(dry_bulb: f64, humidity_ratio: f64, pressure: f64) -> Result<Self, AirError> {
        within("humidity ratio", humidity_ratio, 0.0, 10.0, "kg/kg")?;
        match saturated_humidity_ratio(dry_bulb, pressure) {
            Ok(saturated) if humidity_ratio > saturated * (1.0 + SATURATION_SLACK) => {
                Err(AirError::Fog { humidity_ratio, saturated })
            }
            Ok(_) | Err(AirError::Boils { .. }) => Ok(Self { dry_bulb, humidity_ratio, pressure }),
            Err(error) => Err(error),
        }
    }

    /// From dry bulb (K), relative humidity (0 to 1) and absolute pressure (Pa).
    ///
    /// # Errors
    /// Out of range, or [`AirError::Boils`].
    pub fn from_relative_humidity(dry_bulb: f64, relative_humidity: f64, pressure: f64) -> Result<Self, AirError> {
        within("relative humidity", relative_humidity, 0.0, 1.0, "(as a fraction)")?;
        within("pressure", pressure, PRESSURE_RANGE.0, PRESSURE_RANGE.1, "Pa")?;
        temperature_within("dry bulb", dry_bulb)?;
        let vapour = relative_humidity * saturation_pressure(dry_bulb)?;
        Self::from_vapour_pressure(dry_bulb, vapour, pressure)
    }

    /// From dry bulb (K), dew point (K; frost point below 0.01 °C) and absolute pressure (Pa).
    ///
    /// # Errors
    /// Out of range, [`AirError::AboveDryBulb`] or [`AirError::Boils`].
    pub fn from_dew_point(dry_bulb: f64, dew_point: f64, pressure: f64) -> Result<Self, AirError> {
        within("pressure", pressure, PRESSURE_RANGE.0, PRESSURE_RANGE.1, "Pa")?;
        temperature_within("dry bulb", dry_bulb)?;
        temperature_within("dew point", dew_point)?;
        not_above_dry_bulb("dew point", dew_point, dry_bulb)?;
        Self::from_vapour_pressure(dry_bulb, saturation_pressure(dew_point)?, pressure)
    }

    /// From dry bulb (K), wet bulb (K; an iced wick below 0 °C) and absolute pressure (Pa).
    ///
    /// # Errors
    /// Out of range, [`AirError::AboveDryBulb`], [`AirError::WetBulbTooLow`] or [`AirError::Boils`].
    pub fn from_wet_bulb(dry_bulb: f64, wet_bulb: f64, pressure: f64) -> Result<Self, AirError> {
        temperature_within("dry bulb", dry_bulb)?;
        temperature_within("wet bulb", wet_bulb)?;
        not_above_dry_bulb("wet bulb", wet_bulb, dry_bulb)?;
        let saturated = saturated_humidity_ratio(wet_bulb, pressure)?;
        let humidity_ratio = psychrometer(dry_bulb, wet_bulb, saturated, wet_bulb < ZERO_CELSIUS);
        if humidity_ratio < 0.0 {
            return Err(AirError::WetBulbTooLow {
                wet_bulb: wet_bulb - ZERO_CELSIUS,
                dry_bulb: dry_bulb - ZERO_CELSIUS,
            });
        }
        Self::from_humidity_ratio(dry_bulb, humidity_ratio, pressure)
    }

    fn from_vapour_pressure(dry_bulb: f64, vapour: f64, pressure: f64) -> Result<Self, AirError> {
        if vapour >= pressure {
            return Err(AirError::Boils { temperature: dry_bulb - ZERO_CELSIUS, pressure });
        }
        Self::from_humidity_ratio(dry_bulb, WATER_OVER_AIR * vapour / (pressure - vapour), pressure)
    }

    /// Dry-bulb temperature, K.
    pub fn dry_bulb(&self) -> f64 {
        self.dry_bulb
    }

    /// Humidity ratio, kg water per kg dry air.
    pub fn humidity_ratio(&self) -> f64 {
        self.humidity_ratio
    }

    /// Absolute pressure, Pa.
    pub fn pressure(&self) -> f64 {
        self.pressure
    }

    /// Partial pressure of the water vapour, Pa.
    pub fn vapour_pressure(&self) -> f64 {
        self.pressure * self.humidity_ratio / (WATER_OVER_AIR + self.humidity_ratio)
    }

    /// Relative humidity, 0 to 1.
    pub fn relative_humidity(&self) -> f64 {
        self.vapour_pressure() / libm::exp(ln_saturation(self.dry_bulb).0)
    }

    /// Dew point (frost point below 0.01 °C), K.
    ///
    /// # Errors
    /// [`AirError::NoDewPoint`] for air drier than −100 °C frost point.
    pub fn dew_point(&self) -> Result<f64, AirError> {
        Ok(saturation_temperature(self.vapour_pressure())?.min(self.dry_bulb))
    }

    /// Thermodynamic wet-bulb temperature, K.
    ///
    /// Found by false position with halving (the Illinois method) in an interval that is known to hold it, to within
    /// 1e-10 K. Where a frozen and an unfrozen wick would both do (see the module's text) the unfrozen one is given.
    ///
    /// # Errors
    /// [`AirError::OutOfRange`] if it would lie below −100 °C.
    pub fn wet_bulb(&self) -> Result<f64, AirError> {
        let at_dry_bulb = self.excess(self.dry_bulb, self.dry_bulb < ZERO_CELSIUS);
        if at_dry_bulb <= 0.0 {
            return Ok(self.dry_bulb);
        }
        let iced = self.dry_bulb < ZERO_CELSIUS || self.excess(ZERO_CELSIUS, false) > 0.0;
        let (mut low, mut high) =
            if iced { (LOWEST_TEMPERATURE, self.dry_bulb.min(ZERO_CELSIUS)) } else { (ZERO_CELSIUS, self.dry_bulb) };
        let (mut below, mut above) = (self.excess(low, iced), self.excess(high, iced));
        if below > 0.0 {
            let value = low - ZERO_CELSIUS;
            return Err(AirError::OutOfRange { what: "wet bulb", value, low: value, high: 200.0, unit: "°C" });
        }
        let mut last = f64::INFINITY;
        for _ in 0..100 {
            // Where water would boil at the upper end there is no slope to go by.
            let next =
                if above.is_finite() { high - above * (high - low) / (above - below) } else { 0.5 * (low + high) };
            let excess = self.excess(next, iced);
            if excess > 0.0 {
                (high, above) = (next, excess);
                // The same end moved twice: the other one holds the line back.
                if next < last {
                    below *= 0.5;
                }
            } else {
                (low, below) = (next, excess);
                if next > last {
                    above *= 0.5;
                }
            }
            if (next - last).abs() < 1e-10 || excess == 0.0 {
                return Ok(next);
            }
            last = next;
        }
        Ok(0.5 * (low + high))
    }

    /// Humidity ratio that a wet bulb would mean, less the one we have. Rises with the wet bulb.
    fn excess(&self, wet_bulb: f64, iced: bool) -> f64 {
        let vapour = libm::exp(ln_saturation(wet_bulb).0);
        if vapour >= self.pressure {
            return f64::INFINITY;
        }
        let saturated = WATER_OVER_AIR * vapour / (self.pressure - vapour);
        psychrometer(self.dry_bulb, wet_bulb, saturated, iced) - self.humidity_ratio
    }

    /// Enthalpy, J per kg dry air (eq. 30).
    pub fn enthalpy(&self) -> f64 {
        let t = self.dry_bulb - ZERO_CELSIUS;
        1006.0 * t + self.humidity_ratio * (2_501_000.0 + 1860.0 * t)
    }

    /// Specific heat at constant pressure, J/K per kg dry air: the derivative of [`MoistAir::enthalpy`].
    pub fn heat_capacity(&self) -> f64 {
        1006.0 + 1860.0 * self.humidity_ratio
    }

    /// Volume, m³ per kg dry air (eq. 26).
    pub fn volume(&self) -> f64 {
        DRY_AIR * self.dry_bulb * (1.0 + AIR_OVER_WATER * self.humidity_ratio) / self.pressure
    }

    /// Density of the mixture, kg/m³ (dry air and vapour together).
    pub fn density(&self) -> f64 {
        (1.0 + self.humidity_ratio) / self.volume()
    }
}

fn not_above_dry_bulb(what: &'static str, kelvin: f64, dry_bulb: f64) -> Result<(), AirError> {
    if kelvin <= dry_bulb {
        Ok(())
    } else {
        Err(AirError::AboveDryBulb { what, value: kelvin - ZERO_CELSIUS, dry_bulb: dry_bulb - ZERO_CELSIUS })
    }
}
