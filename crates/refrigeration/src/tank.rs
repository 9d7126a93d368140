//! A stratified tank of water: layers of equal volume with heat put in by elements and by a condenser wrapped around
//! it, draws, losses and conduction between layers.
//!
//! Within a step each layer answers its heat and its losses exactly (dT/dt = a + bT, the solution of the EnergyPlus Engineering
//! Reference for a mixed tank); conduction, draws and the turning over of a warmer layer below a colder one move heat between
//! layers without making any.

use libm::exp;

/// Heat capacity of a cubic metre of water, J/(m³ K), between 10 and 60 °C. Source: ASHRAE Handbook — Fundamentals, 1.163 Wh per
/// litre and kelvin.
pub const WATER: f64 = 1.163 * 3600.0 * 1000.0;

/// A tank; layer 0 is the bottom.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Temperatures of the layers, K.
    pub layers: Vec<f64>,
    /// Water, m³.
    pub volume: f64,
    /// Loss to the room, W/K, over the whole tank.
    pub loss: f64,
    /// Conduction between neighbouring layers, W/K: water and steel wall.
    pub between: f64,
}

/// Heat put into a stretch of the tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// W.
    pub heat: f64,
    /// Lower and upper end as fractions of the height.
    pub span: (f64, f64),
}

/// What happens to a tank during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Room, K.
    pub room: f64,
    /// Water drawn, m³/s.
    pub draw: f64,
    /// Cold water that replaces it, K.
    pub cold: f64,
    /// Where it comes in, as a fraction of the height: 0 through a sound dip tube, near 1 where the tube has broken off.
    pub inlet: f64,
}

/// Energies of a step or of a heat-up, J.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Energies {
    /// Put in by the sources.
    pub put_in: f64,
    /// Lost to the room.
    pub lost: f64,
    /// Carried away by draws, above the cold water's temperature.
    pub drawn: f64,
}

/// A heat-up from start to target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatUp {
    /// s.
    pub time: f64,
    /// Heat put into the water, J.
    pub heat: f64,
    /// Electricity, J.
    pub electricity: f64,
    /// Whether the target was reached within the time allowed.
    pub reached: bool,
}

impl HeatUp {
    /// Heat over electricity; 0 if none was used.
    pub fn cop(&self) -> f64 {
        if self.electricity > 0.0 { self.heat / self.electricity } else { 0.0 }
    }
}

impl Tank {
    /// A tank of one temperature (K). `litres` of water in `layers` layers (at least one) with `loss` W/K.
    pub fn uniform(litres: f64, layers: usize, t: f64, loss: f64) -> Self {
        Self::layered(litres, layers, loss, |_| t)
    }

    /// A tank of `litres` in `layers` layers (at least one) with `loss` W/K; `t` gives the temperature (K) at a height as a
    /// fraction from the bottom, and is asked for the middle of each layer.
    pub fn layered(litres: f64, layers: usize, loss: f64, t: impl Fn(f64) -> f64) -> Self {
        let layers = layers.max(1);
        let middle = |i: usize| (i as f64 + 0.5) / layers as f64;
        // Water 0.6 W/(m K) and a steel wall of a few millimetres, in a tank three times as high as wide. Judgement.
        let between = 0.5 * layers as f64 / 12.0;
        Self { layers: (0..layers).map(|i| t(middle(i))).collect(), volume: litres * 1e-3, loss, between }
    }

    fn layer_capacity(&self) -> f64 {
        WATER * self.volume / self.layers.len() as f64
    }

    /// Mean temperature, K.
    pub fn mean(&self) -> f64 {
        self.layers.iter().sum::<f64>() / self.layers.len() as f64
    }

    /// Temperature at a height, as a fraction from the bottom: of the layer that a sensor there touches.
    pub fn at(&self, height: f64) -> f64 {
        self.layers[self.layer_at(height)]
    }

    fn layer_at(&self, height: f64) -> usize {
        let n = self.layers.len();
        ((height.clamp(0.0, 1.0) * n as f64) as usize).min(n - 1)
    }

    /// Mean over a stretch of the height, K: what a wrapped condenser works against.
    pub fn mean_over(&self, span: (f64, f64)) -> f64 {
        let shares = self.shares(span);
        shares.iter().zip(&self.layers).map(|(s, t)| s * t).sum()
    }

