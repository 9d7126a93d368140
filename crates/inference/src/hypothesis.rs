//! Names of things: modes, queries, episodes, and the sets of modes that make up a hypothesis.

use std::fmt;

/// The largest number of simultaneous faults a [`Hypothesis`] can hold.
///
/// Settings decide how many are really considered (two by default); the room for five lets small
/// problems be enumerated whole.
pub const MAX_FAULTS: usize = 5;

/// A way in which one component can be wrong: an index into [`Problem::modes`].
///
/// [`Problem::modes`]: crate::Problem::modes
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ModeId(pub u32);

/// One thing that can be observed, under given conditions, in a given epoch.
///
/// Opaque to the engine: the client gives out the numbers and can predict each of them. The same
/// test before and after an action is two queries, because the client answers for what is left of
/// a hypothesis in that epoch.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct QueryId(pub u32);

/// A stretch of time within which an intermittent mode is either present throughout or absent
/// throughout.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EpisodeId(pub u32);

/// The component that a mode belongs to. Modes of one component exclude each other by default.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ComponentId(pub u32);

/// The name under which modes are shown together: severity levels of one failure share it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NameId(pub u32);

/// The repair that puts a mode right. Modes that share it need not be told apart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RepairId(pub u32);

/// A set of modes that are present together, sorted; the empty set is "nothing is wrong".
///
/// "Something not described" is not a `Hypothesis`: it is weighed apart.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Hypothesis {
    len: u8,
    modes: [ModeId; MAX_FAULTS],
}

impl Hypothesis {
    /// Nothing is wrong.
    pub const NONE: Hypothesis = Hypothesis { len: 0, modes: [ModeId(0); MAX_FAULTS] };

    /// A hypothesis of these modes, in any order.
    ///
    /// Returns `None` if a mode is given twice or there are more than [`MAX_FAULTS`].
    pub fn new(modes: &[ModeId]) -> Option<Hypothesis> {
        if modes.len() > MAX_FAULTS {
            return None;
        }
        let mut hypothesis = Hypothesis::NONE;
        hypothesis.modes[..modes.len()].copy_from_slice(modes);
        hypothesis.modes[..modes.len()].sort_unstable();
        hypothesis.len = modes.len() as u8;
        let distinct = hypothesis.modes().windows(2).all(|w| w[0] != w[1]);
        distinct.then_some(hypothesis)
    }

    /// One mode alone.
    pub fn single(mode: ModeId) -> Hypothesis {
        let mut hypothesis = Hypothesis::NONE;
        hypothesis.len = 1;
        hypothesis.modes[0] = mode;
        hypothesis
    }

    /// Two different modes; `None` if they are the same.
    pub fn pair(a: ModeId, b: ModeId) -> Option<Hypothesis> {
        Hypothesis::new(&[a, b])
    }

    /// The modes, ascending.
    pub fn modes(&self) -> &[ModeId] {
        &self.modes[..usize::from(self.len)]
    }

    /// How many modes are present.
    pub fn len(&self) -> usize {
        usize::from(self.len)
    }

    /// Whether nothing is wrong under this hypothesis.
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// Whether `mode` is among the modes.
    pub fn contains(&self, mode: ModeId) -> bool {
        self.modes().contains(&mode)
    }

    /// The hypothesis with only those modes for which `keep` holds.
    pub fn filter(&self, mut keep: impl FnMut(ModeId) -> bool) -> Hypothesis {
        let mut kept = Hypothesis::NONE;
        for &mode in self.modes() {
            if keep(mode) {
                kept.modes[usize::from(kept.len)] = mode;
                kept.len += 1;
            }
        }
        kept
    }
}

impl fmt::Debug for Hypothesis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(self.modes().iter().map(|m| m.0)).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_of_modes_does_not_matter_and_doubles_are_refused() {
        let a = Hypothesis::new(&[ModeId(3), ModeId(1)]);
        assert_eq!(a, Hypothesis::new(&[ModeId(1), ModeId(3)]));
        assert_eq!(Hypothesis::new(&[ModeId(1), ModeId(1)]), None);
        assert_eq!(Hypothesis::new(&[ModeId(1); 6]), None);
    }

    #[test]
    fn filtering_leaves_an_equal_smaller_hypothesis() {
        let pair = Hypothesis::pair(ModeId(7), ModeId(2)).unwrap();
        assert_eq!(pair.filter(|m| m == ModeId(7)), Hypothesis::single(ModeId(7)));
        assert_eq!(pair.filter(|_| false), Hypothesis::NONE);
    }
}
