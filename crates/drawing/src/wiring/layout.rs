//! Where everything of a ladder stands.
//!
//! A rung takes, from above: its caption, the parts' ids, the wires' names, the line with its symbols, the terminals'
//! names, what stands across each part, and flags. Each has a height of its own, so that texts of different kinds never
//! meet; texts of one kind are kept apart by the width of a part's slot.

use std::collections::BTreeSet;

use halfsplit_workshop::machine::{Machine, TerminalRef};
use halfsplit_workshop::pictures::{Live, WiringView};

use super::describe::{magnitude, part_in_words, terminal_name, volts};
use super::graph::{Edge, End, Row, Section, Symbol, Wiring};
use super::symbols::{self, HALF};
use crate::picture::{Anchor, Picture, Type, fit, number};

/// A phone held upright, CSS pixels.
const NARROW: f64 = 390.0;
/// From the picture's edge to a rail.
const MARGIN: f64 = 24.0;
/// The least width of a part with its wires and terminals.
const SLOT: f64 = 84.0;
/// From a wire's node to a terminal's circle.
const TO_TERMINAL: f64 = 12.0;
/// Height of the box around a terminal that stands alone.
const TAG: f64 = 18.0;

pub(super) fn draw(machine: &Machine, view: &WiringView, wiring: &Wiring) -> Picture {
    let mut drawer = Drawer {
        machine,
        view,
        wiring,
        p: Picture::new(NARROW, format!("Wiring of {}", machine.sheet.machine.name)),
        drawn: BTreeSet::new(),
        pinned: BTreeSet::new(),
    };
    let widest = wiring
        .sections
        .iter()
        .flat_map(|s| s.rows.iter().map(|r| drawer.needs(r)))
        .fold(NARROW - 2.0 * MARGIN, f64::max);
    drawer.p.width = widest + 2.0 * MARGIN;
    drawer.all();
    drawer.p
}

struct Drawer<'a> {
    machine: &'a Machine,
    view: &'a WiringView,
    wiring: &'a Wiring,
    p: Picture,
    /// Terminals drawn so far.
    drawn: BTreeSet<TerminalRef>,
    /// Wires whose lone terminals are drawn.
    pinned: BTreeSet<usize>,
}

