//! From a list of branches to rungs: which wires are rails, which parts follow each other between them, and what is
//! connected beside a rung.

use std::collections::{BTreeMap, VecDeque};

use halfsplit_workshop::machine::{Branch, Drive, Machine, Net, PartIx, Role, TerminalRef};

/// What a part between two wires looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Symbol {
    /// A relay's contact.
    Relay,
    /// A breaker's pole.
    Breaker,
    /// A fuse.
    Fuse,
    /// A thermal cut-off's pole.
    CutOff,
    /// A float switch.
    Float,
    /// A plug.
    Plug,
    /// A conductor that may be there or not: nobody knows yet how the machine is built.
    Link,
    /// A relay's coil.
    Coil,
    /// A heating element.
    Heater,
    /// A winding.
    Winding,
    /// A motor as a whole.
    Motor,
    /// A capacitor.
    Capacitor,
    /// A thermistor.
    Sensor,
    /// A diode, from its anode.
    Diode,
    /// Anything else that takes current.
    Load,
}

/// A part, or a piece of one, between two wires.
#[derive(Debug, Clone)]
pub(super) struct Edge {
    /// Index of the branch that it comes from.
    pub branch: usize,
    pub part: PartIx,
    /// Its two terminals.
    pub ends: [usize; 2],
    /// The wires that they are on.
    pub nets: [usize; 2],
    pub symbol: Symbol,
    /// Which piece of the part, where there are several: "run winding".
    pub piece: &'static str,
}

impl Edge {
    fn other(&self, net: usize) -> usize {
        if self.nets[0] == net { self.nets[1] } else { self.nets[0] }
    }

    fn protects(&self) -> bool {
        matches!(self.symbol, Symbol::Breaker | Symbol::Fuse | Symbol::CutOff | Symbol::Plug)
    }
}

/// How a rung begins or ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// On the rail of that side.
    Rail,
    /// On a wire of the rung that it stands under.
    Above,
    /// At a wire that is drawn elsewhere: its name says which.
    Named,
    /// At terminals of parts that have nothing drawn behind them.
    Pins,
}

/// Parts in a row, from left to right.
#[derive(Debug, Clone)]
pub(super) struct Row {
    /// One more than parts.
    pub nets: Vec<usize>,
    /// Index of the edge, and whether its first terminal is on the left.
    pub edges: Vec<(usize, bool)>,
    pub from: End,
    pub to: End,
    /// Rungs between wires of this one.
    pub nested: Vec<Row>,
}

/// One circuit with its rails.
#[derive(Debug, Clone)]
pub(super) struct Section {
    pub title: String,
    pub left: Option<usize>,
    pub right: Option<usize>,
    pub rows: Vec<Row>,
}

/// The whole wiring, sorted out.
#[derive(Debug, Clone)]
pub(super) struct Wiring {
    pub edges: Vec<Edge>,
    /// Terminals with nothing drawn behind them, by wire.
    pub pins: BTreeMap<usize, Vec<TerminalRef>>,
    pub sections: Vec<Section>,
}

impl Wiring {
    pub(super) fn of(machine: &Machine) -> Wiring {
        let edges = edges(machine);
        let pins = pins(machine, &edges);
        let sections = circuits(machine, &edges, &pins)
            .into_iter()
            .map(|circuit| Sorting::new(machine, &edges, &pins, circuit).section())
            .collect();
        Wiring { edges, pins, sections }
    }
}

fn symbol(machine: &Machine, part: PartIx, branch: &Branch) -> Symbol {
    let role = &machine.parts[part.0].role;
    match (branch, role) {
        (Branch::Contact { drive: Drive::Relay | Drive::Released, .. }, _) => Symbol::Relay,
        (Branch::Contact { drive: Drive::Overload, .. }, _) => Symbol::CutOff,
        (Branch::Contact { drive: Drive::Float, .. }, _) => Symbol::Float,
        (Branch::Contact { drive: Drive::Link, .. }, _) => Symbol::Link,
        (_, Role::OverCurrent { resettable: true, .. }) => Symbol::Breaker,
        (_, Role::OverCurrent { .. }) => Symbol::Fuse,
        (_, Role::CutOff { .. }) => Symbol::CutOff,
        (Branch::Contact { .. }, _) => Symbol::Plug,
        (Branch::Capacitor { .. }, _) => Symbol::Capacitor,
        (Branch::Thermistor { .. }, _) => Symbol::Sensor,
        (Branch::Windings { .. } | Branch::Transformer { .. }, _) => Symbol::Winding,
        (Branch::Star { .. }, _) => Symbol::Winding,
        (Branch::Diode { .. }, _) => Symbol::Diode,
        (Branch::HeatsUp { .. }, _) => Symbol::Sensor,
        (Branch::Working { .. }, _) => Symbol::Motor,
        (_, Role::Relay { .. }) => Symbol::Coil,
        (_, Role::Element { .. }) => Symbol::Heater,
        (_, Role::Fan { .. }) => Symbol::Motor,
        (_, Role::ExpansionValve { .. }) => Symbol::Winding,
        _ => Symbol::Load,
    }
}

