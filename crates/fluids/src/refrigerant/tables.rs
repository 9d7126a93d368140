//! Saturation as piecewise polynomials: a few nanoseconds a call, some 5 KB a refrigerant.
//!
//! Against pressure the natural variable is w = sqrt(ln(p*/p)), p* the critical pressure (or a value just above the
//! table's top): the dome closes like a square root, which is smooth in w. Against temperature plain T serves.

/// Powers of a segment's polynomial, constant term first.
pub(crate) const TERMS: usize = 8;
/// Columns against pressure: t, rho, h, s, each at the bubble and at the dew end.
pub(crate) const COLUMNS: usize = 8;

pub(crate) struct SaturationTable {
    /// Pa; lowest and highest pressure at which both ends are tabulated.
    pub p_low: f64,
    pub p_high: f64,
    /// ln of the pressure at w = 0.
    pub ln_p_anchor: f64,
    /// w at `p_high` and at `p_low`.
    pub w_low: f64,
    pub w_high: f64,
    /// K; limits of the table against temperature.
    pub t_low: f64,
    pub t_high: f64,
    /// Segment, power, column.
    pub by_pressure: &'static [[[f64; COLUMNS]; TERMS]],
    /// Segment, power, bubble and dew pressure.
    pub by_temperature: &'static [[[f64; 2]; TERMS]],
}

/// One of the columns against pressure.
#[derive(Clone, Copy)]
pub(crate) enum Column {
    BubbleT = 0,
    DewT = 1,
    BubbleRho = 2,
}

/// Index of the segment and the place in it, -1 to 1.
fn locate(x: f64, low: f64, high: f64, segments: usize) -> (usize, f64) {
    let position = (x - low) / (high - low) * segments as f64;
    let index = (position.max(0.0) as usize).min(segments - 1);
    (index, 2.0 * (position - index as f64) - 1.0)
}

impl SaturationTable {
    pub fn holds_pressure(&self, p: f64) -> bool {
        (self.p_low..=self.p_high).contains(&p)
    }

    pub fn holds_temperature(&self, t: f64) -> bool {
        (self.t_low..=self.t_high).contains(&t)
    }

    fn segment(&self, p: f64) -> (&'static [[f64; COLUMNS]; TERMS], f64) {
        // Rounding may put a pressure at the very top a hair above the anchor.
        let w = (self.ln_p_anchor - libm::log(p)).max(0.0).sqrt();
        let (index, x) = locate(w, self.w_low, self.w_high, self.by_pressure.len());
        (&self.by_pressure[index], x)
    }

    /// One column at `p` (Pa), which must be inside the table.
    pub fn column_at_pressure(&self, column: Column, p: f64) -> f64 {
        let (rows, x) = self.segment(p);
        let c = column as usize;
        rows.iter().rev().fold(0.0, |sum, row| sum * x + row[c])
    }

    /// All columns at `p` (Pa), which must be inside the table.
    pub fn all_at_pressure(&self, p: f64) -> [f64; COLUMNS] {
        let (rows, x) = self.segment(p);
        let mut sums = rows[TERMS - 1];
        for row in rows[..TERMS - 1].iter().rev() {
            for (sum, coefficient) in sums.iter_mut().zip(row) {
                *sum = *sum * x + coefficient;
            }
        }
        sums
    }

    /// Bubble and dew pressure (Pa) at `t` (K), which must be inside the table.
    pub fn pressures_at_temperature(&self, t: f64) -> [f64; 2] {
        let (index, x) = locate(t, self.t_low, self.t_high, self.by_temperature.len());
        let rows = &self.by_temperature[index];
        let mut sums = rows[TERMS - 1];
        for row in rows[..TERMS - 1].iter().rev() {
            sums = [sums[0] * x + row[0], sums[1] * x + row[1]];
        }
        sums
    }
}
