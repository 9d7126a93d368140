//! The refrigerant loop in order, as a run of pipe down the page: parts as boxes, and at each place what is expected and
//! what was measured.

use halfsplit_workshop::pictures::{LoopDoes, LoopMark, LoopPlace, LoopView};

use crate::picture::{Anchor, Picture, Type, number, wrap};

/// A phone held upright, CSS pixels.
const WIDTH: f64 = 390.0;
/// Where the pipe runs, and where it comes back.
const PIPE: f64 = 52.0;
const BACK: f64 = 16.0;
/// Where the words begin.
const WORDS: f64 = 84.0;

/// Draws the loop: the high-pressure side heavy, the low-pressure side in double line, a reading outside of what a sound
/// machine shows marked by a bar and the word.
#[must_use]
pub fn refrigerant_loop(machine: &str, view: &LoopView) -> Picture {
    let mut p = Picture::new(WIDTH, format!("Refrigerant loop of {machine}"));
    let title = p.title.clone();
    let mut y = p.paragraph(12.0, 24.0, WIDTH - 24.0, Type::TITLE, &title);
    if let Some(r) = &view.refrigerant {
        y = p.paragraph(12.0, y, WIDTH - 24.0, Type::PLAIN, r);
    }
    if view.parts.is_empty() {
        y = p.paragraph(12.0, y, WIDTH - 24.0, Type::PLAIN, "The sheet describes no refrigerant loop.");
        p.height = y;
        return p;
    }
    y += 10.0;
    let top = y;
    let mut high = true;
    let mut said = vec![format!("{title}, in the order of flow.")];
    let mut left: Vec<&LoopMark> = view.marks.iter().collect();
    for part in &view.parts {
        let (before, inside, after) = places(part.does);
        for place in before {
            y = marks(&mut p, &mut left, *place, high, y, &mut said);
        }
        let from = y;
        pipe(&mut p, high, y, y + 10.0);
        let name = format!("{} {}", part.id, part.name);
        p.rect("l m", PIPE - 20.0, y + 10.0, 40.0, 30.0, 4.0);
        symbol(&mut p, part.does, PIPE, y + 25.0);
        let mut text_y = y + 23.0;
        for line in wrap(&name, Type::HEADING.fit(WIDTH - WORDS - 12.0)) {
            p.text(WORDS, text_y, Anchor::Start, Type::HEADING, &line);
            text_y += 15.0;
        }
        p.text(WORDS, text_y, Anchor::Start, Type::SMALL, does(part.does));
        said.push(format!("{name} {}.", does(part.does)));
        y = (text_y + 8.0).max(from + 42.0);
        match part.does {
            LoopDoes::Compresses => high = true,
            LoopDoes::Meters => high = false,
            _ => {}
        }
        pipe(&mut p, high, from + 40.0, y);
        for place in inside.iter().chain(after) {
            y = marks(&mut p, &mut left, *place, high, y, &mut said);
        }
    }
    for place in ALL {
        y = marks(&mut p, &mut left, place, high, y, &mut said);
    }
    // Back to the compressor.
    pipe(&mut p, high, y, y + 12.0);
    y += 12.0;
    let d = format!(
        "M{} {}H{}V{}H{}m-7 -4l7 4l-7 4",
        number(PIPE),
        number(y),
        number(BACK),
        number(top + 25.0),
        number(PIPE - 21.0)
    );
    p.path("l m", &d);
    p.height = y + 14.0;
    p.description = said.join(" ");
    p
}

const ALL: [LoopPlace; 6] = [
    LoopPlace::Discharge,
    LoopPlace::Sink,
    LoopPlace::Liquid,
    LoopPlace::Evaporator,
    LoopPlace::Source,
    LoopPlace::Suction,
];

/// Places with values before, at and after a part.
fn places(does: LoopDoes) -> (&'static [LoopPlace], &'static [LoopPlace], &'static [LoopPlace]) {
    match does {
        LoopDoes::Compresses => (&[], &[], &[LoopPlace::Discharge]),
        LoopDoes::Condenses => (&[LoopPlace::Discharge], &[LoopPlace::Sink], &[LoopPlace::Liquid]),
        LoopDoes::Meters => (&[LoopPlace::Liquid], &[], &[]),
        LoopDoes::Evaporates => (&[], &[LoopPlace::Evaporator, LoopPlace::Source], &[LoopPlace::Suction]),
        LoopDoes::Passes => (&[], &[], &[]),
    }
}

