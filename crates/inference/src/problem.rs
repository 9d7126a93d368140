//! The one trait that a client implements, and the data it speaks in.

use crate::hypothesis::{ComponentId, ModeId, NameId, QueryId, RepairId};

/// What the engine needs to know about one mode.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeInfo {
    /// Odds of this mode against nothing being wrong, for this visit (≥ 0). Levels of one failure
    /// share the odds of the failure between them.
    pub prior_odds: f64,
    /// The component; modes of one component exclude each other unless
    /// [`Problem::may_coexist`] says otherwise.
    pub component: ComponentId,
    /// What the mode is called; severity levels of one failure share a name.
    pub name: NameId,
    /// What puts it right.
    pub repair: RepairId,
    /// `Some` when the mode comes and goes: present or absent per episode, with this prior for the
    /// fraction of episodes in which it is present.
    pub intermittent: Option<Duty>,
    /// It is a way to be that is no failure: it changes what is observed, and nothing has to be put right. A hypothesis
    /// of harmless modes alone counts as nothing wrong, for ending, leaving and acting; beside a fault, only the fault has
    /// to be put right. What is not described is never taken to be like it.
    pub harmless: bool,
}

impl ModeInfo {
    /// Whether nothing has to be put right when exactly these modes are present.
    pub(crate) fn all_harmless(infos: &[ModeInfo], modes: &[ModeId]) -> bool {
        modes.iter().all(|m| infos[m.0 as usize].harmless)
    }
}

/// Prior for the fraction of episodes in which an intermittent mode is present, as a few weighted
/// values.
#[derive(Clone, Debug, PartialEq)]
pub struct Duty {
    /// Pairs of duty (0 to 1) and weight (≥ 0, normalised by the engine).
    pub values: Vec<(f64, f64)>,
}

impl Duty {
    /// Evenly .2, .4, .6 and .8: nothing is known but that it comes and goes. (Judgement.)
    pub fn unknown() -> Duty {
        Duty { values: vec![(0.2, 1.0), (0.4, 1.0), (0.6, 1.0), (0.8, 1.0)] }
    }
}

/// The distribution of one observation, under one hypothesis, in one sample of the shared
/// unknowns.
///
/// Numbers live on **one axis per kind of query, chosen by the client**: a quantity whose errors
/// are relative is handed over as its logarithm, predictions and observations alike. The engine
/// transforms nothing.
#[derive(Clone, Debug, PartialEq)]
pub enum Predicted {
    /// A number, normal about `centre`.
    Number {
        /// Expected value.
        centre: f64,
        /// Standard deviation of what is redrawn at every repeat.
        noise_sd: f64,
        /// Standard deviation of what stays the same between repeats: placement, tolerance, doubt
        /// of the model.
        common_sd: f64,
    },
    /// A number that may instead lie beyond the instrument's range.
    NumberOrOver {
        /// Expected value when in range.
        centre: f64,
        /// As for `Number`.
        noise_sd: f64,
        /// As for `Number`.
        common_sd: f64,
        /// Probability of lying beyond the high end. Kept between repeats.
        p_over: f64,
        /// Probability of lying beyond the low end. Kept between repeats.
        p_under: f64,
    },
    /// A probability for each category (normalised by the engine). Kept between repeats, but for
    /// [`QueryKind::category_redraw`].
    Categories(Vec<f64>),
}

/// What was observed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Observed {
    /// A number, on the axis of the kind.
    Value(f64),
    /// At least this much.
    AtLeast(f64),
    /// At most this much.
    AtMost(f64),
    /// Between these two.
    Between(f64, f64),
    /// Beyond the high end of the instrument's range.
    Over,
    /// Beyond the low end of the instrument's range.
    Under,
    /// One of the kind's categories.
    Category(usize),
}

/// One declared broad distribution per kind of query: what a slip, or a fault that nobody has
/// described, may show.
#[derive(Clone, Debug, PartialEq)]
pub enum Broad {
    /// For numbers: even over `low..=high` (98 %) with long normal tails beyond (2 %, standard
    /// deviation twice the width), and atoms beyond either end of the instrument's range.
    Number {
        /// Low end of the even part.
        low: f64,
        /// High end of the even part, above `low`.
        high: f64,
        /// Probability of `Over`.
        p_over: f64,
        /// Probability of `Under`.
        p_under: f64,
    },
    /// For categories: a probability each (normalised by the engine).
    Categories(Vec<f64>),
}

