//! A printed fault-finding chart, for comparison: boxes with one test each, leading to repairs.

use std::collections::BTreeMap;
use std::fmt;

use halfsplit_diagnosis::Observed;
use halfsplit_machine::Machine;
use halfsplit_machine::examples::EXAMPLES;
use halfsplit_machine::test::{Answer, Test};
use halfsplit_plant::axis_of;
use serde::Deserialize;

/// The charts that come with the example machines, by the example's name.
const PRINTED: [(&str, &str); 6] = [
    ("water-heater", include_str!("../../../machines/garage-water-heater.flowchart.toml")),
    ("water-heater-r290", include_str!("../../../machines/cellar-water-heater.flowchart.toml")),
    ("split", include_str!("../../../machines/unitary-split.flowchart.toml")),
    ("mini-split", include_str!("../../../machines/wall-mini-split.flowchart.toml")),
    ("refrigerator", include_str!("../../../machines/kitchen-refrigerator.flowchart.toml")),
    ("dehumidifier", include_str!("../../../machines/basement-dehumidifier.flowchart.toml")),
];

/// A chart. Its text format is described at the head of `machines/garage-water-heater.flowchart.toml`.
#[derive(Debug, Clone, Deserialize)]
pub struct Flowchart {
    start: String,
    /// Where to go on for who has been led round in a circle: the first of these that he has not come from.
    #[serde(default)]
    circle: Vec<String>,
    step: Vec<Box_>,
}

#[derive(Debug, Clone, Deserialize)]
struct Box_ {
    id: String,
    test: Option<String>,
    against: Option<String>,
    #[serde(default)]
    branch: Vec<Branch>,
    #[serde(default)]
    repair: Vec<String>,
    /// Where to go on if the machine does not pass once the repairs are made.
    persists: Option<String>,
    /// Where to go on if all of them have been made before.
    done: Option<String>,
    /// What to tell the customer of a machine with which nothing is wrong.
    explain: Option<String>,
}

#[derive(Debug, Clone, Deserialize)]
struct Branch {
    #[serde(default)]
    is: Vec<String>,
    #[serde(default)]
    over: bool,
    above: Option<f64>,
    below: Option<f64>,
    /// Read once more before going there.
    #[serde(default)]
    again: bool,
    go: String,
}

/// Why a chart cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FlowchartError(String);

impl fmt::Display for FlowchartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for FlowchartError {}

impl Flowchart {
    /// Reads a chart and sees that every arrow leads to a box and every test has a way out.
    ///
    /// # Errors
    /// If the text is no chart, or an arrow leads nowhere.
    pub fn parse(text: &str) -> Result<Flowchart, FlowchartError> {
        let chart: Flowchart = toml::from_str(text).map_err(|e| FlowchartError(format!("this is no chart: {e}")))?;
        let known = |id: &str| chart.step.iter().any(|s| s.id == id);
        if !known(&chart.start) {
            return Err(FlowchartError(format!("the chart starts at \"{}\", but there is no such step", chart.start)));
        }
        if let Some(to) = chart.circle.iter().find(|to| !known(to)) {
            return Err(FlowchartError(format!("a circle leads on to \"{to}\", but there is no such step")));
        }
        for step in &chart.step {
            let arrows = step.branch.iter().map(|b| &b.go).chain(&step.persists).chain(&step.done);
            if let Some(to) = arrows.into_iter().find(|to| !known(to)) {
                let message = format!("step \"{}\" goes to \"{to}\": add that step or correct the name", step.id);
                return Err(FlowchartError(message));
            }
            if (step.persists.is_some() || step.done.is_some()) && step.repair.is_empty() {
                let message = format!("step \"{}\" says where to go on after repairs, but names none", step.id);
                return Err(FlowchartError(message));
            }
            if step.explain.is_some() && (step.test.is_some() || !step.repair.is_empty()) {
                let message = format!("step \"{}\" ends the visit: it cannot name a test or a repair too", step.id);
                return Err(FlowchartError(message));
            }
            let open =
                step.branch.last().is_none_or(|b| !b.is.is_empty() || b.over || b.above.is_some() || b.below.is_some());
            if step.test.is_some() && open {
                let message = format!("step \"{}\" needs a last branch without a condition", step.id);
                return Err(FlowchartError(message));
            }
        }
        Ok(chart)
    }

    /// The chart that comes with an example machine, if this is the text of one that has a chart.
    ///
    /// # Errors
    /// If the chart that is there cannot be used.
    pub fn printed_for(sheet: &str) -> Result<Option<Flowchart>, FlowchartError> {
        let example = EXAMPLES.iter().find(|e| e.text == sheet);
        let chart = example.and_then(|e| PRINTED.iter().find(|(name, _)| *name == e.name));
        chart.map(|(_, text)| Flowchart::parse(text)).transpose()
    }

