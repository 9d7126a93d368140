//! What a class file is given to declare the parameters and branches of one part.

use crate::model::{Branch, Net, Param, ParamIx, Part, PartIx, Spread};
use crate::sheet::{Rating, Sheet};
use crate::test::Spot;
use crate::thermistor::Law;

use super::{Need, PartClass};

/// Why a part cannot be built. The key path is below the part's entry in the sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BuildError {
    /// For example `["ratings", "run_ohm"]`.
    pub path: Vec<String>,
    /// The path is below the nameplate instead.
    pub in_nameplate: bool,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub hint: String,
}

/// A contradiction between ratings: a warning, and the spread to use instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Contradiction {
    pub path: Vec<String>,
    pub what: String,
    pub hint: String,
}

/// Declares the parameters and branches of one part.
#[derive(Debug)]
pub struct PartBuilder<'a> {
    pub(crate) sheet: &'a Sheet,
    pub(crate) entry: usize,
    pub(crate) class: &'static PartClass,
    pub(crate) this: PartIx,
    pub(crate) terminals: Vec<(String, Option<Net>)>,
    pub(crate) params: &'a mut Vec<Param>,
    pub(crate) branches: &'a mut Vec<(PartIx, Branch)>,
    pub(crate) parts: &'a [Part],
    pub(crate) contradictions: Vec<Contradiction>,
}

