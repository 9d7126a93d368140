//! A fault with degrees may lie between two levels: what a level predicts reaches half-way to its neighbours.

use halfsplit_machine::Machine;
use halfsplit_plant::Prediction;

/// For each mode, the modes of the same name that stand next to it in degree: at most two.
pub(crate) fn neighbours(m: &Machine) -> Vec<Vec<u32>> {
    let next = |i: usize, j: usize| (m.modes.get(j)?.name_id == m.modes[i].name_id).then_some(j as u32);
    // Levels of a name follow one another, from weak to strong or the other way round.
    (0..m.modes.len())
        .map(|i| i.checked_sub(1).and_then(|j| next(i, j)).into_iter().chain(next(i, i + 1)).collect())
        .collect()
}

/// For each mode, the modes that it stands for where two faults are thought of at once: itself and its neighbours in degree,
/// or none if one of them stands for it. Telling all degrees apart there would double the pairs; one level for all six places
/// at which a valve may have stopped would tell of none of them.
pub(crate) fn stands_for(m: &Machine) -> Vec<Vec<usize>> {
    let mut out = vec![Vec::new(); m.modes.len()];
    let mut first = 0;
    while first < m.modes.len() {
        let name = &m.modes[first].name_id;
        let count = m.modes[first..].iter().take_while(|x| x.name_id == *name).count();
        let runs = count.div_ceil(RUN);
        for run in 0..runs {
            let members: Vec<usize> = (first + run * count / runs..first + (run + 1) * count / runs).collect();
            let stands = members[members.len() / 2];
            out[stands] = members;
        }
        first += count;
    }
    out
}

/// Levels for which one stands.
const RUN: usize = 3;

/// How far degrees reach, as variance per squared distance of a neighbour: half-way to it. A cell that reaches half-way
/// to two neighbours at distance g has a standard deviation of g/√12; to one neighbour, half of it and a little for what
/// lies beyond the last level.
pub(crate) const HALF_WAY: f64 = 1.0 / 24.0;

/// The same for a level that stands for its neighbours too: three cells of g each.
pub(crate) const WHOLE: f64 = 9.0 / 24.0;

/// What is expected for a range of degrees: half of it at this level, half at its neighbours.
pub(crate) fn mixed(at: f64, beside: impl ExactSizeIterator<Item = f64>) -> f64 {
    match beside.len() {
        0 => at,
        n => beside.fold(0.5 * at, |sum, other| sum + 0.5 / n as f64 * other),
    }
}

/// What is predicted for a range of degrees: at this level, and at its neighbours.
pub(crate) fn spread(at: Prediction, beside: &[Prediction], reach: f64) -> Prediction {
    if beside.is_empty() {
        return at;
    }
    let share = 0.5 / beside.len() as f64;
    match at {
        Prediction::Words(p) => {
            let others = beside.iter().filter_map(|other| match other {
                Prediction::Words(q) => Some(q),
                Prediction::Number { .. } => None,
            });
            let others: Vec<&Vec<f64>> = others.collect();
            Prediction::Words((0..p.len()).map(|i| mixed(p[i], others.iter().map(|q| q[i]))).collect())
        }
        Prediction::Number { centre, noise, common, over } => {
            let (mut variance, mut beyond, mut seen) = (common * common, 0.5 * over, (centre, noise));
            for other in beside {
                if let Prediction::Number { centre: c, noise: n, common: s, over: o } = other {
                    beyond += share * o;
                    if over < 0.5 && *o < 0.5 {
                        variance += (c - centre) * (c - centre) * reach;
                    } else if over >= 0.5 && *o < 0.5 {
                        // Only the neighbour is within the meter's range.
                        (seen, variance) = ((*c, *n), s * s);
                    }
                }
            }
            Prediction::Number { centre: seen.0, noise: seen.1, common: libm::sqrt(variance), over: beyond }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(centre: f64, over: f64) -> Prediction {
        Prediction::Number { centre, noise: 0.1, common: 0.2, over }
    }

    #[test]
    fn a_cell_between_two_neighbours_has_the_spread_of_an_even_distribution() {
        let Prediction::Number { centre, noise, common, over } =
            spread(number(5.0, 0.0), &[number(2.0, 0.0), number(8.0, 0.0)], HALF_WAY)
        else {
            panic!("a number")
        };
        assert_eq!((centre, noise, over), (5.0, 0.1, 0.0));
        // Variance of an even distribution of width 3: 9/12.
        assert!((common * common - 0.04 - 9.0 / 12.0).abs() < 1e-12);
    }

    #[test]
    fn what_only_a_neighbour_shows_may_be_shown() {
        let Prediction::Number { centre, over, .. } = spread(number(0.0, 1.0), &[number(3.0, 0.0)], HALF_WAY) else {
            panic!("a number")
        };
        assert_eq!((centre, over), (3.0, 0.5));
        let words = spread(Prediction::Words(vec![1.0, 0.0]), &[Prediction::Words(vec![0.0, 1.0])], HALF_WAY);
        assert_eq!(words, Prediction::Words(vec![0.5, 0.5]));
    }

    #[test]
    fn a_level_that_stands_for_all_reaches_over_three_cells() {
        let beside = [number(2.0, 0.0), number(8.0, 0.0)];
        let Prediction::Number { common, .. } = spread(number(5.0, 0.0), &beside, WHOLE) else { panic!("a number") };
        // Variance of an even distribution of width 9: 81/12.
        assert!((common * common - 0.04 - 81.0 / 12.0).abs() < 1e-12);
    }

    #[test]
    fn each_level_is_stood_for_once_by_itself_or_by_a_neighbour() {
        let m = Machine::build(include_str!("../../../machines/garage-water-heater.toml")).expect("a sheet");
        let (stands_for, beside) = (stands_for(&m), neighbours(&m));
        let mut stood_for = vec![0; m.modes.len()];
        for (i, members) in stands_for.iter().enumerate() {
            for &j in members {
                stood_for[j] += 1;
                assert!(j == i || beside[i].contains(&(j as u32)), "{} for {}", m.modes[i].id, m.modes[j].id);
            }
        }
        assert!(stood_for.iter().all(|n| *n == 1), "{stood_for:?}");
    }

    #[test]
    fn without_degrees_nothing_changes() {
        assert_eq!(spread(number(1.0, 0.2), &[], WHOLE), number(1.0, 0.2));
    }
}
