//! The kinds of quantity that a technician reads or a sheet states.

use core::fmt;
use core::str::FromStr;

use serde::{Deserialize, Serialize};

macro_rules! dimensions {
    ($($(#[$doc:meta])* $variant:ident, $name:literal, $words:literal, $example:literal;)*) => {
        /// A kind of quantity. Values of one dimension share one SI unit inside, given with each.
        ///
        /// Some physical dimensions appear more than once, because a technician must not confuse
        /// them: a temperature and a difference, pressures with different zeros.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        #[non_exhaustive]
        pub enum Dimension {
            $($(#[$doc])* $variant,)*
        }

        impl Dimension {
            /// Every dimension, in a fixed order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            /// The name used in files: `snake_case`, the same as in JSON.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }

            /// What it is in words, for messages: "a resistance".
            #[must_use]
            pub const fn in_words(self) -> &'static str {
                match self { $(Self::$variant => $words,)* }
            }

            /// An entry as somebody might type it, for messages and hints: "4.7 kΩ".
            #[must_use]
            pub const fn example(self) -> &'static str {
                match self { $(Self::$variant => $example,)* }
            }
        }
    };
}

dimensions! {
    /// Ohms.
    Resistance, "resistance", "a resistance", "4.7 kOhm";
    /// Farads.
    Capacitance, "capacitance", "a capacitance", "12.5 uF";
    /// Henries.
    Inductance, "inductance", "an inductance", "120 mH";
    /// Volts; alternating or direct as the unit's [`Waveform`](crate::Waveform) says, or left open.
    Voltage, "voltage", "a voltage", "240 V";
    /// Amperes; alternating or direct as the unit's [`Waveform`](crate::Waveform) says, or left open.
    Current, "current", "a current", "1.8 A";
    /// Watts of true power, electrical or thermal.
    Power, "power", "a power", "420 W";
    /// Volt-amperes.
    ApparentPower, "apparent_power", "an apparent power", "40 VA";
    /// Joules.
    Energy, "energy", "an energy", "7.7 kWh";
    /// Hertz.
    Frequency, "frequency", "a frequency", "60 Hz";
    /// Revolutions per second.
    RotationalSpeed, "rotational_speed", "a rotational speed", "1075 rpm";
    /// Kelvins, a point on the scale.
    Temperature, "temperature", "a temperature", "21.5 C";
    /// Kelvins, a distance on the scale.
    TemperatureDifference, "temperature_difference", "a temperature difference", "6 K";
    /// Pascals above the surrounding air.
    PressureGauge, "pressure_gauge", "a gauge pressure", "118 psig";
    /// Pascals from a perfect vacuum.
    PressureAbsolute, "pressure_absolute", "an absolute pressure", "14.7 psia";
    /// Pascals between two places: across a filter, a coil, a duct.
    PressureDifference, "pressure_difference", "a pressure difference", "0.5 inH2O";
    /// Pascals from a perfect vacuum, in the range of a vacuum gauge.
    Vacuum, "vacuum", "a vacuum", "400 micron";
    /// Seconds.
    Time, "time", "a time", "7 s";
    /// Kilograms.
    Mass, "mass", "a mass", "0.80 kg";
    /// Metres.
    Length, "length", "a length", "3.5 m";
    /// Square metres.
    Area, "area", "an area", "1.5 m2";
    /// Cubic metres.
    Volume, "volume", "a volume", "190 L";
    /// Cubic metres per second.
    VolumeFlow, "volume_flow", "a flow", "350 CFM";
    /// Kilograms per second.
    MassFlow, "mass_flow", "a mass flow", "40 kg/h";
    /// Metres per second.
    Velocity, "velocity", "an air or water speed", "2.5 m/s";
    /// Newton metres.
    Torque, "torque", "a torque", "12 Nm";
    /// A pure number; one per cent is 0.01.
    Ratio, "ratio", "a percentage or ratio", "95 %";
    /// Relative humidity, 0 to 1.
    Humidity, "humidity", "a relative humidity", "55 %";
    /// A whole number of things: valve steps, blinks, starts.
    Count, "count", "a whole number", "240 steps";
    /// No number: what was seen, heard, smelled or felt, in words.
    Words, "words", "an observation in words", "hums 7 s then silent";
}

impl Dimension {
    /// Whether nothing below zero can exist (zero being the SI zero).
    #[must_use]
    pub const fn never_negative(self) -> bool {
        matches!(
            self,
            Self::Resistance
                | Self::Capacitance
                | Self::Inductance
                | Self::ApparentPower
                | Self::Frequency
                | Self::Temperature
                | Self::PressureAbsolute
                | Self::Vacuum
                | Self::Time
                | Self::Mass
                | Self::Length
                | Self::Area
                | Self::Volume
                | Self::Humidity
                | Self::Count
        )
    }

    /// Whether "ten times as much" has a meaning that a technician would recognise: false where
    /// the zero of the scale is a convention (temperatures, gauge pressures) and for words.
    #[must_use]
    pub const fn has_ratios(self) -> bool {
        !matches!(self, Self::Temperature | Self::PressureGauge | Self::PressureAbsolute | Self::Words)
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A dimension name that this version does not know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ParseDimensionError(pub String);

impl fmt::Display for ParseDimensionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\"{}\" is not a kind of quantity; use one of:", self.0)?;
        for (index, dimension) in Dimension::ALL.iter().enumerate() {
            write!(f, "{} {}", if index == 0 { "" } else { "," }, dimension.name())?;
        }
        Ok(())
    }
}

impl core::error::Error for ParseDimensionError {}

impl FromStr for Dimension {
    type Err = ParseDimensionError;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::ALL
            .iter()
            .copied()
            .find(|dimension| dimension.name() == text)
            .ok_or_else(|| ParseDimensionError(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_those_of_the_files() {
        for dimension in Dimension::ALL {
            let json = serde_json::to_string(dimension).expect("a name");
            assert_eq!(json, format!("\"{}\"", dimension.name()));
            assert_eq!(dimension.name().parse(), Ok(*dimension));
        }
        let error = "ohms".parse::<Dimension>().expect_err("no such name").to_string();
        assert!(error.contains("\"ohms\"") && error.contains("resistance"), "{error}");
    }

    #[test]
    fn every_example_is_an_entry_of_its_dimension() {
        for dimension in Dimension::ALL {
            let entry =
                crate::parse_entry(dimension.example(), Some(*dimension)).unwrap_or_else(|error| panic!("{error}"));
            assert_eq!(entry.dimension(), Some(*dimension));
        }
    }
}
