//! What people reported about the power. Nothing here certifies anything.

use halfsplit_journal::{Event, SafetyKind};
use halfsplit_machine::Role;
use halfsplit_machine::test::{Hazard, Measure, PowerState, Test};

use crate::error::{JobError, What};

/// A report with its who and when.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct Report {
    /// Who says so.
    pub who: String,
    /// When, RFC 3339.
    pub at: String,
}

/// The power as reported. A report that is missing is not the same as its opposite.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize, schemars::JsonSchema)]
pub struct PowerView {
    /// Switched off and secured.
    pub isolated: Option<Report>,
    /// Tested and found dead, with a tester proved before and after.
    pub proved_dead: Option<Report>,
    /// Capacitors bled and below 10 V.
    pub discharged: Option<Report>,
    /// Powered.
    pub live: Option<Report>,
    /// Reports that no longer hold because power came back: what, who, when.
    pub lapsed: Vec<Lapsed>,
}

/// A report that lapsed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct Lapsed {
    /// "isolated", "proved dead" or "discharged".
    pub what: String,
    /// Who had said so.
    pub who: String,
    /// When he had.
    pub at: String,
    /// When it lapsed.
    pub lapsed_at: String,
}

impl PowerView {
    /// The power as reported, in one line.
    #[must_use]
    pub fn in_words(&self) -> String {
        let time = |at: &str| at.get(11..16).unwrap_or(at).to_owned();
        let mut parts = Vec::new();
        for (what, report) in [
            ("isolated", &self.isolated),
            ("discharged", &self.discharged),
            ("proved dead", &self.proved_dead),
            ("live", &self.live),
        ] {
            if let Some(r) = report {
                parts.push(format!("{what} {}", time(&r.at)));
            }
        }
        if parts.is_empty() {
            return "power: nothing reported".into();
        }
        if self.live.is_some() && !self.lapsed.is_empty() {
            parts.push("earlier reports lapsed".into());
        }
        format!("reported {}", parts.join(", "))
    }

    /// Takes in a report.
    pub(crate) fn report(&mut self, event: &Event, kind: SafetyKind, who: &str) {
        let who = if who.is_empty() { event.actor.clone() } else { who.to_owned() };
        let report = Some(Report { who, at: event.time.clone() });
        match kind {
            SafetyKind::Isolated => {
                self.isolated = report;
                self.live = None;
            }
            SafetyKind::ProvedDead => self.proved_dead = report,
            SafetyKind::Discharged => self.discharged = report,
            SafetyKind::Live | SafetyKind::PowerRestored => {
                self.lapse(&event.time);
                self.live = report;
            }
        }
    }

    /// Power came back: what was reported about its absence no longer holds.
    pub(crate) fn lapse(&mut self, at: &str) {
        let standing = [
            ("isolated", self.isolated.take()),
            ("proved dead", self.proved_dead.take()),
            ("discharged", self.discharged.take()),
        ];
        let standing: Vec<_> = standing.into_iter().filter_map(|(what, r)| r.map(|r| (what, r))).collect();
        if !standing.is_empty() {
            self.lapsed = standing
                .into_iter()
                .map(|(what, r)| Lapsed { what: what.into(), who: r.who, at: r.at, lapsed_at: at.to_owned() })
                .collect();
        }
    }

    /// Whether a report makes sense now.
    pub(crate) fn allows(&self, kind: SafetyKind) -> Result<(), JobError> {
        match kind {
            SafetyKind::ProvedDead | SafetyKind::Discharged if self.isolated.is_none() => Err(JobError::new(
                What::Power,
                format!("{} cannot be reported while nobody has reported the supply isolated", name(kind)),
                "switch it off, secure it, and report that first: report isolated",
            )),
            _ => Ok(()),
        }
    }

