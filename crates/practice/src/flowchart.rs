//! A printed fault-finding chart, for comparison: boxes with one test each, leading to repairs.

use std::collections::BTreeMap;
use std::fmt;

use halfsplit_diagnosis::Observed;
use halfsplit_machine::test::{Answer, Test};
use halfsplit_plant::axis_of;
use serde::Deserialize;

/// A chart. Its text format is described at the head of `machines/garage-water-heater.flowchart.toml`.
#[derive(Debug, Clone, Deserialize)]
pub struct Flowchart {
    start: String,
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
}

#[derive(Debug, Clone, Deserialize)]
struct Branch {
    #[serde(default)]
    is: Vec<String>,
    #[serde(default)]
    over: bool,
    above: Option<f64>,
    below: Option<f64>,
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
        for step in &chart.step {
            if let Some(b) = step.branch.iter().find(|b| !known(&b.go)) {
                let message = format!("step \"{}\" goes to \"{}\": add that step or correct the name", step.id, b.go);
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

    /// Tests and repair groups that it names.
    pub fn names(&self) -> (Vec<&str>, Vec<&str>) {
        let tests = self.step.iter().flat_map(|s| s.test.as_deref()).collect();
        let repairs = self.step.iter().flat_map(|s| s.repair.iter().map(String::as_str)).collect();
        (tests, repairs)
    }

    pub(crate) fn walk(&self) -> Walker<'_> {
        Walker { chart: self, at: self.find(&self.start), seen: BTreeMap::new() }
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
}

/// What a box says.
pub(crate) enum Walk<'a> {
    Test(&'a str),
    Repairs(&'a [String]),
}

impl<'a> Walker<'a> {
    pub(crate) fn now(&self) -> Walk<'a> {
        let step = &self.chart.step[self.at];
        match &step.test {
            Some(test) => Walk::Test(test),
            None => Walk::Repairs(&step.repair),
        }
    }

    pub(crate) fn answered(&mut self, test: &Test, observed: Observed) {
        let step = &self.chart.step[self.at];
        let number = match (observed, axis_of(test)) {
            (Observed::Value(x), Some(axis)) => Some(axis.from(x)),
            _ => None,
        };
        if let Some(x) = number {
            self.seen.insert(test.id.clone(), x);
        }
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
        if let Some(b) = step.branch.iter().find(|b| fits(b)) {
            self.at = self.chart.find(&b.go);
        }
    }
}
