//! Codes as a technician reads them in his own manual. A sheet's table maps them to detections; a code that is in no
//! table is kept as text, and what such codes usually watch is told. A code names a detection, never a part.

use crate::Machine;

/// What boards detect, and what may lie behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Watched {
    /// What the board looks at.
    pub what: &'static str,
    /// What could be behind it.
    pub behind: &'static str,
    /// Words that stand in such a code's text.
    words: &'static [&'static str],
}

/// Detections and their physical causes; common practice, no source.
pub const WATCHED: &[Watched] = &[
    Watched {
        what: "no compressor current after some starts",
        behind: "relay or driver, wire, open winding, overload open because of capacitor, seizure or heat, supply lost under load, the current sensor",
        words: &["compressor", "start", "current", "locked", "run"],
    },
    Watched {
        what: "a sensor out of its range",
        behind: "sensor open or shorted, its plug, the board's input; a truly extreme temperature",
        words: &["sensor", "thermistor", "probe", "range", "open circuit", "short circuit"],
    },
    Watched {
        what: "the discharge too hot",
        behind: "low charge, a restriction, the valve shut, high condensing temperature, a hot room, a worn compressor, the sensor",
        words: &["discharge", "overheat", "high temperature"],
    },
    Watched {
        what: "the evaporating temperature too low",
        behind: "filter, fan, ice, cold air, low charge, a restriction, the coil sensor",
        words: &["evaporat", "coil", "freez", "frost", "low temperature"],
    },
    Watched {
        what: "a float or pan switch open",
        behind: "a clogged drain, a machine that is not level, a stuck float, its wire",
        words: &["float", "water", "drain", "condensate", "pan", "bucket"],
    },
    Watched {
        what: "no superheat",
        behind: "valve open, overcharge, a compressor that does not pump, a suction sensor that hangs, exchanged plugs",
        words: &["superheat", "liquid", "flood"],
    },
    Watched {
        what: "the tank too hot",
        behind: "a welded element relay, a sensor out of its well, a setting too high, many small draws",
        words: &["tank", "overtemperature", "limit"],
    },
    Watched {
        what: "communication lost",
        behind: "wire order, a splice, either unit without power, a low-voltage rail that a load shorts, a port",
        words: &["comm", "link", "signal", "serial"],
    },
    Watched {
        what: "the bus voltage too low or too high",
        behind: "a loose lug, brown-out, bridge or bus capacitor, inrush relay; surge, wrong supply",
        words: &["voltage", "bus", "volt", "power supply"],
    },
    Watched {
        what: "the module's current too high",
        behind: "module shorted, compressor earthed or seized, liquid, high condensing temperature, phases exchanged, a loose plug",
        words: &["overcurrent", "module", "inverter", "phase"],
    },
    Watched {
        what: "a fan's speed lost",
        behind: "motor, plug, ice or something in the way, wind, its logic supply, the feedback input",
        words: &["fan", "speed", "blower", "motor"],
    },
    Watched {
        what: "a pressure switch open",
        behind: "dirty condenser or filter, a fan, overcharge or air (high); low charge, a restriction, cold air (low); the switch itself",
        words: &["pressure", "hp", "lp"],
    },
];

/// What codes like this usually watch: those whose words stand in its text, or all where none does.
pub fn usually_watched(text: &str) -> Vec<&'static Watched> {
    let text = text.to_lowercase();
    let named: Vec<&Watched> = WATCHED.iter().filter(|w| w.words.iter().any(|x| text.contains(x))).collect();
    if named.is_empty() { WATCHED.iter().collect() } else { named }
}

impl Machine {
    /// What the display shows for a code of the sheet's table, by the detection that the code stands for; `None` for a
    /// code that is in no table, or stands for no detection of this sheet.
    pub fn shown_for_code(&self, code: &str) -> Option<&str> {
        let plain = |s: &str| s.trim().to_lowercase().replace([' ', '-', '.'], "");
        let entry = self.sheet.codes.iter().find(|c| plain(&c.code) == plain(code))?;
        let detection = self.detections.iter().find(|d| Some(&d.id) == entry.detection.as_ref())?;
        Some(&detection.shows)
    }

    /// What is known of a code: what the manual says and where, and what it could be.
    pub fn about_code(&self, code: &str) -> String {
        let plain = |s: &str| s.trim().to_lowercase().replace([' ', '-', '.'], "");
        match self.sheet.codes.iter().find(|c| plain(&c.code) == plain(code)) {
            Some(c) => {
                let page = c.page.as_ref().map_or(String::new(), |p| format!(" (manual, page {p})"));
                let to = match self.shown_for_code(code) {
                    Some(shows) => format!(" It stands for the detection \"{shows}\"."),
                    None => String::new(),
                };
                format!("{}: {}{page}.{to} A code is a detection that fired; it names no part.", c.code, c.says)
            }
            None => {
                let kinds = usually_watched(code);
                let list: Vec<String> = kinds.iter().map(|w| format!("{} (behind it: {})", w.what, w.behind)).collect();
                format!(
                    "{} is in no table of this sheet and is kept as text. Such codes usually watch: {}.",
                    code.trim(),
                    list.join("; ")
                )
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_narrow_what_a_code_watches() {
        let fan = usually_watched("P4 fan speed");
        assert!(fan.len() < WATCHED.len() && fan.iter().any(|w| w.what.contains("fan")));
        assert_eq!(usually_watched("P4").len(), WATCHED.len());
    }
}
