//! Advice as it goes into the journal: the words that were shown.

use halfsplit_journal::{Advised, Kind, Proposal};

use crate::job::Job;
use crate::view::{Next, View};
use crate::words::percent;

/// What to do next, as plain text: what a client shows and what the journal keeps.
#[must_use]
pub fn advice_text(view: &View) -> String {
    let mut lines: Vec<String> = Vec::new();
    match &view.next {
        Next::Open => lines.push("Open the job with a machine sheet.".into()),
        Next::Closed => lines.push("This job is closed.".into()),
        Next::ReadOnly { last_advice, why } => {
            lines.push(format!("This version cannot compute the job: {why}"));
            if let Some(text) = last_advice {
                lines.push(format!("Shown last:\n{text}"));
            }
        }
        Next::Test(t) => {
            lines.push(format!("{} ({:.0} min)", t.title, t.minutes.max(1.0)));
            lines.extend(t.run_in.iter().map(|r| format!("Run-in: {}", r.words)));
            lines.push(format!("Where: {}", t.place));
            if !t.open.is_empty() {
                lines.push(format!("Open: {}", t.open.join(", then ")));
            }
            lines.extend(t.first.iter().map(|s| format!("First: {s}")));
            lines.push(format!("How: {}", t.how));
            lines.extend(t.cautions.iter().map(|c| format!("Caution: {c}")));
            if let Some(band) = &t.if_healthy {
                lines.push(format!("If healthy: {band}"));
            }
            for o in &t.outcomes {
                lines.push(format!("{} ({}) leaves {}", o.shows, percent(o.percent), leaves(o)));
            }
        }
        Next::Repair(r) => {
            lines.push(format!("Repair {} ({:.0} min)", r.what, r.minutes));
            lines.push(format!("Puts right what is wrong: {}, {}", r.odds, percent(r.percent)));
            lines.extend(r.upstream.iter().map(|u| format!("Look upstream for: {u}")));
            lines.push(format!("Then prove it: {}", r.proof));
        }
        Next::Prove(p) => {
            lines.push("Prove the repair.".into());
            lines.extend(p.how.iter().map(|h| format!("Prove it: {h}")));
            lines.extend(p.upstream.iter().map(|u| format!("Look upstream for: {u}")));
        }
        Next::End(e) => {
            lines.push(e.words.clone());
            lines.extend(e.get.iter().map(|g| format!("Get: {g}")));
        }
    }
    lines.join("\n")
}

/// What an outcome leaves, in one line.
fn leaves(o: &crate::view::OutcomeView) -> String {
    let mut left: Vec<String> = o.leaves.iter().take(3).map(|l| format!("{} {}", l.name, percent(l.percent))).collect();
    if o.nothing_broken >= 0.5 {
        left.push(format!("nothing broken {}", percent(o.nothing_broken)));
    }
    if o.not_described >= 0.5 {
        left.push(format!("something not described {}", percent(o.not_described)));
    }
    if left.is_empty() { "nothing that is known".to_owned() } else { left.join(", ") }
}

impl Job {
    /// The event that records a view's advice as shown; none where the same was recorded last, or nothing is
    /// advised.
    #[must_use]
    pub fn advised(&self, view: &View) -> Option<Kind> {
        let proposes = match &view.next {
            Next::Test(t) => Proposal::Test(t.id.clone()),
            Next::Repair(r) => Proposal::Action(r.id.clone()),
            Next::Prove(_) => Proposal::Action("prove".into()),
            Next::End(e) => Proposal::End(e.ending.into()),
            Next::Open | Next::Closed | Next::ReadOnly { .. } => return None,
        };
        let text = advice_text(view);
        if self.last_advice() == Some(text.as_str()) {
            return None;
        }
        let reasons = view.reasons.iter().map(|r| format!("{} = {}: {}", r.test, r.read, r.words)).collect();
        Some(Kind::Advised(Advised { text, proposes, reasons, budget_used: view.budget_used }))
    }
}