impl Drawer<'_> {
    fn all(&mut self) {
        let (left, width) = (MARGIN - 12.0, self.p.width - 2.0 * MARGIN + 24.0);
        let title = self.p.title.clone();
        let mut y = self.p.paragraph(left, 24.0, width, Type::TITLE, &title);
        let mut said = vec![self.view.state.clone()];
        if !self.view.power.is_empty() {
            said.push(self.view.power.clone());
        }
        y = self.p.paragraph(left, y, width, Type::PLAIN, &said.join("; "));
        if let Some(test) = self.view.test.clone() {
            y = self.p.paragraph(left, y + 3.0, width, Type::BOLD, &test);
        }
        y = self.key(left, y + 8.0, width);
        for section in &self.wiring.sections {
            y = self.section(section, y + 18.0);
        }
        self.p.height = y + 8.0;
    }

    /// What weight, hatching and flags mean.
    fn key(&mut self, x: f64, y: f64, width: f64) -> f64 {
        let mut kinds: Vec<(Live, &str)> = Vec::new();
        for (live, words) in [
            (Live::Live, "live"),
            (Live::Always, "live before the isolator"),
            (Live::NotProved, "isolated, not proved dead: take it for live"),
        ] {
            if self.view.live.contains(&live) {
                kinds.push((live, words));
            }
        }
        if kinds.is_empty() && self.view.probes.is_empty() {
            return y;
        }
        kinds.push((Live::Not, "not live"));
        let (mut at, mut y) = (x, y + 6.0);
        for (live, words) in kinds {
            let room = 44.0 + Type::SMALL.width(words);
            if at > x && at + room > x + width {
                (at, y) = (x, y + 18.0);
            }
            self.wire_as(live, at, y - 4.0, at + 32.0, y - 4.0);
            self.p.text(at + 38.0, y, Anchor::Start, Type::SMALL, words);
            at += room + 14.0;
        }
        let open = "mains volts are to the cabinet, or across a part where they stand under it";
        if self.view.volts.iter().flatten().any(|v| magnitude(*v) > 0.0) {
            y = self.p.paragraph(x, y + 17.0, width, Type::SMALL, open) - 13.0;
        }
        y
    }

    // ------------------------------------------------------------ sizes

    /// The slots of a row, each as wide as what stands in it and under it.
    fn slots(&self, row: &Row) -> Vec<f64> {
        let mut slots: Vec<f64> = row.edges.iter().map(|(e, _)| self.slot(&self.wiring.edges[*e])).collect();
        for nested in &row.nested {
            let (i, j) = under(row, nested);
            let (has, wants): (f64, f64) = (slots[i..j].iter().sum(), self.needs(nested));
            if wants > has {
                let more = (wants - has) / (j - i) as f64;
                slots[i..j].iter_mut().for_each(|s| *s += more);
            }
        }
        slots
    }

    fn slot(&self, edge: &Edge) -> f64 {
        let t = &self.machine.parts[edge.part.0].terminals;
        let names = edge.ends.iter().map(|e| Type::SMALL.width(&t[*e].name)).fold(0.0, f64::max);
        let id = Type::BOLD.width(&self.machine.parts[edge.part.0].id) + 10.0;
        let wires = edge.nets.iter().map(|n| Type::PLAIN.width(&self.wire_label(*n)) + 8.0).fold(0.0, f64::max);
        // A flag's pole may stand under either terminal.
        let across = self.across(edge).map_or(0.0, |text| Type::PLAIN.width(&text) + 2.0 * (TO_TERMINAL + 10.0));
        SLOT.max(2.0 * (TO_TERMINAL + 4.0 + names) + 12.0).max(id).max(wires).max(across)
    }

    /// How wide a row has to be at least.
    fn needs(&self, row: &Row) -> f64 {
        let slots: f64 = self.slots(row).iter().sum();
        let ends = self.end_width(row, true) + self.end_width(row, false);
        if row.edges.is_empty() {
            // Terminals alone may go on to further lines.
            let widest = self.pins_of(row.nets[0]).iter().map(|p| self.tag_width(*p)).fold(0.0, f64::max);
            return widest + Type::PLAIN.width(&self.wire_label(row.nets[0])) + 40.0;
        }
        slots + ends
    }

    /// Room for what stands at an end of a row: lone terminals, the widest of them, or a wire's name.
    fn end_width(&self, row: &Row, at_start: bool) -> f64 {
        let (end, net) = if at_start { (row.from, row.nets[0]) } else { (row.to, row.nets[row.nets.len() - 1]) };
        match end {
            End::Rail | End::Above => 0.0,
            End::Named => Type::BOLD.width(&self.machine.nets[net]) + 26.0,
            End::Pins => self.pins_of(net).iter().map(|p| self.tag_width(*p)).fold(20.0, f64::max) + 10.0,
        }
    }

    fn pins_of(&self, net: usize) -> &[TerminalRef] {
        self.wiring.pins.get(&net).map_or(&[], Vec::as_slice)
    }

    fn tag_text(&self, r: TerminalRef) -> String {
        terminal_name(self.machine, r).replacen('.', " ", 1)
    }

    fn tag_width(&self, r: TerminalRef) -> f64 {
        Type::PLAIN.width(&self.tag_text(r)) + 12.0
    }

    // ------------------------------------------------------------ wires

    /// A wire's name with what stands on it.
    fn wire_label(&self, net: usize) -> String {
        let name = &self.machine.nets[net];
        match (self.view.volts[net], self.view.live[net]) {
            (_, Live::NotProved) => format!("{name} ?"),
            (Some(v), _) => format!("{name} {}", volts(magnitude(v))),
            (None, _) => name.clone(),
        }
    }

    fn wire(&mut self, net: usize, x1: f64, y1: f64, x2: f64, y2: f64) {
        self.wire_as(self.view.live[net], x1, y1, x2, y2);
    }

    fn wire_as(&mut self, live: Live, x1: f64, y1: f64, x2: f64, y2: f64) {
        match live {
            Live::Live | Live::Always => {
                self.p.line("l h", x1, y1, x2, y2);
                self.p.line("l t", x1, y1, x2, y2);
            }
            Live::NotProved => self.p.line("l h d", x1, y1, x2, y2),
            Live::Not => self.p.line("l", x1, y1, x2, y2),
        }
    }

    fn dot(&mut self, x: f64, y: f64) {
        self.p.circle("f", x, y, 3.2);
    }

    // ------------------------------------------------------------ sections and rows

    fn section(&mut self, section: &Section, y: f64) -> f64 {
        let (left, right) = (MARGIN, self.p.width - MARGIN);
        self.p.line("l", left - 12.0, y - 12.0, right + 12.0, y - 12.0);
        let mut y = self.p.paragraph(left - 12.0, y + 6.0, right - left, Type::HEADING, &section.title);
        let mut rails: Vec<(usize, f64)> = Vec::new();
        if let (Some(l), Some(r)) = (section.left, section.right) {
            y += 4.0;
            let (a, b) = (self.wire_label(l), self.wire_label(r));
            self.p.text(left - 12.0, y, Anchor::Start, Type::BOLD, &a);
            self.p.text(right + 12.0, y, Anchor::End, Type::BOLD, &b);
            rails = vec![(l, left), (r, right)];
        }
        let top = y + 5.0;
        let mut last = [top, top];
        let mut rows = section.rows.iter().peekable();
        while let Some(row) = rows.next() {
            // Two that hang on one rail each share a line where there is room.
            let beside = rows.peek().copied().filter(|next| self.fit_side_by_side(row, next));
            let together: Vec<&Row> = match beside {
                Some(next) => {
                    rows.next();
                    vec![row, next]
                }
                None => vec![row],
            };
            let mut bottom: f64 = y;
            let captions: Vec<(f64, f64, String)> =
                together.iter().map(|r| self.caption_room(r, left, right)).collect();
            let caption_bottom = captions
                .iter()
                .map(|(x, w, text)| {
                    let lines = crate::picture::wrap(text, Type::SMALL.fit(*w)).len();
                    (*x, *w, text.clone(), y + 14.0 + lines as f64 * 13.0)
                })
                .fold(y + 14.0, |low, (_, _, _, b)| low.max(b));
            for (r, (x, w, text)) in together.iter().zip(captions) {
                self.p.paragraph(x, y + 16.0, w, Type::SMALL, &text);
                let line = caption_bottom + 34.0;
                bottom = bottom.max(self.row_at(r, left, right, line));
                for (side, end) in [(0, r.from), (1, r.to)] {
                    if end == End::Rail {
                        last[side] = line;
                    }
                }
                for side in self.rails_below(r) {
                    last[side] = last[side].max(bottom);
                }
            }
            y = bottom;
        }
        for ((net, x), end) in rails.into_iter().zip(last) {
            self.wire(net, x, top, x, end);
        }
        y
    }

    /// Which rails rungs below this one are joined to.
    fn rails_below(&self, row: &Row) -> Vec<usize> {
        let mut out = Vec::new();
        for n in &row.nested {
            if n.from == End::Rail {
                out.push(0);
            }
            if n.to == End::Rail {
                out.push(1);
            }
            out.extend(self.rails_below(n));
        }
        out
    }

    fn fit_side_by_side(&self, a: &Row, b: &Row) -> bool {
        let hangs_left = |r: &Row| r.from == End::Rail && r.to != End::Rail;
        let hangs_right = |r: &Row| r.to == End::Rail && r.from != End::Rail;
        hangs_left(a)
            && hangs_right(b)
            && !a.edges.is_empty()
            && !b.edges.is_empty()
            && self.needs(a) + self.needs(b) + 10.0 <= self.p.width - 2.0 * MARGIN
    }

    /// Where a row's caption goes and what it says.
    fn caption_room(&self, row: &Row, left: f64, right: f64) -> (f64, f64, String) {
        let said: Vec<String> =
            row.edges.iter().map(|(e, _)| part_in_words(self.machine, self.view, &self.wiring.edges[*e])).collect();
        let (start, end) = self.extent(row, left, right);
        (start + 9.0, end - start - 18.0, said.join(" · "))
    }

    fn extent(&self, row: &Row, left: f64, right: f64) -> (f64, f64) {
        match (row.from, row.to) {
            (_, End::Rail) if row.from != End::Rail => {
                (right - self.needs(row).max((right - left) / 2.0 - 5.0).min(right - left), right)
            }
            (End::Rail, to) if to != End::Rail => {
                (left, left + self.needs(row).max((right - left) / 2.0 - 5.0).min(right - left))
            }
            _ => (left, right),
        }
    }

    /// Draws a row with what is under it; gives its lower edge.
    fn row_at(&mut self, row: &Row, left: f64, right: f64, y: f64) -> f64 {
        if row.edges.is_empty() {
            return self.terminals_alone(row, left, right, y - 12.0);
        }
        let slots = self.slots(row);
        let (before, after) = (self.end_width(row, true), self.end_width(row, false));
        let total: f64 = slots.iter().sum::<f64>() + before + after;
        // From rail to rail everything is spread out; what hangs on one side keeps to it.
        let (start, spare) = match (row.from, row.to) {
            (End::Rail | End::Above, End::Rail | End::Above) => (left, right - left - total),
            (_, End::Rail) => (right - total, 0.0),
            _ => (left, 0.0),
        };
        let each = spare.max(0.0) / slots.len() as f64;
        let mut xs = vec![start + before];
        for s in &slots {
            xs.push(xs[xs.len() - 1] + s + each);
        }
        self.row_on(row, &xs, y)
    }

    fn row_on(&mut self, row: &Row, xs: &[f64], y: f64) -> f64 {
        let mut bottom = y + 22.0;
        let last = row.nets.len() - 1;
        for (i, (e, forward)) in row.edges.iter().enumerate() {
            bottom = bottom.max(self.part(&self.wiring.edges[*e].clone(), *forward, xs[i], xs[i + 1], y));
        }
        for (i, (net, x)) in row.nets.iter().zip(xs).enumerate() {
            let end = match i {
                0 => Some((row.from, -1.0)),
                i if i == last => Some((row.to, 1.0)),
                _ => None,
            };
            match end {
                None | Some((End::Rail | End::Above, _)) => {
                    if end.is_none() {
                        let label = self.wire_label(*net);
                        self.p.text(*x, y - 17.0, Anchor::Middle, Type::PLAIN, &label);
                        bottom = bottom.max(self.pins_below(*net, *x, y, bottom));
                    } else {
                        self.dot(*x, y);
                    }
                }
                Some((End::Named, way)) => {
                    let name = self.machine.nets[*net].clone();
                    let w = Type::BOLD.width(&name) + 14.0;
                    self.wire(*net, *x, y, x + way * 8.0, y);
                    let from = if way > 0.0 { x + 8.0 } else { x - 8.0 - w };
                    self.p.rect("l m", from, y - TAG / 2.0, w, TAG, TAG / 2.0);
                    self.p.text(from + w / 2.0, y + 4.0, Anchor::Middle, Type::BOLD, &name);
                }
                Some((End::Pins, way)) => bottom = bottom.max(self.pins_at_end(*net, *x, way, y)),
            }
        }
        for nested in &row.nested {
            bottom = self.nested(row, nested, xs, y, bottom);
        }
        bottom
    }

    /// A rung between two wires of the one above it.
    fn nested(&mut self, row: &Row, nested: &Row, xs: &[f64], y: f64, top: f64) -> f64 {
        let (i, j) = under(row, nested);
        let (a, b) = (xs[i], xs[j]);
        let (x, w, text) = {
            let (_, _, text) = self.caption_room(nested, a, b);
            (a + 9.0, b - a - 18.0, text)
        };
        let under_caption = self.p.paragraph(x, top + 12.0, w, Type::SMALL, &text);
        let line = under_caption + 32.0;
        // A rail stands there already.
        for (end, net, x) in [(nested.from, row.nets[i], a), (nested.to, row.nets[j], b)] {
            if end != End::Rail {
                self.wire(net, x, y, x, line);
                self.dot(x, y);
            }
        }
        let slots = self.slots(nested);
        let each = ((b - a) - slots.iter().sum::<f64>()).max(0.0) / slots.len() as f64;
        let mut inner = vec![a];
        for s in &slots {
            inner.push(inner[inner.len() - 1] + s + each);
        }
        self.row_on(nested, &inner, line)
    }

    /// A part between two nodes; gives its lower edge.
    fn part(&mut self, edge: &Edge, forward: bool, a: f64, b: f64, y: f64) -> f64 {
        let ends = if forward { edge.ends } else { [edge.ends[1], edge.ends[0]] };
        let nets = if forward { edge.nets } else { [edge.nets[1], edge.nets[0]] };
        let middle = (a + b) / 2.0;
        self.wire(nets[0], a, y, middle - HALF, y);
        self.wire(nets[1], middle + HALF, y, b, y);
        let closed = self.view.closed[edge.branch].unwrap_or(true);
        symbols::draw(&mut self.p, edge.symbol, middle, y, closed, forward);
        let id = fit(&self.machine.parts[edge.part.0].id, Type::BOLD.fit(b - a - 6.0));
        self.p.text(middle, y - 29.0, Anchor::Middle, Type::BOLD, &id);
        let mut bottom = y + 20.0;
        for (terminal, x, anchor, way) in
            [(ends[0], a + TO_TERMINAL, Anchor::Start, 4.0), (ends[1], b - TO_TERMINAL, Anchor::End, -4.0)]
        {
            let r = TerminalRef { part: edge.part, terminal };
            // A conductor in question has no terminals of its own.
            if edge.symbol == Symbol::Link || !self.drawn.insert(r) {
                continue;
            }
            self.p.circle("l m", x, y, 3.0);
            let name = self.machine.parts[edge.part.0].terminals[terminal].name.clone();
            self.p.text(x + way, y + 15.0, anchor, Type::SMALL, &name);
            self.p.terminal(terminal_name(self.machine, r));
            bottom = bottom.max(self.flags(r, x, y + 3.0));
        }
        if let Some(text) = self.across(edge) {
            self.p.text(middle, y + 28.0, Anchor::Middle, Type::PLAIN, &text);
            bottom = bottom.max(y + 33.0);
        }
        bottom
    }

    /// What stands across a part and flows in it, where both of its wires are worked out.
    fn across(&self, edge: &Edge) -> Option<String> {
        let (a, b) = (self.view.volts[edge.nets[0]]?, self.view.volts[edge.nets[1]]?);
        let v = magnitude((a.0 - b.0, a.1 - b.1));
        let amps = self.view.amps[edge.branch];
        let nothing_to_say = v < 0.5 && amps < 0.01;
        if nothing_to_say && (edge.protects_or_joins() || self.view.live[edge.nets[0]] == Live::Not) {
            return None;
        }
        let mut said = Vec::new();
        if !(v < 0.5 && edge.protects_or_joins()) {
            said.push(volts(v));
        }
        // A winding's own current is known for the motor as a whole only.
        if amps >= 0.01 && edge.symbol != Symbol::Winding {
            said.push(format!("{amps:.*} A", if amps < 10.0 { 2 } else { 1 }));
        }
        (!said.is_empty()).then(|| said.join(" "))
    }

    /// Numbered flags at a terminal; gives their lower edge.
    fn flags(&mut self, r: TerminalRef, x: f64, y: f64) -> f64 {
        let mut bottom = y;
        for (i, probe) in self.view.probes.iter().enumerate() {
            if *probe != r {
                continue;
            }
            let top = if bottom > y { bottom } else { y + 29.0 };
            self.p.line("l m", x, y, x, top);
            let (w, h) = (17.0, 16.0);
            self.p.path(
                "l m",
                &format!("M{} {}h{}v{}h-{}z", number(x - w / 2.0), number(top), number(w), number(h), number(w)),
            );
            self.p.text(x, top + 12.0, Anchor::Middle, Type::BOLD, &format!("{}", i + 1));
            self.p.flag(i + 1, x, top + h / 2.0);
            bottom = top + h + 4.0;
        }
        bottom
    }

    // ------------------------------------------------------------ terminals that stand alone

    fn tag(&mut self, r: TerminalRef, x: f64, y: f64) -> f64 {
        let (text, w) = (self.tag_text(r), self.tag_width(r));
        self.p.rect("l", x, y - TAG / 2.0, w, TAG, 2.0);
        self.p.text(x + w / 2.0, y + 4.0, Anchor::Middle, Type::PLAIN, &text);
        self.drawn.insert(r);
        self.p.terminal(terminal_name(self.machine, r));
        self.flags(r, x + w / 2.0, y + TAG / 2.0)
    }

    /// At the open end of a row, one above the other; gives the lower edge.
    fn pins_at_end(&mut self, net: usize, x: f64, way: f64, y: f64) -> f64 {
        let label = self.wire_label(net);
        let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
        self.p.text(x, y - 17.0, anchor, Type::PLAIN, &label);
        if !self.pinned.insert(net) {
            return y;
        }
        let pins = self.pins_of(net).to_vec();
        let mut at = y;
        for r in pins {
            self.wire(net, x, at, x + way * 10.0, at);
            if at > y {
                self.wire(net, x, y, x, at);
            }
            let w = self.tag_width(r);
            let below = self.tag(r, if way > 0.0 { x + 10.0 } else { x - 10.0 - w }, at);
            at = (at + TAG + 6.0).max(below + TAG / 2.0 + 4.0);
        }
        at - TAG / 2.0
    }

    /// Under a node inside a row; gives the lower edge.
    fn pins_below(&mut self, net: usize, x: f64, y: f64, under: f64) -> f64 {
        let pins = self.pins_of(net).to_vec();
        if pins.is_empty() || !self.pinned.insert(net) {
            return under;
        }
        let mut at = under.max(y + 34.0) + TAG / 2.0 + 2.0;
        self.dot(x, y);
        for r in pins {
            self.wire(net, x, y, x, at - TAG / 2.0);
            let w = self.tag_width(r);
            at = self.tag(r, x - w / 2.0, at).max(at + TAG / 2.0) + TAG / 2.0 + 4.0;
        }
        at - TAG / 2.0
    }

    /// A wire with nothing but terminals on it, in as many lines as it takes.
    fn terminals_alone(&mut self, row: &Row, left: f64, right: f64, y: f64) -> f64 {
        let net = row.nets[0];
        if !self.pinned.insert(net) {
            return y;
        }
        let pins = self.pins_of(net).to_vec();
        let on_right = row.to == End::Rail;
        let label = if row.from == End::Rail || on_right { String::new() } else { self.wire_label(net) };
        let lead = if label.is_empty() { 14.0 } else { Type::PLAIN.width(&label) + 22.0 };
        let (begin, end) = (left + lead, right - if on_right { 14.0 } else { 0.0 });
        // Lines of tags, filled from the rail's side.
        let mut lines: Vec<Vec<TerminalRef>> = vec![Vec::new()];
        let mut used = 0.0;
        for r in pins {
            let w = self.tag_width(r) + 10.0;
            if used > 0.0 && used + w > end - begin {
                lines.push(Vec::new());
                used = 0.0;
            }
            used += w;
            if let Some(line) = lines.last_mut() {
                line.push(r);
            }
        }
        if !label.is_empty() {
            self.p.text(left, y + 4.0, Anchor::Start, Type::PLAIN, &label);
        }
        let stem = if on_right { right } else { begin - 14.0 };
        let (mut at, mut bottom) = (y, y + TAG / 2.0);
        for line in lines {
            let total: f64 = line.iter().map(|r| self.tag_width(*r) + 10.0).sum();
            let mut x = if on_right { end - total + 10.0 } else { begin };
            if on_right {
                self.wire(net, end, at, right, at);
            } else {
                self.wire(net, stem, at, begin, at);
            }
            if at > y {
                self.wire(net, stem, y, stem, at);
            } else if row.from == End::Rail || on_right {
                self.dot(stem, at);
            }
            let mut low = at;
            for (i, r) in line.iter().enumerate() {
                let w = self.tag_width(*r);
                if i > 0 {
                    self.wire(net, x - 10.0, at, x, at);
                }
                low = low.max(self.tag(*r, x, at));
                x += w + 10.0;
            }
            bottom = low.max(at + TAG / 2.0);
            at = bottom + TAG / 2.0 + 8.0;
        }
        bottom + 4.0
    }
}

impl Edge {
    /// Whether it takes no volts when all is well.
    fn protects_or_joins(&self) -> bool {
        matches!(
            self.symbol,
            Symbol::Relay
                | Symbol::Breaker
                | Symbol::Fuse
                | Symbol::CutOff
                | Symbol::Plug
                | Symbol::Float
                | Symbol::Link
        )
    }
}

/// The nodes of a row that a nested one stands between.
fn under(row: &Row, nested: &Row) -> (usize, usize) {
    let at = |n: usize| row.nets.iter().position(|x| *x == n).unwrap_or(0);
    let (i, j) = (at(nested.nets[0]), at(nested.nets[nested.nets.len() - 1]));
    if i < j { (i, j) } else { (j, i.max(j + 1)) }
}