    /// What still has to be reported before a test's reading is taken, in order.
    pub(crate) fn missing_for(&self, test: &Test, role: Option<&Role>) -> Vec<SafetyKind> {
        let mut missing = Vec::new();
        if test.power == PowerState::Dead {
            if self.isolated.is_none() {
                missing.push(SafetyKind::Isolated);
            }
            if test.hazards.iter().any(|h| matches!(h, Hazard::StoredCharge | Hazard::BusCharge))
                && self.discharged.is_none()
            {
                missing.push(SafetyKind::Discharged);
            }
            if self.proved_dead.is_none() {
                missing.push(SafetyKind::ProvedDead);
            }
        } else if needs_power(test, role) && self.isolated.is_some() {
            missing.push(SafetyKind::PowerRestored);
        }
        missing
    }

    /// Refuses a reading that the reported power state rules out.
    pub(crate) fn permits(&self, test: &Test, role: Option<&Role>) -> Result<(), JobError> {
        let missing = self.missing_for(test, role);
        if missing.is_empty() {
            return Ok(());
        }
        if missing == [SafetyKind::PowerRestored] {
            let since = self.isolated.as_ref().map(|r| format!(" by {} at {}", r.who, r.at)).unwrap_or_default();
            return Err(JobError::new(
                What::Power,
                format!("\"{}\" needs the machine powered, but it was reported isolated{since}", test.id),
                "close up, restore power, and report it: report live",
            ));
        }
        let of = match test.measure {
            Measure::PartFarads(..) => "capacitance on a live or charged part",
            Measure::Insulation(..) => "an insulation test on a live part",
            Measure::Diode(..) => "a diode test on a live part",
            Measure::PartOhms(..) | Measure::PlugOhms(..) | Measure::WireOhms(..) => "ohms on a live part",
            _ => "work on a live part",
        };
        let lapsed = self.lapsed.iter().map(|l| l.what.as_str()).collect::<Vec<_>>().join(", ");
        let lapsed = if self.live.is_some() && !lapsed.is_empty() {
            format!(" (earlier reports lapsed when power came back: {lapsed})")
        } else {
            String::new()
        };
        let steps: Vec<&str> = missing.iter().map(|k| step(*k)).collect();
        let reports: Vec<String> = missing.iter().map(|k| format!("report {}", word(*k))).collect();
        Err(JobError::new(
            What::Power,
            format!("\"{}\" would be {of} as far as anybody has reported{lapsed}", test.id),
            format!("{}; then say so: {}", steps.join(", "), reports.join(", ")),
        ))
    }
}

/// Whether a test can only be made with power on: live tests, and whatever is read off the display.
pub(crate) fn needs_power(test: &Test, role: Option<&Role>) -> bool {
    test.power == PowerState::Live
        || matches!(test.measure, Measure::DisplayLit | Measure::ShownCode | Measure::ShownTemperature(_))
        || (matches!(test.measure, Measure::Look { .. }) && matches!(role, Some(Role::Settings { .. })))
}

/// How it is reported at the prompt.
pub(crate) fn word(kind: SafetyKind) -> &'static str {
    match kind {
        SafetyKind::Isolated => "isolated",
        SafetyKind::ProvedDead => "dead",
        SafetyKind::Discharged => "discharged",
        SafetyKind::Live | SafetyKind::PowerRestored => "live",
    }
}

fn name(kind: SafetyKind) -> &'static str {
    match kind {
        SafetyKind::Isolated => "isolated",
        SafetyKind::ProvedDead => "proved dead",
        SafetyKind::Discharged => "discharged",
        SafetyKind::Live => "live",
        SafetyKind::PowerRestored => "power restored",
    }
}

/// What has to be done for it.
pub(crate) fn step(kind: SafetyKind) -> &'static str {
    match kind {
        SafetyKind::Isolated => "isolate every supply and lock it",
        SafetyKind::Discharged => "bleed the capacitors below 10 V",
        SafetyKind::ProvedDead => "prove it dead (tester on a known source, every pair, tester again)",
        SafetyKind::Live | SafetyKind::PowerRestored => "close up and restore power",
    }
}
