//! A single-phase bridge that charges a capacitor: the bus voltage, its ripple, and what the mains sees.

use super::bus::BusCapacitor;
use super::diodes::{JUNCTION_VOLTS, Junction};
use core::f64::consts::{PI, SQRT_2};

/// The four diodes of a bridge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bridge {
    /// From the first mains side to plus.
    pub upper_first: Junction,
    /// From the second mains side to plus.
    pub upper_second: Junction,
    /// From minus to the first mains side.
    pub lower_first: Junction,
    /// From minus to the second mains side.
    pub lower_second: Junction,
}

impl Bridge {
    /// Four sound diodes.
    pub const SOUND: Bridge = Bridge {
        upper_first: Junction::Sound,
        upper_second: Junction::Sound,
        lower_first: Junction::Sound,
        lower_second: Junction::Sound,
    };

    /// Whether a half wave finds its way to the bus: the one in which the first side is positive, the other.
    fn conducts(&self) -> [bool; 2] {
        let passes = |a: Junction, b: Junction| a != Junction::Open && b != Junction::Open;
        [passes(self.upper_first, self.lower_second), passes(self.upper_second, self.lower_first)]
    }

    /// Whether a diode that blocks no more joins the two sides through its neighbour.
    fn shorts(&self) -> bool {
        let pair = |a: Junction, b: Junction| {
            (a == Junction::Shorted && b != Junction::Open) || (b == Junction::Shorted && a != Junction::Open)
        };
        pair(self.upper_first, self.upper_second) || pair(self.lower_first, self.lower_second)
    }
}

/// A bridge on its mains, with the capacitor behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rectifier {
    /// Mains, V RMS, without load.
    pub volts: f64,
    /// Mains, Hz.
    pub hertz: f64,
    /// All that stands in series on the mains side: line, filter, inrush path, ohm.
    pub ohms: f64,
    /// The diodes.
    pub bridge: Bridge,
    /// The bus capacitor.
    pub capacitor: BusCapacitor,
}

/// The bus as it settles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bus {
    /// Mean volts, what a meter on direct volts shows.
    pub mean: f64,
    /// Lowest within a mains period, V.
    pub least: f64,
    /// Highest within a mains period, V.
    pub most: f64,
    /// Mains current, A RMS.
    pub amps: f64,
    /// Power taken from the mains, W.
    pub watts: f64,
}

impl Bus {
    /// A bus that gets nothing.
    pub const DEAD: Bus = Bus { mean: 0.0, least: 0.0, most: 0.0, amps: 0.0, watts: 0.0 };

    /// Peak-to-peak ripple, V.
    pub fn ripple(&self) -> f64 {
        self.most - self.least
    }
}

/// What a rectifier does with its load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fed {
    /// The bus stands.
    Settles(Bus),
    /// The load is more than comes through: the voltage falls until the load lets go.
    Collapses,
    /// A diode shorts the mains: so many A RMS until something opens.
    Shorts(f64),
}

/// Steps in a mains period. Backward Euler errs by 0.2 V of 325 with these (against ngspice).
const STEPS: usize = 1024;
/// Mains periods after which a bus that has not settled is taken as it is.
const MOST_PERIODS: usize = 120;
/// A bus below this share of the mains' peak has collapsed.
const COLLAPSED: f64 = 0.35;

impl Rectifier {
    /// Settles the bus under a load that takes the same power at any voltage, as a switch-mode supply or a regulated drive
    /// does, W.
    ///
    /// Backward Euler over mains periods until two agree; an answer is a function of the arguments alone.
    pub fn settle(&self, load_watts: f64) -> Fed {
        let peak = SQRT_2 * self.volts;
        let series = self.ohms.max(1e-3);
        if self.bridge.shorts() {
            // A half wave through two diodes: its RMS value is half of the peak.
            return Fed::Shorts(0.5 * peak / series);
        }
        let conducts = self.bridge.conducts();
        let drop = 2.0 * JUNCTION_VOLTS;
        if conducts == [false, false] || peak <= drop || self.capacitor.farads <= 0.0 {
            return Fed::Settles(Bus::DEAD);
        }
        let dt = 1.0 / (self.hertz * STEPS as f64);
        let resistance = series + self.capacitor.series_ohms;
        let wave: Vec<f64> = (1..=STEPS)
            .map(|k| {
                let s = peak * libm::sin(2.0 * PI * k as f64 / STEPS as f64);
                if (s >= 0.0 && conducts[0]) || (s < 0.0 && conducts[1]) { s.abs() - drop } else { 0.0 }
            })
            .collect();
        let mut stored = peak - drop;
        let mut bus = Bus::DEAD;
        for _ in 0..MOST_PERIODS {
            let began = stored;
            let (mut sum, mut squares, mut energy) = (0.0, 0.0, 0.0);
            (bus.least, bus.most) = (f64::INFINITY, 0.0);
            for drive in &wave {
                if stored < COLLAPSED * peak {
                    return Fed::Collapses;
                }
                let load = load_watts / stored;
                // Current through the bridge, from what the capacitor will hold at the end of the step.
                let held = stored - load * dt / self.capacitor.farads;
                let gain = dt / (self.capacitor.farads * resistance);
                let amps = ((drive - held + self.capacitor.series_ohms * load) / (resistance * (1.0 + gain))).max(0.0);
                stored = held + amps * dt / self.capacitor.farads;
                let at_terminals = stored + self.capacitor.series_ohms * (amps - load);
                sum += at_terminals;
                squares += amps * amps;
                energy += amps * (drive + drop);
                bus.least = bus.least.min(at_terminals);
                bus.most = bus.most.max(at_terminals);
            }
            let n = STEPS as f64;
            (bus.mean, bus.amps, bus.watts) = (sum / n, libm::sqrt(squares / n), energy / n);
            if (stored - began).abs() < 1e-6 * peak {
                break;
            }
        }
        Fed::Settles(bus)
    }
}
