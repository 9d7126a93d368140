//! Saturation as piecewise polynomials: some nanoseconds a call, some 7 KB a refrigerant.
//!
//! Against pressure, with q = p/p*, p* the critical pressure (or a value just above the table's top): below q = 1/2 each octave of q has
//! one polynomial in q, found from the bits of the number without a logarithm; above, where the dome closes like a square root, the
//! variable is v = sqrt(1 - q), in which it is smooth. Against temperature plain T serves.

/// Powers of a segment's polynomial, constant term first.
pub(crate) const TERMS: usize = 8;
/// Columns against pressure: t, rho, h, s, each at the bubble and at the dew end.
pub(crate) const COLUMNS: usize = 8;

/// One polynomial for each of `N` columns: power, column.
type Segment<const N: usize> = [[f64; N]; TERMS];

pub(crate) struct SaturationTable {
    /// Pa; lowest and highest pressure at which both ends are tabulated.
    pub p_low: f64,
    pub p_high: f64,
    /// 1/p*, 1/Pa.
    pub inverse_anchor: f64,
    /// v at `p_high`, and segments per unit of v.
    pub v_low: f64,
    pub segments_per_v: f64,
    /// K; limits of the table against temperature.
    pub t_low: f64,
    pub t_high: f64,
    pub segments_per_kelvin: f64,
    /// Segments of v from `v_low` to sqrt(1/2).
    pub upper: &'static [Segment<COLUMNS>],
    /// Octaves of q downwards from 1/2.
    pub lower: &'static [Segment<COLUMNS>],
    /// Bubble and dew pressure in segments from `t_low` to `t_high`.
    pub by_temperature: &'static [Segment<2>],
}

/// One of the columns against pressure.
#[derive(Clone, Copy)]
pub(crate) enum Column {
    BubbleT = 0,
    DewT = 1,
    BubbleRho = 2,
}

/// Index of the segment and the place in it, -1 to 1.
#[inline]
fn locate(from_start: f64, per_unit: f64, segments: usize) -> (usize, f64) {
    let position = from_start * per_unit;
    let index = (position as usize).min(segments - 1);
    (index, 2.0 * (position - index as f64) - 1.0)
}

/// Value of one column's polynomial, paired so that the multiplications overlap.
#[inline]
fn value<const N: usize>(rows: &Segment<N>, c: usize, x: f64) -> f64 {
    let x2 = x * x;
    let low = (rows[0][c] + rows[1][c] * x) + (rows[2][c] + rows[3][c] * x) * x2;
    let high = (rows[4][c] + rows[5][c] * x) + (rows[6][c] + rows[7][c] * x) * x2;
    low + high * (x2 * x2)
}

impl SaturationTable {
    #[inline]
    pub fn holds_pressure(&self, p: f64) -> bool {
        p >= self.p_low && p <= self.p_high
    }

    #[inline]
    pub fn holds_temperature(&self, t: f64) -> bool {
        t >= self.t_low && t <= self.t_high
    }

    #[inline]
    fn segment(&self, p: f64) -> (&'static Segment<COLUMNS>, f64) {
        let q = p * self.inverse_anchor;
        if q >= 0.5 {
            let v = (1.0 - q).sqrt();
            let (index, x) = locate(v - self.v_low, self.segments_per_v, self.upper.len());
            (&self.upper[index], x)
        } else {
            // An f64 is its exponent, biased by 1023, and 52 bits of fraction: q = 2^(exponent - 1023) (1 + fraction).
            let bits = q.to_bits();
            let octave = 1021_usize.saturating_sub((bits >> 52) as usize);
            let fraction = (bits & ((1 << 52) - 1)) as f64 * (1.0 / (1_u64 << 52) as f64);
            (&self.lower[octave.min(self.lower.len() - 1)], 2.0 * fraction - 1.0)
        }
    }

    /// One column at `p` (Pa), which must be inside the table.
    #[inline]
    pub fn column_at_pressure(&self, column: Column, p: f64) -> f64 {
        let (rows, x) = self.segment(p);
        value(rows, column as usize, x)
    }

    /// All columns at `p` (Pa), which must be inside the table.
    #[inline]
    pub fn all_at_pressure(&self, p: f64) -> [f64; COLUMNS] {
        let (rows, x) = self.segment(p);
        std::array::from_fn(|c| value(rows, c, x))
    }

    /// Bubble and dew pressure (Pa) at `t` (K), which must be inside the table.
    #[inline]
    pub fn pressures_at_temperature(&self, t: f64) -> [f64; 2] {
        let segments = self.by_temperature.len();
        let (index, x) = locate(t - self.t_low, self.segments_per_kelvin, segments);
        let rows = &self.by_temperature[index];
        [value(rows, 0, x), value(rows, 1, x)]
    }
}