/// Every branch that stands between two wires. Sources and leaks to the cabinet are none.
fn edges(machine: &Machine) -> Vec<Edge> {
    let mut out = Vec::new();
    for (i, (part, branch)) in machine.branches.iter().enumerate() {
        let between: Vec<(usize, usize, &'static str)> = match *branch {
            Branch::Resistor { a, b, .. }
            | Branch::Working { a, b, .. }
            | Branch::Draw { a, b, .. }
            | Branch::HeatsUp { a, b, .. }
            | Branch::Thermistor { a, b }
            | Branch::Capacitor { a, b, .. }
            | Branch::Contact { a, b, .. } => vec![(a, b, "")],
            // What the second winding feeds is a circuit of its own.
            Branch::Transformer { first: (a, b), .. } => vec![(a, b, "first winding")],
            Branch::Diode { anode, cathode, .. } => vec![(anode, cathode, "")],
            Branch::Star { ends: [u, v, w], .. } => vec![(u, v, "windings"), (v, w, "windings")],
            Branch::Windings { c, r, s } => vec![(r, c, "run winding"), (s, c, "start winding")],
            _ => Vec::new(),
        };
        for (a, b, piece) in between {
            let t = &machine.parts[part.0].terminals;
            let (Some(na), Some(nb)) = (t[a].net, t[b].net) else { continue };
            let symbol = symbol(machine, *part, branch);
            out.push(Edge { branch: i, part: *part, ends: [a, b], nets: [na.0, nb.0], symbol, piece });
        }
    }
    out
}

/// Terminals on a wire that no edge ends at: sources, the board's, and whatever a branch of another kind is made of.
fn pins(machine: &Machine, edges: &[Edge]) -> BTreeMap<usize, Vec<TerminalRef>> {
    let mut out: BTreeMap<usize, Vec<TerminalRef>> = BTreeMap::new();
    for r in machine.terminals() {
        let at_an_edge = edges.iter().any(|e| e.part == r.part && e.ends.contains(&r.terminal));
        if let (Some(Net(n)), false) = (machine.net(r), at_an_edge) {
            out.entry(n).or_default().push(r);
        }
    }
    out
}

/// A source between two wires, with its words.
struct Source {
    sides: [usize; 2],
    earth: Option<usize>,
    words: String,
}

fn sources(machine: &Machine) -> Vec<Source> {
    let mut out = Vec::new();
    for (part, branch) in &machine.branches {
        let net = |t: usize| machine.parts[part.0].terminals[t].net.map(|n| n.0);
        match *branch {
            Branch::Mains { a, b, earth, .. } => {
                let (Some(na), Some(nb)) = (net(a), net(b)) else { continue };
                let n = &machine.sheet.nameplate;
                let words = format!("Mains, {} V, {} Hz", n.volts, n.hertz);
                out.push(Source { sides: [na, nb], earth: net(earth), words });
            }
            Branch::Transformer { second: (a, b), volts, .. } => {
                let (Some(na), Some(nb)) = (net(a), net(b)) else { continue };
                out.push(Source { sides: [na, nb], earth: None, words: format!("{:.0} V AC", volts[1]) });
            }
            Branch::Rail { plus, ground, volts, .. } => {
                let (Some(np), Some(ng)) = (net(plus), net(ground)) else { continue };
                out.push(Source { sides: [np, ng], earth: None, words: format!("{volts} V DC") });
            }
            _ => {}
        }
    }
    out
}

/// Wires that belong together, by parts or by a source between them.
struct Circuit {
    nets: Vec<usize>,
    sources: Vec<Source>,
}

