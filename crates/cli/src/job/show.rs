//! How a view is laid out on a screen of eighty columns.

use halfsplit_workshop::{AnswerView, Next, OutcomeView, StillPossible, SupposeView, TestView, View, WhyView, percent};

use crate::screen::{Screen, fit};
use halfsplit_drawing::cut::{SECTIONS, letter};

/// The whole view: what is next first, then what is still possible.
pub fn view(screen: &Screen, v: &View) -> String {
    let mut out = heading(screen, v);
    out.push_str(&next(screen, v));
    if let Some(p) = &v.still_possible {
        let outcomes = match &v.next {
            Next::Test(t) => t.outcomes.as_slice(),
            _ => &[],
        };
        let room = screen.rows.saturating_sub(out.lines().count() + 2);
        out.push_str(&possible(screen, p, outcomes, room));
    }
    for doubt in &v.doubts {
        out.push_str(&screen.labelled("mind", doubt));
    }
    for s in &v.set_aside {
        out.push_str(&screen.labelled("set aside", &format!("event {}: {}", s.event, s.why)));
    }
    out
}

fn heading(screen: &Screen, v: &View) -> String {
    let power = v.power.in_words();
    // The power is always in full; the name gives way.
    let name = v.machine.as_ref().map_or("", |m| m.name.as_str());
    let name = fit(name, screen.width.saturating_sub(power.chars().count() + 2));
    let gap = screen.width.saturating_sub(name.chars().count() + power.chars().count());
    format!("\n{}{}{power}\n{}\n", screen.strong(&name), " ".repeat(gap.max(1)), "─".repeat(screen.width))
}

fn next(screen: &Screen, v: &View) -> String {
    match &v.next {
        Next::Open => "Open the job first.\n".into(),
        Next::Closed => {
            let e = v.ended.as_ref();
            let mut out = screen.strong(e.map_or("This job is closed.", |e| e.words.as_str())) + "\n";
            if let Some(e) = e {
                if let Some(cause) = &e.cause {
                    out.push_str(&screen.labelled("cause", cause));
                }
                if let Some(upstream) = &e.upstream {
                    out.push_str(&screen.labelled("upstream", upstream));
                }
                if !e.note.is_empty() {
                    out.push_str(&screen.labelled("note", &e.note));
                }
                out.push_str(&screen.labelled("closed", &format!("{} by {}", e.at, e.by)));
            }
            out
        }
        Next::ReadOnly { last_advice, why } => {
            let mut out = screen.strong("This version cannot compute the job; it can be read.") + "\n";
            out.push_str(&screen.labelled("because", why));
            if let Some(text) = last_advice {
                out.push_str(&screen.labelled("shown last", text));
            }
            out
        }
        Next::Test(t) => {
            let mut out = test(screen, t);
            if !v.bundle.is_empty() {
                let also: Vec<String> =
                    v.bundle.iter().take(3).map(|b| format!("{} ({:.0} min)", b.test, b.minutes.max(1.0))).collect();
                let line = format!("while at it: {}", also.join("; "));
                out.push_str(&screen.labelled("also", &fit(&line, screen.width - 12)));
            }
            out
        }
        Next::Repair(r) => {
            let mut out = screen.strong(&screen.paragraph(0, &format!("REPAIR: {}", r.what)));
            out.push_str(
                &screen
                    .labelled("because", &format!("{} that this is what is needed ({})", r.odds, percent(r.percent))),
            );
            out.push_str(&screen.labelled("minutes", &format!("{:.0}, access included", r.minutes)));
            for u in &r.upstream {
                out.push_str(&screen.labelled("upstream", &format!("look for: {u}")));
            }
            out.push_str(&screen.labelled("prove", &r.proof));
            out.push_str(&screen.labelled("then", &format!("type: did   (for {})", r.id)));
            out
        }
        Next::Prove(p) => {
            let mut out = screen.strong("PROVE IT: run the machine and show that it is right") + "\n";
            for a in &p.after {
                out.push_str(&screen.labelled("after", a));
            }
            for h in &p.how {
                out.push_str(&screen.labelled("prove", h));
            }
            for e in &p.expect {
                out.push_str(&screen.labelled("expect", e));
            }
            for u in &p.upstream {
                out.push_str(&screen.labelled("upstream", &format!("before closing, look for: {u}")));
            }
            out.push_str(&screen.labelled("then", "type: proved   or: unproved"));
            out
        }
        Next::End(e) => {
            let mut out = screen.strong(&screen.paragraph(0, &format!("END: {}", e.words)));
            for g in &e.get {
                out.push_str(&screen.labelled("get", g));
            }
            let type_this = match e.ending {
                "repaired" => "end repaired",
                "nothing_broken" => "end nothing broken",
                _ => "end cannot tell   (or: end made safe)",
            };
            out.push_str(&screen.labelled("then", &format!("type: {type_this}")));
            out
        }
    }
}

