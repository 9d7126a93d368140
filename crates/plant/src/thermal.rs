//! The refrigerant loop in its surroundings, with the valve as the board drives it.

use halfsplit_machine::sheet::ValveCommand;
use halfsplit_machine::test::Spot;
use halfsplit_machine::{Conditions, Role};
use halfsplit_refrigeration::{LoopFaults, LoopPoint, Metering, Surroundings, operating_point};

use crate::Plant;
use crate::sensing::{Seen, Temperatures, Water};

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
    pub(crate) fn loop_faults(&self, p: &[f64]) -> LoopFaults {
        let mut f = LoopFaults::default();
        if let Some(Role::Charge { ratio, air, restriction }) = self.parts.charge.map(|x| self.role(x)) {
            f.charge = p[ratio.0];
            f.air_in_circuit = p[air.0];
            f.restriction = p[restriction.0];
        }
        if let Some(Role::Compressor(c)) = self.parts.compressor.map(|x| self.role(x)) {
            f.pumping = p[c.pumping.0];
        }
        if let Some(Role::ReversingValve { leak, .. }) = self.parts.reversing_valve.map(|x| self.role(x)) {
            f.reversing_leak = p[leak.0];
        }
        if let Some(Role::Evaporator { fouling }) = self.parts.evaporator.map(|x| self.role(x)) {
            f.evaporator_fouling = p[fouling.0].clamp(0.0, 0.98);
        }
        if let Some(Role::Condenser { fouling }) = self.parts.condenser.map(|x| self.role(x)) {
            f.condenser_fouling = p[fouling.0].clamp(0.0, 0.98);
        }
        f
    }

    /// Airflow as a fraction of sound.
    pub(crate) fn air_flow(&self, p: &[f64], fan_on: bool) -> f64 {
        let fan = match self.parts.fan.map(|x| self.role(x)) {
            Some(Role::Fan { flow, .. }) if fan_on => p[flow.0],
            Some(_) => 0.0,
            None => 1.0,
        };
        let through = match self.parts.filter.map(|x| self.role(x)) {
            Some(Role::Filter { blockage }) => 1.0 - (p[blockage.0] - 0.05).clamp(0.0, 0.95),
            _ => 1.0,
        };
        // Dirt on the coil costs air as well as conductance.
        let coil = match self.parts.evaporator.map(|x| self.role(x)) {
            Some(Role::Evaporator { fouling }) => 1.0 - 0.6 * (p[fouling.0] - 0.05).clamp(0.0, 0.95),
            _ => 1.0,
        };
        fan * through * coil
    }

    /// Operating point of the loop with the compressor running at `speed` of rated.
    pub(crate) fn loop_point(
        &self,
        p: &[f64],
        c: &Conditions,
        water: Water,
        fan_on: bool,
        speed: f64,
        valve: ValveCommand,
    ) -> LoopPoint {
        let faults = self.loop_faults(p);
        let around = |metering: Metering| Surroundings {
            air: c.air_or_default(),
            humidity: c.humidity.unwrap_or(0.5),
            sink: water.bottom + 0.3 * (water.top - water.bottom),
            air_flow: self.air_flow(p, fan_on),
            speed,
            metering,
        };
        let at = |metering: Metering| {
            let s = around(metering);
            let m = match metering {
                Metering::Fixed(o) => [o, -1.0, -1.0],
                Metering::Holds { superheat, least, most } => [superheat, least, most],
            };
            let f = &faults;
            let key = [
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
                f.reversing_leak,
            ];
            self.memo.loop_point(&key, || operating_point(&self.loop_spec, &s, &faults))
        };
        if speed <= 0.0 {
            return at(Metering::Fixed(0.5));
        }
        let Some(Role::ExpansionValve { coil_drives, stuck_at, leak_by, reach }) =
            self.parts.valve.map(|x| self.role(x))
        else {
            return at(Metering::Holds { superheat: self.loop_spec.superheat, least: 0.0, most: 1.0 });
        };
        let (least, most) = (p[leak_by.0].max(0.02), p[reach.0].clamp(0.02, 1.0));
        if p[stuck_at.0] >= 0.0 {
            return at(Metering::Fixed(p[stuck_at.0].max(0.02)));
        }
        if p[coil_drives.0] < 0.5 || self.valve_unplugged(p) {
            return at(Metering::Fixed(WHERE_IT_STOPPED));
        }
        match valve {
            ValveCommand::Shut => at(Metering::Fixed(least)),
            ValveCommand::Start => at(Metering::Fixed(BLIND_OPENING.clamp(least, most.max(least)))),
            ValveCommand::HoldSuperheat => {
                let target = self.loop_spec.superheat;
                let held = at(Metering::Holds { superheat: target, least, most });
                match self.believed_superheat(p, c, &held, water) {
                    None => at(Metering::Fixed(BLIND_OPENING.clamp(least, most.max(least)))),
                    Some(b) if (b - held.superheat).abs() < 0.3 => held,
                    Some(_) => {
                        // The board trims on what it believes; the more open, the less superheat.
                        let (mut shut, mut open) = (least, most.max(least));
                        let mut point = held;
                        for _ in 0..12 {
                            let mid = 0.5 * (shut + open);
                            point = at(Metering::Fixed(mid));
                            match self.believed_superheat(p, c, &point, water) {
                                Some(b) if b > target => shut = mid,
                                Some(_) => open = mid,
                                None => break,
                            }
                        }
                        point
                    }
                }
            }
        }
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