fn does(does: LoopDoes) -> &'static str {
    match does {
        LoopDoes::Compresses => "raises the pressure",
        LoopDoes::Condenses => "gives heat off, vapour to liquid",
        LoopDoes::Meters => "lowers the pressure",
        LoopDoes::Evaporates => "takes heat up, liquid to vapour",
        LoopDoes::Passes => "lets it pass",
    }
}

/// A piece of the pipe: one heavy line at high pressure, two thin ones at low.
fn pipe(p: &mut Picture, high: bool, from: f64, to: f64) {
    if high {
        p.line("l h", PIPE, from, PIPE, to);
    } else {
        p.line("l", PIPE - 3.0, from, PIPE - 3.0, to);
        p.line("l", PIPE + 3.0, from, PIPE + 3.0, to);
    }
}

fn symbol(p: &mut Picture, does: LoopDoes, x: f64, y: f64) {
    let at = |dx: f64, dy: f64| format!("{} {}", number(x + dx), number(y + dy));
    match does {
        LoopDoes::Compresses => {
            p.circle("l m", x, y, 10.0);
            p.path("l", &format!("M{}L{}M{}L{}", at(-8.0, -6.0), at(-3.5, 9.4), at(8.0, -6.0), at(3.5, 9.4)));
        }
        LoopDoes::Condenses | LoopDoes::Evaporates => {
            p.path("l m", &format!("M{}h4l4 -14l4 14l4 -14l4 14h4", at(-12.0, 7.0)));
        }
        LoopDoes::Meters => {
            p.path("l m", &format!("M{}L{}L{}L{}Z", at(-9.0, -9.0), at(9.0, -9.0), at(-9.0, 9.0), at(9.0, 9.0)));
        }
        LoopDoes::Passes => p.rect("l", x - 9.0, y - 7.0, 18.0, 14.0, 2.0),
    }
}

/// Draws what is seen at a place, once.
fn marks(
    p: &mut Picture,
    left: &mut Vec<&LoopMark>,
    place: LoopPlace,
    high: bool,
    y: f64,
    said: &mut Vec<String>,
) -> f64 {
    let mut y = y;
    let (here, rest): (Vec<&LoopMark>, Vec<&LoopMark>) = left.iter().partition(|m| m.at == place);
    *left = rest;
    for mark in here {
        let from = y;
        y += 16.0;
        let on_the_pipe = !matches!(place, LoopPlace::Sink | LoopPlace::Source);
        if on_the_pipe {
            p.circle("f", PIPE, y - 4.0, 5.0);
        } else {
            p.path("l", &format!("M{} {}h12m-4 -4l4 4l-4 4", number(PIPE + 8.0), number(y - 4.0)));
        }
        p.text(WORDS, y, Anchor::Start, Type::BOLD, &mark.place);
        for seen in &mark.seen {
            let mut text = format!("{}: ", seen.with);
            match (&seen.measured, &seen.expected) {
                (Some(m), Some(e)) => {
                    text.push_str(&format!("{m}{}; expected {e}", if seen.off { ", OUTSIDE" } else { "" }));
                }
                (Some(m), None) => text.push_str(m),
                (None, Some(e)) => text.push_str(&format!("expected {e}")),
                (None, None) => text.push_str("not worked out"),
            }
            let set = if seen.measured.is_some() { Type::PLAIN } else { Type::SMALL };
            let begin = y + 5.0;
            for line in wrap(&text, set.fit(WIDTH - WORDS - 22.0)) {
                y += 14.0;
                p.text(WORDS + 10.0, y, Anchor::Start, set, &line);
            }
            if seen.off {
                p.line("l h", WORDS + 3.0, begin, WORDS + 3.0, y + 2.0);
            }
            said.push(format!("{}, {}.", mark.place, text));
        }
        y += 6.0;
        pipe(p, high, from, y);
    }
    y
}