/// A test on the table.
pub fn test(screen: &Screen, t: &TestView) -> String {
    let what = match (&t.run_in, t.proving) {
        (Some(_), _) => "RUN-IN",
        (_, true) => "PROVE IT",
        _ => "NEXT",
    };
    let mut out = screen.strong(&screen.paragraph(0, &format!("{what}: {}", t.title)));
    if let Some(run_in) = &t.run_in {
        out.push_str(&screen.labelled("why", &format!("{} (end repaired)", run_in.words)));
    }
    let place = if t.open.is_empty() { t.place.clone() } else { format!("get to: {}", t.open.join(", then ")) };
    let power = match t.power {
        "dead" => "machine dead",
        "live" => "machine live",
        _ => "power as it is",
    };
    out.push_str(&screen.labelled("where", &format!("{place}. {power}, {:.0} min.", t.minutes.max(1.0))));
    if !t.first.is_empty() {
        out.push_str(&screen.labelled("first", &t.first.join(" ")));
    }
    out.push_str(&screen.labelled("how", &t.how));
    for c in &t.cautions {
        out.push_str(&screen.labelled("caution", c));
    }
    match &t.answer {
        AnswerView::Words { words } => {
            let words: Vec<String> = words.iter().enumerate().map(|(i, w)| format!("{} {w}", i + 1)).collect();
            out.push_str(&screen.labelled("answer", &words.join("  ")));
        }
        AnswerView::Number { example, .. } => {
            let healthy = t.if_healthy.as_ref().map(|b| format!("{b}. ")).unwrap_or_default();
            let label = if healthy.is_empty() { "answer" } else { "healthy" };
            out.push_str(&screen.labelled(label, &format!("{healthy}Type it with its unit, like {example}; or OL.")));
        }
    }
    if !t.report_first.is_empty() {
        let reports: Vec<String> = t.report_first.iter().map(|r| format!("report {r}")).collect();
        out.push_str(&screen.labelled("report", &reports.join(", ")));
    }
    out
}

/// What is still possible, with the cut and what each outcome leaves, in about so many lines: what does not fit is
/// the least likely.
pub fn possible(screen: &Screen, p: &StillPossible, outcomes: &[OutcomeView], room: usize) -> String {
    // Title and picture take six; outcomes come before the fifth suspect and those after him.
    let free = room.saturating_sub(6).max(5);
    let mut by_odds: Vec<usize> = (0..outcomes.len()).collect();
    by_odds.sort_by(|a, b| outcomes[*b].percent.total_cmp(&outcomes[*a].percent));
    let shown_outcomes = outcomes.len().min((free / 2).max(2)).min(6);
    let kept: Vec<usize> = by_odds.into_iter().take(shown_outcomes).collect();
    let shown_suspects = free.saturating_sub(shown_outcomes).clamp(3, SECTIONS);

    let mut out = format!("{}\n", screen.strong("STILL POSSIBLE"));
    out.push_str(&halfsplit_drawing::cut::text(p, outcomes, shown_suspects, screen.width));
    for (i, s) in p.suspects.iter().take(shown_suspects).enumerate() {
        if i >= 3 && s.percent < 0.3 {
            break;
        }
        let degree = if s.degree.is_empty() { String::new() } else { format!(" ({})", s.degree) };
        let comes = if s.intermittent { ", comes and goes" } else { "" };
        let line = format!(" {} {:>6}  {}{degree}{comes}", letter(i), percent(s.percent), s.name);
        let room = screen.width.saturating_sub(s.odds.len() + 2);
        out.push_str(&format!("{:room$}  {}\n", fit(&line, room), s.odds));
    }
    let mut rest = Vec::new();
    if p.nothing_broken >= 0.1 {
        rest.push(format!("= nothing broken {}", percent(p.nothing_broken)));
    }
    if p.not_described >= 0.1 {
        let like = p.not_described_like.as_ref().map_or(String::new(), |like| format!(", much like \"{like}\""));
        rest.push(format!("? something not described {}{like}", percent(p.not_described)));
    }
    if p.not_worked_out_at_most >= 0.1 {
        rest.push(format!("pairs not worked out, at most {}", percent(p.not_worked_out_at_most)));
    }
    if !rest.is_empty() {
        out.push_str(&format!(" {}\n", fit(&rest.join("   "), screen.width - 1)));
    }
    for built in &p.how_built {
        out.push_str(&screen.labelled("built", &built.in_words()));
    }
    for o in kept_in_order(outcomes, &kept) {
        out.push_str(&outcome(screen, o, p, shown_suspects));
    }
    out
}

