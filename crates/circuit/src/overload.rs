//! A thermal overload: a disc that the motor current heats and the shell warms, which opens the line when hot and
//! closes it again when cool.
//!
//! First order: `tau dT/dt = T_shell + k I² - T`. While the contact is open there is no current and the disc goes
//! back to the shell's temperature with a time constant of its own. Pure functions; temperatures in kelvin, times in
//! seconds. Whoever keeps the timeline opens and closes the switch in the network.

use core::fmt;

/// A thermal overload.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Overload {
    /// Temperature at which the disc snaps open, kelvin.
    pub opens_at: f64,
    /// Temperature at which it snaps closed, kelvin. Below `opens_at`.
    pub closes_at: f64,
    /// Rise of the disc above the shell per square ampere of lasting current, kelvin per square ampere.
    pub rise: f64,
    /// Time constant with current, seconds.
    pub heating: f64,
    /// Time constant with open contact, seconds.
    pub cooling: f64,
}

/// What is known of an overload.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverloadRating {
    /// Temperature at which it opens, kelvin.
    pub opens_at: f64,
    /// Temperature at which it closes, kelvin.
    pub closes_at: f64,
    /// Greatest current that it carries for ever (amperes) on a shell of this temperature (kelvin).
    pub carries: (f64, f64),
    /// At this current (amperes), from a shell at this temperature (kelvin), it opens after so long (seconds):
    /// usually the locked-rotor current at room temperature.
    pub trips: (f64, f64, f64),
    /// Time constant with open contact, seconds.
    pub cooling: f64,
}

/// A rating that no overload can have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OverloadError {
    /// Temperatures not in the order shell, closes, opens; or a value that is not above zero.
    Order,
    /// The must-trip current would not trip it.
    NeverTrips {
        /// The must-trip current, amperes.
        amps: f64,
        /// The temperature that the disc would reach, kelvin.
        reaches: f64,
    },
}

impl fmt::Display for OverloadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Order => f.write_str(
                "overload: give positive values, with shell and closing temperature below the opening temperature",
            ),
            Self::NeverTrips { amps, reaches } => write!(
                f,
                "overload: {amps} A would only warm it to {reaches:.1} K, below its opening temperature; \
                 give a higher trip current or a lower carried current"
            ),
        }
    }
}

impl core::error::Error for OverloadError {}

impl Overload {
    /// An overload that meets a rating exactly.
    ///
    /// # Errors
    /// [`OverloadError`] when the rating contradicts itself.
    pub fn calibrated(rating: &OverloadRating) -> Result<Self, OverloadError> {
        let (carried, warm_shell) = rating.carries;
        let (tripping, cold_shell, after) = rating.trips;
        let positive = [carried, tripping, after, rating.cooling, cold_shell, warm_shell];
        let in_order =
            warm_shell < rating.opens_at && cold_shell < rating.opens_at && rating.closes_at < rating.opens_at;
        if !(in_order && positive.iter().all(|v| *v > 0.0 && v.is_finite())) {
            return Err(OverloadError::Order);
        }
        let rise = (rating.opens_at - warm_shell) / (carried * carried);
        let lasting = rise * tripping * tripping;
        let needed = rating.opens_at - cold_shell;
        if lasting <= needed {
            return Err(OverloadError::NeverTrips { amps: tripping, reaches: cold_shell + lasting });
        }
        Ok(Self {
            opens_at: rating.opens_at,
            closes_at: rating.closes_at,
            rise,
            heating: -after / libm::log1p(-needed / lasting),
            cooling: rating.cooling,
        })
    }

    /// Temperature of the disc (kelvin) after `seconds` at `amps` RMS on a shell at `shell` kelvin, from `start`
    /// kelvin.
    #[must_use]
    pub fn temperature_after(&self, seconds: f64, amps: f64, shell: f64, start: f64) -> f64 {
        let lasting = shell + self.rise * amps * amps;
        lasting + (start - lasting) * libm::exp(-seconds / self.heating)
    }

    /// Temperature of the disc (kelvin) after `seconds` with open contact.
    #[must_use]
    pub fn temperature_after_open(&self, seconds: f64, shell: f64, start: f64) -> f64 {
        shell + (start - shell) * libm::exp(-seconds / self.cooling)
    }

    /// Seconds until it opens at `amps` RMS on a shell at `shell` kelvin, from a disc at `start` kelvin; `None` when
    /// it never does.
    #[must_use]
    pub fn time_to_trip(&self, amps: f64, shell: f64, start: f64) -> Option<f64> {
        if start >= self.opens_at {
            return Some(0.0);
        }
        let lasting = shell + self.rise * amps * amps;
        approach(start, lasting, self.opens_at, self.heating)
    }

    /// The shell temperature (kelvin) at which `amps` RMS just open it.
    #[must_use]
    pub fn shell_that_opens(&self, amps: f64) -> f64 {
        self.opens_at - self.rise * amps * amps
    }

    /// Seconds until it closes again on a shell at `shell` kelvin, from a disc at `start` kelvin (usually
    /// `opens_at`); `None` as long as the shell itself is too hot.
    #[must_use]
    pub fn time_to_reset(&self, shell: f64, start: f64) -> Option<f64> {
        if start <= self.closes_at {
            return Some(0.0);
        }
        approach(start, shell, self.closes_at, self.cooling)
    }

    /// The current (RMS amperes) that it just carries for ever on a shell at `shell` kelvin; 0 when the shell alone
    /// opens it.
    #[must_use]
    pub fn carries(&self, shell: f64) -> f64 {
        ((self.opens_at - shell).max(0.0) / self.rise).sqrt()
    }
}

/// Time for an exponential from `start` towards `end` to pass `level`.
fn approach(start: f64, end: f64, level: f64, time_constant: f64) -> Option<f64> {
    let share = (level - start) / (end - start);
    (share > 0.0 && share < 1.0).then(|| -time_constant * libm::log1p(-share))
}
