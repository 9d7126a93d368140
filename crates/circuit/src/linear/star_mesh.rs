//! Elimination of resistor networks by the star-mesh transformation: a node with conductances g_1, g_2, …
//! to its neighbours is replaced by conductances g_i g_j / (g_1 + g_2 + …) between them.
//!
//! It is Gaussian elimination in which the diagonal is never stored but always summed from the
//! neighbours, so nothing is ever subtracted and every conductance keeps its relative accuracy (Grassmann,
//! Taksar & Heyman, Operations Research 33, 1985, for Markov chains; the argument is the same).

use super::{Branch, Factors};

/// An eliminated conductance network.
#[derive(Clone, Debug)]
pub struct StarMesh {
    size: usize,
    /// Row k, right of the diagonal: the share of node k's current that goes to each later node.
    share: Vec<f64>,
    /// Ohms of node k to everything it meets.
    ohms: Vec<f64>,
}

impl Factors<f64> for StarMesh {
    fn factor(branches: &[Branch<f64>], strays: &[f64]) -> Result<Self, usize> {
        let n = strays.len();
        let mut earth = strays.to_vec();
        // Upper triangle only: g[i][j], i < j.
        let mut between = vec![0.0; n * n];
        for b in branches {
            let (low, high) = if b.from < b.to {
                (usize::from(b.from), usize::from(b.to))
            } else {
                (usize::from(b.to), usize::from(b.from))
            };
            if low == high {
                continue;
            }
            if low == 0 {
                earth[high - 1] += b.admittance;
            } else {
                between[(low - 1) * n + high - 1] += b.admittance;
            }
        }

        let mut ohms = Vec::with_capacity(n);
        for k in 0..n {
            let mut sum = earth[k];
            for g in &between[k * n + k + 1..(k + 1) * n] {
                sum += g;
            }
            if !(sum > 0.0 && sum.is_finite()) {
                return Err(k);
            }
            let inverse = 1.0 / sum;
            ohms.push(inverse);
            let (done, rest) = between.split_at_mut((k + 1) * n);
            let row = &mut done[k * n..];
            for i in k + 1..n {
                let g = row[i];
                if g == 0.0 {
                    continue;
                }
                let share = g * inverse;
                earth[i] += share * earth[k];
                let target = &mut rest[(i - k - 1) * n..(i - k) * n];
                for (t, &h) in target[i + 1..].iter_mut().zip(&row[i + 1..n]) {
                    *t += share * h;
                }
                row[i] = share;
            }
        }
        Ok(Self {
            size: n,
            share: between,
            ohms,
        })
    }

    fn solve(&self, currents: &mut [f64]) {
        let n = self.size;
        for k in 0..n {
            let (done, rest) = currents.split_at_mut(k + 1);
            let own = done[k];
            for (current, share) in rest.iter_mut().zip(&self.share[k * n + k + 1..(k + 1) * n]) {
                *current += share * own;
            }
        }
        for k in (0..n).rev() {
            let mut volts = currents[k] * self.ohms[k];
            for (v, share) in currents[k + 1..]
                .iter()
                .zip(&self.share[k * n + k + 1..(k + 1) * n])
            {
                volts += share * v;
            }
            currents[k] = volts;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Branch, Factors, StarMesh};

    /// Two floating nodes joined by 1 milliohm, 1e-12 S and 3e-12 S to earth, 1 pA into the first: about 0.25 V,
    /// by Ohm's law. LU of the nodal matrix in double precision is off by several per cent here.
    #[test]
    fn leakage_survives_beside_a_contact() {
        let joint = Branch {
            from: 1,
            to: 2,
            admittance: 1e3,
            norton: 0.0,
            mutual: None,
        };
        let factors = StarMesh::factor(&[joint], &[1e-12, 3e-12]).unwrap();
        let mut x = [1e-12, 0.0];
        factors.solve(&mut x);
        assert!((x[0] - 0.25).abs() < 1e-14, "{x:?}");
        assert!((x[1] - 0.25).abs() < 1e-14, "{x:?}");
    }
}