fn kept_in_order<'a>(outcomes: &'a [OutcomeView], kept: &'a [usize]) -> impl Iterator<Item = &'a OutcomeView> {
    outcomes.iter().enumerate().filter(|(i, _)| kept.contains(i)).map(|(_, o)| o)
}

fn outcome(screen: &Screen, o: &OutcomeView, p: &StillPossible, named: usize) -> String {
    let mut left: Vec<String> = o
        .leaves
        .iter()
        .take(4)
        .map(|l| {
            let who = p.suspects.iter().take(named).position(|s| s.id == l.id);
            let who = who.map_or_else(|| l.id.clone(), |i| letter(i).to_string());
            format!("{who} {}", percent(l.percent))
        })
        .collect();
    if o.nothing_broken >= 1.0 {
        left.push(format!("= {}", percent(o.nothing_broken)));
    }
    if o.not_described >= 1.0 {
        left.push(format!("? {}", percent(o.not_described)));
    }
    if left.is_empty() {
        left.push("nothing that is known".to_owned());
    }
    let line = format!(" if {:24} {:>6}  leaves {}", fit(&o.shows, 24), percent(o.percent), left.join(", "));
    format!("{}\n", fit(&line, screen.width))
}

/// Why a suspect stands where it stands.
pub fn why(screen: &Screen, w: &WhyView) -> String {
    let mut out = format!("\n{}\n", screen.strong(&format!("WHY: {}", w.name)));
    out.push_str(&format!("  before any reading {}, now {}\n", percent(w.before), percent(w.now)));
    for r in &w.readings {
        out.push_str(&screen.paragraph(2, &format!("{} = {}: {}", r.test, r.read, r.words)));
    }
    if let Some(p) = &w.proved_wrong_by {
        let words = format!(
            "{} ({}) at: {} ({}); that would leave it {}",
            p.shows,
            percent(p.percent),
            p.title,
            p.test,
            percent(p.leaves)
        );
        out.push_str(&screen.labelled("wrong if", &words));
    }
    out
}

/// What a reading would leave.
pub fn suppose(screen: &Screen, s: &SupposeView) -> String {
    let mut out = format!("\n{}\n", screen.strong(&format!("SUPPOSE: {} = {}", s.test, s.read)));
    out.push_str(&possible(screen, &s.still_possible, &[], screen.rows));
    if !s.ruled_out.is_empty() {
        out.push_str(&screen.labelled("rules out", &s.ruled_out.join("; ")));
    }
    out
}

/// Everything so far.
pub fn list(screen: &Screen, v: &View) -> String {
    let mut out = format!("\n{}\n", screen.strong("SO FAR"));
    if let Some(o) = &v.opening {
        if !o.complaint.is_empty() {
            out.push_str(&screen.labelled("customer", &format!("\"{}\"", o.complaint)));
        }
        if let Some(age) = o.age_years {
            out.push_str(&screen.labelled("age", &format!("{age} years")));
        }
        if let Some(code) = &o.shown_code {
            out.push_str(&screen.labelled("display", code));
        }
    }
    for (i, r) in v.readings.iter().enumerate() {
        let healthy = r.if_healthy.as_ref().map(|b| format!("; healthy {b}")).unwrap_or_default();
        let epoch = if r.epoch == v.epoch { "" } else { "; before the machine was changed" };
        out.push_str(&screen.labelled(
            &format!("{}", i + 1),
            &format!("{} = {} (typed \"{}\"{healthy}{epoch})", r.test, r.understood, r.typed),
        ));
        if !r.ruled_out.is_empty() {
            out.push_str(&screen.labelled("", &format!("ruled out: {}", r.ruled_out.join("; "))));
        }
    }
    for d in &v.done {
        let proved = if d.repair.is_none() {
            ""
        } else if d.proved {
            ", proved"
        } else {
            ", not proved yet"
        };
        out.push_str(&screen.labelled("done", &format!("{}{proved}", d.what)));
    }
    for n in &v.not_made {
        out.push_str(&screen.labelled("not made", &format!("{}: {}", n.test, n.why)));
    }
    for n in &v.notes {
        let about = if n.about.is_empty() { String::new() } else { format!("{}: ", n.about) };
        out.push_str(&screen.labelled("noted", &format!("{about}{}", n.words)));
    }
    out.push_str(&screen.labelled("power", &v.power.in_words()));
    for l in &v.power.lapsed {
        out.push_str(&screen.labelled("", &format!("{} by {} at {} lapsed at {}", l.what, l.who, l.at, l.lapsed_at)));
    }
    out
}
