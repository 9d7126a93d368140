//! What sits at each spot, and what the board makes of its sensors.

use halfsplit_machine::test::Spot;
use halfsplit_machine::{Conditions, PartIx, Role, Thermistor};
use halfsplit_refrigeration::LoopPoint;

use crate::Plant;

/// True temperatures, K, by [`Spot::index`], and the standard deviation by which each is to be doubted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Temperatures {
    pub at: [f64; Spot::COUNT],
    pub doubt: [f64; Spot::COUNT],
    /// How far each lies off for one standard deviation by which the water lies off, K: what all of them share.
    pub water: [f64; Spot::COUNT],
}

/// What the board makes of a thermistor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Seen {
    /// A temperature, K.
    Kelvin(f64),
    /// Resistance beyond any believable temperature: colder than anything.
    TooCold,
    /// Resistance next to nothing: hotter than anything.
    TooHot,
}

/// Coldest and hottest temperature that a board takes for real, K. Judgement.
pub const BELIEVABLE: (f64, f64) = (233.15, 418.15);

/// Time constants of the spots, s, by [`Spot::index`]: the compressor's mass makes the discharge slow, the tank's water
/// hardly moves within a phase. Judgement.
pub(crate) const LAG: [f64; Spot::COUNT] =
    [60.0, 90.0, 180.0, 600.0, 180.0, 60.0, 3600.0, 3600.0, 60.0, 60.0, 60.0, 90.0, 90.0, 180.0];

/// Doubt of the suction line for each kelvin of superheat, and the most, K: valves are set, and hunt. Judgement.
const SUPERHEAT_DOUBT: f64 = 0.3;
const MOST_SUPERHEAT_DOUBT: f64 = 5.0;

/// Superheat below which liquid may come back, K, and how far that moves the discharge, K. Judgement.
const FLOODED: f64 = 2.0;
const WET_DISCHARGE: f64 = 6.0;

/// Doubt for each kelvin by which a coil is colder, or a discharge hotter, than usual: about the tolerance of what a loop of
/// that size moves. Judgement.
const FAR: f64 = 0.12;
/// How much colder than the air a coil usually is, and how hot a discharge usually gets, K. Common practice, no source.
const USUAL_APPROACH: f64 = 15.0;
const USUAL_DISCHARGE: f64 = 350.0;

/// Doubt for each kelvin beyond what a compressor runs at for long: its motor's protection and its oil set an end to it that the
/// loop alone does not know. Judgement.
const BEYOND: f64 = 0.5;
/// Where that begins, K. Common practice, no source.
const COLDEST_RUN: f64 = 250.0;
const HOTTEST_RUN: f64 = 400.0;

impl Temperatures {
    /// Moves on towards where they settle, for so many seconds.
    pub(crate) fn approach(&mut self, settled: &Temperatures, seconds: f64) {
        for ((at, to), lag) in self.at.iter_mut().zip(settled.at).zip(LAG) {
            *at += (to - *at) * -libm::expm1(-seconds / lag);
        }
    }

