//! Refrigerant properties as the loop's iteration wants them: cheap, continuous across the saturation line and
//! never refusing.
//!
//! Saturation comes straight from the property tables. Superheated vapour is interpolated from the equation of
//! state by Chebyshev polynomials in dew temperature and distance from the dew line, made once per machine. The
//! distance multiplies the polynomial, so that the dew line itself is met exactly.

use halfsplit_fluids::refrigerant::{Refrigerant, RefrigerantError, Saturation};

/// Nodes along the dew line and away from it.
const ALONG: usize = 14;
const AWAY: usize = 7;

/// One function of dew temperature and distance from the dew line.
type Surface = [[f64; AWAY]; ALONG];

/// Vapour, or a mixture with some liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gas {
    /// Temperature, K.
    pub t: f64,
    /// Specific entropy, J/(kg K).
    pub s: f64,
    /// Specific volume, m³/kg.
    pub v: f64,
}

/// Properties of one refrigerant over the range of the loop.
#[derive(Debug, Clone)]
pub struct Working {
    /// Which refrigerant.
    pub refrigerant: Refrigerant,
    /// Lowest dew temperature used, K.
    pub t_low: f64,
    /// Highest dew temperature used, K: a little below the top of the saturation table.
    pub t_high: f64,
    reach_h: f64,
    reach_s: f64,
    temperature: Surface,
    entropy: Surface,
    volume: Surface,
    isentrope: Surface,
}

impl Working {
    /// Prepares the interpolation.
    ///
    /// # Errors
    /// If the equation of state refuses a node, which happens for refrigerants whose saturation ends below 40 °C.
    pub fn new(refrigerant: Refrigerant) -> Result<Self, RefrigerantError> {
        let range = refrigerant.range();
        let t_low = (range.t_low + 0.5).max(213.15);
        // Near the critical point the dome closes like a square root; machines cut out long before.
        let t_high = (range.t_saturation_high - 1.0).min(358.15);
        let warm = refrigerant.dew_pressure((t_high - 30.0).min(323.15))?;
        let edge = refrigerant.saturation(warm)?.dew;
        let far = refrigerant.state_pt(warm, (edge.t + 95.0).min(range.t_high - 5.0))?;
        let (reach_h, reach_s) = (far.h - edge.h, far.s - edge.s);
        let mut values = [[[0.0; AWAY]; ALONG]; 4];
        let [temperatures, entropies, volumes, isentropes] = &mut values;
        let rows = temperatures.iter_mut().zip(entropies).zip(volumes).zip(isentropes);
        for (i, (((temperatures, entropies), volumes), isentropes)) in rows.enumerate() {
            let t = 0.5 * (t_low + t_high) + 0.5 * (t_high - t_low) * node(i, ALONG);
            let p = refrigerant.dew_pressure(t)?;
            let dew = refrigerant.saturation(p)?.dew;
            let row = temperatures.iter_mut().zip(entropies).zip(volumes).zip(isentropes);
            for (j, (((temperature, entropy), volume), isentrope)) in row.enumerate() {
                let share = 0.5 * (1.0 + node(j, AWAY));
                let dh = share * reach_h;
                let at = refrigerant.state_ph(p, dew.h + dh)?;
                *temperature = (at.t - dew.t) / dh;
                *entropy = (at.s - dew.s) / dh;
                *volume = (dew.rho / at.rho - 1.0) / dh;
                let ds = share * reach_s;
                *isentrope = (refrigerant.state_ps(p, dew.s + ds)?.h - dew.h) / ds;
            }
        }
        let [temperature, entropy, volume, isentrope] = values.map(|v| transform(&v));
        Ok(Self { refrigerant, t_low, t_high, reach_h, reach_s, temperature, entropy, volume, isentrope })
    }

    /// Both ends of saturation at a dew temperature (K), held inside the range.
    pub fn at_dew(&self, t: f64) -> Saturation {
        let p = self.refrigerant.dew_pressure(t.clamp(self.t_low, self.t_high)).unwrap_or(f64::NAN);
        self.at_pressure(p)
    }

    /// Both ends of saturation at a pressure (Pa), held inside the range.
    pub fn at_pressure(&self, p: f64) -> Saturation {
        match self.refrigerant.saturation(p) {
            Ok(s) => s,
            Err(_) => {
                let end = if p > 1e6 { self.t_high } else { self.t_low };
                let p = self.refrigerant.dew_pressure(end).unwrap_or(f64::NAN);
                self.refrigerant.saturation(p).unwrap_or_else(|_| unreachable!("ends of the range were tabulated"))
            }
        }
    }

    /// Liquid on its bubble line at `t` (K); good for subcooled liquid too, whose pressure matters little.
    pub fn liquid(&self, t: f64) -> halfsplit_fluids::refrigerant::SaturationEnd {
        self.at_pressure(self.bubble_pressure(t)).bubble
    }

    /// Bubble pressure (Pa) at a temperature (K), held inside the range.
    pub fn bubble_pressure(&self, t: f64) -> f64 {
        self.refrigerant.bubble_pressure(t.clamp(self.t_low, self.t_high)).unwrap_or(f64::NAN)
    }

    /// State at a pressure, given by its saturation, and an enthalpy (J/kg) from the bubble line upwards.
    pub fn gas(&self, sat: &Saturation, h: f64) -> Gas {
        let (b, d) = (&sat.bubble, &sat.dew);
        let dh = h - d.h;
        if dh <= 0.0 {
            let x = ((h - b.h) / (d.h - b.h)).max(0.0);
            return Gas {
                t: b.t + x * (d.t - b.t),
                s: b.s + x * (d.s - b.s),
                v: 1.0 / b.rho + x * (1.0 / d.rho - 1.0 / b.rho),
            };
        }
        let (a, w) = self.polynomials(d.t, dh / self.reach_h);
        Gas {
            t: d.t + dh * value(&self.temperature, &a, &w),
            s: d.s + dh * value(&self.entropy, &a, &w),
            v: (1.0 + dh * value(&self.volume, &a, &w)) / d.rho,
        }
    }

