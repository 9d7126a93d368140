//! The network: nodes, elements, and the edits that faults make to them.

use crate::complex::Complex;
use crate::error::CircuitError;

/// A point of one potential. [`Node::EARTH`] is the declared reference of every network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Node(pub(crate) u16);

impl Node {
    /// The reference: protective earth, cabinet. Its potential is zero.
    pub const EARTH: Self = Self(0);

    /// Its number: 0 for earth, then in order of [`Network::add_node`].
    #[must_use]
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// An element of a network, in order of adding.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ElementId(pub(crate) u32);

impl ElementId {
    /// Its number, from 0.
    #[must_use]
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// Two windings on one iron: each is an element of its own with its own current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PairId {
    /// The first winding (of a motor: main).
    pub first: ElementId,
    /// The second winding (of a motor: auxiliary).
    pub second: ElementId,
}

/// Two coupled windings as the network sees them at the supply frequency:
/// `i1 = y11 v1 + y12 v2`, `i2 = y21 v1 + y22 v2`. A running motor is not reciprocal: y12 may differ from y21.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoupledPair {
    /// Admittance matrix in siemens.
    pub siemens: [[Complex; 2]; 2],
    /// Resistance of each winding to direct current, ohms.
    pub dc_ohms: [f64; 2],
}

impl CoupledPair {
    /// Windings that are not there: no admittance, and the direct-current resistance of an open circuit.
    pub const ABSENT: Self = Self {
        siemens: [[Complex::ZERO; 2]; 2],
        dc_ohms: [OPEN_OHMS; 2],
    };

    /// From the impedance matrix in ohms.
    #[must_use]
    pub fn from_impedance(ohms: [[Complex; 2]; 2], dc_ohms: [f64; 2]) -> Self {
        Self {
            siemens: invert(ohms),
            dc_ohms,
        }
    }

    /// A two-winding transformer.
    ///
    /// `volts` are the rated RMS volts of the windings, `dc_ohms` their resistances, `leakage_ohms` the
    /// leakage reactance of each winding and `magnetising_ohms` the magnetising reactance seen by the first,
    /// at the supply frequency.
    #[must_use]
    pub fn transformer(
        volts: [f64; 2],
        dc_ohms: [f64; 2],
        leakage_ohms: [f64; 2],
        magnetising_ohms: f64,
    ) -> Self {
        let turns = volts[1] / volts[0];
        let mutual = Complex::new(0.0, magnetising_ohms * turns);
        Self::from_impedance(
            [
                [
                    Complex::new(dc_ohms[0], leakage_ohms[0] + magnetising_ohms),
                    mutual,
                ],
                [
                    mutual,
                    Complex::new(
                        dc_ohms[1],
                        leakage_ohms[1] + magnetising_ohms * turns * turns,
                    ),
                ],
            ],
            dc_ohms,
        )
    }
}

/// Inverse of a two-by-two matrix.
pub(crate) fn invert(m: [[Complex; 2]; 2]) -> [[Complex; 2]; 2] {
    let determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    [
        [m[1][1] / determinant, -m[0][1] / determinant],
        [-m[1][0] / determinant, m[0][0] / determinant],
    ]
}

