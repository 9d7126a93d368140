//! States and saturation points as returned to the caller.

/// In which form the refrigerant is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Phase {
    /// Below its bubble temperature.
    Liquid,
    /// Liquid and vapour together; `quality` is the vapour's share of the mass, by enthalpy between bubble and dew.
    TwoPhase {
        /// kg/kg, 0 to 1
        quality: f64,
    },
    /// At or above its dew temperature.
    Vapour,
    /// Above the critical pressure.
    Supercritical,
}

/// Heat capacities and speed of sound; defined in one phase only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Response {
    /// Heat capacity at constant pressure, J/(kg K).
    pub cp: f64,
    /// Heat capacity at constant volume, J/(kg K).
    pub cv: f64,
    /// m/s
    pub speed_of_sound: f64,
}

/// A thermodynamic state; SI units per kilogram, reference 200 kJ/kg and 1 kJ/(kg K) in saturated liquid at 0 degC.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Temperature, K.
    pub t: f64,
    /// Absolute pressure, Pa.
    pub p: f64,
    /// Density, kg/m3.
    pub rho: f64,
    /// Enthalpy, J/kg.
    pub h: f64,
    /// Entropy, J/(kg K).
    pub s: f64,
    /// Internal energy, J/kg.
    pub u: f64,
    /// Liquid, two-phase, vapour or supercritical.
    pub phase: Phase,
    /// None where liquid and vapour stand together.
    pub response: Option<Response>,
}

impl State {
    /// The vapour's share of the mass, where liquid and vapour stand together.
    pub fn quality(&self) -> Option<f64> {
        match self.phase {
            Phase::TwoPhase { quality } => Some(quality),
            _ => None,
        }
    }
}

/// One end of the dome.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SaturationEnd {
    /// K
    pub t: f64,
    /// kg/m3
    pub rho: f64,
    /// J/kg
    pub h: f64,
    /// J/(kg K)
    pub s: f64,
}

/// Both ends of the dome at one pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Saturation {
    /// Absolute pressure, Pa.
    pub p: f64,
    /// Where the last bubble condenses: saturated liquid.
    pub bubble: SaturationEnd,
    /// Where the last drop evaporates: saturated vapour.
    pub dew: SaturationEnd,
}

impl Saturation {
    /// Dew less bubble temperature, K; zero for a pure fluid.
    pub fn glide(&self) -> f64 {
        self.dew.t - self.bubble.t
    }

    /// The state with the vapour's share `quality` (0 to 1).
    ///
    /// Enthalpy, entropy and specific volume are mixed from the two ends. In a blend with glide the temperature between the ends is
    /// taken as linear in quality and the ends' compositions as those of the whole: common practice, good to some tenths of a kelvin.
    pub fn mix(&self, quality: f64) -> State {
        let (b, d) = (&self.bubble, &self.dew);
        let between = |low: f64, high: f64| low + quality * (high - low);
        let rho = 1.0 / between(1.0 / b.rho, 1.0 / d.rho);
        let h = between(b.h, d.h);
        State {
            t: between(b.t, d.t),
            p: self.p,
            rho,
            h,
            s: between(b.s, d.s),
            u: h - self.p / rho,
            phase: Phase::TwoPhase { quality },
            response: None,
        }
    }
}

/// Limits inside which a refrigerant's properties are served.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Lowest temperature, of saturation and of states, K.
    pub t_low: f64,
    /// Highest temperature of states, K.
    pub t_high: f64,
    /// Highest temperature at which saturation is tabulated, K.
    pub t_saturation_high: f64,
    /// Lowest pressure at which saturation is tabulated, Pa absolute.
    pub p_saturation_low: f64,
    /// Highest pressure at which saturation is tabulated, Pa absolute.
    pub p_saturation_high: f64,
    /// Lowest pressure of states, Pa absolute.
    pub p_low: f64,
    /// Highest pressure of states, Pa absolute.
    pub p_high: f64,
}

/// The critical point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CriticalPoint {
    /// K
    pub t: f64,
    /// Pa
    pub p: f64,
    /// kg/m3
    pub rho: f64,
}
