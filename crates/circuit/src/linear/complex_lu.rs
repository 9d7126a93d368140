//! Dense complex LU with partial pivoting. Real and imaginary parts lie in separate rows, so that the inner
//! loop is plain real arithmetic which the compiler may widen without changing a bit.

use super::{Branch, Factors};
use crate::complex::Complex;

/// A factored complex nodal matrix.
#[derive(Clone, Debug)]
pub struct ComplexLu {
    size: usize,
    re: Vec<f64>,
    im: Vec<f64>,
    /// Row exchanged with row k at step k.
    exchange: Vec<u16>,
    inverse_pivot: Vec<Complex>,
}

impl ComplexLu {
    fn at(&self, row: usize, column: usize) -> Complex {
        let i = row * self.size + column;
        Complex::new(self.re[i], self.im[i])
    }

    /// Adds to the matrix; index 0 is earth and has neither row nor column.
    fn stamp(&mut self, row: u16, column: u16, value: Complex) {
        if row > 0 && column > 0 {
            let i = (usize::from(row) - 1) * self.size + usize::from(column) - 1;
            self.re[i] += value.re;
            self.im[i] += value.im;
        }
    }

    fn assemble(branches: &[Branch<Complex>], strays: &[Complex]) -> Self {
        let size = strays.len();
        let mut matrix = Self {
            size,
            re: vec![0.0; size * size],
            im: vec![0.0; size * size],
            exchange: Vec::with_capacity(size),
            inverse_pivot: Vec::with_capacity(size),
        };
        for (i, stray) in strays.iter().enumerate() {
            matrix.re[i * size + i] = stray.re;
            matrix.im[i * size + i] = stray.im;
        }
        for b in branches {
            if b.from == b.to {
                continue;
            }
            let y = b.admittance;
            matrix.stamp(b.from, b.from, y);
            matrix.stamp(b.to, b.to, y);
            matrix.stamp(b.from, b.to, -y);
            matrix.stamp(b.to, b.from, -y);
            if let Some((c, d, mutual)) = b.mutual {
                matrix.stamp(b.from, c, mutual);
                matrix.stamp(b.to, d, mutual);
                matrix.stamp(b.from, d, -mutual);
                matrix.stamp(b.to, c, -mutual);
            }
        }
        matrix
    }

    fn pivot_row(&self, k: usize) -> Option<usize> {
        let mut best = None;
        let mut size_of_best = 0.0;
        for row in k..self.size {
            let i = row * self.size + k;
            // The sum of the parts is within a factor sqrt(2) of the magnitude: good enough to choose by.
            let magnitude = self.re[i].abs() + self.im[i].abs();
            if magnitude > size_of_best {
                size_of_best = magnitude;
                best = Some(row);
            }
        }
        best.filter(|_| size_of_best.is_finite())
    }

    fn swap_rows(&mut self, a: usize, b: usize) {
        if a != b {
            let n = self.size;
            for part in [&mut self.re, &mut self.im] {
                let (low, high) = part.split_at_mut(b * n);
                low[a * n..(a + 1) * n].swap_with_slice(&mut high[..n]);
            }
        }
    }

    /// Row `row` minus `factor` times row `k`, right of column `k`.
    fn subtract_row(&mut self, row: usize, k: usize, factor: Complex) {
        let n = self.size;
        let (upper_re, lower_re) = self.re.split_at_mut(row * n);
        let (upper_im, lower_im) = self.im.split_at_mut(row * n);
        let pivot_re = &upper_re[k * n + k + 1..(k + 1) * n];
        let pivot_im = &upper_im[k * n + k + 1..(k + 1) * n];
        let row_re = &mut lower_re[k + 1..n];
        let row_im = &mut lower_im[k + 1..n];
        for (((re, im), &p_re), &p_im) in row_re
            .iter_mut()
            .zip(row_im.iter_mut())
            .zip(pivot_re)
            .zip(pivot_im)
        {
            *re -= factor.re * p_re - factor.im * p_im;
            *im -= factor.re * p_im + factor.im * p_re;
        }
    }
}

impl Factors<Complex> for ComplexLu {
    fn factor(branches: &[Branch<Complex>], strays: &[Complex]) -> Result<Self, usize> {
        let mut lu = Self::assemble(branches, strays);
        let n = lu.size;
        for k in 0..n {
            let pivot = lu.pivot_row(k).ok_or(k)?;
            lu.swap_rows(k, pivot);
            lu.exchange
                .push(u16::try_from(pivot).expect("node numbers fit in u16"));
            let inverse = lu.at(k, k).reciprocal();
            lu.inverse_pivot.push(inverse);
            for row in k + 1..n {
                let below = lu.at(row, k);
                // Networks are sparse: most rows do not meet this pivot.
                if below != Complex::ZERO {
                    let factor = below * inverse;
                    lu.re[row * n + k] = factor.re;
                    lu.im[row * n + k] = factor.im;
                    lu.subtract_row(row, k, factor);
                }
            }
        }
        Ok(lu)
    }

    fn solve(&self, currents: &mut [Complex]) {
        let n = self.size;
        for k in 0..n {
            currents.swap(k, usize::from(self.exchange[k]));
        }
        for row in 1..n {
            let mut sum = currents[row];
            for (column, known) in currents[..row].iter().enumerate() {
                sum -= self.at(row, column) * *known;
            }
            currents[row] = sum;
        }
        for row in (0..n).rev() {
            let mut sum = currents[row];
            for (column, known) in currents.iter().enumerate().skip(row + 1) {
                sum -= self.at(row, column) * *known;
            }
            currents[row] = sum * self.inverse_pivot[row];
        }
    }
}
