//! What a sound machine would do in a proving run, in words.

use halfsplit_diagnosis::SoundRun;
use halfsplit_units::{Dimension, Preferences, show};

use crate::words::span;

/// How the water should warm, one sentence each; nothing for a machine without a tank.
pub(crate) fn expected(run: &SoundRun, air: Option<f64>, units: &Preferences) -> Vec<String> {
    let temperature = |kelvin: f64| show(kelvin, Dimension::Temperature, units, Some(3.0));
    let rise = |share: f64| show(run.rise * share, Dimension::TemperatureDifference, units, Some(0.5));
    let energy = |joules: f64| show(joules, Dimension::Energy, units, Some(0.06 * joules));
    // Four machines in five lie within one standard deviation and a quarter.
    let (low, high) = (1.0 - 1.25 * run.doubt, 1.0 + 1.25 * run.doubt);
    let in_air = air.map_or(String::new(), |t| format!(", in air of {}", temperature(t)));
    let mut out = vec![format!(
        "half an hour by the compressor warms water of about {} by {} at the lower sensor and takes about {}: a COP of {:.1} to {:.1}{in_air}",
        temperature(run.water),
        span(&rise(low), &rise(high)),
        energy(run.electricity),
        run.cop * low,
        run.cop * high,
    )];
    if let Some(h) = &run.heat_up {
        out.push(format!(
            "a full heat-up from {} to {} by the compressor alone, the tap shut, takes about {} and {}",
            temperature(run.heat_up_from),
            temperature(run.heat_up_to),
            hours(h.time),
            energy(h.electricity),
        ));
    }
    out
}

/// "6 h 40 min": to ten minutes, nobody knows it better.
fn hours(seconds: f64) -> String {
    let tens = libm::round(seconds / 600.0) as u64;
    match (tens / 6, tens % 6 * 10) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_to_ten_minutes() {
        assert_eq!(hours(24_000.0), "6 h 40 min");
        assert_eq!(hours(7190.0), "2 h");
        assert_eq!(hours(1700.0), "30 min");
    }
}
