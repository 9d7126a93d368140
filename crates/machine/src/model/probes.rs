//! Where the probes of a test go.

use super::{Branch, Machine, Net, PlaceIx, Role, TerminalRef};
use crate::test::{Measure, Test};

impl Machine {
    /// The terminal at which a wire may be probed at a place, the first of the sheet's; `None` where there is none.
    pub fn probe_of(&self, net: Net, place: PlaceIx) -> Option<TerminalRef> {
        self.terminals().find(|r| {
            let t = &self.parts[r.part.0].terminals[r.terminal];
            t.net == Some(net) && t.place == place && t.live_allowed
        })
    }

    /// Every terminal of every part, in the order of the sheet.
    pub fn terminals(&self) -> impl Iterator<Item = TerminalRef> + '_ {
        self.parts.iter().enumerate().flat_map(|(i, p)| {
            (0..p.terminals.len()).map(move |terminal| TerminalRef { part: super::PartIx(i), terminal })
        })
    }

    /// The terminals that a test puts probes or a clamp to, in the order in which its description names them. None for
    /// what is looked at, read off the display or measured on the pipes.
    pub fn probes(&self, test: &Test) -> Vec<TerminalRef> {
        let at = |part, terminal| TerminalRef { part, terminal };
        match test.measure {
            Measure::Volts(a, b) => [a, b].into_iter().filter_map(|n| self.probe_of(n, test.place)).collect(),
            // Black on ground first, as the description says.
            Measure::ControlVolts(plus, ground) => {
                [ground, plus].into_iter().filter_map(|n| self.probe_of(n, test.place)).collect()
            }
            Measure::PartOhms(part, a, b) | Measure::PlugOhms(part, a, b) | Measure::PartFarads(part, a, b) => {
                vec![at(part, a), at(part, b)]
            }
            Measure::WireOhms(a, b) => self.contact_between(a, b),
            Measure::LeadAmps(part, terminal) | Measure::Insulation(part, terminal) => vec![at(part, terminal)],
            Measure::SupplyAmps => self
                .find(|r| matches!(r, Role::OverCurrent { resettable: true, .. }))
                .or_else(|| self.find(|r| matches!(r, Role::Supply { .. })))
                .map(|part| at(part, 0))
                .into_iter()
                .collect(),
            _ => Vec::new(),
        }
    }

    /// The two terminals of a contact that stands between two wires.
    fn contact_between(&self, from: Net, to: Net) -> Vec<TerminalRef> {
        let found = self.branches.iter().find_map(|(part, branch)| {
            let Branch::Contact { a, b, .. } = *branch else { return None };
            let t = &self.parts[part.0].terminals;
            (t[a].net == Some(from) && t[b].net == Some(to)).then_some((*part, a, b))
        });
        found.map_or_else(Vec::new, |(part, a, b)| [a, b].map(|terminal| TerminalRef { part, terminal }).to_vec())
    }
}