/// What an element is. Every value is SI: ohms, farads, henries, volts, amperes, siemens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A resistance; also a wire, a loose contact or a leak.
    Resistor {
        /// Ohms, 1e-6 to 1e15.
        ohms: f64,
    },
    /// A capacitor.
    Capacitor {
        /// Farads, 0 to 1; 0 is an open capacitor.
        farads: f64,
        /// Equivalent series resistance in ohms, 0 to 1e9.
        series_ohms: f64,
        /// Leakage in parallel in siemens, 0 to 1e6; a shorted capacitor has much of it.
        leakage_siemens: f64,
        /// Charge left on it, volts from `from` to `to`: a source to direct-current readings, nothing to AC.
        charge_volts: f64,
    },
    /// An inductor with the resistance of its wire.
    Inductor {
        /// Henries, 0 to 1e4.
        henries: f64,
        /// Ohms of the wire, 1e-6 to 1e15.
        ohms: f64,
    },
    /// A load known by its impedance at the supply frequency.
    Impedance {
        /// Ohms at the supply frequency; its magnitude 1e-6 to 1e15.
        ohms: Complex,
        /// Ohms to direct current, 1e-6 to 1e15.
        dc_ohms: f64,
    },
    /// A voltage source; `from` is its plus terminal.
    VoltageSource {
        /// RMS volts, alternating part.
        ac_volts: Complex,
        /// Volts, direct part.
        dc_volts: f64,
        /// Series ohms, 1e-6 to 1e15.
        ohms: f64,
    },
    /// A current source that drives its current through itself from `from` to `to`.
    CurrentSource {
        /// RMS amperes, alternating part.
        ac_amps: Complex,
        /// Amperes, direct part.
        dc_amps: f64,
    },
    /// A contact: switch, relay, fuse, breaker, overload, link. Who opens it is the caller's business.
    Switch {
        /// Whether it conducts.
        closed: bool,
        /// Ohms of the closed contact, 1e-6 to 1e15.
        ohms: f64,
    },
    /// A diode for direct current: open below the forward drop, the drop behind `ohms` above it.
    /// Rectification is out of scope: to alternating current it is open.
    Diode {
        /// Forward drop in volts, 0 to 100.
        forward_volts: f64,
        /// Ohms when conducting, 1e-6 to 1e15.
        ohms: f64,
    },
    /// One of two coupled windings.
    Winding {
        /// Index of the pair in the network.
        pair: u16,
        /// 0 for the first, 1 for the second.
        side: u8,
    },
}

/// What an open contact still passes, in ohms.
pub const OPEN_OHMS: f64 = 1e12;

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Element {
    pub from: Node,
    pub to: Node,
    pub kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pair {
    pub elements: PairId,
    pub coupling: CoupledPair,
}

/// The path that every node has to earth whether it wants one or not. It makes floating nodes well-posed,
/// and it is why a meter of high impedance shows a ghost on a dead wire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stray {
    /// Capacitance to earth, farads (0 to 1e-3).
    pub farads: f64,
    /// Leakage to earth, siemens (1e-15 to 1).
    pub siemens: f64,
}

impl Default for Stray {
    /// 100 pF and 1e-12 S: about a metre of cable and good insulation (common practice, no source).
    fn default() -> Self {
        Self {
            farads: 100e-12,
            siemens: 1e-12,
        }
    }
}

/// An electrical network: nodes and elements. Cheap to clone and cheap to edit, because a fault is an edit.
///
/// Adding never fails; values and nodes are checked when the network is solved, and the error names the element.
/// The current of an element is counted positive from its `from` terminal through it to its `to` terminal.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    pub(crate) strays: Vec<Stray>,
    pub(crate) elements: Vec<Element>,
    pub(crate) pairs: Vec<Pair>,
    default_stray: Stray,
}

impl Default for Network {
    fn default() -> Self {
        Self::new()
    }
}

impl Network {
    /// An empty network: earth alone.
    #[must_use]
    pub fn new() -> Self {
        Self::with_stray(Stray::default())
    }

    /// An empty network whose nodes get this stray path to earth.
    #[must_use]
    pub fn with_stray(stray: Stray) -> Self {
        Self {
            strays: Vec::new(),
            elements: Vec::new(),
            pairs: Vec::new(),
            default_stray: stray,
        }
    }

    /// A new node, with the network's stray path to earth. At most 65 535 nodes.
    ///
    /// # Panics
    /// When the network already has 65 535 nodes.
    pub fn add_node(&mut self) -> Node {
        self.strays.push(self.default_stray);
        Node(u16::try_from(self.strays.len()).expect("a network has at most 65 535 nodes"))
    }

    /// Number of nodes, without earth.
    #[must_use]
    pub fn node_count(&self) -> usize {
        self.strays.len()
    }

    /// Number of elements.
    #[must_use]
    pub fn element_count(&self) -> usize {
        self.elements.len()
    }

    /// Every element in order of adding.
    pub fn elements(&self) -> impl Iterator<Item = ElementId> + use<> {
        let count = u32::try_from(self.elements.len()).unwrap_or(u32::MAX);
        (0..count).map(ElementId)
    }