    /// How a stretch of the height divides among the layers; sums to one.
    fn shares(&self, span: (f64, f64)) -> Vec<f64> {
        let n = self.layers.len() as f64;
        let low = span.0.clamp(0.0, 1.0 - 1e-9);
        let high = span.1.clamp(low + 1e-9, 1.0);
        let overlap = |i: usize| (high.min((i + 1) as f64 / n) - low.max(i as f64 / n)).max(0.0) / (high - low);
        (0..self.layers.len()).map(overlap).collect()
    }

    /// Moves on by `seconds`, in as many equal parts as keep conduction and draws gentle.
    pub fn step(&mut self, seconds: f64, sources: &[Source], weather: &Weather) -> Energies {
        let capacity = self.layer_capacity();
        let per_layer = self.volume / self.layers.len() as f64;
        let quick = (2.0 * self.between / capacity).max(weather.draw / per_layer).max(1e-9);
        let parts = (seconds * quick / 0.25).ceil().max(1.0);
        let dt = seconds / parts;
        let mut heat = vec![0.0; self.layers.len()];
        for source in sources {
            for (h, share) in heat.iter_mut().zip(self.shares(source.span)) {
                *h += source.heat * share;
            }
        }
        let mut total = Energies::default();
        for _ in 0..parts as u64 {
            let part = self.part(dt, &heat, weather);
            total.put_in += part.put_in;
            total.lost += part.lost;
            total.drawn += part.drawn;
        }
        total
    }

    fn part(&mut self, dt: f64, heat: &[f64], weather: &Weather) -> Energies {
        let n = self.layers.len();
        let capacity = self.layer_capacity();
        let loss = self.loss / n as f64;
        let mut energies = Energies::default();
        for (t, h) in self.layers.iter_mut().zip(heat) {
            let before = *t;
            *t = mixed(before, (h + loss * weather.room) / capacity, -loss / capacity, dt);
            energies.put_in += h * dt;
            energies.lost += h * dt - capacity * (*t - before);
        }
        let old = self.layers.clone();
        for i in 1..n {
            let moved = self.between * (old[i - 1] - old[i]) * dt / capacity;
            self.layers[i - 1] -= moved;
            self.layers[i] += moved;
        }
        let share = weather.draw * dt / (self.volume / n as f64);
        if share > 0.0 {
            energies.drawn = share * capacity * (self.layers[n - 1] - weather.cold);
            let old = self.layers.clone();
            let inlet = self.layer_at(weather.inlet);
            for i in inlet..n {
                let from_below = if i == inlet { weather.cold } else { old[i - 1] };
                self.layers[i] += share * (from_below - old[i]);
            }
        }
        self.turn_over();
        energies
    }

    /// Mixes layers until none is warmer than the one above it.
    fn turn_over(&mut self) {
        // Blocks of equal temperature, merged upwards: each layer is looked at once.
        let mut blocks: Vec<(f64, usize)> = Vec::with_capacity(self.layers.len());
        for t in &self.layers {
            let mut block = (*t, 1);
            while let Some(&(below, count)) = blocks.last() {
                if below <= block.0 {
                    break;
                }
                blocks.pop();
                let together = count + block.1;
                block = ((below * count as f64 + block.0 * block.1 as f64) / together as f64, together);
            }
            blocks.push(block);
        }
        let mut i = 0;
        for (t, count) in blocks {
            self.layers[i..i + count].fill(t);
            i += count;
        }
    }

    /// Heats until the mean reaches `target` (K) or `longest` seconds have passed.
    ///
    /// `machine` gives heat and electrical power (W) for the water temperature (K) over `span`; it is asked once a minute.
    pub fn heat_up(
        &mut self,
        target: f64,
        longest: f64,
        span: (f64, f64),
        weather: &Weather,
        mut machine: impl FnMut(f64) -> (f64, f64),
    ) -> HeatUp {
        const MINUTE: f64 = 60.0;
        let mut out = HeatUp { time: 0.0, heat: 0.0, electricity: 0.0, reached: self.mean() >= target };
        while !out.reached && out.time < longest {
            let (heat, power) = machine(self.mean_over(span));
            let put_in = self.step(MINUTE, &[Source { heat, span }], weather).put_in;
            out.time += MINUTE;
            out.heat += put_in;
            out.electricity += power * MINUTE;
            out.reached = self.mean() >= target;
        }
        out
    }
}

/// Temperature after `dt` seconds of dT/dt = a + b T: T = (a/b + T₀) e^(b dt) − a/b. Source: EnergyPlus Engineering Reference, mixed
/// water thermal tank.
pub fn mixed(t0: f64, a: f64, b: f64, dt: f64) -> f64 {
    if (b * dt).abs() < 1e-12 {
        return t0 + a * dt;
    }
    (a / b + t0) * exp(b * dt) - a / b
}

