//! A problem given by tables, for tests.
#![allow(dead_code, reason = "each test binary uses its part")]

use std::collections::BTreeMap;

use halfsplit_inference::{
    ComponentId, Duty, Hypothesis, ModeId, ModeInfo, NameId, Predicted, Problem, QueryId, QueryKind, RepairId,
    SharedUnknown,
};

/// Names of modes as though they had not been put right begin here.
pub const LASTING: u32 = 1000;

/// Names of what stays of modes while they are away begin here.
pub const AWAY: u32 = 2000;

type Rule = Box<dyn Fn(&[ModeId], usize, QueryId) -> Predicted>;

/// Everything a problem can say, held in tables and one rule for predictions.
pub struct Tables {
    pub modes: Vec<ModeInfo>,
    pub samples: Vec<f64>,
    pub kinds: Vec<QueryKind>,
    pub sound: f64,
    pub not_described: f64,
    pub likeness: f64,
    /// Modes and queries: what was done before the query has put the mode right.
    pub mended: Vec<(u32, u32)>,
    /// Modes and queries that show their component only.
    pub own: Vec<(u32, u32)>,
    /// Queries that tell whether anything is wrong, with what shows in them when it is like nothing described.
    pub settling: BTreeMap<u32, Predicted>,
    pub promotion: BTreeMap<(u32, u32), f64>,
    pub unknowns: Vec<SharedUnknown>,
    /// Modes of which something stays while they are away.
    pub leaves: Vec<u32>,
    /// Modes that are ways of being made.
    pub made: Vec<u32>,
    /// The chance that a proof shows what is still wrong.
    pub shows: f64,
    pub rule: Rule,
}

impl Tables {
    pub fn new(
        odds: &[f64],
        kinds: Vec<QueryKind>,
        rule: impl Fn(&[ModeId], usize, QueryId) -> Predicted + 'static,
    ) -> Tables {
        Tables {
            modes: odds.iter().enumerate().map(|(i, &o)| mode(i, o)).collect(),
            samples: vec![1.0],
            kinds,
            sound: 1.0,
            not_described: 0.0,
            likeness: 0.0,
            mended: Vec::new(),
            own: Vec::new(),
            settling: BTreeMap::new(),
            promotion: BTreeMap::new(),
            unknowns: Vec::new(),
            leaves: Vec::new(),
            made: Vec::new(),
            shows: 1.0,
            rule: Box::new(rule),
        }
    }
}

pub fn mode(i: usize, odds: f64) -> ModeInfo {
    ModeInfo {
        prior_odds: odds,
        component: ComponentId(i as u32),
        name: NameId(i as u32),
        repair: RepairId(i as u32),
        intermittent: None,
        harmless: false,
    }
}

pub fn duty(values: &[(f64, f64)]) -> Option<Duty> {
    Some(Duty { values: values.to_vec() })
}

/// A kind of categories without slips.
pub fn exact(count: usize) -> QueryKind {
    QueryKind { slip: 0.0, ..QueryKind::categories(count) }
}

/// A sure category.
pub fn surely(count: usize, which: usize) -> Predicted {
    let mut p = vec![0.0; count];
    p[which] = 1.0;
    Predicted::Categories(p)
}

pub fn set(modes: &[u32]) -> Hypothesis {
    let modes: Vec<ModeId> = modes.iter().map(|&m| ModeId(m)).collect();
    Hypothesis::new(&modes).expect("distinct modes")
}

impl Problem for Tables {
    fn modes(&self) -> &[ModeInfo] {
        &self.modes
    }
    fn samples(&self) -> &[f64] {
        &self.samples
    }
    fn predict(&self, hypothesis: &[ModeId], sample: usize, query: QueryId) -> Predicted {
        (self.rule)(hypothesis, sample, query)
    }
    fn proof_shows(&self, _left: &[ModeId]) -> f64 {
        self.shows
    }
    fn kind(&self, query: QueryId) -> &QueryKind {
        &self.kinds[query.0 as usize % self.kinds.len()]
    }
    fn sound_odds(&self) -> f64 {
        self.sound
    }
    fn not_described_odds(&self) -> f64 {
        self.not_described
    }
    fn undescribed_likeness(&self) -> f64 {
        self.likeness
    }
    fn lasting(&self, mode: ModeId, query: QueryId) -> ModeId {
        let mended = self.mended.contains(&(mode.0, query.0));
        if mended { ModeId(mode.0 + LASTING) } else { mode }
    }
    fn away(&self, mode: ModeId) -> Option<ModeId> {
        self.leaves.contains(&mode.0).then(|| ModeId(mode.0 + AWAY))
    }
    fn shows_whatever_is_wrong(&self, query: QueryId) -> Option<Predicted> {
        self.settling.get(&query.0).cloned()
    }
    fn shows_component_of(&self, mode: ModeId, query: QueryId) -> bool {
        self.own.contains(&(mode.0, query.0))
    }
    fn made_so(&self, mode: ModeId) -> bool {
        self.made.contains(&mode.0)
    }
    fn pair_prior(&self, a: ModeId, b: ModeId) -> f64 {
        let product = self.modes[a.0 as usize].prior_odds * self.modes[b.0 as usize].prior_odds;
        let apart = if self.sound > 0.0 { product / self.sound } else { product };
        apart * self.promotion.get(&(a.0, b.0)).copied().unwrap_or(1.0)
    }
    fn shared_unknowns(&self) -> Vec<SharedUnknown> {
        self.unknowns.clone()
    }
}

/// Random numbers for instances (SplitMix64, Steele, Lea & Flood 2014).
pub struct Draw(pub u64);

impl Draw {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
}
