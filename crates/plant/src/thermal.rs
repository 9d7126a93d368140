//! The refrigerant loop in its surroundings, with the valve as the board drives it.

use halfsplit_machine::sheet::ValveCommand;
use halfsplit_machine::test::Spot;
use halfsplit_machine::{Conditions, Role};
use halfsplit_refrigeration::solve::held_as_seen;
use halfsplit_refrigeration::{LoopFaults, LoopPoint, Metering, Surroundings, operating_point};

use crate::Plant;
use crate::air::Air;
use crate::sensing::{BELIEVABLE, Seen, Temperatures, Water};

/// Opening at which a board without believable sensors leaves its valve. Judgement.
const BLIND_OPENING: f64 = 0.5;

/// Opening at which a valve stands whose coil has stopped driving it. Judgement.
const WHERE_IT_STOPPED: f64 = 0.40;

impl Plant {
    /// Whether a lead of the valve's coil has lost its connection.
    pub(crate) fn valve_unplugged(&self, p: &[f64]) -> bool {
        self.parts.valve.is_some_and(|v| self.machine.parts[v.0].terminals.iter().any(|t| p[t.joint.0] > 1e3))
    }

    /// What is wrong with the loop, from the parameters.
    pub(crate) fn loop_faults(&self, p: &[f64], c: &Conditions, air: Air) -> LoopFaults {
        let mut f = LoopFaults { sink_flow: air.warm.max(0.03), ..LoopFaults::default() };
        if let Some(Role::Charge { ratio, air, restriction }) = self.parts.charge.map(|x| self.role(x)) {
            f.charge = p[ratio.0];
            f.air_in_circuit = p[air.0];
            f.restriction = p[restriction.0];
        }
        if let Some(Role::Compressor(c)) = self.parts.compressor.map(|x| self.role(x)) {
            f.pumping = p[c.pumping.0];
        }
        if let Some(Role::PmCompressor(c)) = self.parts.drive_compressor.map(|x| self.role(x)) {
            f.pumping = p[c.pumping.0];
        }
        if let Some(Role::ReversingValve { leak, .. }) = self.parts.reversing_valve.map(|x| self.role(x)) {
            f.reversing_leak = p[leak.0];
        }
        let (left, closed) = self.circuit_parts(p);
        f.charge *= left;
        f.restriction = f.restriction.max(closed);
        (f.evaporator_fouling, f.condenser_fouling) = self.fouling(p, c, air);
        if self.filter_on_warm_side(air) {
            f.sink_flow *= self.through_filter(p);
        }
        f
    }

    /// What a filter lets through, as a fraction of sound.
    fn through_filter(&self, p: &[f64]) -> f64 {
        match self.parts.filter.map(|x| self.role(x)) {
            Some(Role::Filter { blockage }) => 1.0 - (p[blockage.0] - 0.05).clamp(0.0, 0.95),
            _ => 1.0,
        }
    }

    /// The filter cleans the room's air; in a room that is heated that is the warm coil's.
    fn filter_on_warm_side(&self, air: Air) -> bool {
        air.heats && self.two_sided()
    }

    /// Airflow over the cold coil as a fraction of sound.
    fn air_flow(&self, p: &[f64], c: &Conditions, air: Air) -> f64 {
        let through = if self.filter_on_warm_side(air) { 1.0 } else { self.through_filter(p) };
        // Dirt on the coil costs air as well as conductance.
        let coil = 1.0 - 0.6 * (self.fouling(p, c, air).0 - 0.05).clamp(0.0, 0.95);
        air.cold * through * coil
    }

