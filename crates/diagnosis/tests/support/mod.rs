//! Visits to open.

use std::rc::Rc;

use halfsplit_diagnosis::{Case, Errand, Judgement, Opening};
use halfsplit_machine::test::Tool;
use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::Plant;

/// A visit to the demo water heater on which nothing has been read yet.
#[allow(dead_code)]
pub fn opened(errand: Errand) -> Case {
    opened_on(include_str!("../../../../machines/garage-water-heater.toml"), errand, Conditions::default())
}

/// A visit to a machine in these conditions on which nothing has been read yet.
pub fn opened_on(sheet: &str, errand: Errand, conditions: Conditions) -> Case {
    let machine = Machine::build(sheet).unwrap_or_else(|e| panic!("{e}"));
    let plant = Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")));
    let opening = Opening { errand, conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
    Case::open(plant, opening)
}
