//! From a sheet to a machine: joins the sheet with the library and checks that it can be computed.

use std::collections::BTreeMap;

use super::{
    Branch, BranchIx, Command, CommandIx, Detection, Machine, Mode, ModeIx, Nature, Net, Param, ParamIx, Part, PartIx,
    Place, PlaceIx, ResolvedEdit, Role, Spread, Stage, Terminal,
};
use crate::library::{self, Edit, PartBuilder, PartClass, Repair};
use crate::sheet::{Finding, Severity, Sheet, SheetError, SheetErrors};

impl Machine {
    /// Reads a sheet's text and joins it with the part library.
    ///
    /// # Errors
    /// Every fault found that keeps the machine from being computed, each with its line and what to
    /// do about it: unknown part class, a wire with only one end, a circuit with neither supply nor
    /// declared reference, missing or senseless ratings, names that lead nowhere.
    pub fn build(text: &str) -> Result<Machine, SheetErrors> {
        let sheet = Sheet::parse(text)?;
        let mut b = Build { text, errors: Vec::new() };
        let machine = b.machine(sheet);
        match machine {
            Some(m) if b.errors.is_empty() => Ok(m),
            _ => Err(SheetErrors(b.errors)),
        }
    }
}

pub(super) struct Build<'t> {
    pub(super) text: &'t str,
    pub(super) errors: Vec<SheetError>,
}