#[cfg(test)]
mod tests {
    use super::*;

    const STILL: Weather = Weather { room: 293.15, draw: 0.0, cold: 285.15, inlet: 0.0 };

    /// Source: EnergyPlus Engineering Reference, water thermal tanks, mixed: T = (a/b + T₀)e^{bt} − a/b.
    #[test]
    fn one_layer_is_the_exact_mixed_tank() {
        let mut tank = Tank::uniform(190.0, 1, 293.15, 3.0);
        tank.step(7200.0, &[Source { heat: 1500.0, span: (0.0, 1.0) }], &STILL);
        let capacity = WATER * 0.19;
        let (a, b) = ((1500.0 + 3.0 * 293.15) / capacity, -3.0 / capacity);
        let exact = (a / b + 293.15) * exp(b * 7200.0) - a / b;
        assert!((tank.mean() - exact).abs() < 1e-9);
        // The same equation, walked in tenths of a second.
        let mut t = 293.15;
        for _ in 0..72_000 {
            t += 0.1 * (a + b * t);
        }
        assert!((tank.mean() - t).abs() < 1e-3);
    }

    #[test]
    fn no_heat_is_made_or_forgotten() {
        let mut tank = Tank::uniform(190.0, 12, 313.15, 2.0);
        let start = tank.mean();
        let weather = Weather { draw: 1e-4, ..STILL };
        let sources = [Source { heat: 4500.0, span: (0.6, 0.65) }, Source { heat: 1400.0, span: (0.1, 0.5) }];
        let e = tank.step(1800.0, &sources, &weather);
        let kept = WATER * 0.19 * (tank.mean() - start);
        assert!((e.put_in - e.lost - e.drawn - kept).abs() < 1e-6 * e.put_in, "{e:?} {kept}");
    }

    #[test]
    fn draws_cool_the_bottom_first_and_warm_water_rises() {
        let mut tank = Tank::uniform(190.0, 12, 328.15, 2.0);
        // A third of the tank.
        tank.step(600.0, &[], &Weather { draw: 63.3e-3 / 600.0, ..STILL });
        assert!(tank.at(0.05) < 290.0 && tank.at(0.95) > 327.0);
        // An element in the middle heats what is above it and nothing below.
        let bottom = tank.at(0.05);
        tank.step(3600.0, &[Source { heat: 4500.0, span: (0.6, 0.62) }], &STILL);
        assert!(tank.at(0.05) - bottom < 0.5 && tank.at(0.95) > 329.0);
        assert!(tank.layers.windows(2).all(|w| w[0] <= w[1] + 1e-9));
    }

    /// Cold water let in at the top sinks through the warmer and mixes with all of it: what leaves then cools as from a mixed tank,
    /// T = Tc + (T₀ − Tc) e^(−drawn / volume). Source: the EnergyPlus equation of [`mixed`] with the draw as its only loss. The layers
    /// lie a little below, since the top one cools before it mixes.
    #[test]
    fn with_the_dip_tube_gone_the_outlet_cools_as_from_a_mixed_tank() {
        let drawn = |inlet: f64| {
            let mut tank = Tank::uniform(190.0, 10, 323.15, 0.0);
            let e = tank.step(380.0, &[], &Weather { draw: 63.3e-3 / 380.0, inlet, ..STILL });
            let kept = WATER * 0.19 * (tank.mean() - 323.15);
            assert!((e.drawn + kept).abs() < 1e-6 * e.drawn, "{e:?} {kept}");
            tank.at(1.0)
        };
        assert!(323.15 - drawn(0.0) < 0.2, "{}", drawn(0.0));
        let mixed = 285.15 + 38.0 * exp(-1.0 / 3.0);
        assert!((drawn(1.0) - mixed).abs() < 0.5, "{} against {mixed}", drawn(1.0));
    }

    /// Source: 189 L through 35 K are 7.7 kWh, 1.7 h on 4.5 kW (1.163 Wh per litre and kelvin, ASHRAE Handbook — Fundamentals).
    #[test]
    fn an_element_takes_the_handbooks_time() {
        let mut tank = Tank::uniform(189.0, 12, 288.15, 0.0);
        let up = tank.heat_up(323.15, 1e5, (0.0, 0.1), &STILL, |_| (4500.0, 4500.0));
        assert!(up.reached && (up.heat / 3.6e6 - 7.7).abs() < 0.1, "{up:?}");
        assert!((up.time / 3600.0 - 1.7).abs() < 0.05);
        assert_eq!(up.cop(), 1.0);
    }
}