    /// Operating point of the loop with the compressor running at `speed` of rated.
    pub(crate) fn loop_point(
        &self,
        p: &[f64],
        c: &Conditions,
        water: Water,
        air: Air,
        speed: f64,
        valve: ValveCommand,
    ) -> LoopPoint {
        let faults = self.loop_faults(p, c, air);
        let the_loop = self.loop_of(air);
        let (entering, humidity, sink) = self.between(c, water, air);
        let air_flow = self.air_flow(p, c, air);
        let around = |metering: Metering| Surroundings { air: entering, humidity, sink, air_flow, speed, metering };
        let at = |metering: Metering| {
            let s = around(metering);
            let m = match metering {
                Metering::Fixed(o) => [o, -1.0, -1.0],
                Metering::Holds { superheat, least, most } => [superheat, least, most],
            };
            let f = &faults;
            let key = [
                f64::from(u8::from(air.heats)),
                s.air,
                s.humidity,
                s.sink,
                s.air_flow,
                s.speed,
                m[0],
                m[1],
                m[2],
                f.charge,
                f.air_in_circuit,
                f.restriction,
                f.pumping,
                f.evaporator_fouling,
                f.condenser_fouling,
                f.sink_flow,
                f.reversing_leak,
            ];
            self.memo.loop_point(key, || operating_point(the_loop, &s, &faults))
        };
        if speed <= 0.0 {
            return at(Metering::Fixed(0.5));
        }
        let Some(Role::ExpansionValve { coil_drives, stuck_at, leak_by, reach }) =
            self.parts.valve.map(|x| self.role(x))
        else {
            let usual = Metering::Holds { superheat: the_loop.meter.superheat, least: 0.0, most: 1.0 };
            return at(self.own_metering(p, the_loop).unwrap_or(usual));
        };
        let (least, most) = (p[leak_by.0].max(0.02), p[reach.0].clamp(0.02, 1.0));
        if p[stuck_at.0] >= 0.0 {
            return at(Metering::Fixed(p[stuck_at.0].max(0.02)));
        }
        if p[coil_drives.0] < 0.5 || self.valve_unplugged(p) {
            return at(Metering::Fixed(WHERE_IT_STOPPED));
        }
        let most = most.max(least);
        match valve {
            ValveCommand::Shut => at(Metering::Fixed(least)),
            ValveCommand::Start => at(Metering::Fixed(BLIND_OPENING.clamp(least, most))),
            ValveCommand::HoldSuperheat => {
                let target = the_loop.meter.superheat;
                let held = at(Metering::Holds { superheat: target, least, most });
                // A board without a suction sensor works by its coils and the discharge; taken as right.
                if self.sensor_at(Spot::SuctionLine).is_none() {
                    return held;
                }
                let Some(believed) = self.believed_superheat(p, c, &held, water) else {
                    return at(Metering::Fixed(BLIND_OPENING.clamp(least, most)));
                };
                let off = believed - held.superheat;
                if off.abs() < 0.3 {
                    return held;
                }
                // The board trims on what it believes; the more open, the less superheat. It ends where it believes its
                // target reached, or at a stop.
                let stop = at(Metering::Fixed(if believed > target { most } else { least }));
                let seen = |point: &LoopPoint| self.seen_superheat(p, c, point, water);
                if (seen(&stop) > target) == (believed > target) {
                    return stop;
                }
                let around = around(Metering::Fixed(held.opening));
                held_as_seen(the_loop, &around, &faults, &held, (least, most), target, &seen)
                    .unwrap_or_else(|| self.trimmed(&held, &stop, target, &at, &seen))
            }
        }
    }

    /// What a board comes to between an opening at which it sees too much and one at which it sees too little, by halving:
    /// where the search for the balance itself finds nothing.
    fn trimmed(
        &self,
        one: &LoopPoint,
        other: &LoopPoint,
        target: f64,
        at: &dyn Fn(Metering) -> LoopPoint,
        seen: &dyn Fn(&LoopPoint) -> f64,
    ) -> LoopPoint {
        let (mut shut, mut open) = (one.opening.min(other.opening), one.opening.max(other.opening));
        let mut point = *one;
        for _ in 0..12 {
            let mid = 0.5 * (shut + open);
            point = at(Metering::Fixed(mid));
            if seen(&point) > target {
                shut = mid;
            } else {
                open = mid;
            }
        }
        point
    }

    /// Superheat as the board sees it, K: a sensor out of range counts as the end of the range.
    fn seen_superheat(&self, p: &[f64], c: &Conditions, point: &LoopPoint, water: Water) -> f64 {
        let t = Temperatures::of(point, c, water);
        let kelvin = |spot: Spot| match self.believes(spot, p, &t) {
            Some(Seen::Kelvin(k)) => k,
            Some(Seen::TooCold) => BELIEVABLE.0,
            Some(Seen::TooHot) => BELIEVABLE.1,
            None => t.at[spot.index()],
        };
        kelvin(Spot::SuctionLine) - kelvin(Spot::EvaporatorCoil)
    }

    /// Superheat as the board believes it, K; `None` if it cannot believe a sensor.
    pub(crate) fn believed_superheat(&self, p: &[f64], c: &Conditions, point: &LoopPoint, water: Water) -> Option<f64> {
        let t = Temperatures::of(point, c, water);
        match (self.believes(Spot::SuctionLine, p, &t)?, self.believes(Spot::EvaporatorCoil, p, &t)?) {
            (Seen::Kelvin(suction), Seen::Kelvin(coil)) => Some(suction - coil),
            _ => None,
        }
    }
}