    /// Gives one node a stray path of its own. Earth has none.
    ///
    /// # Errors
    /// [`CircuitError::UnknownNode`] for earth or a node of another network.
    pub fn set_stray(&mut self, node: Node, stray: Stray) -> Result<(), CircuitError> {
        let slot = node
            .index()
            .checked_sub(1)
            .and_then(|i| self.strays.get_mut(i))
            .ok_or(CircuitError::UnknownNode { node })?;
        *slot = stray;
        Ok(())
    }

    /// Any element.
    ///
    /// # Panics
    /// When the network already has 2^32 elements.
    pub fn add(&mut self, from: Node, to: Node, kind: Kind) -> ElementId {
        let id = ElementId(u32::try_from(self.elements.len()).expect("fewer than 2^32 elements"));
        self.elements.push(Element { from, to, kind });
        id
    }

    /// A resistance in ohms (1e-6 to 1e15).
    pub fn resistor(&mut self, from: Node, to: Node, ohms: f64) -> ElementId {
        self.add(from, to, Kind::Resistor { ohms })
    }

    /// A joint that should be a wire: some milliohms when sound, up to megohms when loose.
    pub fn contact(&mut self, from: Node, to: Node, ohms: f64) -> ElementId {
        self.resistor(from, to, ohms)
    }

    /// Leakage from a node to earth, in ohms.
    pub fn leak_to_earth(&mut self, node: Node, ohms: f64) -> ElementId {
        self.resistor(node, Node::EARTH, ohms)
    }

    /// A capacitor without losses, in farads.
    pub fn capacitor(&mut self, from: Node, to: Node, farads: f64) -> ElementId {
        self.lossy_capacitor(from, to, farads, 0.0, 0.0)
    }

    /// A capacitor with series resistance (ohms) and parallel leakage (siemens).
    pub fn lossy_capacitor(
        &mut self,
        from: Node,
        to: Node,
        farads: f64,
        series_ohms: f64,
        leakage_siemens: f64,
    ) -> ElementId {
        self.add(
            from,
            to,
            Kind::Capacitor {
                farads,
                series_ohms,
                leakage_siemens,
                charge_volts: 0.0,
            },
        )
    }

    /// Capacitance between two conductors that run side by side, in farads: the cause of ghost voltages.
    pub fn stray_coupling(&mut self, a: Node, b: Node, farads: f64) -> ElementId {
        self.capacitor(a, b, farads)
    }

    /// An inductor in henries with the resistance of its wire in ohms.
    pub fn inductor(&mut self, from: Node, to: Node, henries: f64, ohms: f64) -> ElementId {
        self.add(from, to, Kind::Inductor { henries, ohms })
    }

    /// A load known by its impedance at the supply frequency and its resistance to direct current, in ohms.
    pub fn impedance(&mut self, from: Node, to: Node, ohms: Complex, dc_ohms: f64) -> ElementId {
        self.add(from, to, Kind::Impedance { ohms, dc_ohms })
    }

    /// An alternating source of `volts` RMS behind `ohms`; its plus terminal first.
    pub fn ac_source(&mut self, plus: Node, minus: Node, volts: Complex, ohms: f64) -> ElementId {
        self.add(
            plus,
            minus,
            Kind::VoltageSource {
                ac_volts: volts,
                dc_volts: 0.0,
                ohms,
            },
        )
    }

    /// A direct source of `volts` behind `ohms`; its plus terminal first.
    pub fn dc_source(&mut self, plus: Node, minus: Node, volts: f64, ohms: f64) -> ElementId {
        self.add(
            plus,
            minus,
            Kind::VoltageSource {
                ac_volts: Complex::ZERO,
                dc_volts: volts,
                ohms,
            },
        )
    }

    /// An alternating current source, RMS amperes driven through it from `from` to `to`.
    pub fn ac_current(&mut self, from: Node, to: Node, amps: Complex) -> ElementId {
        self.add(
            from,
            to,
            Kind::CurrentSource {
                ac_amps: amps,
                dc_amps: 0.0,
            },
        )
    }

    /// A direct current source, amperes driven through it from `from` to `to`.
    pub fn dc_current(&mut self, from: Node, to: Node, amps: f64) -> ElementId {
        self.add(
            from,
            to,
            Kind::CurrentSource {
                ac_amps: Complex::ZERO,
                dc_amps: amps,
            },
        )
    }

