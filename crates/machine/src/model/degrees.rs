//! Faults whose size the library gives as one number.
//!
//! A blade that slips moves a third of the air on one machine and a quarter on another. One number would make the fault's
//! readings sharper than anybody can foresee, and a machine that lies a fifth beside it would look like something that nobody
//! described. So such a fault is two: a milder and a stronger one, and all that lies between them.

use crate::library::Op;
use crate::model::{Machine, Mode, Nature, Param, ResolvedEdit, Spread};

/// How far the milder and the stronger one lie from the library's number, as a fraction of the effect. Judgement.
const APART: f64 = 0.2;

/// Beyond this factor more or less makes no difference: what is open is open. Judgement.
const UTTER: f64 = 20.0;

/// Makes two degrees of every fault that has one size.
pub(super) fn degrees(m: &mut Machine) {
    let alone = |x: &Mode| m.modes.iter().filter(|y| y.name_id == x.name_id).count() == 1;
    let mut out = Vec::with_capacity(m.modes.len());
    for x in &m.modes {
        let sized = x.edits.iter().any(|e| has_size(&m.params[e.param.0], e.op));
        if x.nature != Nature::Fault || x.intermittent || !sized || !alone(x) {
            out.push(x.clone());
            continue;
        }
        for (word, strength) in [("milder", 1.0 - APART), ("stronger", 1.0 + APART)] {
            let edits = x.edits.iter().map(|e| ResolvedEdit { op: at(&m.params[e.param.0], e.op, strength), ..*e });
            out.push(Mode {
                id: format!("{}:{word}", x.name_id),
                edits: edits.collect(),
                rate: 0.5 * x.rate,
                ..x.clone()
            });
        }
    }
    m.modes = out;
}

/// Whether an edit could as well be a little more or less.
fn has_size(p: &Param, op: Op) -> bool {
    let within = |ratio: f64| ratio > 1.0 / UTTER && ratio < UTTER && ratio != 1.0;
    match op {
        Op::Add(_) => true,
        Op::Scale(f) => within(f),
        // A state is a whole number and has no tolerance.
        Op::Set(v) => within(v / p.nominal) && !(p.spread == Spread::None && v == libm::floor(v)),
    }
}

/// An edit at a multiple of its effect.
fn at(p: &Param, op: Op, strength: f64) -> Op {
    match op {
        _ if !has_size(p, op) => op,
        Op::Add(d) => Op::Add(d * strength),
        Op::Scale(f) => Op::Scale(libm::pow(f, strength)),
        Op::Set(v) => Op::Set(p.nominal * libm::pow(v / p.nominal, strength)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn modes(name: &str) -> Vec<Mode> {
        let m = Machine::build(include_str!("../../../../machines/garage-water-heater.toml")).expect("a sheet");
        m.modes.into_iter().filter(|x| x.name_id == name).collect()
    }

    #[test]
    fn a_fault_with_one_size_is_a_milder_and_a_stronger_one_as_often_together() {
        let wrong = modes("EUP:wrong-part");
        let ohms: Vec<Op> = wrong.iter().map(|x| x.edits[0].op).collect();
        let [Op::Scale(milder), Op::Scale(stronger)] = ohms[..] else { panic!("{ohms:?}") };
        // The library has three quarters.
        assert!(milder > 0.75 && 0.75 > stronger && (milder * stronger - 0.75 * 0.75).abs() < 1e-12);
        let once: f64 = modes("CRUN:wrong-part").iter().map(|x| x.rate).sum();
        assert!((wrong.iter().map(|x| x.rate).sum::<f64>() - once).abs() < 1e-15);
    }

    #[test]
    fn a_state_and_what_is_utter_have_no_degrees() {
        for name in ["EUP:open", "K3:welded", "SET:away", "COMP:seized", "T1:exchanged-T2"] {
            assert_eq!(modes(name).len(), 1, "{name}");
        }
    }
}
