//! Limits that are nearly reached, or only just.
//!
//! A board compares what it measures with a limit. What is worked out lies off by a few kelvin, and so does every single
//! machine: where a limit is nearly passed, this machine's board may well have stored its message, and where it is only just
//! passed, perhaps not. A machine works itself out with one answer; the chance of the other is kept beside it.

use halfsplit_machine::{Detection, sheet::Watch};

use crate::Plant;
use crate::operate::{CompressorDoes, Limits, SUPERHEAT_JUDGED, Scene, Timeline};

/// How far a sensor and the board's input may be off beside the temperature's own doubt, K. Common practice, no source.
const SENSOR: f64 = 1.0;

/// A chance below this is none.
const LEAST: f64 = 0.01;

impl Plant {
    /// For each detection, the chance (0 to 1) that it fired in what follows from a command, where the timeline alone would be
    /// too sure of it: it did not fire, or it did.
    pub(crate) fn chances(&self, params: &[f64], scene: &Scene, command: usize, timeline: &Timeline) -> Vec<f64> {
        let on = |d: &Detection| {
            let stages = &self.machine.commands[command].stages;
            d.while_on.is_none_or(|relay| stages.iter().any(|s| s.on.contains(&relay)))
        };
        self.machine
            .detections
            .iter()
            .enumerate()
            .map(|(i, d)| {
                let fired = timeline.fired.contains(&i);
                let margin = if on(d) { self.margin(params, scene, timeline, d) } else { None };
                match margin {
                    None => f64::from(fired),
                    Some(margin) => {
                        let beyond = 0.5 * libm::erfc(-margin / std::f64::consts::SQRT_2);
                        match fired {
                            true => beyond.max(0.5),
                            false if beyond > LEAST => beyond.min(0.5),
                            false => 0.0,
                        }
                    }
                }
            })
            .collect()
    }

    /// By how many standard deviations a detection's limit is passed at most, in phases in which the compressor runs; negative
    /// if it is not. `None` for what has no such measure.
    fn margin(&self, params: &[f64], scene: &Scene, timeline: &Timeline, d: &Detection) -> Option<f64> {
        let runs = |does| matches!(does, CompressorDoes::Runs | CompressorDoes::RunsThenStops(_));
        let limits = Limits::of(d);
        let phases = timeline.phases.iter().filter(|p| runs(p.compressor) && p.lasts >= d.holds);
        let margins = phases.filter_map(|phase| match d.watches {
            Watch::Temperature => {
                let part = d.part.filter(|p| self.heard(*p, phase))?;
                let t = self.temperatures_in(phase, &scene.visit.conditions);
                let doubt = self.sensor_temperature(part, params, &t).1;
                Some(limits.beyond(self.seen_kelvin(part, params, &t)) / libm::hypot(doubt, SENSOR))
            }
            Watch::Superheat if phase.lasts >= SUPERHEAT_JUDGED => {
                let seen = self.believed_superheat(params, &scene.visit.conditions, &phase.point, scene.water)?;
                Some(limits.beyond(seen) / SUPERHEAT_DOUBT)
            }
            _ => None,
        });
        margins.max_by(f64::total_cmp)
    }
}

/// A valve that hunts, two sensors: K. Judgement.
const SUPERHEAT_DOUBT: f64 = 2.0;

#[cfg(test)]
mod tests {
    use halfsplit_machine::test::Measure;
    use halfsplit_machine::{Conditions, Machine};

    use crate::{Plant, Prediction, Visit};

    /// Chance of each message when the air filter lets so much less through.
    fn messages(blockage: f64) -> Vec<f64> {
        let machine = Machine::build(include_str!("../../../machines/garage-water-heater.toml")).expect("a sheet");
        let plant = Plant::new(machine).expect("a plant");
        let m = &plant.machine;
        let mut params = m.sound();
        let filter = m.params.iter().position(|p| p.name == "blockage").expect("a filter");
        params[filter] = blockage;
        let conditions = Conditions { air: Some(293.15), ..Conditions::default() };
        let operation = plant.operate(&params, &Visit { conditions, reset: false });
        let code = m.tests.iter().find(|t| t.measure == Measure::ShownCode).expect("a display");
        match plant.predict(&params, &operation, code) {
            Prediction::Words(p) => p,
            Prediction::Number { .. } => panic!("words"),
        }
    }

    #[test]
    fn the_more_a_filter_closes_the_likelier_the_message_without_a_step_from_never_to_always() {
        let all: Vec<Vec<f64>> = (0..=18).map(|i| messages(0.05 + 0.05 * f64::from(i))).collect();
        let nothing: Vec<f64> = all.iter().map(|p| *p.last().expect("nothing")).collect();
        assert!(nothing[0] > 0.9 && nothing[18] < 0.2, "{nothing:?}");
        let between = nothing.iter().filter(|p| (0.2..0.9).contains(*p)).count();
        assert!(between >= 2, "{nothing:?}");
    }
}
