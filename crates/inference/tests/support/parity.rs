//! The networks of `reference/parity.json`, put to the engine. Shared by the test that compares
//! with the stored answers and by the example that the live comparison runs.

use halfsplit_inference::noisy_or::{Gate, NoisyOr};
use halfsplit_inference::{
    Broad, ComponentId, EpisodeId, ModeId, ModeInfo, NameId, Observed, Predicted, Problem, QueryId, QueryKind, Reading,
    Reasoner, RepairId, Settings,
};
use serde::Deserialize;

#[derive(Deserialize)]
pub struct File {
    pub small: Vec<Small>,
    pub noisy_or: Gates,
}

/// Independent faults, one shared unknown, observations with tables.
#[derive(Deserialize)]
pub struct Small {
    faults: Vec<f64>,
    unknown: Vec<f64>,
    observations: Vec<Table>,
    findings: Vec<(u32, usize)>,
    #[allow(dead_code, reason = "read by the test, not by the example")]
    pub posteriors: Vec<f64>,
}

#[derive(Deserialize)]
struct Table {
    parents: Vec<u32>,
    values: usize,
    /// By the unknown, then by the parents, the last parent fastest.
    rows: Vec<Vec<f64>>,
}

#[derive(Deserialize)]
pub struct Gates {
    faults: Vec<f64>,
    mechanisms: Vec<GateIn>,
    observations: Vec<GateIn>,
    pub findings: Vec<(usize, bool)>,
    #[allow(dead_code, reason = "read by the test, not by the example")]
    pub posteriors: Vec<f64>,
}

#[derive(Deserialize)]
struct GateIn {
    leak: f64,
    parents: Vec<(usize, f64)>,
}

struct AsProblem<'a> {
    network: &'a Small,
    modes: Vec<ModeInfo>,
    kinds: Vec<QueryKind>,
}

impl Problem for AsProblem<'_> {
    fn modes(&self) -> &[ModeInfo] {
        &self.modes
    }
    fn samples(&self) -> &[f64] {
        &self.network.unknown
    }
    fn predict(&self, hypothesis: &[ModeId], sample: usize, query: QueryId) -> Predicted {
        let table = &self.network.observations[query.0 as usize];
        let row = table
            .parents
            .iter()
            .fold(sample, |row, &parent| 2 * row + usize::from(hypothesis.contains(&ModeId(parent))));
        Predicted::Categories(table.rows[row].clone())
    }
    fn kind(&self, query: QueryId) -> &QueryKind {
        &self.kinds[query.0 as usize]
    }
    fn not_described_odds(&self) -> f64 {
        0.0
    }
    fn reaches(&self, mode: ModeId, query: QueryId) -> bool {
        self.network.observations[query.0 as usize].parents.contains(&mode.0)
    }
}

impl Small {
    /// Posterior of every fault by the reasoner, all sets of faults listed.
    pub fn by_reasoner(&self) -> Vec<f64> {
        let problem = AsProblem {
            network: self,
            modes: (0..self.faults.len() as u32)
                .map(|i| ModeInfo {
                    prior_odds: self.faults[i as usize] / (1.0 - self.faults[i as usize]),
                    component: ComponentId(i),
                    name: NameId(i),
                    repair: RepairId(i),
                    intermittent: None,
                    harmless: false,
                })
                .collect(),
            kinds: self
                .observations
                .iter()
                .map(|o| QueryKind {
                    slip: 0.0,
                    broad: Broad::Categories(vec![1.0; o.values]),
                    ..QueryKind::categories(o.values)
                })
                .collect(),
        };
        let mut reasoner =
            Reasoner::new(&problem, Settings { max_faults: self.faults.len(), neglect: 0.0, ..Settings::default() });
        for &(query, seen) in &self.findings {
            let reading = Reading { query: QueryId(query), observed: Observed::Category(seen), episode: EpisodeId(0) };
            reasoner.observe(&problem, reading).expect("the file's findings are values of their observations");
        }
        (0..self.faults.len() as u32).map(|i| reasoner.posterior().mode(ModeId(i))).collect()
    }
}

impl Gates {
    pub fn network(&self) -> NoisyOr {
        let gates =
            |gates: &[GateIn]| gates.iter().map(|g| Gate { leak: g.leak, parents: g.parents.clone() }).collect();
        NoisyOr {
            faults: self.faults.clone(),
            mechanisms: gates(&self.mechanisms),
            observations: gates(&self.observations),
        }
    }
}