/// A number that slips heap up at: what the instrument shows when it is held wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlipsTo {
    /// The number, on the axis of the kind.
    pub at: f64,
    /// Standard deviation about it (> 0).
    pub sd: f64,
    /// Share of slips that show it (0 to 1). The others show what the broad distribution says.
    pub share: f64,
}

/// What is common to all predictions of one query.
#[derive(Clone, Debug, PartialEq)]
pub struct QueryKind {
    /// What a slip may show.
    pub broad: Broad,
    /// Probability that a reading is a slip: misread, wrong place, wrong key (0 to 1).
    pub slip: f64,
    /// For numbers: where slips heap up, if anywhere. What is not described goes by the broad distribution alone.
    pub slips_to: Option<SlipsTo>,
    /// Probability that what is wrong does not show in this query as described, so that it shows what it would with
    /// nothing wrong (0 to 1). Kept between repeats: a second look tells a slip, not this.
    pub unshown: f64,
    /// Whether it shows what comes and goes also while that is away: a loose lug is loose while it happens to make.
    pub lasting: bool,
    /// Queries with the same group share their common error: a repeat under other conditions is
    /// still no second proof. `None`: only repeats of this very query share it.
    pub repeat_group: Option<u32>,
    /// No prediction has a noise below this (> 0 for numbers): narrower ones are widened to it.
    /// Bounds what a hypothesis not yet worked out could score.
    pub least_noise_sd: f64,
    /// No prediction has a common error below this (≥ 0): narrower ones are widened to it.
    pub least_common_sd: f64,
    /// No prediction's standard deviation, noise and common error together, is below this share of its centre (≥ 0):
    /// narrower ones are widened to it, in their common error. Bounds the same: a meter is good to so many per cent.
    pub least_share: f64,
    /// Beyond this the instrument shows [`Observed::Over`], whatever the prediction's own
    /// probability for it.
    pub high_limit: Option<f64>,
    /// Below this the instrument shows [`Observed::Under`].
    pub low_limit: Option<f64>,
    /// For categories: the chance that a repeat is drawn afresh instead of showing the same again
    /// (0: what is seen stays what it is; 1: every look is independent).
    pub category_redraw: f64,
}

impl QueryKind {
    /// A kind of numbers that may lie in `low..=high`, with the sharpest noise an instrument can
    /// have; slips 2 %, no common floor, no limits.
    pub fn number(low: f64, high: f64, least_noise_sd: f64) -> QueryKind {
        QueryKind {
            broad: Broad::Number { low, high, p_over: 0.02, p_under: 0.02 },
            slip: 0.02,
            slips_to: None,
            unshown: 0.0,
            lasting: false,
            repeat_group: None,
            least_noise_sd,
            least_common_sd: 0.0,
            least_share: 0.0,
            high_limit: None,
            low_limit: None,
            category_redraw: 0.0,
        }
    }

    /// A kind with `count` categories, evenly likely in a slip; slips 2 %.
    pub fn categories(count: usize) -> QueryKind {
        QueryKind {
            broad: Broad::Categories(vec![1.0; count]),
            slip: 0.02,
            slips_to: None,
            unshown: 0.0,
            lasting: false,
            repeat_group: None,
            least_noise_sd: 1.0,
            least_common_sd: 0.0,
            least_share: 0.0,
            high_limit: None,
            low_limit: None,
            category_redraw: 0.0,
        }
    }
}

/// A quantity that the samples of shared unknowns disagree about, so that the engine can say
/// whether knowing it would help.
#[derive(Clone, Debug, PartialEq)]
pub struct SharedUnknown {
    /// The value it takes in each sample, as many as there are samples.
    pub values: Vec<f64>,
}

/// What a client supplies: what can be wrong, and what would then be observed.
///
/// Everything must be a pure function of its arguments: the engine keeps answers.
pub trait Problem {
    /// All modes; [`ModeId`] is the index.
    fn modes(&self) -> &[ModeInfo];

    /// Weights of the samples of shared unknowns (> 0, normalised by the engine; at least one).
    /// All readings share the sample: three readings off by one wrong assumption are not three
    /// proofs. If there are more than three, neighbours are alike: planning lets one stand for the
    /// next ones.
    fn samples(&self) -> &[f64];

    /// What `query` shows when exactly these modes (ascending) are present, in this sample.
    fn predict(&self, hypothesis: &[ModeId], sample: usize, query: QueryId) -> Predicted;

    /// What is common to all predictions of `query`.
    fn kind(&self, query: QueryId) -> &QueryKind;

    /// Odds of nothing being wrong, in the same unit as [`ModeInfo::prior_odds`].
    fn sound_odds(&self) -> f64 {
        1.0
    }