impl Build<'_> {
    pub(super) fn error(&mut self, path: &[&str], what: impl Into<String>, hint: impl Into<String>) {
        self.errors.push(SheetError::at_key(self.text, path, what, hint));
    }

    fn machine(&mut self, sheet: Sheet) -> Option<Machine> {
        self.nameplate(&sheet);
        if !self.errors.is_empty() {
            // The ratings are read against the nameplate: without it every part would be complained of.
            return None;
        }
        let places = self.places(&sheet);
        let mut nets: Vec<String> = Vec::new();
        let earth = match sheet.wires.iter().find(|w| w.earth) {
            Some(w) => {
                nets.push(w.id.clone());
                Net(0)
            }
            None => {
                self.error(
                    &["wire"],
                    "no wire is declared to be the cabinet and protective earth",
                    "add `[[wire]]` with `id = \"PE\"` and `earth = true`, and wire the supply's PE terminal to it",
                );
                return None;
            }
        };
        let mut m = Machine {
            places,
            nets,
            earth,
            sheet,
            parts: Vec::new(),
            params: Vec::new(),
            branches: Vec::new(),
            modes: Vec::new(),
            commands: Vec::new(),
            detections: Vec::new(),
            tests: Vec::new(),
            findings: Vec::new(),
        };
        for entry in 0..m.sheet.parts.len() {
            self.part(&mut m, entry);
        }
        if m.sheet.parts.is_empty() {
            self.error(
                &["machine"],
                "the sheet has no parts",
                "add a `[[part]]` for the supply, the board and every load",
            );
        }
        super::how_built::questions(self, &mut m);
        self.dangling(&m);
        if !self.errors.is_empty() {
            // What follows looks at what the parts do: a part that could not be built would be blamed again there.
            return None;
        }
        self.references(&m);
        super::how_built::in_the_mains(self, &m);
        self.loop_order(&m);
        m.commands = self.commands(&m);
        m.detections = self.detections(&m);
        if !self.errors.is_empty() {
            return None;
        }
        library_modes(&mut m);
        library::generic_modes(&mut m);
        super::degrees::degrees(&mut m);
        states(&mut m);
        super::how_built::modes(&mut m);
        promotions(&mut m);
        super::tests_of::tests(&mut m);
        self.codes_and_columns(&m);
        Some(m)
    }

    /// Codes name detections, columns name tests.
    fn codes_and_columns(&mut self, m: &Machine) {
        for (i, code) in m.sheet.codes.iter().enumerate() {
            if let Some(id) = code.detection.as_ref().filter(|id| !m.detections.iter().any(|d| d.id == **id)) {
                let known: Vec<&str> = m.detections.iter().map(|d| d.id.as_str()).collect();
                self.error(
                    &["code", &i.to_string(), "detection"],
                    format!("code {}: there is no detection \"{id}\"", code.code),
                    format!("use one of: {}; or leave it out", known.join(", ")),
                );
            }
        }
        for (i, column) in m.sheet.columns.iter().enumerate() {
            let test = m.tests.iter().find(|t| t.id == column.test);
            if !test.is_some_and(|t| matches!(t.answer, crate::test::Answer::Number(_))) {
                self.error(
                    &["column", &i.to_string(), "test"],
                    format!("column \"{}\": \"{}\" is no test that measures", column.heading, column.test),
                    "name a test that takes a number; `halfsplit sheet tests FILE` lists them",
                );
            }
        }
    }

    fn nameplate(&mut self, sheet: &Sheet) {
        let n = &sheet.nameplate;
        if !(n.volts.is_finite() && (5.0..=1000.0).contains(&n.volts)) {
            self.error(
                &["nameplate", "volts"],
                format!("{} V is no supply voltage for such a machine", n.volts),
                "give the nameplate's volts, between 5 and 1000",
            );
        }
        if !(n.hertz.is_finite() && (40.0..=70.0).contains(&n.hertz)) {
            self.error(&["nameplate", "hertz"], format!("{} Hz is no mains frequency", n.hertz), "give 50 or 60");
        }
    }

    fn places(&mut self, sheet: &Sheet) -> Vec<Place> {
        let mut out = vec![Place {
            id: "outside".into(),
            name: "in front of the machine".into(),
            minutes: 0.0,
            level: 0,
            behind: None,
            live_allowed: true,
        }];
        for (i, p) in sheet.places.iter().enumerate() {
            let ix = i.to_string();
            if out.iter().any(|o| o.id == p.id) {
                self.error(
                    &["place", &ix, "id"],
                    format!("two places are called \"{}\"", p.id),
                    "give each place an id of its own",
                );
            }
            if !(p.minutes.is_finite() && (0.0..=600.0).contains(&p.minutes)) {
                self.error(
                    &["place", &ix, "minutes"],
                    format!("{} minutes to open \"{}\" makes no sense", p.minutes, p.id),
                    "give minutes between 0 and 600",
                );
            }
            let behind = p.behind.as_ref().and_then(|b| {
                let found = out.iter().position(|o| &o.id == b).map(PlaceIx);
                if found.is_none() {
                    self.error(
                        &["place", &ix, "behind"],
                        format!("there is no place \"{b}\" above this one"),
                        "places that others are behind must come first",
                    );
                }
                found
            });
            out.push(Place {
                id: p.id.clone(),
                name: p.name.clone(),
                minutes: p.minutes,
                level: p.level,
                behind,
                live_allowed: p.live_allowed,
            });
        }
        out
    }

    pub(super) fn place(&mut self, m: &Machine, path: &[&str], id: &str) -> PlaceIx {
        m.places.iter().position(|p| p.id == id).map(PlaceIx).unwrap_or_else(|| {
            let known: Vec<&str> = m.places.iter().map(|p| p.id.as_str()).collect();
            self.error(
                path,
                format!("there is no place \"{id}\""),
                format!("add a `[[place]]` with that id, or use one of: {}", known.join(", ")),
            );
            PlaceIx(0)
        })
    }

    fn part(&mut self, m: &mut Machine, entry: usize) {
        let e = m.sheet.parts[entry].clone();
        let ix = entry.to_string();
        let Some(class) = library::class(&e.class) else {
            self.error(
                &["part", &ix, "class"],
                format!("part {}: there is no part class \"{}\"", e.id, e.class),
                format!("did you mean \"{}\"? `halfsplit library` lists the classes", library::nearest(&e.class).name),
            );
            return;
        };
        if e.id.trim().is_empty() || e.id.contains([':', ' ']) {
            self.error(
                &["part", &ix, "id"],
                format!("\"{}\" cannot be a part's id", e.id),
                "use the letters and figures of the wiring diagram, without spaces or colons",
            );
        }
        if m.parts.iter().any(|p| p.id == e.id) {
            self.error(
                &["part", &ix, "id"],
                format!("two parts are called {}", e.id),
                "give each part an id of its own",
            );
        }
        let place = match &e.place {
            Some(p) => self.place(m, &["part", &ix, "place"], p),
            None => PlaceIx(0),
        };
        let faults_before = self.errors.len();
        self.known_keys(&e, class, &ix);
        let terminals = self.terminals(m, &e, class, &ix, place);
        let complete = self.errors.len() == faults_before;
        let this = PartIx(m.parts.len());
        let joints: Vec<ParamIx> = terminals
            .iter()
            .map(|(name, ..)| {
                m.params.push(Param { part: this, name: format!("joint {name}"), nominal: 0.0, spread: Spread::None });
                ParamIx(m.params.len() - 1)
            })
            .collect();
        let mut builder = PartBuilder {
            sheet: &m.sheet,
            entry,
            class,
            this,
            terminals: terminals.iter().map(|(n, net, _)| (n.clone(), *net)).collect(),
            params: &mut m.params,
            branches: &mut m.branches,
            parts: &m.parts,
            contradictions: Vec::new(),
        };
        let role = match (class.build)(&mut builder) {
            Ok(role) => role,
            // What is missing has been told already.
            Err(_) if !complete => Role::Passive,
            Err(e2) => {
                let below: &[&str] = if e2.in_nameplate { &["nameplate"] } else { &["part", ix.as_str()] };
                let path: Vec<&str> = below.iter().copied().chain(e2.path.iter().map(String::as_str)).collect();
                self.error(&path, format!("part {}: {}", e.id, e2.what), e2.hint);
                Role::Passive
            }
        };
        let contradictions = std::mem::take(&mut builder.contradictions);
        for c in contradictions {
            let path: Vec<&str> = ["part", ix.as_str()].into_iter().chain(c.path.iter().map(String::as_str)).collect();
            m.findings.push(Finding {
                severity: Severity::Warning,
                at: SheetError::at_key(self.text, &path, format!("part {}: {}", e.id, c.what), c.hint),
            });
        }
        let live_at = |p: PlaceIx| m.places[p.0].live_allowed;
        let terminals = terminals
            .into_iter()
            .zip(joints)
            .map(|((name, net, at), joint)| Terminal {
                live_allowed: live_at(at) && !e.dead_only.contains(&name),
                name,
                net,
                place: at,
                joint,
            })
            .collect();
        m.parts.push(Part {
            name: e.name.clone().unwrap_or_else(|| class.name.to_owned()),
            id: e.id,
            class,
            place,
            terminals,
            role,
            entry,
        });
    }

    fn known_keys(&mut self, e: &crate::sheet::PartEntry, class: &PartClass, ix: &str) {
        for key in e.ratings.keys() {
            if !class.ratings.iter().any(|r| r.key == key) {
                let known: Vec<&str> = class.ratings.iter().map(|r| r.key).collect();
                let hint = if known.is_empty() {
                    "leave it out: this class takes no ratings".to_owned()
                } else {
                    format!("this class takes: {}", known.join(", "))
                };
                self.error(
                    &["part", ix, "ratings", key],
                    format!("part {}: class \"{}\" has no rating `{key}`", e.id, class.name),
                    hint,
                );
            }
        }
        for key in &e.assumed {
            if !class.ratings.iter().any(|r| r.key == key) {
                self.error(
                    &["part", ix, "assumed"],
                    format!("part {}: `{key}` is marked assumed but is no rating of this class", e.id),
                    "name one of the part's ratings",
                );
            }
        }
    }

    /// Terminals in the class's order, then any others: name, wire, place.
    fn terminals(
        &mut self,
        m: &mut Machine,
        e: &crate::sheet::PartEntry,
        class: &PartClass,
        ix: &str,
        place: PlaceIx,
    ) -> Vec<(String, Option<Net>, PlaceIx)> {
        let mut names: Vec<String> = class.terminals.iter().map(|t| t.name.to_owned()).collect();
        for t in e.terminals.keys() {
            if !names.contains(t) {
                if class.terminals.is_empty()
                    && matches!(class.name, "control board" | "indoor board" | "outdoor board")
                {
                    names.push(t.clone());
                } else {
                    let hint = if names.is_empty() {
                        "this class has no terminals".to_owned()
                    } else {
                        format!("its terminals are: {}", names.join(", "))
                    };
                    self.error(
                        &["part", ix, "terminals", t],
                        format!("part {}: class \"{}\" has no terminal {t}", e.id, class.name),
                        hint,
                    );
                }
            }
        }
        for spec in class.terminals {
            if !spec.optional && !e.terminals.contains_key(spec.name) {
                self.error(
                    &["part", ix, "terminals"],
                    format!("part {}: terminal {} ({}) is wired to nothing", e.id, spec.name, spec.meaning),
                    format!("add `{} = \"…\"` with the name of its wire", spec.name),
                );
            }
        }
        let told = e.reach.keys().map(|t| ("reach", t)).chain(e.dead_only.iter().map(|t| ("dead_only", t)));
        for (field, t) in told {
            if !e.terminals.contains_key(t) {
                self.error(
                    &["part", ix, field, t],
                    format!("part {}: `{field}` names terminal {t}, which is not wired", e.id),
                    "name a terminal that the part's `terminals` wire",
                );
            }
        }
        names
            .into_iter()
            .map(|name| {
                let net = e.terminals.get(&name).map(|w| net_named(&mut m.nets, w));
                let at = match e.reach.get(&name) {
                    Some(p) => self.place(m, &["part", ix, "reach", &name], p),
                    None => place,
                };
                (name, net, at)
            })
            .collect()
    }

    /// Counts the ends of every wire as the sheet gives them, whatever became of the parts.
    fn dangling(&mut self, m: &Machine) {
        let joined: Vec<&String> =
            m.sheet.unsure.iter().flat_map(|u| &u.ways).flat_map(|w| &w.joins).flatten().collect();
        let mut ends: BTreeMap<&str, Vec<(usize, &str)>> = BTreeMap::new();
        for (entry, p) in m.sheet.parts.iter().enumerate() {
            for (terminal, wire) in &p.terminals {
                ends.entry(wire).or_default().push((entry, terminal));
            }
        }
        for (wire, at) in ends {
            // The earth wire ends at the cabinet itself.
            // And a wire that is joined to another in some way of building the machine ends there.
            if wire == m.nets[m.earth.0] || joined.iter().any(|w| *w == wire) {
                continue;
            }
            if let [(entry, terminal)] = at[..] {
                self.error(
                    &["part", &entry.to_string(), "terminals", terminal],
                    format!("wire \"{wire}\" has only one end: terminal {terminal} of {}", m.sheet.parts[entry].id),
                    "wire its other end to a terminal, or correct the name; a terminal that really is free is left out",
                );
            }
        }
    }

    /// Every circuit needs a source or the declared earth, otherwise its voltages mean nothing.
    fn references(&mut self, m: &Machine) {
        let mut group: Vec<usize> = (0..m.nets.len()).collect();
        fn root(g: &mut [usize], mut i: usize) -> usize {
            while g[i] != i {
                g[i] = g[g[i]];
                i = g[i];
            }
            i
        }
        let mut anchored = vec![m.earth.0];
        for (part, branch) in &m.branches {
            let net = |t: usize| m.parts.get(part.0).and_then(|p| p.terminals[t].net).map(|n| n.0);
            let joined: Vec<usize> = match *branch {
                Branch::Resistor { a, b, .. }
                | Branch::Working { a, b, .. }
                | Branch::Thermistor { a, b }
                | Branch::Capacitor { a, b, .. }
                | Branch::HeatsUp { a, b, .. }
                | Branch::Draw { a, b, .. }
                | Branch::Contact { a, b, .. } => [net(a), net(b)].into_iter().flatten().collect(),
                Branch::Windings { c, r, s } => [net(c), net(r), net(s)].into_iter().flatten().collect(),
                Branch::Diode { anode, cathode, .. } => [net(anode), net(cathode)].into_iter().flatten().collect(),
                Branch::Star { ends, .. } => ends.into_iter().filter_map(net).collect(),
                Branch::EarthLeak { .. } => Vec::new(),
                Branch::Transformer { first, second, .. } => {
                    anchored.extend(net(second.1));
                    let ends = [net(first.0), net(first.1)];
                    if let (Some(x), Some(y)) = (net(second.0), net(second.1)) {
                        let (x, y) = (root(&mut group, x), root(&mut group, y));
                        group[x] = y;
                    }
                    ends.into_iter().flatten().collect()
                }
                Branch::Mains { a, b, .. } => {
                    anchored.extend(net(a));
                    [net(a), net(b)].into_iter().flatten().collect()
                }
                Branch::Rail { plus, ground, .. } => {
                    anchored.extend(net(ground));
                    [net(plus), net(ground)].into_iter().flatten().collect()
                }
            };
            for w in joined.windows(2) {
                let (a, b) = (root(&mut group, w[0]), root(&mut group, w[1]));
                group[a] = b;
            }
        }
        let anchors: Vec<usize> = anchored.into_iter().map(|a| root(&mut group, a)).collect();
        let mut told = Vec::new();
        for p in &m.parts {
            for t in &p.terminals {
                let Some(n) = t.net else { continue };
                let has_branch = m.branches.iter().any(|(q, _)| m.parts[q.0].id == p.id);
                let r = root(&mut group, n.0);
                if has_branch && !anchors.contains(&r) && !told.contains(&r) {
                    told.push(r);
                    self.error(&["part", &p.entry.to_string(), "terminals", &t.name],
                        format!("the circuit with wire \"{}\" (terminal {} of {}) has neither a supply nor a declared reference", m.nets[n.0], t.name, p.id),
                        "join it to the supply, to the board's low voltage or ground, or to the earth wire");
                }
            }
        }
    }

    fn loop_order(&mut self, m: &Machine) {
        let Some(l) = &m.sheet.refrigerant_loop else { return };
        for id in &l.order {
            if m.part(id).is_none() {
                self.error(
                    &["loop", "order"],
                    format!("the loop passes \"{id}\", but there is no such part"),
                    "use the ids of parts in this sheet",
                );
            }
        }
        if l.order.is_empty()
            || !l.order.iter().any(|id| {
                m.part(id).is_some_and(|p| matches!(m.parts[p.0].role, Role::Compressor(_) | Role::PmCompressor(_)))
            })
        {
            self.error(
                &["loop", "order"],
                "the loop has no compressor",
                "list the parts in the order in which the refrigerant passes them, compressor first",
            );
        }
    }

    fn relay(&mut self, m: &Machine, path: &[&str], who: &str, id: &str) -> Option<PartIx> {
        let is_relay = |p: &Part| {
            matches!(
                p.role,
                Role::Relay { .. } | Role::DefrostControl { .. } | Role::DcFan { .. } | Role::PmCompressor(_)
            )
        };
        let found = m.part(id);
        if found.is_some_and(|p| is_relay(&m.parts[p.0])) {
            return found;
        }
        let what = match found {
            Some(_) => format!("{who}: \"{id}\" is no relay"),
            None => format!("{who}: there is no relay \"{id}\""),
        };
        let relays: Vec<&str> = m.parts.iter().filter(|p| is_relay(p)).map(|p| p.id.as_str()).collect();
        let hint = match &relays[..] {
            [] => "add the relay that switches the load as a `[[part]]`".to_owned(),
            known => format!("name the relay that switches the load, one of: {}", known.join(", ")),
        };
        self.error(path, what, hint);
        None
    }

    fn commands(&mut self, m: &Machine) -> Vec<Command> {
        let mut out: Vec<Command> = Vec::new();
        for (i, c) in m.sheet.commands.iter().enumerate() {
            let ix = i.to_string();
            if out.iter().any(|o| o.id == c.id) {
                self.error(
                    &["command", &ix, "id"],
                    format!("two commands are called \"{}\"", c.id),
                    "give each command an id of its own",
                );
            }
            if c.stages.is_empty() {
                self.error(
                    &["command", &ix],
                    format!("command \"{}\" has no stages", c.id),
                    "add at least one `[[command.stage]]`",
                );
            }
            let stages = c
                .stages
                .iter()
                .enumerate()
                .map(|(j, s)| {
                    if !(s.lasts_s.is_finite() && s.lasts_s > 0.0) {
                        self.error(
                            &["command", &ix, "stage", &j.to_string(), "lasts_s"],
                            format!("stage \"{}\" lasts {} s", s.name, s.lasts_s),
                            "give seconds greater than zero",
                        );
                    }
                    let who = format!("command \"{}\", stage \"{}\"", c.id, s.name);
                    let path = ["command", ix.as_str(), "stage", &j.to_string(), "on"];
                    let on = s.on.iter().filter_map(|id| self.relay(m, &path, &who, id)).collect();
                    Stage { name: s.name.clone(), lasts: s.lasts_s, on, valve: s.valve }
                })
                .collect();
            out.push(Command {
                id: c.id.clone(),
                name: c.name.clone(),
                how: c.how.clone(),
                minutes: c.minutes,
                forced: c.forced,
                calls_for: c.calls_for,
                stages,
            });
        }
        out
    }

    fn detections(&mut self, m: &Machine) -> Vec<Detection> {
        use crate::sheet::Watch;
        let mut out = Vec::with_capacity(m.sheet.detections.len());
        for (i, d) in m.sheet.detections.iter().enumerate() {
            let ix = i.to_string();
            let who = format!("detection \"{}\"", d.id);
            let part = d.part.as_ref().and_then(|id| m.part(id));
            let role = part.map(|p| &m.parts[p.0].role);
            let fits = matches!(
                (d.watches, role),
                (Watch::Temperature, Some(Role::Thermistor(_)))
                    | (Watch::Current, Some(Role::CurrentSensor { .. }))
                    | (Watch::Input, Some(Role::Drain { .. }))
                    | (Watch::SensorRange, None | Some(Role::Thermistor(_)))
                    | (Watch::Superheat | Watch::Disagreement, None)
                    | (Watch::Communication, Some(Role::InterunitLine { .. }))
                    | (Watch::Bus, Some(Role::BusCapacitor { .. }))
                    | (Watch::ModuleCurrent | Watch::PhaseLoss, Some(Role::PowerModule { .. }))
                    | (Watch::FanSpeed, Some(Role::DcFan { .. }))
            );
            let path = ["detection", ix.as_str(), "part"];
            let needs = match d.watches {
                Watch::Temperature => "a temperature is watched through a thermistor",
                Watch::Current => "a current is watched through a current sensor",
                Watch::Input => "an input is the float of a condensate drain",
                Watch::SensorRange => "a sensor's range is watched at a thermistor, or at all of them without a part",
                Watch::Communication => "traffic is watched on the line between the units",
                Watch::Bus => "the bus is watched at its capacitor",
                Watch::ModuleCurrent | Watch::PhaseLoss => "the compressor's phases are watched by the power module",
                Watch::FanSpeed => "a speed is watched at a fan with electronics of its own",
                Watch::Superheat | Watch::Disagreement => "this is the board's own sum: leave the part out",
            };
            match (&d.part, part) {
                (Some(id), None) => self.error(
                    &path,
                    format!("{who}: there is no part \"{id}\""),
                    format!("name a part of this sheet; {needs}"),
                ),
                (Some(id), Some(p)) if !fits => self.error(
                    &path,
                    format!("{who} cannot watch {id}, which is of class \"{}\"", m.parts[p.0].class.name),
                    needs,
                ),
                (None, _) if !fits => {
                    self.error(&path, format!("{who} watches no part"), format!("add `part = \"…\"`; {needs}"))
                }
                _ => {}
            }
            let si = |v: f64| if d.watches == Watch::Temperature { v + 273.15 } else { v };
            let while_on = d.while_on.as_ref();
            out.push(Detection {
                id: d.id.clone(),
                watches: d.watches,
                part,
                above: d.above.map(si),
                below: d.below.map(si),
                holds: d.for_s,
                while_on: while_on.and_then(|id| self.relay(m, &["detection", &ix, "while_on"], &who, id)),
                does: d.does,
                tries: d.tries.max(1),
                wait: d.wait_s,
                shows: d.shows.clone(),
            });
        }
        out
    }
}

