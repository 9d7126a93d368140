//! The line between two units: one end feeds it, both switch it. A meter on direct volts sees it wobble, stand or be silent.

/// The line as it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Volts that the feeding end puts on it.
    pub volts: f64,
    /// Resistance of the feed, ohm.
    pub feed_ohms: f64,
    /// Resistance of the core to the other end and of that end's receiver, ohm.
    pub core_ohms: f64,
    /// What joins the line to its return where it should not: wet splice, wrong core, ohm.
    pub fault_ohms: f64,
    /// Whether the feeding end switches.
    pub near_talks: bool,
    /// Whether the far end answers.
    pub far_answers: bool,
}

/// What a meter shows at the feeding end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// Next to nothing.
    Silent,
    /// A voltage that stands still.
    Steady,
    /// A voltage that moves with the traffic.
    Wobbles,
}

/// Below this a line is silent, V. Levels differ from design to design; judgement.
const SILENT: f64 = 2.0;
/// A swing below this share of the feed's voltage is no traffic. Judgement.
const SWING: f64 = 0.15;
/// Resistance of a receiver, ohm. Judgement.
const RECEIVER: f64 = 1_000.0;

impl Line {
    /// Volts at the feeding end while nobody pulls the line, and while the far end does.
    pub fn levels(&self) -> [f64; 2] {
        let parallel = |a: f64, b: f64| a * b / (a + b);
        let divided = |load: f64| self.volts * load / (self.feed_ohms + load);
        let idle = divided(self.fault_ohms);
        [idle, divided(parallel(self.fault_ohms, self.core_ohms + RECEIVER))]
    }

    /// Whether the two ends understand each other.
    pub fn works(&self) -> bool {
        let [idle, pulled] = self.levels();
        self.near_talks && self.far_answers && idle > SILENT && idle - pulled > SWING * self.volts
    }

    /// What a meter shows.
    pub fn seen(&self) -> Seen {
        let [idle, _] = self.levels();
        if idle < SILENT {
            Seen::Silent
        } else if self.works() {
            Seen::Wobbles
        } else {
            Seen::Steady
        }
    }
}
