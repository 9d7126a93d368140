//! What has been worked out already. A pair of faults mostly repeats what one of them did alone: the mains circuit
//! knows nothing of a dirty filter, and the loop nothing of a burnt plug. Keys hold every input to the last bit, so
//! remembering changes no answer; it only saves time.

use std::cell::RefCell;
use std::hash::Hash;
use std::rc::Rc;

use halfsplit_circuit::drive::{Fed, Rectifier};
use halfsplit_circuit::meter::{MeterError, Reading};
use halfsplit_circuit::motor::{MotorSupply, RunUp};
use halfsplit_refrigeration::LoopPoint;
use rustc_hash::FxHashMap;

use crate::mains::{Flow, Metered};
use crate::predict::ControlElement;

/// All that a flow in the mains circuit depends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct FlowKey {
    /// Which set of electrical parameters, by [`Memo::circuit`].
    pub circuit: u32,
    /// Energised relays and tripped parts, as bits.
    pub energised: u64,
    pub tripped: u64,
    /// Bits of the motor's slip; standing motors have none.
    pub slip: Option<u64>,
    pub overload_open: bool,
}

/// The two wires, and the circuit between them.
type ControlKey = (usize, usize, Vec<ControlElement>);

type StartKey = (FlowKey, [u64; 2]);

/// Numbers that an operating point of the loop depends on.
pub(crate) const LOOP_INPUTS: usize = 17;

/// Sets of electrical parameters, numbered as they come.
#[derive(Debug, Clone, Default)]
struct Circuits {
    numbers: FxHashMap<Vec<u64>, u32>,
    /// The set asked for last: it is mostly asked for again.
    last: (Vec<u64>, u32),
}

/// Flows kept at most; then all are forgotten and worked out again.
const MOST_FLOWS: usize = 30_000;
/// Factored networks kept at most: they are large.
const MOST_METERED: usize = 400;

#[derive(Debug, Clone, Default)]
pub(crate) struct Memo {
    circuits: RefCell<Circuits>,
    flows: RefCell<FxHashMap<FlowKey, Rc<Flow>>>,
    metered: RefCell<FxHashMap<FlowKey, Rc<Metered>>>,
    supplies: RefCell<FxHashMap<FlowKey, MotorSupply>>,
    starts: RefCell<FxHashMap<StartKey, RunUp>>,
    controls: RefCell<FxHashMap<ControlKey, Result<Reading, MeterError>>>,
    buses: RefCell<FxHashMap<Vec<u64>, Fed>>,
    loops: RefCell<FxHashMap<[u64; LOOP_INPUTS], LoopPoint>>,
}

fn remembered<K: Eq + Hash, V: Clone>(
    map: &RefCell<FxHashMap<K, V>>,
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
    /// The number of the set that these parameters (by index) make.
    pub(crate) fn circuit(&self, params: &[f64], electrical: &[usize]) -> u32 {
        let mut circuits = self.circuits.borrow_mut();
        let Circuits { numbers, last } = &mut *circuits;
        let bits = || electrical.iter().map(|i| params[*i].to_bits());
        if last.0.len() != electrical.len() || !last.0.iter().copied().eq(bits()) {
            last.0.clear();
            last.0.extend(bits());
            last.1 = match numbers.get(&last.0) {
                Some(number) => *number,
                None => {
                    let number = numbers.len() as u32;
                    numbers.insert(last.0.clone(), number);
                    number
                }
            };
        }
        last.1
    }

    pub(crate) fn flow(&self, key: FlowKey, work_out: impl FnOnce() -> Option<Rc<Flow>>) -> Option<Rc<Flow>> {
        remembered(&self.flows, MOST_FLOWS, key, work_out)
    }

    pub(crate) fn metered(&self, key: FlowKey, work_out: impl FnOnce() -> Option<Rc<Metered>>) -> Option<Rc<Metered>> {
        remembered(&self.metered, MOST_METERED, key, work_out)
    }

    pub(crate) fn supply(&self, key: FlowKey, work_out: impl FnOnce() -> Option<MotorSupply>) -> Option<MotorSupply> {
        remembered(&self.supplies, MOST_FLOWS, key, work_out)
    }

    pub(crate) fn start(&self, key: FlowKey, load: [f64; 2], work_out: impl FnOnce() -> RunUp) -> Option<RunUp> {
        remembered(&self.starts, MOST_FLOWS, (key, load.map(f64::to_bits)), || Some(work_out()))
    }

    /// What a meter shows between two wires of the low-voltage circuits.
    pub(crate) fn control(
        &self,
        plus: usize,
        ground: usize,
        circuit: Vec<ControlElement>,
        read: impl FnOnce(&[ControlElement]) -> Result<Reading, MeterError>,
    ) -> Result<Reading, MeterError> {
        let key = (plus, ground, circuit);
        if let Some(known) = self.controls.borrow().get(&key) {
            return *known;
        }
        let reading = read(&key.2);
        let mut controls = self.controls.borrow_mut();
        if controls.len() >= MOST_FLOWS {
            controls.clear();
        }
        controls.insert(key, reading);
        reading
    }

    /// How a bus settles under a load of so many watts.
    pub(crate) fn bus(&self, r: &Rectifier, watts: f64) -> Fed {
        let b = &r.bridge;
        let diodes = [b.upper_first, b.upper_second, b.lower_first, b.lower_second];
        let numbers = [r.volts, r.hertz, r.ohms, r.capacitor.farads, r.capacitor.series_ohms, watts];
        let key = numbers.iter().map(|x| x.to_bits()).chain(diodes.iter().map(|d| *d as u64)).collect();
        remembered(&self.buses, MOST_FLOWS, key, || Some(r.settle(watts))).unwrap_or(Fed::Collapses)
    }

    pub(crate) fn loop_point(&self, key: [f64; LOOP_INPUTS], work_out: impl FnOnce() -> LoopPoint) -> LoopPoint {
        let key = key.map(f64::to_bits);
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