fn net_named(nets: &mut Vec<String>, name: &str) -> Net {
    Net(nets.iter().position(|n| n == name).unwrap_or_else(|| {
        nets.push(name.to_owned());
        nets.len() - 1
    }))
}

fn library_modes(m: &mut Machine) {
    let mut out = Vec::new();
    for (ix, part) in m.parts.iter().enumerate() {
        let total: f64 = part.class.modes.iter().map(|x| x.share).sum();
        for spec in part.class.modes {
            let name_id = format!("{}:{}", part.id, spec.key);
            let levels: f64 = spec.levels.iter().map(|l| l.share).sum();
            for level in spec.levels {
                let edits = resolved(m, ix, level.edits);
                out.push(Mode {
                    id: if level.word.is_empty() {
                        name_id.clone()
                    } else {
                        format!("{name_id}:{}", level.word.replace(' ', "-"))
                    },
                    name_id: name_id.clone(),
                    part: PartIx(ix),
                    name: format!("{} {}: {}", part.name, part.id, spec.name),
                    level: level.word,
                    cause: spec.cause,
                    upstream: spec.upstream,
                    proof: spec.proof,
                    nature: Nature::Fault,
                    edits,
                    rate: part.class.rate / 1000.0 * spec.share / total * level.share / levels,
                    ageing: part.class.ageing,
                    intermittent: spec.intermittent,
                    workmanship: false,
                    repair: spec.repair,
                    repair_group: format!("{}/{}", part.id, spec.repair.group),
                    promotes: Vec::new(),
                });
            }
        }
    }
    m.modes = out;
}