    /// Odds of something that no mode describes.
    fn not_described_odds(&self) -> f64 {
        0.02
    }

    /// What is not described often shows much like something described, and yet not quite: how much of its odds lies
    /// there (0 to 1). The rest shows like nothing described.
    fn undescribed_likeness(&self) -> f64 {
        0.0
    }

    /// The name, for [`Problem::predict`] and [`Problem::reaches`] only, under which `query` is answered as though
    /// nothing that was done before it had put `mode` right; `mode` itself where nothing has. Nobody knows what would put
    /// right a fault that is only like `mode`.
    fn lasting(&self, mode: ModeId, _query: QueryId) -> ModeId {
        mode
    }

    /// The name, for [`Problem::predict`] and [`Problem::reaches`] only, of what stays of `mode` while it is away, where it comes
    /// and goes: a tank that it let go cold stays cold for hours. `None`: nothing stays.
    fn away(&self, _mode: ModeId) -> Option<ModeId> {
        None
    }

    /// Whether `query` shows nothing but the state of the component that `mode` belongs to: a fault elsewhere with the same
    /// consequences leaves it as it is when nothing is wrong.
    fn shows_component_of(&self, _mode: ModeId, _query: QueryId) -> bool {
        false
    }

    /// `Some` where `query` tells whether anything at all is wrong still (a proving run): what it shows then when
    /// something not described is wrong that is like nothing described. None of what is not described is disturbed in it.
    fn shows_whatever_is_wrong(&self, _query: QueryId) -> Option<Predicted> {
        None
    }

    /// Odds of two modes together. Override where one promotes the other; the default is the
    /// product of the single odds over the sound odds. Odds of three and more follow from those of
    /// their pairs.
    fn pair_prior(&self, a: ModeId, b: ModeId) -> f64 {
        let modes = self.modes();
        let odds = modes[a.0 as usize].prior_odds * modes[b.0 as usize].prior_odds;
        let sound = self.sound_odds();
        if sound > 0.0 { odds / sound } else { odds }
    }

    /// Whether `mode` is a way of being made, rather than something that has happened: it is harmless, lasts for ever, is
    /// there with nothing wrong as with any fault, and its odds may be as large as those of nothing wrong. It is thought of
    /// with every set of faults (and counts as none of them), and with what is not described; what shows with nothing
    /// wrong shows as the machine is made. Every set of such modes that may coexist multiplies the work: a few at most.
    fn made_so(&self, _mode: ModeId) -> bool {
        false
    }

    /// Odds of exactly these modes (ascending), where the client knows them better than from those of single modes and
    /// pairs. Asked for sets with [`Problem::made_so`] among them only.
    fn set_odds(&self, _modes: &[ModeId]) -> Option<f64> {
        None
    }

    /// Whether two modes can be present together; by default when their components differ.
    fn may_coexist(&self, a: ModeId, b: ModeId) -> bool {
        let modes = self.modes();
        modes[a.0 as usize].component != modes[b.0 as usize].component
    }

    /// Whether `mode` can change what `query` shows, whatever else is wrong. `false` is a promise
    /// (adding the mode to any hypothesis leaves the prediction as it is) and saves predictions.
    fn reaches(&self, _mode: ModeId, _query: QueryId) -> bool {
        true
    }

    /// Whether the samples predict different things for `query`. `false` is a promise (all predict the same) and
    /// saves predictions.
    fn sample_matters(&self, _query: QueryId) -> bool {
        true
    }

    /// What ending costs while `left` (ascending; what has been put right is not among them) is still wrong, as a share of
    /// [`Situation::end_cost`] (≥ 0): what nobody notices brings nobody back soon. Harmless modes are not among them either, but for those that the machine is made with.
    ///
    /// [`Situation::end_cost`]: crate::Situation::end_cost
    fn end_share(&self, _left: &[ModeId]) -> f64 {
        1.0
    }

    /// Chance that the proof of a repair shows that something is still wrong while `left` (as for [`Problem::end_share`]) is (0 to
    /// 1): a fault that nobody notices passes. Planning goes by it; what a proof showed is taken in as a reading.
    fn proof_shows(&self, _left: &[ModeId]) -> f64 {
        1.0
    }

    /// The quantities behind the samples, for [`Reasoner::worth_knowing`].
    ///
    /// [`Reasoner::worth_knowing`]: crate::Reasoner::worth_knowing
    fn shared_unknowns(&self) -> Vec<SharedUnknown> {
        Vec::new()
    }
}
