//! What can go wrong with a request, said so that it can be put right.

use std::fmt;

use super::Refrigerant;

/// Which quantity was outside its range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// K
    Temperature,
    /// Pa, absolute
    Pressure,
    /// J/kg
    Enthalpy,
    /// J/(kg K)
    Entropy,
    /// kg/kg, 0 to 1
    Quality,
}

/// Why a property cannot be given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RefrigerantError {
    /// The value lies outside the range served, or is not a number.
    OutOfRange {
        /// The refrigerant asked for.
        refrigerant: Refrigerant,
        /// What was given.
        quantity: Quantity,
        /// Its value in SI units.
        value: f64,
        /// Lowest value served, same unit.
        low: f64,
        /// Highest value served, same unit.
        high: f64,
    },
    /// Pressure and temperature lie in the two-phase region, where they do not fix the state.
    TwoPhase {
        /// The refrigerant asked for.
        refrigerant: Refrigerant,
        /// Pa
        p: f64,
        /// K
        t: f64,
        /// Bubble temperature at `p`, K.
        t_bubble: f64,
        /// Dew temperature at `p`, K.
        t_dew: f64,
    },
    /// The pressure is above the highest at which saturation is tabulated.
    AboveSaturation {
        /// The refrigerant asked for.
        refrigerant: Refrigerant,
        /// Pa
        p: f64,
        /// Highest pressure of the saturation table, Pa.
        p_high: f64,
        /// Critical pressure, Pa.
        p_critical: f64,
    },
    /// The state falls in the small region between the top of the saturation table and the critical point.
    NearCritical {
        /// The refrigerant asked for.
        refrigerant: Refrigerant,
        /// Pa
        p: f64,
    },
    /// The iteration for the state did not settle.
    NotConverged {
        /// The refrigerant asked for.
        refrigerant: Refrigerant,
        /// Pa
        p: f64,
        /// The other given quantity.
        quantity: Quantity,
        /// Its value in SI units.
        value: f64,
    },
}

const CELSIUS: f64 = 273.15;

/// A value in the unit that a technician reads.
struct Shown(Quantity, f64);

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Quantity::Temperature => write!(f, "{:.2} degC", self.1 - CELSIUS),
            Quantity::Pressure => write!(f, "{:.1} kPa absolute", self.1 / 1e3),
            Quantity::Enthalpy => write!(f, "{:.2} kJ/kg", self.1 / 1e3),
            Quantity::Entropy => write!(f, "{:.4} kJ/(kg K)", self.1 / 1e3),
            Quantity::Quality => write!(f, "{}", self.1),
        }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Quantity::Temperature => "temperature",
            Quantity::Pressure => "pressure",
            Quantity::Enthalpy => "enthalpy",
            Quantity::Entropy => "entropy",
            Quantity::Quality => "quality",
        })
    }
}

impl fmt::Display for RefrigerantError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            RefrigerantError::OutOfRange { refrigerant, quantity, value, low, high } => {
                write!(
                    f,
                    "{refrigerant}: {quantity} {} is outside {} to {}; ",
                    Shown(quantity, value),
                    Shown(quantity, low),
                    Shown(quantity, high)
                )?;
                f.write_str(match quantity {
                    Quantity::Pressure => "check the unit, and that a gauge reading was turned into absolute pressure",
                    Quantity::Temperature => "check the unit and the reading",
                    Quantity::Enthalpy | Quantity::Entropy => {
                        "check the pressure and the reference state that the value belongs to"
                    }
                    Quantity::Quality => "quality is the vapour's share of the mass",
                })
            }
            RefrigerantError::TwoPhase { refrigerant, p, t, t_bubble, t_dew } => write!(
                f,
                "{refrigerant}: {:.2} degC at {:.1} kPa absolute lies between bubble ({:.2} degC) and dew \
                 ({:.2} degC), where liquid and vapour stand together; give quality or enthalpy instead of temperature",
                t - CELSIUS,
                p / 1e3,
                t_bubble - CELSIUS,
                t_dew - CELSIUS
            ),
            RefrigerantError::AboveSaturation { refrigerant, p, p_high, p_critical } => {
                write!(
                    f,
                    "{refrigerant}: no saturation temperature at {:.1} kPa absolute; the table ends at {:.1} kPa",
                    p / 1e3,
                    p_high / 1e3
                )?;
                if p >= p_critical {
                    write!(
                        f,
                        " and the critical pressure is {:.1} kPa: the gas cools without condensing, so use its \
                         temperature itself in place of subcooling",
                        p_critical / 1e3
                    )
                } else {
                    write!(
                        f,
                        ", just below the critical pressure {:.1} kPa; take the reading at a lower pressure",
                        p_critical / 1e3
                    )
                }
            }
            RefrigerantError::NearCritical { refrigerant, p } => write!(
                f,
                "{refrigerant}: the state at {:.1} kPa absolute is too near the critical point for the tables; \
                 move some per cent away in pressure or temperature",
                p / 1e3
            ),
            RefrigerantError::NotConverged { refrigerant, p, quantity, value } => write!(
                f,
                "{refrigerant}: no state found at {:.1} kPa absolute with {quantity} {}; please report these figures",
                p / 1e3,
                Shown(quantity, value)
            ),
        }
    }
}

impl std::error::Error for RefrigerantError {}