/// What the parts are designed to do now and then: behind everything that is a failure.
fn states(m: &mut Machine) {
    let mut out = Vec::new();
    for (ix, part) in m.parts.iter().enumerate() {
        for spec in part.class.states {
            let id = format!("{}:{}", part.id, spec.key);
            out.push(Mode {
                id: id.clone(),
                name_id: id,
                part: PartIx(ix),
                name: format!("{} {}: {}", part.name, part.id, spec.name),
                level: "",
                cause: spec.cause,
                upstream: "",
                proof: spec.over,
                nature: Nature::ByDesign { when: spec.when, odds: spec.odds, minutes: spec.minutes },
                edits: resolved(m, ix, spec.edits),
                rate: 0.0,
                ageing: part.class.ageing,
                intermittent: false,
                workmanship: false,
                repair: Repair { what: spec.wait, group: spec.key, minutes: spec.minutes, price: 0.0 },
                repair_group: format!("{}/{}", part.id, spec.key),
                promotes: Vec::new(),
            });
        }
    }
    m.modes.extend(out);
}

fn resolved(m: &Machine, part: usize, edits: &[Edit]) -> Vec<ResolvedEdit> {
    let param = |e: &Edit| m.params.iter().position(|p| p.part.0 == part && p.name == e.param);
    edits.iter().filter_map(|e| param(e).map(|i| ResolvedEdit { param: ParamIx(i), op: e.op })).collect()
}