    /// Temperatures round the loop and in the tank.
    pub(crate) fn of(point: &LoopPoint, conditions: &Conditions, water: Water) -> Temperatures {
        let air = conditions.air_or_default();
        // The air at the machine is not quite the air where somebody measured it.
        let air_doubt = if conditions.air.is_some() { 1.2 } else { 4.0 };
        let loop_doubt = point.doubt.hypot_with(if conditions.air.is_some() { 0.0 } else { 3.0 });
        // What is far from its usual place follows a machine's tolerances further.
        let superheat = (SUPERHEAT_DOUBT * (point.suction - point.evaporating)).clamp(0.0, MOST_SUPERHEAT_DOUBT);
        // Where no gas is superheated, a little liquid more or less moves the discharge much.
        let wet = if point.suction - point.evaporating < FLOODED { WET_DISCHARGE } else { 0.0 };
        let cold = FAR * (air - point.evaporating - USUAL_APPROACH).max(0.0)
            + BEYOND * (COLDEST_RUN - point.evaporating).max(0.0);
        let hot =
            FAR * (point.discharge - USUAL_DISCHARGE).max(0.0) + BEYOND * (point.discharge - HOTTEST_RUN).max(0.0);
        let mut all =
            Temperatures { at: [air; Spot::COUNT], doubt: [air_doubt; Spot::COUNT], water: [0.0; Spot::COUNT] };
        for (spot, at, doubt) in [
            (Spot::EvaporatorCoil, point.evaporating, loop_doubt.hypot_with(cold)),
            (Spot::SuctionLine, point.suction, loop_doubt.hypot_with(superheat)),
            (
                Spot::DischargeLine,
                point.discharge,
                (2.0 * loop_doubt).hypot_with(2.0 * superheat).hypot_with(hot.max(wet)),
            ),
            (Spot::LiquidLine, point.liquid, loop_doubt),
            (Spot::LeavingAir, point.leaving_air, loop_doubt),
            (Spot::WaterTop, water.top, water.own()),
            (Spot::WaterBottom, water.bottom, water.own()),
        ] {
            all.set(spot, at, doubt);
        }
        // Lines follow the tank closely while heat is pumped into it, and hardly when it is not.
        let lines = if point.compressor_power > 0.0 { 0.9 } else { 0.3 } * water.shared();
        for (spot, share) in [
            (Spot::DischargeLine, lines),
            (Spot::LiquidLine, lines),
            (Spot::WaterTop, water.shared()),
            (Spot::WaterBottom, water.shared()),
        ] {
            all.water[spot.index()] = share;
        }
        all
    }
}

impl Temperatures {
    /// Puts a temperature and its doubt, K, at a spot.
    pub(crate) fn set(&mut self, spot: Spot, at: f64, doubt: f64) {
        self.at[spot.index()] = at;
        self.doubt[spot.index()] = doubt;
    }
}

trait Hypot {
    fn hypot_with(self, other: f64) -> f64;
}
impl Hypot for f64 {
    fn hypot_with(self, other: f64) -> f64 {
        libm::sqrt(self * self + other * other)
    }
}

/// The water in the tank, as what went on before leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    pub(crate) top: f64,
    pub(crate) bottom: f64,
    /// Standard deviation of both together, K.
    pub(crate) doubt: f64,
}

impl Water {
    /// Temperatures and doubt as bits, for a map: what has the same has the same water.
    pub fn key(self) -> [u64; 3] {
        [self.top.to_bits(), self.bottom.to_bits(), self.doubt.to_bits()]
    }

    /// One or the other, or anything between: doubted by half of what lies between them more.
    #[must_use]
    pub fn or(self, other: Water) -> Water {
        let apart = 0.5 * (self.top - other.top).abs().max((self.bottom - other.bottom).abs());
        Water {
            top: 0.5 * (self.top + other.top),
            bottom: 0.5 * (self.bottom + other.bottom),
            doubt: libm::hypot(self.doubt.max(other.doubt), apart),
        }
    }

    /// The part of the doubt that top and bottom share: how much was drawn, and when it was last warm.
    fn shared(self) -> f64 {
        0.95 * self.doubt
    }

    /// The part that each has for itself: layers.
    fn own(self) -> f64 {
        0.31 * self.doubt
    }
}

impl Plant {
    /// Whether a thermistor sits where it belongs: not out of its place, and not in another's.
    pub(crate) fn in_its_place(&self, part: PartIx, params: &[f64]) -> bool {
        let Role::Thermistor(s) = self.role(part) else { return true };
        params[s.seated.0] > 0.5 && params[s.spot.0] == self.machine.params[s.spot.0].nominal
    }

    /// Temperature at which a thermistor really is, and its doubt.
    pub(crate) fn sensor_temperature(&self, part: PartIx, params: &[f64], t: &Temperatures) -> (f64, f64) {
        let Role::Thermistor(s) = self.role(part) else { return (293.15, 10.0) };
        let spot = (params[s.spot.0] as usize).min(Spot::ALL.len() - 1);
        let air = t.at[Spot::Air.index()];
        let true_here = t.at[spot];
        if params[s.seated.0] > 0.5 {
            (true_here, t.doubt[spot])
        } else {
            // Hanging near its place: mostly air.
            (air + 0.2 * (true_here - air), t.doubt[Spot::Air.index()].hypot_with(0.15 * (true_here - air).abs() + 0.5))
        }
    }

