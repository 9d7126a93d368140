//! The cut: a run of pipe filled with what is still possible, a section per suspect, and the cuts that the
//! next test makes across it, with what stands at each end. As a picture, and as text for a terminal.

use halfsplit_workshop::{OutcomeView, StillPossible, percent};

use crate::picture::{Anchor, Picture, Type, fit, number, wrap};

/// A suspect's letter: A to Z in the order of the list.
#[must_use]
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

/// The picture, four lines. Each of the first `named` suspects has a section of his letter and stands in the outcome
/// that he makes likeliest; the rest is dots, nothing broken is `=`, something not described `?`.
#[must_use]
pub fn text(possible: &StillPossible, outcomes: &[OutcomeView], named: usize, width: usize) -> String {
    let width = width.saturating_sub(2).max(30);
    let (sections, used) = in_order(possible, outcomes, named);
    if sections.is_empty() {
        return String::new();
    }
    let room = width - (used.len() - 1);
    let cells = share_out(&sections.iter().map(|s| s.share).collect::<Vec<_>>(), room);
    let (mut labels, mut wall_above, mut fill, mut wall_below) =
        (String::new(), String::new(), String::new(), String::new());
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
        // Of a label that does not fit, a stump says less than nothing.
        let text = if text.chars().count() <= length || length >= 9 { fit(text, length) } else { String::new() };
        labels.push_str(&format!("{text:^length$}"));
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
fn sections(possible: &StillPossible, outcomes: &[OutcomeView], named: usize) -> Vec<Section> {
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
        if i < named {
            out.push(Section { mark: letter(i), share: s.percent, outcome: of(&s.id) });
        } else if i == named {
            let rest: f64 = possible.suspects[named..].iter().map(|s| s.percent).sum();
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

/// A phone held upright, CSS pixels.
const WIDTH: f64 = 390.0;
const LEFT: f64 = 12.0;
/// The pipe's upper edge below the title, and its height.
const BORE: f64 = 54.0;
/// The least width of a section that a finger or an eye can find.
const SLIVER: f64 = 7.0;
/// Between the two edges of a cut.
const GAP: f64 = 10.0;

/// Draws the cut that a test makes: `test` is what to do, in one line. Without outcomes the pipe is whole.
///
/// Sections differ by letter and by hatching; an outcome's bracket carries its number, and the list below says what it
/// shows, how probable it is and whom it leaves.
#[must_use]
pub fn cut(possible: &StillPossible, outcomes: &[OutcomeView], test: &str) -> Picture {
    let title = if outcomes.is_empty() { "What is still possible" } else { "The cut" };
    let mut p = Picture::new(WIDTH, title);
    let width = WIDTH - 2.0 * LEFT;
    let mut y = p.paragraph(LEFT, 22.0, width, Type::TITLE, title);
    if !outcomes.is_empty() {
        y = p.paragraph(LEFT, y, width, Type::PLAIN, test);
    }
    let (sections, used) = in_order(possible, outcomes, SECTIONS);
    if !sections.is_empty() {
        y = pipe(&mut p, &sections, &used, !outcomes.is_empty(), y + 8.0);
    }
    p.line("l", LEFT, y + 4.0, WIDTH - LEFT, y + 4.0);
    y += 22.0;
    for (number, outcome) in used.iter().filter_map(|i| outcomes.get(*i)).enumerate() {
        y = entry(
            &mut p,
            y,
            &format!("{}", number + 1),
            &format!("{}  {}", outcome.shows, percent(outcome.percent)),
            true,
        );
        y = entry(&mut p, y - 3.0, "", &leaves(outcome, possible), false) + 4.0;
    }
    for (i, s) in possible.suspects.iter().take(SECTIONS).enumerate() {
        let degree = if s.degree.is_empty() { String::new() } else { format!(" ({})", s.degree) };
        y = entry(&mut p, y, &letter(i).to_string(), &format!("{}{degree}  {}", s.name, percent(s.percent)), false);
    }
    for (mark, words, share) in [
        ("·", "all others together", possible.suspects.iter().skip(SECTIONS).map(|s| s.percent).sum()),
        ("=", "nothing broken", possible.nothing_broken),
        ("?", "something not described", possible.not_described),
    ] {
        if share >= 0.5 {
            y = entry(&mut p, y, mark, &format!("{words}  {}", percent(share)), false);
        }
    }
    p.height = y + 2.0;
    p.description = in_words(possible, outcomes, test);
    p
}

/// A line of the list: its mark, and words beside it.
fn entry(p: &mut Picture, y: f64, mark: &str, words: &str, bold: bool) -> f64 {
    p.text(LEFT + 7.0, y, Anchor::Middle, Type::BOLD, mark);
    let set = if bold { Type::BOLD } else { Type::PLAIN };
    let mut y = y;
    for line in wrap(&words.replace(" %", "\u{a0}%"), set.fit(WIDTH - 2.0 * LEFT - 22.0)) {
        p.text(LEFT + 22.0, y, Anchor::Start, set, &line);
        y += 15.0;
    }
    y + 2.0
}

/// Whom an outcome leaves, in one line.
fn leaves(o: &OutcomeView, possible: &StillPossible) -> String {
    let mut left: Vec<String> = Vec::new();
    for l in o.leaves.iter().take(4) {
        let mark = possible.suspects.iter().take(SECTIONS).position(|s| s.id == l.id).map(letter);
        left.push(
            mark.map_or_else(
                || format!("{} {}", l.name, percent(l.percent)),
                |m| format!("{m} {}", percent(l.percent)),
            ),
        );
    }
    for (mark, share) in [("=", o.nothing_broken), ("?", o.not_described)] {
        if share >= 1.0 {
            left.push(format!("{mark} {}", percent(share)));
        }
    }
    if left.is_empty() { "leaves nothing that is known".to_owned() } else { format!("leaves {}", left.join(", ")) }
}

/// The cut in words, for those who do not see it.
#[must_use]
pub fn in_words(possible: &StillPossible, outcomes: &[OutcomeView], test: &str) -> String {
    let mut out = String::from("Still possible. ");
    for (i, s) in possible.suspects.iter().take(SECTIONS).enumerate() {
        out.push_str(&format!("{}: {}, {}. ", letter(i), s.name, percent(s.percent)));
    }
    if possible.nothing_broken >= 0.5 {
        out.push_str(&format!("Nothing broken, {}. ", percent(possible.nothing_broken)));
    }
    if possible.not_described >= 0.5 {
        out.push_str(&format!("Something not described, {}. ", percent(possible.not_described)));
    }
    if !outcomes.is_empty() {
        out.push_str(&format!("The next test, {test}, cuts it so. "));
    }
    for o in outcomes {
        let mut left: Vec<String> =
            o.leaves.iter().take(4).map(|l| format!("{} {}", l.name, percent(l.percent))).collect();
        if o.nothing_broken >= 1.0 {
            left.push(format!("nothing broken {}", percent(o.nothing_broken)));
        }
        if o.not_described >= 1.0 {
            left.push(format!("something not described {}", percent(o.not_described)));
        }
        let left = if left.is_empty() { "nothing that is known".to_owned() } else { left.join(", ") };
        out.push_str(&format!("If {} ({}): {left}. ", o.shows, percent(o.percent)));
    }
    out.trim_end().to_owned()
}

/// The pipe with its sections and cuts; gives the lower edge.
fn pipe(p: &mut Picture, sections: &[Section], used: &[usize], cut: bool, y: f64) -> f64 {
    let top = if cut { y + 26.0 } else { y };
    let gaps = GAP * (used.len().saturating_sub(1)) as f64;
    let room = WIDTH - 2.0 * LEFT - gaps - SLIVER * sections.len() as f64;
    let total: f64 = sections.iter().map(|s| s.share).sum();
    let mut x = LEFT;
    for (number, outcome) in used.iter().enumerate() {
        let begin = x;
        for s in sections.iter().filter(|s| s.outcome == *outcome) {
            let w = SLIVER + room * s.share / total;
            fill(p, s.mark, x, top, w);
            if x > begin {
                p.line("l", x, top, x, top + BORE);
            }
            x += w;
        }
        // The pipe's walls, and its ends: sawn where a cut is, plain where the run goes on.
        p.line("l h", begin, top, x, top);
        p.line("l h", begin, top + BORE, x, top + BORE);
        for (at, sawn) in [(begin, number > 0), (x, number + 1 < used.len())] {
            if sawn { p.path("l m", &saw(at, top)) } else { p.line("l m", at, top, at, top + BORE) }
        }
        if cut {
            p.path(
                "l",
                &format!("M{} {}v-7H{}v7", self::number(begin + 1.0), self::number(top - 5.0), self::number(x - 1.0)),
            );
            p.text((begin + x) / 2.0, top - 16.0, Anchor::Middle, Type::BOLD, &format!("{}", number + 1));
        }
        x += GAP;
    }
    top + BORE + 10.0
}

/// A sawn end.
fn saw(x: f64, top: f64) -> String {
    let tooth = BORE / 9.0;
    let mut d = format!("M{} {}", number(x), number(top));
    for i in 0..9 {
        let way = if i % 2 == 0 { 2.5 } else { -2.5 };
        d.push_str(&format!("l{} {}", number(way), number(tooth)));
    }
    d
}

/// Hatching by the order of the letters, and the letter where there is room.
fn fill(p: &mut Picture, mark: char, x: f64, top: f64, w: f64) {
    let style = if mark.is_ascii_alphabetic() { (mark as u32 - 'A' as u32) % 4 } else { 4 };
    let step = [9.0, 9.0, 9.0, 5.0, 0.0][style as usize];
    let mut at = step / 2.0;
    while step > 0.0 && at < w {
        match style {
            0 => p.line("l", x + at, top, x + at, top + BORE),
            1 => p.line(
                "l",
                x + at,
                top + BORE,
                (x + at + 12.0).min(x + w),
                top + BORE - 12.0f64.min(w - at) * BORE / 12.0,
            ),
            2 => p.line("l d", x + at, top, x + at, top + BORE),
            _ => p.line("l", x + at, top, x + at, top + BORE),
        }
        at += step;
    }
    if mark.is_ascii_alphabetic() && style != 2 {
        p.rect("w", x, top, w, BORE, 0.0);
    }
    if w >= 18.0 {
        p.circle("paper", x + w / 2.0, top + BORE / 2.0, 9.5);
        p.text(x + w / 2.0, top + BORE / 2.0 + 5.0, Anchor::Middle, Type::TITLE, &mark.to_string());
    }
}

/// Sections in the order of the outcomes that they belong to, and those outcomes.
fn in_order(possible: &StillPossible, outcomes: &[OutcomeView], named: usize) -> (Vec<Section>, Vec<usize>) {
    let mut sections = sections(possible, outcomes, named);
    let unnamed = |s: &Section| !s.mark.is_ascii_alphabetic();
    sections
        .sort_by(|a, b| a.outcome.cmp(&b.outcome).then(unnamed(a).cmp(&unnamed(b))).then(b.share.total_cmp(&a.share)));
    let mut used: Vec<usize> = sections.iter().map(|s| s.outcome).collect();
    used.dedup();
    (sections, used)
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
            not_described_like: None,
            not_worked_out_at_most: 0.0,
            repairs: Vec::new(),
            how_built: Vec::new(),
        };
        let outcomes = [outcome("hums", 70.0, &[("a", 70.0), ("c", 29.0)]), outcome("runs", 30.0, &[("b", 95.0)])];
        let text = super::text(&possible, &outcomes, 8, 43);
        let lines: Vec<&str> = text.lines().collect();
        // Forty cells and one cut: A takes half, C stands with A, B beyond the cut.
        assert_eq!(lines[2], format!(" {}{}│{}", "A".repeat(20), "C".repeat(8), "B".repeat(12)));
        assert_eq!(lines[1].chars().position(|c| c == '╤'), lines[2].chars().position(|c| c == '│'));
        assert!(lines[0].contains("hums") && lines[0].contains("runs"));
        assert!(lines.iter().all(|l| l.chars().count() <= 43));
    }

    #[test]
    fn in_words_every_outcome_says_whom_it_leaves() {
        let possible = StillPossible {
            suspects: vec![suspect("a", 60.0), suspect("b", 40.0)],
            nothing_broken: 0.0,
            not_described: 0.0,
            not_described_like: None,
            not_worked_out_at_most: 0.0,
            repairs: Vec::new(),
            how_built: Vec::new(),
        };
        let outcomes = [outcome("hums", 60.0, &[("a", 97.0)]), outcome("runs", 40.0, &[("b", 98.0)])];
        let p = cut(&possible, &outcomes, "Listen to it");
        assert!(p.description.contains("If hums (60 %): a 97 %."), "{}", p.description);
        assert!(p.description.contains("A: a, 60 %"), "{}", p.description);
        let labels = p.labels();
        for (i, a) in labels.iter().enumerate() {
            for b in &labels[i + 1..] {
                assert!(!a.overlaps(b), "{a:?} over {b:?}");
            }
        }
    }

    #[test]
    fn cells_are_shared_out_without_loss() {
        assert_eq!(share_out(&[98.0, 1.0, 1.0], 20).iter().sum::<usize>(), 20);
        assert!(share_out(&[98.0, 1.0, 1.0], 20).iter().all(|n| *n >= 1));
        assert_eq!(share_out(&[50.0, 30.0, 20.0], 40), [20, 12, 8]);
    }
}
