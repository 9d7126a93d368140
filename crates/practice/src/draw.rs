//! Draws that are the same everywhere: a small generator of our own, seeded by what is drawn for.

/// A stream of draws (SplitMix64, Steele, Lea & Flood 2014). The same seed gives the same draws to the last bit on
/// every machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draw {
    state: u64,
}

impl Draw {
    /// A stream of its own for a seed and what is drawn for: streams with different keys have nothing in common.
    pub fn keyed(seed: u64, keys: &[u64]) -> Draw {
        let state = keys.iter().fold(mix(seed ^ 0x6a09_e667_f3bc_c908), |s, k| mix(s ^ mix(*k)));
        Draw { state }
    }

    /// 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        finish(self.state)
    }

    /// Even over 0 (with) to 1 (without).
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// True with this probability (0 to 1).
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// Standard normal (Box & Muller 1958), cut off at three standard deviations.
    pub fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        (radius * libm::cos(2.0 * std::f64::consts::PI * self.unit())).clamp(-3.0, 3.0)
    }

    /// An index, by weights of any sum; 0 if there is nothing to choose from.
    pub fn pick(&mut self, weights: &[f64]) -> usize {
        let mut at = self.unit() * weights.iter().sum::<f64>();
        for (i, w) in weights.iter().enumerate() {
            if at < *w {
                return i;
            }
            at -= w;
        }
        weights.iter().rposition(|w| *w > 0.0).unwrap_or(0)
    }

    /// An index below `count`, evenly; 0 if `count` is 0.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }
}

fn mix(x: u64) -> u64 {
    finish(x.wrapping_add(0x9e37_79b9_7f4a_7c15))
}

fn finish(z: u64) -> u64 {
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First outputs of SplitMix64 from state 0 as published with the reference implementation (Vigna, splitmix64.c,
    /// from memory).
    #[test]
    fn bits_are_those_of_splitmix64() {
        let mut d = Draw { state: 0 };
        assert_eq!(d.bits(), 0xe220_a839_7b1d_cdaf);
        assert_eq!(d.bits(), 0x6e78_9e6a_a1b9_65f4);
    }

    #[test]
    fn normal_has_mean_nought_and_variance_one() {
        let mut d = Draw::keyed(1, &[2]);
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..20_000 {
            let x = d.normal();
            sum += x;
            squares += x * x;
        }
        assert!((sum / 2e4).abs() < 0.03);
        assert!((squares / 2e4 - 1.0).abs() < 0.05);
    }

    #[test]
    fn pick_follows_the_weights_and_never_takes_nought() {
        let mut d = Draw::keyed(3, &[]);
        let mut seen = [0; 3];
        for _ in 0..9000 {
            seen[d.pick(&[1.0, 0.0, 2.0])] += 1;
        }
        assert_eq!(seen[1], 0);
        assert!((seen[0] as f64 / 9000.0 - 1.0 / 3.0).abs() < 0.02);
    }
}