fn circuits(machine: &Machine, edges: &[Edge], pins: &BTreeMap<usize, Vec<TerminalRef>>) -> Vec<Circuit> {
    let mut of: Vec<usize> = (0..machine.nets.len()).collect();
    fn root(of: &[usize], mut n: usize) -> usize {
        while of[n] != n {
            n = of[n];
        }
        n
    }
    let mut join = |a: usize, b: usize| {
        let (a, b) = (root(&of, a), root(&of, b));
        of[a.max(b)] = a.min(b);
    };
    // The cabinet joins nothing: every metal part is on it.
    for e in edges.iter().filter(|e| !e.nets.contains(&machine.earth.0)) {
        join(e.nets[0], e.nets[1]);
    }
    let all = sources(machine);
    for s in &all {
        join(s.sides[0], s.sides[1]);
        if let Some(earth) = s.earth {
            join(s.sides[0], earth);
        }
    }
    let mut out: Vec<(usize, Circuit)> = Vec::new();
    for n in 0..machine.nets.len() {
        if !pins.contains_key(&n) && !edges.iter().any(|e| e.nets.contains(&n)) {
            continue;
        }
        let r = root(&of, n);
        match out.iter_mut().find(|(root, _)| *root == r) {
            Some((_, c)) => c.nets.push(n),
            None => out.push((r, Circuit { nets: vec![n], sources: Vec::new() })),
        }
    }
    for s in all {
        let r = root(&of, s.sides[0]);
        if let Some((_, c)) = out.iter_mut().find(|(root, _)| *root == r) {
            c.sources.push(s);
        }
    }
    // Circuits with a source first, in the order of the sheet.
    let mut circuits: Vec<Circuit> = out.into_iter().map(|(_, c)| c).collect();
    circuits.sort_by_key(|c| c.sources.is_empty());
    circuits
}

/// Wires passed, and the parts between them, each with whether its first terminal comes first.
type Way = (Vec<usize>, Vec<(usize, bool)>);

/// A circuit being sorted into rows.
struct Sorting<'a> {
    edges: &'a [Edge],
    pins: &'a BTreeMap<usize, Vec<TerminalRef>>,
    circuit: Circuit,
    left: Option<usize>,
    right: Option<usize>,
    /// Edges in no row yet.
    free: Vec<bool>,
    /// Wires that are in a row, or a rail.
    placed: Vec<bool>,
}