fn promotions(m: &mut Machine) {
    let targets: Vec<(ModeIx, &'static str, String)> = m
        .modes
        .iter()
        .enumerate()
        .map(|(i, x)| {
            (ModeIx(i), m.parts[x.part.0].class.name, x.name_id.rsplit(':').next().unwrap_or_default().to_owned())
        })
        .collect();
    for i in 0..m.modes.len() {
        let part = &m.parts[m.modes[i].part.0];
        let key = m.modes[i].name_id.rsplit(':').next().unwrap_or_default();
        let Some(spec) = part.class.modes.iter().find(|s| s.key == key) else { continue };
        m.modes[i].promotes = spec
            .promotes
            .iter()
            .flat_map(|(class, key, factor)| {
                targets.iter().filter(move |(_, c, k)| c == class && k == key).map(move |(t, ..)| (*t, *factor))
            })
            .collect();
    }
}

fn is_signal(role: &Role, ohms: ParamIx) -> bool {
    matches!(role, Role::InterunitLine { core, fault } if ohms == *core || ohms == *fault)
}

/// Which wires carry mains frequency: those joined to the supply, and those that a transformer feeds from it.
pub(super) fn mains_nets(m: &Machine) -> Vec<bool> {
    let mut mains = vec![false; m.nets.len()];
    loop {
        let mut grew = false;
        for (part, branch) in &m.branches {
            let net = |t: usize| m.parts[part.0].terminals[t].net.map(|n| n.0);
            let ends: Vec<usize> = match *branch {
                // The signal's own circuit: its return is the neutral, its voltages are not the mains'.
                Branch::Resistor { ohms, .. } if is_signal(&m.parts[part.0].role, ohms) => continue,
                Branch::Resistor { a, b, .. }
                | Branch::Working { a, b, .. }
                | Branch::Capacitor { a, b, .. }
                | Branch::HeatsUp { a, b, .. }
                | Branch::Draw { a, b, .. }
                | Branch::Contact { a, b, .. } => [net(a), net(b)].into_iter().flatten().collect(),
                Branch::Windings { c, r, s } => [net(c), net(r), net(s)].into_iter().flatten().collect(),
                Branch::Transformer { first, second, .. } => {
                    [net(first.0), net(first.1), net(second.0), net(second.1)].into_iter().flatten().collect()
                }
                Branch::Mains { a, b, .. } => {
                    for n in [net(a), net(b)].into_iter().flatten() {
                        grew |= !mains[n];
                        mains[n] = true;
                    }
                    continue;
                }
                Branch::Thermistor { .. }
                | Branch::EarthLeak { .. }
                | Branch::Rail { .. }
                | Branch::Diode { .. }
                | Branch::Star { .. } => continue,
            };
            if ends.iter().any(|&n| mains[n]) {
                for n in ends {
                    grew |= !mains[n];
                    mains[n] = true;
                }
            }
        }
        if !grew {
            return mains;
        }
    }
}

impl Machine {
    /// The commands that run the compressor for what the machine is there for.
    pub fn run_commands(&self) -> impl Iterator<Item = CommandIx> {
        use crate::sheet::CallsFor;
        let runs = |c: &Command| matches!(c.calls_for, Some(CallsFor::HeatPump | CallsFor::Cooling));
        self.commands.iter().enumerate().filter(move |(_, c)| runs(c)).map(|(i, _)| CommandIx(i))
    }

    /// The first of [`Self::run_commands`].
    pub fn run_command(&self) -> Option<CommandIx> {
        self.run_commands().next()
    }

    /// The commands in which a relay is energised, forced ones first.
    pub fn commands_with(&self, relay: PartIx) -> Vec<CommandIx> {
        let mut found: Vec<CommandIx> = self
            .commands
            .iter()
            .enumerate()
            .filter(|(_, c)| c.stages.iter().any(|s| s.on.contains(&relay)))
            .map(|(i, _)| CommandIx(i))
            .collect();
        found.sort_by_key(|c| (!self.commands[c.0].forced, c.0));
        found
    }

    /// The relay whose switched side feeds a part, if any.
    pub fn relay_feeding(&self, part: PartIx) -> Option<PartIx> {
        self.parts.iter().enumerate().find_map(|(i, p)| {
            if i == part.0 || !matches!(p.role, Role::Relay { .. }) {
                return None;
            }
            let switched = p.terminals.iter().find(|t| t.name == "NO")?.net?;
            self.parts[part.0].terminals.iter().any(|t| t.net == Some(switched)).then_some(PartIx(i))
        })
    }

    /// Whether there is a display, or lamps, that a board lights.
    pub fn has_display(&self) -> bool {
        self.find(|r| matches!(r, Role::Board { .. } | Role::PowerSupply { .. })).is_some()
    }

    /// Which wires carry mains frequency, by index: the mains circuit and what transformers feed.
    pub fn mains_nets(&self) -> Vec<bool> {
        mains_nets(self)
    }

    /// Branches of a part.
    pub fn branches_of(&self, part: PartIx) -> impl Iterator<Item = (BranchIx, &Branch)> {
        self.branches.iter().enumerate().filter(move |(_, (p, _))| *p == part).map(|(i, (_, b))| (BranchIx(i), b))
    }
}
