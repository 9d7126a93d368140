//! A factored network, and what follows from it: voltages, currents, powers, and what a pair of nodes looks like.

use crate::assemble::{self, FixedImpedance, singular};
use crate::complex::Complex;
use crate::error::CircuitError;
use crate::linear::{Branch, Factors, Field};
use crate::network::{ElementId, Kind, Network, Node};

/// A factored network: many right-hand sides and probe pairs are cheap. [`FactoredAc`] or [`FactoredDc`].
///
/// It holds the network as it was when factored; later edits do not reach it.
#[derive(Clone, Debug)]
pub struct Factored<F: Field> {
    factors: F::Factors,
    branches: Vec<Branch<F>>,
    strays: Vec<F>,
    /// Node volts with the network's own sources; index 0 is earth.
    volts: Vec<F>,
}

/// A network factored for alternating current of one frequency; voltages are RMS phasors.
pub type FactoredAc = Factored<Complex>;
/// A network factored for direct current.
pub type FactoredDc = Factored<f64>;

/// Voltages and currents of one state of a network.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution<F> {
    volts: Vec<F>,
    currents: Vec<F>,
    ends: Vec<(u16, u16)>,
    stray_currents: Vec<F>,
}

/// What two nodes look like from outside: open-circuit voltage and internal impedance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thevenin<F> {
    /// Volts between the nodes with nothing joined.
    pub volts: F,
    /// Ohms behind them.
    pub ohms: F,
}

/// What two pairs of nodes look like from outside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoPort {
    /// Open-circuit RMS volts of each pair.
    pub volts: [Complex; 2],
    /// Open-circuit impedance matrix in ohms.
    pub ohms: [[Complex; 2]; 2],
}

impl<F: Field> Factored<F> {
    fn new(branches: Vec<Branch<F>>, strays: Vec<F>) -> Result<Self, CircuitError> {
        let factors = F::Factors::factor(&branches, &strays).map_err(singular)?;
        let mut factored = Self {
            factors,
            branches,
            strays,
            volts: Vec::new(),
        };
        let mut currents = vec![F::default(); factored.strays.len() + 1];
        for b in &factored.branches {
            currents[usize::from(b.from)] -= b.norton;
            currents[usize::from(b.to)] += b.norton;
        }
        factored.solve_nodes(&mut currents);
        factored.volts = currents;
        Ok(factored)
    }

    /// Currents into all nodes, earth first, become voltages in place.
    fn solve_nodes(&self, nodes: &mut [F]) {
        nodes[0] = F::default();
        self.factors.solve(&mut nodes[1..]);
    }

    fn state(&self, volts: Vec<F>) -> Solution<F> {
        Solution {
            currents: self.branches.iter().map(|b| b.current(&volts)).collect(),
            ends: self.branches.iter().map(|b| (b.from, b.to)).collect(),
            stray_currents: volts[1..]
                .iter()
                .zip(&self.strays)
                .map(|(v, y)| *v * *y)
                .collect(),
            volts,
        }
    }

    /// The state that the network's own sources cause.
    #[must_use]
    pub fn solution(&self) -> Solution<F> {
        self.state(self.volts.clone())
    }

    /// The state with currents (amperes) injected into nodes from earth, besides the network's own sources.
    ///
    /// # Panics
    /// When a node is not of this network.
    #[must_use]
    pub fn solve(&self, injections: &[(Node, F)]) -> Solution<F> {
        let mut volts = self.response(injections);
        for (v, own) in volts.iter_mut().zip(&self.volts) {
            *v += *own;
        }
        self.state(volts)
    }

    /// Voltage of `a` over `b` with nothing joined.
    ///
    /// # Panics
    /// When a node is not of this network.
    #[must_use]
    pub fn voltage(&self, a: Node, b: Node) -> F {
        self.volts[a.index()] - self.volts[b.index()]
    }

    /// What the nodes `a` and `b` look like from outside.
    ///
    /// # Panics
    /// When a node is not of this network.
    #[must_use]
    pub fn thevenin(&self, a: Node, b: Node) -> Thevenin<F>
    where
        F: One,
    {
        let unit = self.response(&[(a, F::ONE), (b, -F::ONE)]);
        Thevenin {
            volts: self.voltage(a, b),
            ohms: unit[a.index()] - unit[b.index()],
        }
    }

    /// Node volts caused by injected currents alone.
    fn response(&self, injections: &[(Node, F)]) -> Vec<F> {
        let mut nodes = vec![F::default(); self.strays.len() + 1];
        for &(node, current) in injections {
            nodes[node.index()] += current;
        }
        self.solve_nodes(&mut nodes);
        nodes
    }
}

/// A field with a one.
pub trait One: Field {
    /// The unit.
    const ONE: Self;
}

impl One for f64 {
    const ONE: Self = 1.0;
}

impl One for Complex {
    const ONE: Self = Self::ONE;
}

