//! The cut: a run of pipe filled with what is still possible, a section per suspect, and the cuts that the
//! next test makes across it, with what stands at each end.

use halfsplit_workshop::{OutcomeView, StillPossible};

use crate::screen::fit;

/// A suspect's letter: A to Z in the order of the list.
pub fn letter(index: usize) -> char {
    char::from(b'A' + u8::try_from(index.min(25)).unwrap_or(25))
}

/// Suspects that get a section and a letter of their own.
pub const SECTIONS: usize = 8;

struct Section {
    mark: char,
    share: f64,
    outcome: usize,
}

/// The picture, four lines. Each suspect stands in the outcome that it makes likeliest; the rest is dots, nothing
/// broken is `=`, something not described `?`.
pub fn picture(possible: &StillPossible, outcomes: &[OutcomeView], width: usize) -> String {
    let width = width.saturating_sub(2).max(30);
    let mut sections = sections(possible, outcomes);
    let total: f64 = sections.iter().map(|s| s.share).sum();
    if total <= 0.0 {
        return String::new();
    }
    sections.sort_by(|a, b| a.outcome.cmp(&b.outcome).then(b.share.total_cmp(&a.share)));
    let mut used: Vec<usize> = sections.iter().map(|s| s.outcome).collect();
    used.dedup();
    let room = width - (used.len() - 1);
    let cells = share_out(&sections.iter().map(|s| s.share).collect::<Vec<_>>(), room);
    let (mut labels, mut wall_above, mut fill, mut wall_below) = (String::new(), String::new(), String::new(), String::new());
    for (i, outcome) in used.iter().enumerate() {
        if i > 0 {
            labels.push(' ');
            wall_above.push('╤');
            fill.push('│');
            wall_below.push('╧');
        }
        let here: Vec<(&Section, usize)> =
            sections.iter().zip(&cells).filter(|(s, _)| s.outcome == *outcome).map(|(s, n)| (s, *n)).collect();
        let length: usize = here.iter().map(|(_, n)| n).sum();
        let text = outcomes.get(*outcome).map_or("", |o| o.shows.as_str());
        labels.push_str(&format!("{:^length$}", fit(text, length)));
        wall_above.push_str(&"═".repeat(length));
        wall_below.push_str(&"═".repeat(length));
        for (s, n) in here {
            fill.extend(std::iter::repeat_n(s.mark, n));
        }
    }
    let labels = labels.trim_end();
    let labels = if labels.is_empty() { String::new() } else { format!(" {labels}\n") };
    format!("{labels} {wall_above}\n {fill}\n {wall_below}\n")
}

/// Who fills the pipe and on which side of the cuts he stands.
fn sections(possible: &StillPossible, outcomes: &[OutcomeView]) -> Vec<Section> {
    let likeliest = |weight: &dyn Fn(&OutcomeView) -> f64| {
        (0..outcomes.len())
            .max_by(|a, b| {
                let w = |i: usize| outcomes[i].percent * weight(&outcomes[i]);
                w(*a).total_cmp(&w(*b)).then(b.cmp(a))
            })
            .unwrap_or(0)
    };
    let of = |id: &str| likeliest(&|o: &OutcomeView| o.leaves.iter().find(|l| l.id == id).map_or(0.0, |l| l.percent));
    let mut out: Vec<Section> = Vec::new();
    for (i, s) in possible.suspects.iter().enumerate() {
        // The rest keeps together with whoever of it is first.
        if i < SECTIONS {
            out.push(Section { mark: letter(i), share: s.percent, outcome: of(&s.id) });
        } else if i == SECTIONS {
            let rest: f64 = possible.suspects[SECTIONS..].iter().map(|s| s.percent).sum();
            out.push(Section { mark: '·', share: rest, outcome: of(&s.id) });
        }
    }
    if possible.nothing_broken >= 0.5 {
        out.push(Section { mark: '=', share: possible.nothing_broken, outcome: likeliest(&|o| o.nothing_broken) });
    }
    if possible.not_described >= 0.5 {
        out.push(Section { mark: '?', share: possible.not_described, outcome: likeliest(&|o| o.not_described) });
    }
    out.retain(|s| s.share > 0.0);
    out
}

/// Shares out a number of cells by weight, at least one each, the largest remainders first.
fn share_out(weights: &[f64], cells: usize) -> Vec<usize> {
    let total: f64 = weights.iter().sum();
    let free = cells.saturating_sub(weights.len());
    let exact: Vec<f64> = weights.iter().map(|w| w / total * free as f64).collect();
    let mut out: Vec<usize> = exact.iter().map(|x| 1 + x.floor() as usize).collect();
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by(|a, b| (exact[*b].fract()).total_cmp(&exact[*a].fract()).then(a.cmp(b)));
    let mut left = cells.saturating_sub(out.iter().sum());
    for i in order.iter().cycle().take(weights.len() * 2) {
        if left == 0 {
            break;
        }
        out[*i] += 1;
        left -= 1;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfsplit_workshop::{Left, SuspectView};

    fn suspect(id: &str, percent: f64) -> SuspectView {
        SuspectView {
            id: id.into(),
            name: id.into(),
            degree: String::new(),
            percent,
            odds: "",
            cause: String::new(),
            upstream: String::new(),
            repair: String::new(),
            repair_id: String::new(),
            proof: String::new(),
            intermittent: false,
        }
    }

    fn outcome(shows: &str, percent: f64, leaves: &[(&str, f64)]) -> OutcomeView {
        OutcomeView {
            shows: shows.into(),
            low: None,
            high: None,
            percent,
            leaves: leaves.iter().map(|(id, p)| Left { id: (*id).into(), name: (*id).into(), percent: *p }).collect(),
            nothing_broken: 0.0,
            not_described: 0.0,
        }
    }

    #[test]
    fn the_cut_stands_between_what_each_outcome_leaves() {
        let possible = StillPossible {
            suspects: vec![suspect("a", 50.0), suspect("b", 30.0), suspect("c", 20.0)],
            nothing_broken: 0.0,
            not_described: 0.0,
            not_worked_out_at_most: 0.0,
            repairs: Vec::new(),
        };
        let outcomes = [outcome("hums", 70.0, &[("a", 70.0), ("c", 29.0)]), outcome("runs", 30.0, &[("b", 95.0)])];
        let text = picture(&possible, &outcomes, 43);
        let lines: Vec<&str> = text.lines().collect();
        // Forty cells and one cut: A takes half, C stands with A, B beyond the cut.
        assert_eq!(lines[2], format!(" {}{}│{}", "A".repeat(20), "C".repeat(8), "B".repeat(12)));
        assert_eq!(lines[1].chars().position(|c| c == '╤'), lines[2].chars().position(|c| c == '│'));
        assert!(lines[0].contains("hums") && lines[0].contains("runs"));
        assert!(lines.iter().all(|l| l.chars().count() <= 43));
    }

    #[test]
    fn cells_are_shared_out_without_loss() {
        assert_eq!(share_out(&[98.0, 1.0, 1.0], 20).iter().sum::<usize>(), 20);
        assert!(share_out(&[98.0, 1.0, 1.0], 20).iter().all(|n| *n >= 1));
        assert_eq!(share_out(&[50.0, 30.0, 20.0], 40), [20, 12, 8]);
    }
}