    /// A contact, closed or open, with the ohms of the closed contact.
    pub fn switch(&mut self, from: Node, to: Node, closed: bool, ohms: f64) -> ElementId {
        self.add(from, to, Kind::Switch { closed, ohms })
    }

    /// A diode, anode first: forward drop in volts, ohms when conducting.
    pub fn diode(
        &mut self,
        anode: Node,
        cathode: Node,
        forward_volts: f64,
        ohms: f64,
    ) -> ElementId {
        self.add(
            anode,
            cathode,
            Kind::Diode {
                forward_volts,
                ohms,
            },
        )
    }

    /// Two coupled windings, each from its start to its end. For a motor: main first, auxiliary second.
    ///
    /// # Panics
    /// When the network already has 65 536 pairs.
    pub fn coupled_pair(
        &mut self,
        first: (Node, Node),
        second: (Node, Node),
        coupling: CoupledPair,
    ) -> PairId {
        let pair = u16::try_from(self.pairs.len()).expect("fewer than 65 536 pairs");
        let elements = PairId {
            first: self.add(first.0, first.1, Kind::Winding { pair, side: 0 }),
            second: self.add(second.0, second.1, Kind::Winding { pair, side: 1 }),
        };
        self.pairs.push(Pair { elements, coupling });
        elements
    }

    /// The two windings of a single-phase motor, standing between the terminals of a hermetic shell.
    pub fn two_winding_motor(
        &mut self,
        run: Node,
        start: Node,
        common: Node,
        coupling: CoupledPair,
    ) -> PairId {
        self.coupled_pair((run, common), (start, common), coupling)
    }

    /// What an element is.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`].
    pub fn kind(&self, id: ElementId) -> Result<Kind, CircuitError> {
        self.elements
            .get(id.index())
            .map(|e| e.kind)
            .ok_or(CircuitError::UnknownElement { element: id })
    }

    /// Where an element is joined: from, to.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`].
    pub fn terminals(&self, id: ElementId) -> Result<(Node, Node), CircuitError> {
        self.elements
            .get(id.index())
            .map(|e| (e.from, e.to))
            .ok_or(CircuitError::UnknownElement { element: id })
    }

    /// Puts another kind of element in the place of this one. A winding of a pair keeps its kind.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`], or [`CircuitError::WrongKind`] for a winding.
    pub fn replace(&mut self, id: ElementId, kind: Kind) -> Result<(), CircuitError> {
        let slot = self.kind_mut(id)?;
        if matches!(slot, Kind::Winding { .. }) || matches!(kind, Kind::Winding { .. }) {
            return Err(CircuitError::WrongKind {
                element: id,
                wanted: "kind that can be replaced",
            });
        }
        *slot = kind;
        Ok(())
    }

    /// Joins an element elsewhere: a miswire, exchanged plugs.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`].
    pub fn reconnect(&mut self, id: ElementId, from: Node, to: Node) -> Result<(), CircuitError> {
        let element = self
            .elements
            .get_mut(id.index())
            .ok_or(CircuitError::UnknownElement { element: id })?;
        element.from = from;
        element.to = to;
        Ok(())
    }

    /// Sets the ohms of a resistor, contact, inductor, source, switch or diode.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`], [`CircuitError::WrongKind`].
    pub fn set_ohms(&mut self, id: ElementId, value: f64) -> Result<(), CircuitError> {
        match self.kind_mut(id)? {
            Kind::Resistor { ohms }
            | Kind::Inductor { ohms, .. }
            | Kind::VoltageSource { ohms, .. }
            | Kind::Switch { ohms, .. }
            | Kind::Diode { ohms, .. } => *ohms = value,
            _ => {
                return Err(CircuitError::WrongKind {
                    element: id,
                    wanted: "ohms",
                });
            }
        }
        Ok(())
    }

    /// Sets the farads of a capacitor.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`], [`CircuitError::WrongKind`].
    pub fn set_farads(&mut self, id: ElementId, value: f64) -> Result<(), CircuitError> {
        match self.kind_mut(id)? {
            Kind::Capacitor { farads, .. } => *farads = value,
            _ => {
                return Err(CircuitError::WrongKind {
                    element: id,
                    wanted: "farads",
                });
            }
        }
        Ok(())
    }

