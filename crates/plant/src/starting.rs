//! A compressor's start, with whatever helps its start winding for the first second.

use halfsplit_circuit::motor::{Motor, Outcome, RunUp};
use halfsplit_machine::Role;

use crate::mains::Drawing;
use crate::{MotorFit, Plant};

impl Plant {
    /// How a start ends, and the state of all coils and start devices then. `share` is the running torque against the
    /// rated one, `free` is 0 for a seized compressor, 1 for one that turns as it should, more for one that turns more
    /// easily. `None` if the network has no solution.
    pub(crate) fn start(
        &self,
        d: &Drawing<'_>,
        fit: &MotorFit,
        motor: &Motor,
        share: f64,
        free: f64,
    ) -> Option<(RunUp, Vec<bool>)> {
        let hertz = self.machine.sheet.nameplate.hertz;
        let load = self.compressor_load(fit, share, free);
        let key = self.flow_key(d);
        let supply = self.memo.supply(key, || self.grid(d).motor_supply(hertz))?;
        let up = self.memo.start(key, [share, free], || motor.run_up(&supply, &load))?;
        let mut energised = d.energised.to_vec();
        for &part in &self.parts.start_devices {
            let Role::StartDevice { at_speed } = self.role(part) else { continue };
            energised[part.0] = !at_speed || up.outcome == Outcome::Runs;
        }
        if energised == d.energised {
            return Some((up, energised));
        }
        let after = Drawing { energised: &energised, ..*d };
        let key = self.flow_key(&after);
        let supply = self.memo.supply(key, || self.grid(&after).motor_supply(hertz))?;
        // A rotor that stands stays where it is; one that turns finds its speed without the help.
        let settled = self.memo.start(key, [share, -1.0 - up.slip], || {
            if up.outcome == Outcome::Stalled {
                RunUp { amps: supply.currents(&motor.at_slip(up.slip)), ..up }
            } else {
                motor.settle(&supply, &load, up.slip)
            }
        })?;
        Some((settled, energised))
    }
}
