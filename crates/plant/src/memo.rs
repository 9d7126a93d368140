//! What has been worked out already. A pair of faults mostly repeats what one of them did alone: the mains circuit
//! knows nothing of a dirty filter, and the loop nothing of a burnt plug. Keys hold every input to the last bit, so
//! remembering changes no answer; it only saves time.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use halfsplit_circuit::drive::{Fed, Rectifier};
use halfsplit_circuit::motor::{MotorSupply, RunUp};
use halfsplit_refrigeration::LoopPoint;

use crate::mains::{Flow, Metered};

/// All that a flow in the mains circuit depends on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct FlowKey {
    /// Electrical parameters that differ from the nominal ones: index and bits.
    pub deviations: Vec<(u32, u64)>,
    /// Energised relays and tripped parts, as bits.
    pub energised: u64,
    pub tripped: u64,
    /// Bits of the motor's slip; standing motors have none.
    pub slip: Option<u64>,
    pub overload_open: bool,
}

type StartKey = (Rc<FlowKey>, [u64; 2]);

/// Flows kept at most; then all are forgotten and worked out again.
const MOST_FLOWS: usize = 30_000;
/// Factored networks kept at most: they are large.
const MOST_METERED: usize = 1_500;

#[derive(Debug, Clone, Default)]
pub(crate) struct Memo {
    flows: RefCell<BTreeMap<Rc<FlowKey>, Rc<Flow>>>,
    metered: RefCell<BTreeMap<Rc<FlowKey>, Rc<Metered>>>,
    supplies: RefCell<BTreeMap<Rc<FlowKey>, MotorSupply>>,
    starts: RefCell<BTreeMap<StartKey, RunUp>>,
    buses: RefCell<BTreeMap<Vec<u64>, Fed>>,
    loops: RefCell<BTreeMap<Vec<u64>, LoopPoint>>,
}

fn remembered<K: Ord, V: Clone>(
    map: &RefCell<BTreeMap<K, V>>,
    most: usize,
    key: K,
    work_out: impl FnOnce() -> Option<V>,
) -> Option<V> {
    if let Some(v) = map.borrow().get(&key) {
        return Some(v.clone());
    }
    let v = work_out()?;
    let mut map = map.borrow_mut();
    if map.len() >= most {
        map.clear();
    }
    map.insert(key, v.clone());
    Some(v)
}

impl Memo {
    pub(crate) fn flow(&self, key: &Rc<FlowKey>, work_out: impl FnOnce() -> Option<Rc<Flow>>) -> Option<Rc<Flow>> {
        remembered(&self.flows, MOST_FLOWS, key.clone(), work_out)
    }

    pub(crate) fn metered(
        &self,
        key: &Rc<FlowKey>,
        work_out: impl FnOnce() -> Option<Rc<Metered>>,
    ) -> Option<Rc<Metered>> {
        remembered(&self.metered, MOST_METERED, key.clone(), work_out)
    }

    pub(crate) fn supply(
        &self,
        key: &Rc<FlowKey>,
        work_out: impl FnOnce() -> Option<MotorSupply>,
    ) -> Option<MotorSupply> {
        remembered(&self.supplies, MOST_FLOWS, key.clone(), work_out)
    }

    pub(crate) fn start(&self, key: &Rc<FlowKey>, load: [f64; 2], work_out: impl FnOnce() -> RunUp) -> Option<RunUp> {
        remembered(&self.starts, MOST_FLOWS, (key.clone(), load.map(f64::to_bits)), || Some(work_out()))
    }

    /// How a bus settles under a load of so many watts.
    pub(crate) fn bus(&self, r: &Rectifier, watts: f64) -> Fed {
        let b = &r.bridge;
        let diodes = [b.upper_first, b.upper_second, b.lower_first, b.lower_second];
        let numbers = [r.volts, r.hertz, r.ohms, r.capacitor.farads, r.capacitor.series_ohms, watts];
        let key = numbers.iter().map(|x| x.to_bits()).chain(diodes.iter().map(|d| *d as u64)).collect();
        remembered(&self.buses, MOST_FLOWS, key, || Some(r.settle(watts))).unwrap_or(Fed::Collapses)
    }

    pub(crate) fn loop_point(&self, key: &[f64], work_out: impl FnOnce() -> LoopPoint) -> LoopPoint {
        let key: Vec<u64> = key.iter().map(|x| x.to_bits()).collect();
        if let Some(p) = self.loops.borrow().get(&key) {
            return *p;
        }
        let p = work_out();
        let mut loops = self.loops.borrow_mut();
        if loops.len() >= MOST_FLOWS {
            loops.clear();
        }
        loops.insert(key, p);
        p
    }
}