impl<'a> Sorting<'a> {
    fn new(
        machine: &'a Machine,
        edges: &'a [Edge],
        pins: &'a BTreeMap<usize, Vec<TerminalRef>>,
        circuit: Circuit,
    ) -> Sorting<'a> {
        let free =
            edges.iter().map(|e| circuit.nets.contains(&e.nets[0]) || circuit.nets.contains(&e.nets[1])).collect();
        let placed = vec![false; machine.nets.len()];
        let mut s = Sorting { edges, pins, circuit, left: None, right: None, free, placed };
        s.choose_rails();
        s
    }

    fn degree(&self, net: usize) -> usize {
        self.edges.iter().filter(|e| e.nets.contains(&net) && !e.protects()).count()
    }

    /// The rails: of the source with most hanging on it, on each side the busiest wire that only protection separates
    /// from it. Without a source, the two busiest wires.
    fn choose_rails(&mut self) {
        let best = self.circuit.sources.iter().max_by_key(|s| {
            let [a, b] = s.sides.map(|n| self.degree(self.behind_protection(n)));
            a + b
        });
        if let Some(s) = best {
            let [left, right] = s.sides.map(|n| self.behind_protection(n));
            if left != right {
                (self.left, self.right) = (Some(left), Some(right));
            }
        } else if self.circuit.nets.len() > 2 {
            let mut by_degree = self.circuit.nets.clone();
            by_degree.sort_by_key(|n| (usize::MAX - self.degree(*n), *n));
            if self.degree(by_degree[1]) > 0 {
                (self.left, self.right) = (Some(by_degree[0]), Some(by_degree[1]));
            }
        }
        for rail in [self.left, self.right].into_iter().flatten() {
            self.placed[rail] = true;
        }
    }

    fn behind_protection(&self, root: usize) -> usize {
        let mut reached = vec![root];
        let mut i = 0;
        while i < reached.len() {
            let at = reached[i];
            for e in self.edges.iter().filter(|e| e.protects() && e.nets.contains(&at)) {
                let n = e.other(at);
                if !reached.contains(&n) {
                    reached.push(n);
                }
            }
            i += 1;
        }
        let most = reached.iter().map(|n| self.degree(*n)).max().unwrap_or(0);
        reached.into_iter().find(|n| self.degree(*n) == most).unwrap_or(root)
    }

    fn section(mut self) -> Section {
        let mut rows = Vec::new();
        self.feeds(&mut rows);
        if let (Some(left), Some(right)) = (self.left, self.right) {
            for first in 0..self.edges.len() {
                if !self.free[first] || !self.edges[first].nets.contains(&left) {
                    continue;
                }
                let avoid = |n: usize| self.placed[n] && n != right;
                if let Some((nets, edges)) = self.path(left, Some(first), &|n| n == right, &avoid) {
                    let row = Row { nets, edges, from: End::Rail, to: End::Rail, nested: Vec::new() };
                    rows.push(self.take(row));
                }
            }
        }
        self.dead_ends(&mut rows);
        self.islands(&mut rows);
        self.pins_alone(&mut rows);
        let rows = side_by_side(rows);
        Section { title: self.title(), left: self.left, right: self.right, rows }
    }

    fn title(&self) -> String {
        let mut words: Vec<&str> = self.circuit.sources.iter().map(|s| s.words.as_str()).collect();
        words.dedup();
        match words[..] {
            [] => "Other wires".to_owned(),
            _ if words.iter().all(|w| w.ends_with("C")) => format!("Control, {}", words.join(" and ")),
            _ => words.join("; "),
        }
    }

    /// From each rail back to where it is fed.
    fn feeds(&mut self, rows: &mut Vec<Row>) {
        let roots: Vec<[usize; 2]> = self.circuit.sources.iter().map(|s| s.sides).collect();
        for (side, rail) in [self.left, self.right].into_iter().enumerate() {
            let Some(rail) = rail else { continue };
            let protecting = |s: &Sorting<'_>, e: usize| s.free[e] && s.edges[e].protects();
            let found = roots.iter().find_map(|r| {
                let goal = r[side];
                (goal != rail).then(|| self.search(rail, None, &|n| n == goal, &|n| self.placed[n], &protecting))?
            });
            if let Some((nets, edges)) = found {
                let row = Row { nets, edges, from: End::Rail, to: End::Pins, nested: Vec::new() };
                rows.push(self.take(if side == 0 { row } else { row.turned() }));
            }
        }
    }

    /// Marks a row's parts and wires as drawn, and finds what is connected beside it.
    fn take(&mut self, mut row: Row) -> Row {
        for (e, _) in &row.edges {
            self.free[*e] = false;
        }
        for n in &row.nets {
            self.placed[*n] = true;
        }
        loop {
            let mut shortest: Option<(usize, usize, Way)> = None;
            for i in 0..row.nets.len() {
                for j in i + 1..row.nets.len() {
                    let (a, b) = (row.nets[i], row.nets[j]);
                    if a == b || (Some(a) == self.left && Some(b) == self.right) {
                        continue;
                    }
                    let Some(way) = self.path(a, None, &|n| n == b, &|n| self.placed[n] && n != b) else {
                        continue;
                    };
                    if shortest.as_ref().is_none_or(|(k, l, _)| j - i < l - k) {
                        shortest = Some((i, j, way));
                    }
                }
            }
            let Some((_, _, (nets, edges))) = shortest else { break };
            let end = |s: &Sorting<'_>, n: usize| {
                if Some(n) == s.left || Some(n) == s.right { End::Rail } else { End::Above }
            };
            let (from, to) = (end(self, nets[0]), end(self, nets[nets.len() - 1]));
            let nested = self.take(Row { nets, edges, from, to, nested: Vec::new() });
            row.nested.push(nested);
        }
        row
    }

    /// Parts that hang on a drawn wire with one side only.
    fn dead_ends(&mut self, rows: &mut Vec<Row>) {
        loop {
            let mut hangs: Vec<usize> = [self.left, self.right].into_iter().flatten().collect();
            hangs.extend((0..self.placed.len()).filter(|n| self.placed[*n]));
            let found = hangs.into_iter().find_map(|n| {
                (0..self.edges.len()).find(|e| self.free[*e] && self.edges[*e].nets.contains(&n)).map(|e| (n, e))
            });
            let Some((net, first)) = found else { break };
            let row = self.walk(net, first);
            rows.push(self.take(row));
        }
    }

    /// Circuits without a rail.
    fn islands(&mut self, rows: &mut Vec<Row>) {
        while let Some(first) = (0..self.edges.len()).find(|e| self.free[*e]) {
            let row = self.walk(self.edges[first].nets[0], first);
            rows.push(self.take(row));
            self.dead_ends(rows);
        }
    }

    /// From a wire along free parts until a drawn wire, or nothing, follows.
    fn walk(&self, net: usize, first: usize) -> Row {
        let mut nets = vec![net];
        let mut edges: Vec<(usize, bool)> = Vec::new();
        let mut next = Some(first);
        while let Some(e) = next {
            let at = nets[nets.len() - 1];
            edges.push((e, self.edges[e].nets[0] == at));
            let n = self.edges[e].other(at);
            nets.push(n);
            if self.placed[n] || nets[..nets.len() - 1].contains(&n) {
                break;
            }
            next = (0..self.edges.len())
                .find(|x| self.free[*x] && self.edges[*x].nets.contains(&n) && !edges.iter().any(|(y, _)| y == x));
        }
        let last = nets[nets.len() - 1];
        let to = if self.placed[last] || nets[..nets.len() - 1].contains(&last) { End::Named } else { End::Pins };
        let from = if Some(net) == self.left || Some(net) == self.right {
            End::Rail
        } else if self.placed[net] {
            End::Named
        } else {
            End::Pins
        };
        let row = Row { nets, edges, from, to, nested: Vec::new() };
        if Some(net) == self.right && self.left != self.right { row.turned() } else { row }
    }

    /// Wires with terminals and nothing between them.
    fn pins_alone(&mut self, rows: &mut Vec<Row>) {
        for n in self.circuit.nets.clone() {
            let rail = Some(n) == self.left || Some(n) == self.right;
            if self.pins.contains_key(&n) && (rail || !self.placed[n]) {
                self.placed[n] = true;
                let end = |side: Option<usize>| if Some(n) == side { End::Rail } else { End::Pins };
                let (from, to) = (end(self.left), end(self.right));
                rows.push(Row { nets: vec![n], edges: Vec::new(), from, to, nested: Vec::new() });
            }
        }
    }

    fn path(
        &self,
        from: usize,
        first: Option<usize>,
        goal: &dyn Fn(usize) -> bool,
        avoid: &dyn Fn(usize) -> bool,
    ) -> Option<Way> {
        self.search(from, first, goal, avoid, &|s: &Sorting<'_>, e| s.free[e])
    }

    /// The shortest way over usable parts, by way of a given first one if there is one.
    fn search(
        &self,
        from: usize,
        first: Option<usize>,
        goal: &dyn Fn(usize) -> bool,
        avoid: &dyn Fn(usize) -> bool,
        usable: &dyn Fn(&Sorting<'_>, usize) -> bool,
    ) -> Option<Way> {
        let mut came: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
        let mut queue = VecDeque::from([from]);
        while let Some(n) = queue.pop_front() {
            for (i, e) in self.edges.iter().enumerate() {
                if !usable(self, i) || !e.nets.contains(&n) || (n == from && first.is_some_and(|f| f != i)) {
                    continue;
                }
                let next = e.other(n);
                if next == from || came.contains_key(&next) || (avoid(next) && !goal(next)) {
                    continue;
                }
                came.insert(next, (n, i));
                if goal(next) {
                    let (mut nets, mut edges) = (vec![next], Vec::new());
                    let mut at = next;
                    while at != from {
                        let (before, edge) = came[&at];
                        edges.insert(0, (edge, self.edges[edge].nets[0] == before));
                        nets.insert(0, before);
                        at = before;
                    }
                    return Some((nets, edges));
                }
                queue.push_back(next);
            }
        }
        None
    }
}

/// Rows that hang on the left rail only and such that hang on the right one only, by turns: two may share a line.
fn side_by_side(rows: Vec<Row>) -> Vec<Row> {
    let hangs_right = |r: &Row| r.to == End::Rail && r.from != End::Rail && r.nested.is_empty() && r.edges.len() == 1;
    let hangs_left = |r: &Row| r.from == End::Rail && r.to != End::Rail && r.nested.is_empty() && r.edges.len() == 1;
    let (right, rest): (Vec<Row>, Vec<Row>) = rows.into_iter().partition(hangs_right);
    let mut right = VecDeque::from(right);
    let mut out = Vec::new();
    for row in rest {
        let left = hangs_left(&row);
        out.push(row);
        if left {
            out.extend(right.pop_front());
        }
    }
    // What found no partner comes before the terminals that stand alone.
    let at = out.iter().position(|r| r.edges.is_empty()).unwrap_or(out.len());
    out.splice(at..at, right);
    out
}

impl Row {
    /// The same from the other side.
    fn turned(mut self) -> Row {
        self.nets.reverse();
        self.edges.reverse();
        for (_, forward) in &mut self.edges {
            *forward = !*forward;
        }
        std::mem::swap(&mut self.from, &mut self.to);
        self
    }
}