impl PartBuilder<'_> {
    /// An error about a rating.
    pub fn error(&self, key: &str, what: impl Into<String>, hint: impl Into<String>) -> BuildError {
        BuildError {
            path: vec!["ratings".into(), key.into()],
            in_nameplate: false,
            what: what.into(),
            hint: hint.into(),
        }
    }

    /// An error about ratings as a whole: something needed is not there.
    pub fn missing(&self, what: impl Into<String>, hint: impl Into<String>) -> BuildError {
        BuildError { path: vec!["ratings".into()], in_nameplate: false, what: what.into(), hint: hint.into() }
    }

    /// An error about a value of the nameplate.
    pub fn nameplate_error(&self, key: &str, what: impl Into<String>, hint: impl Into<String>) -> BuildError {
        BuildError { path: vec![key.into()], in_nameplate: true, what: what.into(), hint: hint.into() }
    }

    /// Records that ratings contradict each other; the caller widens the spread.
    pub fn contradiction(&mut self, key: &str, what: impl Into<String>, hint: impl Into<String>) {
        self.contradictions.push(Contradiction {
            path: vec!["ratings".into(), key.into()],
            what: what.into(),
            hint: hint.into(),
        });
    }

    /// The nameplate's supply voltage, V.
    pub fn nameplate_volts(&self) -> f64 {
        self.sheet.nameplate.volts
    }

    /// The nameplate.
    pub fn nameplate(&self) -> &crate::sheet::Nameplate {
        &self.sheet.nameplate
    }

    /// A numeric rating if the sheet gives it or the class has a default.
    ///
    /// # Errors
    /// If it is missing and needed, not a number, or out of its sensible range.
    pub fn optional(&self, key: &str) -> Result<Option<f64>, BuildError> {
        let Some(spec) = self.class.ratings.iter().find(|r| r.key == key) else {
            return Err(self.error(
                key,
                format!("class \"{}\" has no rating `{key}`", self.class.name),
                "report this as a fault of halfsplit",
            ));
        };
        match self.sheet.parts[self.entry].ratings.get(key) {
            Some(Rating::Number(v)) if v.is_finite() && (spec.min..=spec.max).contains(v) => Ok(Some(*v)),
            Some(Rating::Number(v)) => Err(self.error(
                key,
                format!("`{key}` is {v}, which makes no sense for {} ({})", self.class.name, spec.meaning),
                format!(
                    "give a value between {} and {}{}",
                    spec.min,
                    spec.max,
                    if spec.need == Need::Required { "" } else { ", or leave it out" }
                ),
            )),
            Some(_) => Err(self.error(
                key,
                format!("`{key}` should be a number ({})", spec.meaning),
                "write a plain number without quotes",
            )),
            None => match spec.need {
                Need::Default(v) => Ok(Some(v)),
                Need::Optional => Ok(None),
                Need::Required => Err(self.missing(
                    format!("{} needs the rating `{key}`: {}", self.class.name, spec.meaning),
                    format!("add `{key} = …` to its ratings"),
                )),
            },
        }
    }

    /// A numeric rating that is there or defaulted.
    ///
    /// # Errors
    /// As [`Self::optional`], and if it is missing.
    pub fn number(&self, key: &str) -> Result<f64, BuildError> {
        self.optional(key)?.ok_or_else(|| self.error(key, format!("`{key}` is missing"), format!("add `{key} = …`")))
    }

    /// Whether the sheet itself gives a rating.
    pub fn given(&self, key: &str) -> bool {
        self.sheet.parts[self.entry].ratings.contains_key(key)
    }

    /// A word rating.
    pub fn word(&self, key: &str) -> Option<&str> {
        match self.sheet.parts[self.entry].ratings.get(key) {
            Some(Rating::Word(w)) => Some(w),
            _ => None,
        }
    }

    /// A rating that names another part, which must stand earlier in the sheet.
    ///
    /// # Errors
    /// If no earlier part has that id.
    pub fn other_part(&self, key: &str) -> Result<PartIx, BuildError> {
        let id = self.word(key).ok_or_else(|| {
            self.missing(
                format!("{} needs `{key}`: the id of another part", self.class.name),
                format!("add `{key} = \"…\"`"),
            )
        })?;
        self.parts.iter().position(|p| p.id == id).map(PartIx).ok_or_else(|| {
            self.error(
                key,
                format!("there is no part \"{id}\" above this one"),
                "check the id; parts that others name must come first in the sheet",
            )
        })
    }

    /// Spread for a rating: wider if the sheet marks it assumed or leaves it to the default.
    pub fn spread(&self, key: &str, relative: f64) -> Spread {
        let entry = &self.sheet.parts[self.entry];
        if entry.assumed.iter().any(|a| a == key) || !entry.ratings.contains_key(key) {
            Spread::Relative((relative * 3.0).max(0.10))
        } else {
            Spread::Relative(relative)
        }
    }

    /// Declares a parameter.
    pub fn param(&mut self, name: &str, nominal: f64, spread: Spread) -> ParamIx {
        self.params.push(Param { part: self.this, name: name.to_owned(), nominal, spread });
        ParamIx(self.params.len() - 1)
    }

    /// Index of one of the class's terminals.
    ///
    /// # Errors
    /// If the sheet does not wire it.
    pub fn terminal(&self, name: &str) -> Result<usize, BuildError> {
        self.terminals.iter().position(|(n, net)| n == name && net.is_some()).ok_or_else(|| BuildError {
            path: vec!["terminals".into()],
            in_nameplate: false,
            what: format!("terminal {name} of this {} is not wired to anything", self.class.name),
            hint: format!("add `{name} = \"…\"` with the name of its wire"),
        })
    }

    /// Whether the sheet wires a terminal.
    pub fn wired(&self, name: &str) -> bool {
        self.terminal(name).is_ok()
    }

    /// Declares a branch.
    pub fn branch(&mut self, b: Branch) {
        self.branches.push((self.this, b));
    }

    /// Declares a contact between two terminals and its parameters `contact` and `contact ohms`.
    ///
    /// # Errors
    /// If a terminal is not wired.
    pub fn contact(&mut self, a: &str, b: &str, drive: crate::model::Drive, ohms: f64) -> Result<(), BuildError> {
        let (a, b) = (self.terminal(a)?, self.terminal(b)?);
        let existing = |p: &Self, n: &str| p.params.iter().rposition(|x| x.part == p.this && x.name == n).map(ParamIx);
        let stuck = existing(self, "contact").unwrap_or_else(|| self.param("contact", 0.0, Spread::None));
        let ohms =
            existing(self, "contact ohms").unwrap_or_else(|| self.param("contact ohms", ohms, Spread::Relative(0.3)));
        self.branch(Branch::Contact { a, b, drive, stuck, ohms });
        Ok(())
    }

    /// Declares a contact with a state of its own, apart from the part's other contacts: parameter `name`.
    ///
    /// # Errors
    /// If a terminal is not wired.
    pub fn named_contact(
        &mut self,
        name: &str,
        a: &str,
        b: &str,
        drive: crate::model::Drive,
        ohms: f64,
    ) -> Result<(), BuildError> {
        let (a, b) = (self.terminal(a)?, self.terminal(b)?);
        let stuck = self.param(name, 0.0, Spread::None);
        let ohms = self.param(&format!("{name} ohms"), ohms, Spread::Relative(0.3));
        self.branch(Branch::Contact { a, b, drive, stuck, ohms });
        Ok(())
    }

    /// Declares the coil of a contactor or relay from its ratings `coil_volts`, `coil_ohm` and `coil_va`: parameters
    /// `coil ohms` and `coil reactance`.
    ///
    /// # Errors
    /// If a terminal is not wired, or the coil's ohms alone would let through less than it draws.
    pub fn coil(&mut self, a: &str, b: &str) -> Result<crate::model::Role, BuildError> {
        let (volts, resistance, va) = (self.number("coil_volts")?, self.number("coil_ohm")?, self.number("coil_va")?);
        let impedance = volts * volts / va;
        if resistance >= impedance {
            return Err(self.error(
                "coil_ohm",
                format!("{resistance} ohm is more than {volts} V and {va} VA make ({impedance:.0} ohm)"),
                "check `coil_volts`, `coil_ohm` and `coil_va`: a coil's ohms are a fraction of what it has to                  alternating current",
            ));
        }
        let ohms = self.param("coil ohms", resistance, self.spread("coil_ohm", 0.08));
        let reactive = libm::sqrt(impedance * impedance - resistance * resistance);
        let reactance = self.param("coil reactance", reactive, Spread::Relative(0.08));
        let (a, b) = (self.terminal(a)?, self.terminal(b)?);
        self.branch(Branch::Resistor { a, b, ohms, reactance: Some(reactance) });
        Ok(crate::model::Role::CoilDriven { volts })
    }

    /// Declares a heater from its watts at nameplate voltage: parameter `ohms`.
    ///
    /// # Errors
    /// If a terminal is not wired or the watts are missing.
    pub fn heater(&mut self, watts: &str, a: &str, b: &str) -> Result<(), BuildError> {
        let volts = self.nameplate_volts();
        let ohms = volts * volts / self.number(watts)?;
        let ohms = self.param("ohms", ohms, self.spread(watts, 0.04));
        let (a, b) = (self.terminal(a)?, self.terminal(b)?);
        self.branch(Branch::Resistor { a, b, ohms, reactance: None });
        Ok(())
    }

    /// The stream of air that a rating names; inside if the sheet does not say.
    ///
    /// # Errors
    /// If the word is none of them.
    pub fn air_side(&self, key: &str) -> Result<crate::model::AirSide, BuildError> {
        use crate::model::AirSide;
        if !self.given(key) {
            return Ok(AirSide::Inside);
        }
        let words: Vec<&str> = AirSide::WORDS.iter().map(|w| w.1).collect();
        let word = self.word(key).unwrap_or_default();
        AirSide::WORDS.iter().find(|w| w.1 == word).map(|w| w.0).ok_or_else(|| {
            self.error(key, format!("`{key}` says \"{word}\""), format!("write one of: {}", words.join(", ")))
        })
    }

    /// Declares the windings of a hermetic compressor and what else the physics needs of it. `capacitor` in farad, 0 for
    /// one without run capacitor.
    ///
    /// # Errors
    /// If ratings are missing, or the locked-rotor current is not above the rated one.
    pub fn compressor(&mut self, capacitor: f64) -> Result<crate::model::Role, BuildError> {
        let plate = self.nameplate();
        let (plate_rated, plate_locked) = (plate.rated_load_a, plate.locked_rotor_a);
        let rated_a = self.optional("rated_load_a")?.or(plate_rated).ok_or_else(|| {
            self.error(
                "rated_load_a",
                "neither the part nor the nameplate gives the rated-load current",
                "add `rated_load_a` to the nameplate",
            )
        })?;
        let locked_a = self.optional("locked_rotor_a")?.or(plate_locked).ok_or_else(|| {
            self.error(
                "locked_rotor_a",
                "neither the part nor the nameplate gives the locked-rotor current",
                "add `locked_rotor_a` to the nameplate",
            )
        })?;
        if locked_a <= rated_a {
            let what = format!("locked-rotor current {locked_a} A is not above the rated current {rated_a} A");
            let hint = "look at the nameplate again: LRA is usually 4 to 6 times RLA";
            return Err(if self.given("locked_rotor_a") {
                self.error("locked_rotor_a", what, hint)
            } else {
                self.nameplate_error("locked_rotor_a", what, hint)
            });
        }
        let (run, start) = (self.number("run_ohm")?, self.number("start_ohm")?);
        let run_ohms = self.param("run ohms", run, self.spread("run_ohm", 0.03));
        let start_ohms = self.param("start ohms", start, self.spread("start_ohm", 0.03));
        let run_turns = self.param("run turns", 1.0, Spread::None);
        let free = self.param("free", 1.0, Spread::None);
        let pumping = self.param("pumping", 1.0, Spread::Relative(0.03));
        let overload_stuck = self.param("overload stuck", 0.0, Spread::None);
        let overload_trip = self.param("overload trip", 1.0, Spread::Relative(0.05));
        let common_joint = self.param("common joint", 0.0, Spread::None);
        let leads_exchanged = self.param("leads exchanged", 0.0, Spread::None);
        let (c, r, s) = (self.terminal("C")?, self.terminal("R")?, self.terminal("S")?);
        self.branch(Branch::Windings { c, r, s });
        self.earth_leak("R")?;
        Ok(crate::model::Role::Compressor(crate::model::Compressor {
            run_ohms,
            start_ohms,
            run_turns,
            rated_a,
            locked_a,
            capacitor,
            poles: self.number("poles")? as u32,
            free,
            pumping,
            overload_stuck,
            overload_trip,
            common_joint,
            leads_exchanged,
        }))
    }

    /// Declares a leakage from a terminal to the cabinet, parameter `earth leak` in siemens.
    ///
    /// # Errors
    /// If the terminal is not wired.
    pub fn earth_leak(&mut self, terminal: &str) -> Result<(), BuildError> {
        let a = self.terminal(terminal)?;
        let siemens = self.param("earth leak", 1.0 / 200e6, Spread::Relative(0.5));
        self.branch(Branch::EarthLeak { a, siemens });
        Ok(())
    }

    /// The spot named by `senses`.
    ///
    /// # Errors
    /// If it is missing or unknown.
    pub fn spot(&self, key: &str) -> Result<Spot, BuildError> {
        let all: Vec<&str> = Spot::ALL.iter().map(|s| s.key()).collect();
        let word = self.word(key).ok_or_else(|| {
            self.missing(
                format!("{} needs `{key}`: where it sits", self.class.name),
                format!("add `{key} = \"…\"`, one of: {}", all.join(", ")),
            )
        })?;
        Spot::ALL.iter().copied().find(|s| s.key() == word).ok_or_else(|| {
            self.error(
                key,
                format!("\"{word}\" is no place that halfsplit knows"),
                format!("use one of: {}", all.join(", ")),
            )
        })
    }

    /// The thermistor law of the part.
    ///
    /// # Errors
    /// If none is given or it is not usable.
    pub fn thermistor_law(&self) -> Result<Law, BuildError> {
        let ratings = &self.sheet.parts[self.entry].ratings;
        let law = match (ratings.get("steinhart_hart"), ratings.get("table_c_ohm")) {
            (Some(Rating::List(v)), _) if v.len() == 3 => Law::SteinhartHart { a: v[0], b: v[1], c: v[2] },
            (Some(_), _) => {
                return Err(self.error(
                    "steinhart_hart",
                    "three numbers are needed: A, B and C",
                    "write `steinhart_hart = [A, B, C]`",
                ));
            }
            (None, Some(Rating::Table(points))) => Law::Table(points.iter().map(|p| (p[0] + 273.15, p[1])).collect()),
            (None, Some(_)) => {
                return Err(self.error(
                    "table_c_ohm",
                    "a list of pairs is needed",
                    "write `table_c_ohm = [[0, 32650], [25, 10000], …]`",
                ));
            }
            (None, None) => match (self.optional("r25_ohm")?, self.optional("beta_k")?) {
                (Some(r25), Some(beta)) => Law::Beta { r25, beta },
                _ => {
                    return Err(self.missing("a thermistor needs its resistance–temperature law", "add `r25_ohm` and `beta_k`, or `steinhart_hart = [A, B, C]`, or `table_c_ohm = [[°C, ohm], …]`"));
                }
            },
        };
        law.check().map_err(|what| self.error("r25_ohm", what, "correct the thermistor's law"))?;
        Ok(law)
    }
}
