//! Questions to the wiring: which side of a source a wire is on, what switches a load, what commands that.

use super::{Branch, CommandIx, Drive, Machine, Net, PartIx, Role};

impl Machine {
    fn net_at(&self, part: PartIx, terminal: usize) -> Option<Net> {
        self.parts[part.0].terminals[terminal].net
    }

    /// The wires that transformers feed, by index: a circuit of its own, low in voltage.
    pub fn transformed_nets(&self) -> Vec<bool> {
        let mut fed = vec![false; self.nets.len()];
        for (part, branch) in &self.branches {
            if let Branch::Transformer { second, .. } = *branch {
                for n in [self.net_at(*part, second.0), self.net_at(*part, second.1)].into_iter().flatten() {
                    fed[n.0] = true;
                }
            }
        }
        loop {
            let mut grew = false;
            for (part, branch) in &self.branches {
                let (Branch::Resistor { a, b, .. } | Branch::Contact { a, b, .. }) = *branch else { continue };
                let (Some(a), Some(b)) = (self.net_at(*part, a), self.net_at(*part, b)) else { continue };
                if fed[a.0] != fed[b.0] {
                    (fed[a.0], fed[b.0]) = (true, true);
                    grew = true;
                }
            }
            if !grew {
                return fed;
            }
        }
    }

    /// The wires that are, on a sound machine, the same as one side of a source: two lists for the supply, two for each
    /// transformer's second winding.
    pub fn supply_sides(&self) -> Vec<Vec<Net>> {
        let mut sides: Vec<Vec<Net>> = Vec::new();
        for (part, branch) in &self.branches {
            let ends = match *branch {
                Branch::Mains { a, b, .. } => [a, b],
                Branch::Transformer { second, .. } => [second.0, second.1],
                _ => continue,
            };
            sides.extend(ends.map(|t| self.net_at(*part, t).into_iter().collect()));
        }
        for side in &mut sides {
            let mut i = 0;
            while i < side.len() {
                for (part, branch) in &self.branches {
                    let Branch::Contact { a, b, drive, stuck, .. } = *branch else { continue };
                    let drawn = drive == Drive::Link && self.params[stuck.0].nominal > 0.5;
                    if drive != Drive::Protective && !drawn {
                        continue;
                    }
                    let (Some(a), Some(b)) = (self.net_at(*part, a), self.net_at(*part, b)) else { continue };
                    for (from, to) in [(a, b), (b, a)] {
                        if from == side[i] && !side.contains(&to) {
                            side.push(to);
                        }
                    }
                }
                i += 1;
            }
        }
        sides
    }

    /// Contacts between a load and its source: parts, nearest first, each with what drives the contact that was met first.
    /// For a part with a coil of its own the way to its coil counts, not the way to its contacts.
    fn contacts_before(&self, part: PartIx) -> Vec<(PartIx, Drive)> {
        let source: Vec<Net> = self.supply_sides().concat();
        let coil_driven = matches!(self.parts[part.0].role, Role::CoilDriven { .. });
        let mut nets: Vec<Net> = Vec::new();
        for (owner, branch) in self.branches.iter().filter(|(p, _)| *p == part) {
            let ends: Vec<usize> = match *branch {
                Branch::Resistor { a, b, .. } | Branch::Working { a, b, .. } => vec![a, b],
                Branch::Windings { c, r, s } => vec![c, r, s],
                Branch::Contact { a, b, .. } if !coil_driven => vec![a, b],
                Branch::Capacitor { a, b, .. } | Branch::HeatsUp { a, b, .. } => vec![a, b],
                _ => Vec::new(),
            };
            nets.extend(ends.into_iter().filter_map(|t| self.net_at(*owner, t)));
        }
        let mut found: Vec<(PartIx, Drive)> = Vec::new();
        let mut i = 0;
        while i < nets.len() {
            let here = nets[i];
            i += 1;
            if source.contains(&here) {
                continue;
            }
            for (owner, branch) in &self.branches {
                let Branch::Contact { a, b, drive, .. } = *branch else { continue };
                let (Some(a), Some(b)) = (self.net_at(*owner, a), self.net_at(*owner, b)) else { continue };
                for (from, to) in [(a, b), (b, a)] {
                    if from == here && *owner != part {
                        if !found.iter().any(|(p, _)| p == owner) {
                            found.push((*owner, drive));
                        }
                        if !nets.contains(&to) {
                            nets.push(to);
                        }
                    }
                }
            }
        }
        found
    }

    /// The nearest part that switches a load by its own coil or at a command.
    pub(super) fn switch_before(&self, part: PartIx) -> Option<PartIx> {
        self.contacts_before(part).into_iter().map(|(p, _)| p).find(|p| {
            matches!(self.parts[p.0].role, Role::CoilDriven { .. } | Role::Relay { .. } | Role::DefrostControl { .. })
        })
    }

    /// Whether what is heard of a part under a command can be of no other: an ear at the jacket does not tell two heating elements
    /// apart.
    pub(super) fn heard_alone(&self, part: PartIx, command: CommandIx) -> bool {
        let element = |p: PartIx| matches!(self.parts[p.0].role, Role::Element { .. });
        let other = |p: PartIx| p != part && element(p) && self.commands_driving(p).contains(&command);
        !element(part) || !(0..self.parts.len()).any(|p| other(PartIx(p)))
    }

    /// The commands that make a part do something, forced ones first.
    pub fn commands_driving(&self, part: PartIx) -> Vec<CommandIx> {
        if let Some(relay) = self.relay_feeding(part) {
            return self.commands_with(relay);
        }
        let mut told: Vec<PartIx> = Vec::new();
        // A defrost timer that is told to turn opens what it holds closed at other times.
        let mut let_go: Vec<PartIx> = Vec::new();
        let mut asked = vec![part];
        let mut i = 0;
        while i < asked.len() {
            for (p, drive) in self.contacts_before(asked[i]) {
                if drive == Drive::Released {
                    let_go.push(p);
                }
                match self.parts[p.0].role {
                    Role::Relay { .. } if !told.contains(&p) => told.push(p),
                    Role::CoilDriven { .. } if !asked.contains(&p) => asked.push(p),
                    _ => {}
                }
            }
            i += 1;
        }
        let mut commands: Vec<CommandIx> = told.into_iter().flat_map(|r| self.commands_with(r)).collect();
        commands.sort_by_key(|c| (!self.commands[c.0].forced, c.0));
        commands.dedup();
        commands.retain(|c| self.commands[c.0].stages.iter().any(|s| !s.on.iter().any(|x| let_go.contains(x))));
        commands
    }
}