    /// Enthalpy (J/kg) at a pressure, given by its saturation, and an entropy (J/(kg K)).
    pub fn isentrope(&self, sat: &Saturation, s: f64) -> f64 {
        let (b, d) = (&sat.bubble, &sat.dew);
        let ds = s - d.s;
        if ds <= 0.0 {
            return d.h + ds * (d.h - b.h) / (d.s - b.s);
        }
        let (a, w) = self.polynomials(d.t, ds / self.reach_s);
        d.h + ds * value(&self.isentrope, &a, &w)
    }

    /// Enthalpy (J/kg) of vapour `superheat` kelvin above its dew temperature, for evaporating temperatures up to 40 °C.
    pub fn superheated(&self, sat: &Saturation, superheat: f64) -> f64 {
        // cp of the dew line starts the search; the temperature is nearly straight in enthalpy.
        let mut dh = superheat * 1e3;
        for _ in 0..3 {
            let (a, w) = self.polynomials(sat.dew.t, dh / self.reach_h);
            dh = superheat / value(&self.temperature, &a, &w);
        }
        sat.dew.h + dh
    }

    /// Heat capacity of vapour on its dew line, J/(kg K).
    pub fn vapour_capacity(&self, sat: &Saturation) -> f64 {
        let (a, w) = self.polynomials(sat.dew.t, 0.05);
        1.0 / value(&self.temperature, &a, &w)
    }

    fn polynomials(&self, t: f64, share: f64) -> ([f64; ALONG], [f64; AWAY]) {
        let x = ((2.0 * t - self.t_low - self.t_high) / (self.t_high - self.t_low)).clamp(-1.0, 1.0);
        // Beyond the far edge the mean slope is kept: a polynomial must not be trusted there.
        (chebyshev(x), chebyshev((2.0 * share - 1.0).clamp(-1.0, 1.0)))
    }
}

/// The larger of two, with a rounded corner where they differ by less than `width`.
pub(crate) fn smooth_max(a: f64, b: f64, width: f64) -> f64 {
    let d = a - b;
    if d.abs() >= width { a.max(b) } else { b + (d + width) * (d + width) / (4.0 * width) }
}

fn node(k: usize, n: usize) -> f64 {
    libm::cos(std::f64::consts::PI * (k as f64 + 0.5) / n as f64)
}

fn chebyshev<const N: usize>(x: f64) -> [f64; N] {
    let mut out = [1.0; N];
    out[1] = x;
    for k in 2..N {
        out[k] = 2.0 * x * out[k - 1] - out[k - 2];
    }
    out
}

fn value(c: &Surface, a: &[f64; ALONG], w: &[f64; AWAY]) -> f64 {
    let mut sum = 0.0;
    for (row, along) in c.iter().zip(a) {
        let mut inner = 0.0;
        for (coefficient, away) in row.iter().zip(w) {
            inner += coefficient * away;
        }
        sum += along * inner;
    }
    sum
}

/// Coefficients from values at the nodes.
fn transform(values: &Surface) -> Surface {
    let mut out = [[0.0; AWAY]; ALONG];
    for (i, row) in out.iter_mut().enumerate() {
        for (j, c) in row.iter_mut().enumerate() {
            let mut sum = 0.0;
            for (k, across) in values.iter().enumerate() {
                let x = chebyshev::<ALONG>(node(k, ALONG))[i];
                for (l, v) in across.iter().enumerate() {
                    sum += v * x * chebyshev::<AWAY>(node(l, AWAY))[j];
                }
            }
            let scale = |n: usize, k: usize| if k == 0 { 1.0 / n as f64 } else { 2.0 / n as f64 };
            *c = sum * scale(ALONG, i) * scale(AWAY, j);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the equations of state themselves, one grid away from the nodes.
    #[test]
    fn interpolation_follows_the_equation_of_state() {
        for r in [
            Refrigerant::R134a,
            Refrigerant::R410A,
            Refrigerant::R22,
            Refrigerant::R290,
            Refrigerant::R32,
            Refrigerant::R600a,
        ] {
            let w = Working::new(r).unwrap();
            for t in [-35.0, -10.0, 7.0, 30.0, 45.0, 58.0] {
                let sat = w.at_dew(t + 273.15);
                // Near the critical point of R410A and R32 the surface is steep.
                let near = if t > 40.0 { 500.0 } else { 60.0 };
                for superheat in [0.5, 6.0, 25.0, 60.0] {
                    let exact = r.state_pt(sat.p, sat.dew.t + superheat).unwrap();
                    let gas = w.gas(&sat, exact.h);
                    assert!((gas.t - exact.t).abs() < 0.06, "{r} {t} +{superheat}: {} K", gas.t - exact.t);
                    assert!(
                        (gas.v * exact.rho - 1.0).abs() < 1e-3,
                        "{r} {t} +{superheat}: volume {}",
                        gas.v * exact.rho
                    );
                    assert!((w.isentrope(&sat, exact.s) - exact.h).abs() < near, "{r} {t} +{superheat}");
                    assert!(
                        t > 40.0 || (w.superheated(&sat, superheat) - exact.h).abs() < near,
                        "{r} {t} +{superheat}"
                    );
                }
            }
        }
    }
}