    /// How far a thermistor's own temperature lies off for one standard deviation of the water's, K.
    pub(crate) fn sensor_shares(&self, part: PartIx, params: &[f64], t: &Temperatures) -> f64 {
        let Role::Thermistor(s) = self.role(part) else { return 0.0 };
        let spot = (params[s.spot.0] as usize).min(Spot::ALL.len() - 1);
        if params[s.seated.0] > 0.5 { t.water[spot] } else { 0.2 * t.water[spot] }
    }

    /// Resistance of a thermistor at a temperature: alone, and as the board's input sees it through plug and joints.
    pub(crate) fn sensor_ohms(&self, part: PartIx, params: &[f64], kelvin: f64) -> (f64, f64) {
        let Role::Thermistor(s) = self.role(part) else { return (1e9, 1e9) };
        let own = 1.0 / (1.0 / (s.law.ohms(kelvin) * params[s.factor.0]) + params[s.leak.0]);
        let joints: f64 = self.machine.parts[part.0].terminals.iter().map(|t| params[t.joint.0]).sum();
        (own, own + params[s.plug.0] + joints)
    }

    /// What the board makes of a thermistor that is really at `kelvin`.
    pub(crate) fn board_sees(&self, part: PartIx, params: &[f64], kelvin: f64) -> Seen {
        let Role::Thermistor(s) = self.role(part) else { return Seen::TooCold };
        let error = match self.parts.board.map(|b| self.role(b)) {
            Some(Role::Board { input_error, .. }) => params[input_error.0],
            _ => 0.0,
        };
        if self.leads_are_sound(part, s, params) && (BELIEVABLE.0..=BELIEVABLE.1).contains(&kelvin) {
            // The board's law undoes the sensor's.
            return Seen::Kelvin(kelvin + error);
        }
        let (_, ohms) = self.sensor_ohms(part, params, kelvin);
        if ohms > s.law.ohms(BELIEVABLE.0) {
            return Seen::TooCold;
        }
        if ohms < s.law.ohms(BELIEVABLE.1) {
            return Seen::TooHot;
        }
        Seen::Kelvin(s.law.temperature(ohms) + error)
    }

    /// The temperature that a board reckons from a thermistor that is really at `kelvin`, believable or not; `None` for
    /// ohms that no thermistor has.
    pub(crate) fn board_reckons(&self, part: PartIx, params: &[f64], kelvin: f64) -> Option<f64> {
        match self.board_sees(part, params, kelvin) {
            Seen::Kelvin(k) => Some(k),
            Seen::TooCold | Seen::TooHot => {
                let Role::Thermistor(s) = self.role(part) else { return None };
                let (_, ohms) = self.sensor_ohms(part, params, kelvin);
                Some(s.law.temperature(ohms)).filter(|k| k.is_finite() && *k > 0.0)
            }
        }
    }

    /// Whether a thermistor has its own resistance and nothing to speak of (a tenth of an ohm) in series.
    fn leads_are_sound(&self, part: PartIx, s: &Thermistor, params: &[f64]) -> bool {
        let series: f64 = self.machine.parts[part.0].terminals.iter().map(|t| params[t.joint.0]).sum();
        params[s.factor.0] == 1.0 && params[s.leak.0] < 2e-9 && params[s.plug.0] + series < 0.1
    }

    /// The thermistor that sits at a spot on a sound machine.
    pub(crate) fn sensor_at(&self, spot: Spot) -> Option<PartIx> {
        self.parts.thermistors.iter().copied().find(|p| match self.role(*p) {
            Role::Thermistor(s) => self.machine.params[s.spot.0].nominal as usize == spot.index(),
            _ => false,
        })
    }

    /// What the board believes of a spot: the sensor meant for it, wherever its plug leads.
    pub(crate) fn believes(&self, spot: Spot, params: &[f64], t: &Temperatures) -> Option<Seen> {
        let part = self.sensor_at(spot)?;
        let (kelvin, _) = self.sensor_temperature(part, params, t);
        Some(self.board_sees(part, params, kelvin))
    }
}
