//! Intervals for shares.

/// 95 % interval of a share by Wilson's score (Wilson, J. Am. Stat. Assoc. 22, 1927), as low and high end, 0 to 1.
pub fn wilson(hits: usize, of: usize) -> (f64, f64) {
    if of == 0 {
        return (0.0, 1.0);
    }
    let (n, z) = (of as f64, 1.959_963_984_540_054);
    let p = hits as f64 / n;
    let middle = p + z * z / (2.0 * n);
    let half = z * libm::sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n));
    let scale = 1.0 + z * z / n;
    ((middle - half) / scale, (middle + half) / scale)
}

#[cfg(test)]
mod tests {
    use super::wilson;

    /// Newcombe, Statistics in Medicine 17, 1998, table I, method 3: 81 of 263 and 15 of 148 (from memory).
    #[test]
    fn wilson_as_published() {
        let (low, high) = wilson(81, 263);
        assert!((low - 0.2553).abs() < 5e-5 && (high - 0.3662).abs() < 5e-5, "{low} {high}");
        let (low, high) = wilson(15, 148);
        assert!((low - 0.0624).abs() < 5e-5 && (high - 0.1605).abs() < 5e-5, "{low} {high}");
    }

    #[test]
    fn nothing_seen_says_nothing() {
        assert_eq!(wilson(0, 0), (0.0, 1.0));
    }
}