    /// Sees that the machine has the tests, answers and repairs that the chart names: a misspelt answer would otherwise never
    /// be followed.
    ///
    /// # Errors
    /// At the first box that names what the machine does not have.
    pub fn fits(&self, machine: &Machine) -> Result<(), FlowchartError> {
        let test = |step: &Box_, id: &str| {
            let test = machine.tests.iter().find(|t| t.id == id);
            let message = || format!("step \"{}\" asks for \"{id}\": this machine has no such test", step.id);
            test.ok_or_else(|| FlowchartError(message()))
        };
        for step in &self.step {
            if let Some(other) = &step.against {
                test(step, other)?;
            }
            if let Some(id) = &step.test {
                let test = test(step, id)?;
                let known: &[String] = match &test.answer {
                    Answer::Words(words) => words,
                    _ => &[],
                };
                let mut words = step.branch.iter().flat_map(|b| &b.is);
                if let Some(word) = words.find(|w| !known.contains(w)) {
                    let message =
                        format!("step \"{}\": \"{id}\" is never answered \"{word}\", but by {known:?}", step.id);
                    return Err(FlowchartError(message));
                }
            }
            let known = |group: &String| machine.modes.iter().any(|m| m.repair_group == *group);
            if let Some(group) = step.repair.iter().find(|g| !known(g)) {
                let message = format!("step \"{}\" asks for \"{group}\": this machine has no such repair", step.id);
                return Err(FlowchartError(message));
            }
        }
        Ok(())
    }

    pub(crate) fn walk(&self) -> Walker<'_> {
        Walker { chart: self, at: self.find(&self.start), seen: BTreeMap::new(), made: Vec::new(), passed: Vec::new() }
    }

    fn find(&self, id: &str) -> usize {
        // Parsing has seen to it that the step is there.
        self.step.iter().position(|s| s.id == id).unwrap_or(0)
    }
}

/// Somebody following a chart.
pub(crate) struct Walker<'a> {
    chart: &'a Flowchart,
    at: usize,
    /// Numbers read so far, in SI, by test.
    seen: BTreeMap<String, f64>,
    /// Repairs made so far: none is made twice.
    made: Vec<&'a str>,
    /// Boxes that were left since the last repair: who comes to one of them again goes round in a circle.
    passed: Vec<usize>,
}

/// What a box says.
pub(crate) enum Walk<'a> {
    Test(&'a str),
    /// The next repair of a box.
    Repair(&'a str),
    /// All repairs of the box were made before, and it says where to go on.
    GoOn,
    /// All repairs of the box were made, and it says nothing more.
    Stuck,
    /// Nothing is wrong.
    Explain,
}

/// An arrow out of a box with a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Arrow {
    to: usize,
    /// Read once more before following it.
    pub again: bool,
}

impl<'a> Walker<'a> {
    pub(crate) fn now(&self) -> Walk<'a> {
        let step = &self.chart.step[self.at];
        if let Some(test) = &step.test {
            return Walk::Test(test);
        }
        let next = step.repair.iter().find(|group| !self.made.contains(&group.as_str()));
        match next {
            Some(group) => Walk::Repair(group),
            None if step.explain.is_some() => Walk::Explain,
            None if step.persists.is_some() || step.done.is_some() => Walk::GoOn,
            None => Walk::Stuck,
        }
    }

    /// The arrow that fits an answer; `None` if none does, which parsing rules out.
    pub(crate) fn arrow(&mut self, test: &Test, observed: Observed) -> Option<Arrow> {
        let step = &self.chart.step[self.at];
        let number = match (observed, axis_of(test)) {
            (Observed::Value(x), Some(axis)) => Some(axis.from(x)),
            _ => None,
        };
        match number {
            Some(x) => self.seen.insert(test.id.clone(), x),
            None => self.seen.remove(&test.id),
        };
        let word = match (observed, &test.answer) {
            (Observed::Category(i), Answer::Words(words)) => words.get(i).map(String::as_str),
            _ => None,
        };
        let number = match &step.against {
            None => number,
            // Without the other reading there is nothing to compare.
            Some(other) => number.and_then(|x| self.seen.get(other).map(|y| x - y)),
        };
        let fits = |b: &Branch| {
            if !b.is.is_empty() {
                return word.is_some_and(|w| b.is.iter().any(|i| i == w));
            }
            if b.over {
                return observed == Observed::Over;
            }
            match (b.above, b.below) {
                (None, None) => true,
                (above, below) => number.is_some_and(|x| above.is_none_or(|a| x > a) && below.is_none_or(|b| x < b)),
            }
        };
        let branch = step.branch.iter().find(|b| fits(b))?;
        Some(Arrow { to: self.chart.find(&branch.go), again: branch.again })
    }

    pub(crate) fn follow(&mut self, arrow: Arrow) {
        self.go(arrow.to);
    }

    /// A repair of this box was made, and the machine is not right. What it shows now it may not have shown before.
    pub(crate) fn made(&mut self, group: &'a str) {
        self.made.push(group);
        self.seen.clear();
        let step = &self.chart.step[self.at];
        let left = step.repair.iter().any(|g| !self.made.contains(&g.as_str()));
        if let Some(to) = step.persists.as_ref().filter(|_| !left) {
            self.at = self.chart.find(to);
        }
        self.passed.clear();
    }

    /// On from a box whose repairs had all been made before.
    pub(crate) fn go_on(&mut self) {
        let step = &self.chart.step[self.at];
        if let Some(to) = step.done.as_ref().or(step.persists.as_ref()) {
            self.go(self.chart.find(to));
        }
    }

    fn go(&mut self, to: usize) {
        self.passed.push(self.at);
        let mut out = self.chart.circle.iter().map(|id| self.chart.find(id));
        self.at = match self.passed.contains(&to) {
            true => out.find(|to| !self.passed.contains(to)).unwrap_or(to),
            false => to,
        };
    }
}