impl FactoredAc {
    /// What two pairs of nodes look like from outside: two windings, say, that are left out of the network.
    ///
    /// # Panics
    /// When a node is not of this network.
    #[must_use]
    pub fn two_port(&self, first: (Node, Node), second: (Node, Node)) -> TwoPort {
        let ports = [first, second];
        let column = |(a, b): (Node, Node)| {
            let unit = self.response(&[(a, Complex::ONE), (b, -Complex::ONE)]);
            ports.map(|(c, d)| unit[c.index()] - unit[d.index()])
        };
        let (one, two) = (column(first), column(second));
        TwoPort {
            volts: ports.map(|(a, b)| self.voltage(a, b)),
            ohms: [[one[0], two[0]], [one[1], two[1]]],
        }
    }
}

impl<F: Field> Solution<F> {
    /// Voltage of `a` over `b`, volts.
    ///
    /// # Panics
    /// When a node is not of this network.
    #[must_use]
    pub fn voltage(&self, a: Node, b: Node) -> F {
        self.volts[a.index()] - self.volts[b.index()]
    }

    /// Current through an element from its `from` to its `to` terminal, amperes.
    ///
    /// # Panics
    /// When the element is not of this network.
    #[must_use]
    pub fn current(&self, element: ElementId) -> F {
        self.currents[element.index()]
    }

    /// Current from a node through its stray path to earth, amperes. Zero for earth itself.
    ///
    /// # Panics
    /// When the node is not of this network.
    #[must_use]
    pub fn stray_current(&self, node: Node) -> F {
        match node.index().checked_sub(1) {
            Some(i) => self.stray_currents[i],
            None => F::default(),
        }
    }

    fn across(&self, element: ElementId) -> F {
        let (from, to) = self.ends[element.index()];
        self.volts[usize::from(from)] - self.volts[usize::from(to)]
    }
}

impl Solution<Complex> {
    /// Complex power that an element takes up: watts + j vars. Negative real part for a source that delivers.
    ///
    /// # Panics
    /// When the element is not of this network.
    #[must_use]
    pub fn power(&self, element: ElementId) -> Complex {
        self.across(element) * self.current(element).conjugate()
    }
}

impl Solution<f64> {
    /// Watts that an element takes up; negative for a source that delivers.
    ///
    /// # Panics
    /// When the element is not of this network.
    #[must_use]
    pub fn power(&self, element: ElementId) -> f64 {
        self.across(element) * self.current(element)
    }
}

impl Network {
    /// Factors the network for alternating current of `hz` hertz (0.001 to 1e6). Direct parts of sources are off,
    /// diodes are open.
    ///
    /// # Errors
    /// A value or node out of range, or an exact resonance without losses.
    pub fn factor_ac(&self, hz: f64) -> Result<FactoredAc, CircuitError> {
        let (branches, strays) = assemble::alternating(self, hz, FixedImpedance::AsStated)?;
        Factored::new(branches, strays)
    }

    /// Factors for the low test frequency of a capacitance meter: loads and windings count with their ohms.
    pub(crate) fn factor_test_frequency(&self, hz: f64) -> Result<FactoredAc, CircuitError> {
        let (branches, strays) = assemble::alternating(self, hz, FixedImpedance::AsDirect)?;
        Factored::new(branches, strays)
    }

    /// Factors the network for direct current. Alternating parts of sources are off, capacitors pass only their
    /// leakage (a charged one is a source), diodes stand in the state that the network's own sources give them.
    ///
    /// # Errors
    /// A value or node out of range, or diodes that find no consistent state.
    pub fn factor_dc(&self) -> Result<FactoredDc, CircuitError> {
        let diodes: Vec<(usize, f64)> = self
            .elements
            .iter()
            .enumerate()
            .filter_map(|(i, e)| match e.kind {
                Kind::Diode { forward_volts, .. } => Some((i, forward_volts)),
                _ => None,
            })
            .collect();
        let mut conducting = vec![false; diodes.len()];
        let rounds = 16 + 8 * diodes.len();
        for round in 0..rounds {
            let (branches, strays) = assemble::direct(self, &conducting)?;
            let factored = Factored::new(branches, strays)?;
            let mut settled = true;
            for (state, &(index, drop)) in conducting.iter_mut().zip(&diodes) {
                let b = &factored.branches[index];
                let across =
                    factored.volts[usize::from(b.from)] - factored.volts[usize::from(b.to)];
                let should = across > drop;
                if *state != should {
                    *state = should;
                    settled = false;
                    // All at once is quickest; one at a time breaks a cycle.
                    if round >= 8 {
                        break;
                    }
                }
            }
            if settled {
                return Ok(factored);
            }
        }
        Err(CircuitError::DiodesUnsettled)
    }

    /// Solves for alternating current of `hz` hertz with the network's own sources.
    ///
    /// # Errors
    /// As [`Network::factor_ac`].
    pub fn solve_ac(&self, hz: f64) -> Result<Solution<Complex>, CircuitError> {
        let mut factored = self.factor_ac(hz)?;
        let volts = core::mem::take(&mut factored.volts);
        Ok(factored.state(volts))
    }

    /// Solves for direct current with the network's own sources.
    ///
    /// # Errors
    /// As [`Network::factor_dc`].
    pub fn solve_dc(&self) -> Result<Solution<f64>, CircuitError> {
        let mut factored = self.factor_dc()?;
        let volts = core::mem::take(&mut factored.volts);
        Ok(factored.state(volts))
    }
}
