//! An exponential short enough to be inlined.
//!
//! Half of the time of a property call goes into exponentials. This one has no branch and no division, so that the processor overlaps
//! several; it is plain IEEE arithmetic and gives the same bits on every target, like `libm::exp`, at about half the time.

/// e to the power `x`, within 2 units in the last place; 0 below -700, and `x` is taken as at most 700.
#[inline]
pub(crate) fn exp(x: f64) -> f64 {
    const LN2_HIGH: f64 = f64::from_bits(0x3FE6_2E42_FEE0_0000);
    const LN2_LOW: f64 = f64::from_bits(0x3DEA_39EF_3579_3C76);
    // Adding and taking away 1.5 * 2^52 rounds to a whole number.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    let bounded = x.clamp(-700.0, 700.0);
    let whole = (bounded * std::f64::consts::LOG2_E + ROUND) - ROUND;
    let r = (bounded - whole * LN2_HIGH) - whole * LN2_LOW;
    // |r| < 0.35: the series to r^13/13! leaves 4e-18. Paired so that the multiplications overlap.
    let r2 = r * r;
    let r4 = r2 * r2;
    let low = (1.0 + r) + (1.0 / 2.0 + r * (1.0 / 6.0)) * r2;
    let middle = (1.0 / 24.0 + r * (1.0 / 120.0)) + (1.0 / 720.0 + r * (1.0 / 5040.0)) * r2;
    let high = (1.0 / 40_320.0 + r * (1.0 / 362_880.0)) + (1.0 / 3_628_800.0 + r * (1.0 / 39_916_800.0)) * r2;
    let top = 1.0 / 479_001_600.0 + r * (1.0 / 6_227_020_800.0);
    let series = low + (middle + (high + top * r4) * r4) * r4;
    let scale = f64::from_bits(((whole as i64 + 1023) as u64) << 52);
    if x < -700.0 { 0.0 } else { series * scale }
}

#[cfg(test)]
mod tests {
    use super::exp;

    #[test]
    fn agrees_with_the_library() {
        let mut worst = 0.0_f64;
        for i in -69_990..=69_990 {
            let x = f64::from(i) * 0.010_000_1;
            let (ours, reference) = (exp(x), libm::exp(x));
            worst = worst.max((ours / reference - 1.0).abs());
        }
        assert!(worst <= 2.0 * f64::EPSILON, "relative difference {worst:e}");
        assert_eq!(exp(0.0), 1.0);
        assert_eq!(exp(-1e9), 0.0);
        assert!(exp(f64::NAN).is_nan());
    }
}