    /// Sets the parallel leakage of a capacitor in siemens: much of it is a short.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`], [`CircuitError::WrongKind`].
    pub fn set_leakage(&mut self, id: ElementId, siemens: f64) -> Result<(), CircuitError> {
        match self.kind_mut(id)? {
            Kind::Capacitor {
                leakage_siemens, ..
            } => *leakage_siemens = siemens,
            _ => {
                return Err(CircuitError::WrongKind {
                    element: id,
                    wanted: "leakage",
                });
            }
        }
        Ok(())
    }

    /// Leaves a capacitor charged to these volts, or discharges it (0).
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`], [`CircuitError::WrongKind`].
    pub fn set_charge(&mut self, id: ElementId, volts: f64) -> Result<(), CircuitError> {
        match self.kind_mut(id)? {
            Kind::Capacitor { charge_volts, .. } => *charge_volts = volts,
            _ => {
                return Err(CircuitError::WrongKind {
                    element: id,
                    wanted: "charge",
                });
            }
        }
        Ok(())
    }

    /// Sets both parts of a voltage source: RMS volts and direct volts. Zero both to switch it off.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`], [`CircuitError::WrongKind`].
    pub fn set_volts(&mut self, id: ElementId, ac: Complex, dc: f64) -> Result<(), CircuitError> {
        match self.kind_mut(id)? {
            Kind::VoltageSource {
                ac_volts, dc_volts, ..
            } => {
                *ac_volts = ac;
                *dc_volts = dc;
            }
            _ => {
                return Err(CircuitError::WrongKind {
                    element: id,
                    wanted: "volts",
                });
            }
        }
        Ok(())
    }

    /// Sets the impedance of a load at the supply frequency, in ohms.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`], [`CircuitError::WrongKind`].
    pub fn set_impedance(&mut self, id: ElementId, value: Complex) -> Result<(), CircuitError> {
        match self.kind_mut(id)? {
            Kind::Impedance { ohms, .. } => *ohms = value,
            _ => {
                return Err(CircuitError::WrongKind {
                    element: id,
                    wanted: "impedance",
                });
            }
        }
        Ok(())
    }

    /// Closes or opens a switch.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`], [`CircuitError::WrongKind`].
    pub fn set_closed(&mut self, id: ElementId, value: bool) -> Result<(), CircuitError> {
        match self.kind_mut(id)? {
            Kind::Switch { closed, .. } => *closed = value,
            _ => {
                return Err(CircuitError::WrongKind {
                    element: id,
                    wanted: "contact to close or open",
                });
            }
        }
        Ok(())
    }

    /// Sets the coupling of a pair of windings: another slip, another fault in the motor.
    ///
    /// # Errors
    /// [`CircuitError::UnknownElement`] when the pair is not of this network.
    pub fn set_pair(&mut self, id: PairId, coupling: CoupledPair) -> Result<(), CircuitError> {
        let pair = self
            .pairs
            .iter_mut()
            .find(|p| p.elements == id)
            .ok_or(CircuitError::UnknownElement { element: id.first })?;
        pair.coupling = coupling;
        Ok(())
    }

    /// Whether no source drives anything and no capacitor is charged: then readings on parts need no live check.
    #[must_use]
    pub fn is_dead(&self) -> bool {
        self.elements.iter().all(|e| match e.kind {
            Kind::VoltageSource {
                ac_volts, dc_volts, ..
            } => ac_volts == Complex::ZERO && dc_volts == 0.0,
            Kind::CurrentSource { ac_amps, dc_amps } => ac_amps == Complex::ZERO && dc_amps == 0.0,
            Kind::Capacitor { charge_volts, .. } => charge_volts == 0.0,
            _ => true,
        })
    }

    /// Whether a reading depends on the current in the network (it has diodes).
    #[must_use]
    pub fn has_diodes(&self) -> bool {
        self.elements
            .iter()
            .any(|e| matches!(e.kind, Kind::Diode { .. }))
    }

    fn kind_mut(&mut self, id: ElementId) -> Result<&mut Kind, CircuitError> {
        self.elements
            .get_mut(id.index())
            .map(|e| &mut e.kind)
            .ok_or(CircuitError::UnknownElement { element: id })
    }
}
