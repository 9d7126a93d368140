//! What is run: the demo machine, every single mode of it under every test, and one visit from the
//! customer's words to a repair and its proof.

use std::rc::Rc;

use halfsplit_diagnosis::{Action, Case, Errand, Judgement, Opening};
use halfsplit_machine::test::Tool;
use halfsplit_machine::{Conditions, Machine, ModeIx, PartIx};
use halfsplit_plant::{Plant, Prediction, Visit};

use crate::digest::{Digest, Section, section};

/// One step of the visit.
enum Step {
    /// A test by its id, and what was typed.
    Read(&'static str, &'static str),
    /// A repair by its group.
    Mend(&'static str),
}

/// An open run capacitor, met by a technician who takes more readings than he needs.
const VISIT: &[Step] = &[
    Step::Read("complaint", "no hot water at all"),
    Step::Read("display lit", "lit"),
    Step::Read("display message", "compressor does not run"),
    Step::Read("watch COMP while heat-pump", "hums 7 s then silent"),
    Step::Read("shown T3 at rest", "20.5 C"),
    Step::Read("microfarads CRUN", "0.2 uF"),
    Step::Read("ohms COMP.C-COMP.R off", "8.7 ohm"),
    Step::Read("ohms COMP.C-COMP.S off", ">11.5 ohm"),
    Step::Mend("CRUN/replace"),
    Step::Read("watch COMP while heat-pump", "runs"),
    Step::Read("amps supply while heat-pump settled", "2.0 A"),
];

/// Runs everything and takes its digests.
pub fn sections() -> Result<Vec<Section>, String> {
    let machine =
        Machine::build(include_str!("../../../machines/garage-water-heater.toml")).map_err(|e| e.to_string())?;
    let plant = Rc::new(Plant::new(machine).map_err(|e| e.to_string())?);
    let mut out = vec![machine_section(&plant)];
    out.extend(mode_sections(&plant));
    out.extend(visit_sections(&plant)?);
    Ok(out)
}

fn machine_section(plant: &Plant) -> Section {
    section("the machine", |d| {
        for p in &plant.machine.params {
            d.bytes(p.name.as_bytes());
            d.float(p.nominal);
        }
        for t in &plant.machine.tests {
            d.bytes(t.id.as_bytes());
        }
    })
}

/// One section per part: every mode of it, every test.
fn mode_sections(plant: &Plant) -> Vec<Section> {
    let visit = Visit::default();
    let mut out = vec![section("the sound machine", |d| predictions(d, plant, &visit, None))];
    for (i, part) in plant.machine.parts.iter().enumerate() {
        let modes: Vec<ModeIx> =
            (0..plant.machine.modes.len()).filter(|m| plant.machine.modes[*m].part == PartIx(i)).map(ModeIx).collect();
        out.push(section(&format!("{} modes of {}", modes.len(), part.id), |d| {
            for m in modes {
                predictions(d, plant, &visit, Some(m));
            }
        }));
    }
    out
}

fn predictions(d: &mut Digest, plant: &Plant, visit: &Visit, mode: Option<ModeIx>) {
    let mut params = plant.machine.sound();
    if let Some(m) = mode {
        plant.machine.apply(m, &mut params);
    }
    let operation = plant.operate(&params, visit);
    d.debug(&operation.latches);
    d.debug(&operation.outcome);
    for test in &plant.machine.tests {
        match plant.predict(&params, &operation, test) {
            Prediction::Number { centre, noise, common, over } => {
                [centre, noise, common, over].into_iter().for_each(|x| d.float(x));
            }
            Prediction::Words(p) => p.into_iter().for_each(|x| d.float(x)),
        }
    }
}

fn visit_sections(plant: &Rc<Plant>) -> Result<Vec<Section>, String> {
    let conditions = Conditions { air: Some(291.15), age_years: 9.0, ..Conditions::default() };
    let opening =
        Opening { errand: Errand::Call, conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
    let mut case = Case::open(plant.clone(), opening);
    let mut out = vec![section("the visit opened", |d| standing(d, &mut case))];
    for step in VISIT {
        let name = match step {
            Step::Read(id, typed) => {
                let test = case.test(id).map_err(|e| e.to_string())?;
                let observed = case.observation(test, typed).map_err(|e| format!("{id} = {typed}: {e}"))?;
                case.read(test, observed).map_err(|e| format!("{id} = {typed}: {e}"))?;
                format!("{id} = {typed}")
            }
            Step::Mend(group) => {
                case.act(&Action::Mend((*group).to_owned())).map_err(|e| e.to_string())?;
                format!("mended {group}")
            }
        };
        out.push(section(&name, |d| standing(d, &mut case)));
    }
    Ok(out)
}

/// What is still possible, every hypothesis of it, and the advice with what each outcome would leave.
fn standing(d: &mut Digest, case: &mut Case) {
    for w in &case.posterior().hypotheses {
        d.debug(&w.hypothesis);
        d.float(w.probability);
    }
    d.float(case.posterior().log_evidence);
    d.debug(&case.still_possible());
    d.debug(&case.advice());
}
