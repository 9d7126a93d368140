//! The tests that a machine offers: those its part classes declare, and those worked out from its
//! wiring by the allowed list.
//!
//! The allowed list (trade practice, no source): no ohms, capacitance or diode test on anything live or
//! charged; no live probing at hermetic pins or where the sheet says dead only; no insulation test
//! through electronics (only on a part with its leads off); no low-impedance mode on control wires.

use super::{Branch, CommandIx, Drive, Machine, Net, PartIx, PlaceIx, Role};
use crate::library::{DRAW_SHOWS, DRAW_TITLE, TestWhat};
use crate::sheet::{CallsFor, Serves};
use crate::test::{Answer, GaugeSide, Hazard, Measure, Moment, PowerState, Spot, Test, Tool, WARMING};
use halfsplit_units::Dimension;

/// What a driven part can be seen or heard to do.
pub(super) const COMPRESSOR_DOES: [&str; 4] = ["silent", "hums, then stops", "runs", "starts, then stops"];
pub(super) const FAN_DOES: [&str; 3] = ["still", "slow", "runs"];
pub(super) const VALVE_DOES: [&str; 2] = ["no response", "responds"];
pub(super) const CONTACTOR_DOES: [&str; 2] = ["stays out", "pulls in"];
/// What customers say of a cold box; one for each of [`COMPLAINTS`].
const BOX_COMPLAINTS: [&str; 9] = [
    "not cold at all",
    "not cold enough",
    "runs without end or high bill",
    "nothing lit",
    "breaker trips",
    "message on the display",
    "water on the floor",
    "noise",
    "too cold, freezes food",
];
/// What customers say of a dehumidifier; one for each of [`COMPLAINTS`].
const DRY_COMPLAINTS: [&str; 9] = [
    "takes out no water",
    "takes out little water",
    "runs without end or high bill",
    "nothing lit",
    "breaker trips",
    "message on the display",
    "water on the floor",
    "noise",
    "too dry",
];
pub(super) const LINE_SHOWS: [&str; 3] = ["silent, 0 V", "a steady voltage", "a wobbling voltage"];
pub(super) const ELEMENT_DOES: [&str; 3] = ["silent", "hisses softly", "crackles and rumbles"];
pub(super) const SLIDE_DOES: [&str; 2] = ["no response", "clicks over"];
/// What customers say of a machine that warms or cools a room; one for each of [`COMPLAINTS`].
pub(super) const ROOM_COMPLAINTS: [&str; 9] = [
    "no cooling or heating",
    "not enough cooling or heating",
    "slow or high bill",
    "nothing on the display",
    "breaker trips",
    "message on the display",
    "water indoors",
    "noise",
    "cools when it should heat, or heats when it should cool",
];
pub(super) const WARMED: [&str; 3] = ["its own number", "another number", "nothing"];
pub(super) const COMPLAINTS: [&str; 9] = [
    "no hot water",
    "not enough hot water",
    "slow to recover or high bill",
    "nothing on the display",
    "breaker trips",
    "message on the display",
    "water on the floor",
    "noise",
    "water too hot",
];

pub(super) fn tests(m: &mut Machine) {
    let mut out = Vec::new();
    general(m, &mut out);
    for p in 0..m.parts.len() {
        declared(m, PartIx(p), &mut out);
    }
    odd_sensor(m, &mut out);
    thermometers(m, &mut out);
    warming(m, &mut out);
    gauges(m, &mut out);
    how_built(m, &mut out);
    from_wiring(m, &mut out);
    // The same two wires may be reached at two places: the cheaper one is kept.
    let mut kept: Vec<Test> = Vec::with_capacity(out.len());
    for t in out {
        match kept.iter_mut().find(|k| k.id == t.id) {
            Some(k) if m.places[t.place.0].minutes < m.places[k.place.0].minutes => *k = t,
            Some(_) => {}
            None => kept.push(t),
        }
    }
    for t in &mut kept {
        cautions(m, t);
    }
    bus_must_be_empty(m, &mut kept);
    m.tests = kept;
}

/// Adds the hazards that follow from where a test is made: a charged capacitor on one of its wires, a refrigerant that burns.
fn cautions(m: &Machine, t: &mut Test) {
    let nets: Vec<Net> = match t.measure {
        Measure::WireOhms(a, b) => vec![a, b],
        Measure::PartOhms(p, ..)
        | Measure::PlugOhms(p, ..)
        | Measure::Insulation(p, _)
        | Measure::PartFarads(p, ..) => m.parts[p.0].terminals.iter().filter_map(|x| x.net).collect(),
        _ => Vec::new(),
    };
    let charged = m.branches.iter().any(|(p, b)| match *b {
        Branch::Capacitor { a, b, .. } => {
            let ends = [a, b].map(|x| m.parts[p.0].terminals[x].net);
            ends.iter().flatten().any(|n| nets.contains(n))
        }
        _ => false,
    });
    let mut add = |h: Hazard| {
        if !t.hazards.contains(&h) {
            t.hazards.push(h);
        }
    };
    if charged {
        add(Hazard::StoredCharge);
    }
    let burns = crate::refrigerant::burns(m.sheet.nameplate.refrigerant.as_deref());
    if burns != crate::refrigerant::Burns::No && t.hazards.contains(&Hazard::Pressure) {
        t.hazards.push(Hazard::Flammable);
    }
}

fn words(list: &[&str]) -> Answer {
    Answer::Words(list.iter().map(|w| (*w).to_owned()).collect())
}

fn base(id: String, title: String, how: String, measure: Measure, answer: Answer) -> Test {
    Test {
        id,
        title,
        how,
        measure,
        answer,
        place: PlaceIx(0),
        power: PowerState::Any,
        command: None,
        moment: Moment::AtRest,
        minutes: 1.0,
        tool: None,
        hazards: Vec::new(),
        from_wiring: false,
    }
}

fn general(m: &Machine, out: &mut Vec<Test>) {
    out.push(Test {
        minutes: 1.0,
        ..base(
            "complaint".into(),
            "Ask what the customer noticed".into(),
            "In his own words first.".into(),
            Measure::Complaint,
            words(match m.sheet.machine.serves {
                _ if m.find(|r| matches!(r, Role::Coil { .. })).is_some() => &ROOM_COMPLAINTS,
                Serves::HotWater => &COMPLAINTS,
                Serves::RoomAir => &ROOM_COMPLAINTS,
                Serves::ColdBox => &BOX_COMPLAINTS,
                Serves::DryAir => &DRY_COMPLAINTS,
            }),
        )
    });
    if m.has_display() {
        out.push(Test {
            minutes: 0.3,
            ..base(
                "display lit".into(),
                "Look whether the display is lit".into(),
                "Photograph what it shows before power is cycled.".into(),
                Measure::DisplayLit,
                words(&["dark", "lit"]),
            )
        });
    }
    if !m.detections.is_empty() {
        let mut shows: Vec<&str> = m.detections.iter().map(|d| d.shows.as_str()).collect();
        shows.push("nothing");
        out.push(Test {
            minutes: 1.0,
            ..base(
                "display message".into(),
                "Read what the display reports".into(),
                "A message is a detection that fired; it names no part. Photograph it: cycling power may erase it."
                    .into(),
                Measure::ShownCode,
                words(&shows),
            )
        });
    }
    for (i, c) in m.commands.iter().enumerate() {
        out.push(Test {
            power: PowerState::Live,
            command: Some(CommandIx(i)),
            moment: Moment::AtStart,
            minutes: 2.0,
            tool: Some(Tool::Clamp),
            place: supply_place(m),
            hazards: vec![Hazard::Shock],
            ..base(
                format!("amps supply while {}", c.id),
                format!("Clamp one supply conductor, {}", c.name),
                "Clamp round one conductor only: a whole cable reads zero. For small loads wind ten turns and divide."
                    .into(),
                Measure::SupplyAmps,
                Answer::Number(Dimension::Current),
            )
        });
    }
    for c in m.run_commands() {
        out.push(Test {
            power: PowerState::Live,
            command: Some(c),
            moment: Moment::Settled,
            minutes: 2.0,
            tool: Some(Tool::Clamp),
            place: supply_place(m),
            hazards: vec![Hazard::Shock],
            ..base(
                format!("amps supply while {} settled", m.commands[c.0].id),
                format!("Clamp one supply conductor, {}, settled", m.commands[c.0].name),
                "Clamp round one conductor only: a whole cable reads zero.".into(),
                Measure::SupplyAmps,
                Answer::Number(Dimension::Current),
            )
        });
    }
}

/// Where the supply conductors can be clamped.
fn supply_place(m: &Machine) -> PlaceIx {
    m.find(|r| matches!(r, Role::OverCurrent { resettable: true, .. }))
        .or_else(|| m.find(|r| matches!(r, Role::Supply { .. })))
        .map_or(PlaceIx(0), |p| m.parts[p.0].place)
}

fn terminal(m: &Machine, part: PartIx, name: &str) -> Option<usize> {
    m.parts[part.0].terminals.iter().position(|t| t.name == name && t.net.is_some())
}

fn declared(m: &Machine, part: PartIx, out: &mut Vec<Test>) {
    let p = &m.parts[part.0];
    let driven: Vec<CommandIx> = match &p.role {
        Role::ExpansionValve { .. } | Role::PowerModule { .. } => m.run_commands().collect(),
        Role::PmCompressor(_) | Role::DcFan { .. } => m.commands_with(part),
        _ => m.commands_driving(part),
    };
    let label = format!("{} {}", p.name, p.id);
    for name in p.class.loose {
        let Some(t) = terminal(m, part, name) else { continue };
        out.push(Test {
            place: p.terminals[t].place,
            power: PowerState::Dead,
            minutes: 1.5,
            hazards: vec![Hazard::Shock],
            ..base(
                format!("tug {}.{name}", p.id),
                format!("Tug the connection at {name} of {label}, power off"),
                "Pull gently at the lead, look for a loose crimp, discoloured metal, a plug not pushed home.".into(),
                // Blur: judgement.
                Measure::Look { part, param: p.terminals[t].joint, cuts: &[1.0e3], blur: 0.05 },
                words(&["firm", "loose"]),
            )
        });
    }
    let sections = p.class.tests.iter().filter(|t| matches!(t.what, TestWhat::Farads(..))).count();
    for spec in p.class.tests {
        let hazards = spec.hazards.to_vec();
        let common = |t: Test| Test { minutes: spec.minutes, hazards: hazards.clone(), ..t };
        match spec.what {
            TestWhat::Ohms(a, b) => {
                let (Some(ia), Some(ib)) = (terminal(m, part, a), terminal(m, part, b)) else { continue };
                out.push(common(Test {
                    place: p.terminals[ia].place,
                    power: PowerState::Dead,
                    tool: Some(Tool::Meter),
                    ..base(
                        format!("ohms {id}.{a}-{id}.{b} off", id = p.id),
                        format!("Ohms {a} to {b} of {label}, leads off"),
                        format!("Meter on ohms, {a} to {b}, with the part's leads off. {}", sentence(spec.tells)),
                        Measure::PartOhms(part, ia, ib),
                        Answer::Number(Dimension::Resistance),
                    )
                }));
            }
            TestWhat::PlugOhms(a, b) => {
                let (Some(ia), Some(ib)) = (terminal(m, part, a), terminal(m, part, b)) else { continue };
                out.push(common(Test {
                    place: p.terminals[ia].place, power: PowerState::Dead, tool: Some(Tool::Meter),
                    ..base(format!("ohms {} through plug", p.id), format!("Ohms of {label} through its plug"),
                        format!("Plug pulled from the board, power off; probe the wire side so that the plug's pins are in the reading. {}", sentence(spec.tells)), Measure::PlugOhms(part, ia, ib), Answer::Number(Dimension::Resistance))
                }));
            }
            TestWhat::Farads(a, b) => {
                let (Some(ia), Some(ib)) = (terminal(m, part, a), terminal(m, part, b)) else { continue };
                out.push(common(Test {
                    place: p.terminals[ia].place,
                    power: PowerState::Dead,
                    tool: Some(Tool::Meter),
                    ..base(
                        if sections > 1 {
                            format!("microfarads {id}.{a}-{id}.{b}", id = p.id)
                        } else {
                            format!("microfarads {}", p.id)
                        },
                        if sections > 1 {
                            format!("Microfarads {a} to {b} of {label}, leads off")
                        } else {
                            format!("Microfarads of {label}, leads off")
                        },
                        format!(
                            "Bleed it first, prove below 10 V, one lead off, meter on capacitance. {}",
                            sentence(spec.tells)
                        ),
                        Measure::PartFarads(part, ia, ib),
                        Answer::Number(Dimension::Capacitance),
                    )
                }));
            }
            TestWhat::Insulation(a) => {
                let Some(ia) = terminal(m, part, a) else { continue };
                out.push(common(Test {
                    place: p.terminals[ia].place, power: PowerState::Dead, tool: Some(Tool::InsulationTester),
                    ..base(format!("insulation {}", p.id), format!("Insulation of {label} to the cabinet, leads off"),
                        format!("500 V test between {a} and bare cabinet metal, all leads off so that no electronics is in it. {}", sentence(spec.tells)), Measure::Insulation(part, ia), Answer::Number(Dimension::Resistance))
                }));
            }
            TestWhat::LeadAmps(a) => {
                let Some(ia) = terminal(m, part, a) else { continue };
                for &c in &driven {
                    out.push(common(Test {
                        place: p.terminals[ia].place_upstream(m, part),
                        power: PowerState::Live,
                        command: Some(c),
                        moment: Moment::AtStart,
                        tool: Some(Tool::Clamp),
                        ..base(
                            format!("amps {}.{a} while {}", p.id, m.commands[c.0].id),
                            format!("Clamp the lead to {a} of {label}, {}", m.commands[c.0].name),
                            format!("Clamp upstream of the terminal cover, the cover on. {}", sentence(spec.tells)),
                            Measure::LeadAmps(part, ia),
                            Answer::Number(Dimension::Current),
                        )
                    }));
                }
            }
            TestWhat::Behaviour => {
                let list: &[&str] = match &p.role {
                    Role::Compressor(_) | Role::PmCompressor(_) => &COMPRESSOR_DOES,
                    Role::ExpansionValve { .. } => &VALVE_DOES,
                    Role::CoilDriven { .. } => &CONTACTOR_DOES,
                    Role::ReversingValve { .. } => &SLIDE_DOES,
                    Role::Element { .. } => &ELEMENT_DOES,
                    _ => &FAN_DOES,
                };
                for &c in driven.iter().filter(|c| m.heard_alone(part, **c)) {
                    let title = match &p.role {
                        Role::ExpansionValve { .. } => format!(
                            "Force {label} shut, then full, and feel the suction line, {}",
                            m.commands[c.0].name
                        ),
                        _ => format!("Listen to {label}, {}", m.commands[c.0].name),
                    };
                    let moment =
                        if matches!(p.role, Role::ExpansionValve { .. }) { Moment::Settled } else { Moment::AtStart };
                    out.push(common(Test {
                        power: PowerState::Live,
                        command: Some(c),
                        moment,
                        ..base(
                            format!("watch {} while {}", p.id, m.commands[c.0].id),
                            title,
                            format!("{}.", capital(spec.tells)),
                            Measure::Behaviour(part),
                            words(list),
                        )
                    }));
                }
            }
            TestWhat::ShownTemperature => {
                let at_rest = base(
                    format!("shown {} at rest", p.id),
                    format!("Read what the display gives for {label}, at rest"),
                    format!("Service menu, sensor list, the machine having stood for hours. {}", sentence(spec.tells)),
                    Measure::ShownTemperature(part),
                    Answer::Number(Dimension::Temperature),
                );
                out.push(common(Test { power: PowerState::Live, ..at_rest }));
                for (c, settled) in settled(m) {
                    out.push(common(Test {
                        power: PowerState::Live,
                        command: Some(c),
                        moment: Moment::Settled,
                        ..base(
                            format!("shown {} {settled}", p.id),
                            format!("Read what the display gives for {label}, {}, settled", m.commands[c.0].name),
                            "Service menu, sensor list, after fifteen minutes of running.".into(),
                            Measure::ShownTemperature(part),
                            Answer::Number(Dimension::Temperature),
                        )
                    }));
                }
            }
            // Nobody unclips a sensor by hand in there while the bus is up: its wires are live where its board's ground is.
            TestWhat::WarmedInHand if beside_the_bus(m, p.place) || sits_at(m, part, Spot::HeatSink) => {}
            TestWhat::WarmedInHand => out.push(common(Test {
                place: p.place,
                power: PowerState::Live,
                ..base(
                    format!("warm {} in the hand", p.id),
                    format!("Warm {label} in the hand and see what moves on the display"),
                    format!(
                        "Unclip the sensor, the machine at rest, hold it for a minute and watch the sensor list. {}",
                        sentence(spec.tells)
                    ),
                    Measure::WarmedInHand(part),
                    words(&WARMED),
                )
            })),
            // Nobody puts a thermometer to a heat sink on the bus.
            TestWhat::ShownLessThermometer if sits_at(m, part, Spot::HeatSink) => {}
            TestWhat::ShownLessThermometer => {
                let at_rest = (None, Moment::AtRest, "at rest".to_owned());
                let running = settled(m).map(|(c, settled)| (Some(c), Moment::Settled, settled));
                for (command, moment, when) in std::iter::once(at_rest).chain(running) {
                    out.push(common(Test {
                        place: p.place,
                        power: PowerState::Live,
                        command,
                        moment,
                        tool: Some(Tool::Thermometer),
                        ..base(
                            format!("sensor {} against thermometer {when}", p.id),
                            format!("{label} against a thermometer beside it, {when}"),
                            format!(
                                "Own thermometer on clean metal beside the sensor, insulated; subtract it from what the display gives. {}",
                                sentence(spec.tells)
                            ),
                            Measure::ShownLessThermometer(part),
                            Answer::Number(Dimension::TemperatureDifference),
                        )
                    }));
                }
            }
            TestWhat::BusVolts => {
                for command in std::iter::once(None).chain(m.run_commands().map(Some)) {
                    let (id, when, moment) = match command {
                        None => ("at rest".to_owned(), "nothing commanded".to_owned(), Moment::AtRest),
                        Some(c) => {
                            (format!("while {}", m.commands[c.0].id), m.commands[c.0].name.clone(), Moment::AtStart)
                        }
                    };
                    out.push(common(Test {
                        place: p.place,
                        power: PowerState::Live,
                        command,
                        moment,
                        tool: Some(Tool::Meter),
                        ..base(
                            format!("bus volts {} {id}", p.id),
                            format!("Volts on the bus at {label}, {when}"),
                            format!("Meter and probes rated for the bus, direct volts, plus to minus; nothing else is touched. {}", sentence(spec.tells)),
                            Measure::BusVolts(part),
                            Answer::Number(Dimension::Voltage),
                        )
                    }));
                }
            }
            TestWhat::Diode(red, black) => {
                let (Some(ir), Some(ib)) = (terminal(m, part, red), terminal(m, part, black)) else { continue };
                out.push(common(Test {
                    place: p.terminals[ir].place,
                    power: PowerState::Dead,
                    tool: Some(Tool::Meter),
                    ..base(
                        format!("diode {}.{red} to {}.{black}", p.id, p.id),
                        format!("Diode test of {label}, red on {red}, black on {black}, leads off"),
                        format!("Bus proved below 10 V first. Meter on diode test. {}", sentence(spec.tells)),
                        Measure::Diode(part, ir, ib),
                        Answer::Number(Dimension::Voltage),
                    )
                }));
            }
            TestWhat::Signal => {
                out.push(common(Test {
                    place: p.place,
                    power: PowerState::Live,
                    tool: Some(Tool::Meter),
                    ..base(
                        format!("signal {}", p.id),
                        format!("Look at the signal of {label} with a meter on direct volts"),
                        format!("Signal terminal to neutral at the outdoor unit's terminals, probes rated for mains, high input resistance, never the low-impedance mode. {}", sentence(spec.tells)),
                        Measure::Signal(part),
                        words(&LINE_SHOWS),
                    )
                }));
            }
            TestWhat::SuctionRise => {
                for c in m.run_commands() {
                    let id = &m.commands[c.0].id;
                    out.push(common(Test {
                        place: p.place,
                        power: PowerState::Live,
                        command: Some(c),
                        moment: Moment::Settled,
                        tool: Some(Tool::Thermometer),
                        ..base(
                            format!("rise through {} while {id}", p.id),
                            format!("Rise of the suction gas through {label}, {}", m.commands[c.0].name),
                            format!("Two thermometers on the middle pipe and on the pipe from the cold coil, a hand from the body. {}", sentence(spec.tells)),
                            Measure::SuctionRise(part),
                            Answer::Number(Dimension::TemperatureDifference),
                        )
                    }));
                }
            }
            TestWhat::LongDraw => out.push(common(Test {
                ..base(
                    format!("look {} dip tube", p.id),
                    format!("{DRAW_TITLE} ({})", p.id),
                    format!("{}.", capital(spec.tells)),
                    Measure::LongDraw(part),
                    words(&DRAW_SHOWS),
                )
            })),
            TestWhat::Look { param, cuts, words: list, blur, title, level } => {
                let Some(ix) = m.params.iter().position(|q| q.part == part && q.name == param) else { continue };
                out.push(common(Test {
                    place: if level >= 2 { p.place } else { PlaceIx(0) },
                    power: if level >= 3 { PowerState::Dead } else { PowerState::Any },
                    ..base(
                        format!("look {} {param}", p.id),
                        format!("{title} ({})", p.id),
                        format!("{}.", capital(spec.tells)),
                        Measure::Look { part, param: super::ParamIx(ix), cuts, blur },
                        words(list),
                    )
                }));
            }
        }
    }
}

impl super::Terminal {
    /// Where the lead of a terminal can be clamped: where it leaves its relay, not at hermetic pins.
    fn place_upstream(&self, m: &Machine, part: PartIx) -> PlaceIx {
        if self.live_allowed {
            return self.place;
        }
        m.relay_feeding(part).or_else(|| m.switch_before(part)).map_or(self.place, |r| m.parts[r.0].place)
    }
}

/// At rest for hours, the sensors of air and refrigerant agree within 1 to 2 K (common practice, no source): not one on a
/// discharge line over a hot tank, and not those of two units between each other.
fn odd_sensor(m: &Machine, out: &mut Vec<Test>) {
    use crate::sheet::Serves;
    if m.sheet.machine.serves == Serves::ColdBox {
        return;
    }
    let among = |spots: &[Spot]| -> Vec<PartIx> {
        (0..m.parts.len())
            .map(PartIx)
            .filter(|p| match &m.parts[p.0].role {
                Role::Thermistor(t) => {
                    let spot = m.params[t.spot.0].nominal as usize;
                    spots.iter().any(|s| s.index() == spot)
                }
                _ => false,
            })
            .collect()
    };
    let side_by_side = [
        among(&[Spot::Air, Spot::EvaporatorCoil, Spot::SuctionLine, Spot::LeavingAir]),
        among(&[Spot::OutdoorAir, Spot::OutdoorCoil, Spot::SuctionLine]),
    ];
    let Some(sensors) = side_by_side.into_iter().find(|s| s.len() >= 3) else { return };
    let mut answers: Vec<String> = sensors.iter().map(|p| format!("{} stands apart", m.parts[p.0].id)).collect();
    let names: Vec<&str> = sensors.iter().map(|p| m.parts[p.0].id.as_str()).collect();
    let how = format!(
        "Service menu, sensor list, the machine having stood for hours out of the sun: compare {}. At rest all should agree \
         within 2 K; agreement does not prove that no two plugs are exchanged.",
        names.join(", ")
    );
    answers.push("all agree".into());
    out.push(Test {
        power: PowerState::Live,
        minutes: 1.5,
        ..base(
            "sensors at rest".into(),
            "Compare the sensors on the display, at rest".into(),
            how,
            Measure::OddSensor(sensors),
            Answer::Words(answers),
        )
    });
}

/// Each way in which the machine runs for what it is there for, and when one reads what it does so: what heats and cools shows
/// much of what is wrong with it only in one of the two, and hardly anybody runs it in the other for a reading.
fn settled(m: &Machine) -> impl Iterator<Item = (CommandIx, String)> {
    m.run_commands().enumerate().map(|(i, c)| match i {
        0 => (c, "settled".to_owned()),
        _ => (c, format!("settled while {}", m.commands[c.0].id)),
    })
}

/// Gauges, where the loop has ports: every hose costs refrigerant (5 to 30 g; common practice, no source), which the minutes
/// stand for, so that they come last.
fn gauges(m: &Machine, out: &mut Vec<Test>) {
    let Some(entry) = &m.sheet.refrigerant_loop else { return };
    if !entry.ports {
        return;
    }
    let place = m
        .find(|r| matches!(r, Role::Coil { outdoor: true, .. } | Role::Evaporator { .. }))
        .map_or(PlaceIx(0), |p| m.parts[p.0].place);
    let sides = [(GaugeSide::Low, "suction"), (GaugeSide::High, "high")];
    for ((c, settled), (side, word)) in settled(m).flat_map(|way| sides.map(|side| (way.clone(), side))) {
        out.push(Test {
            place,
            power: PowerState::Live,
            command: Some(c),
            moment: Moment::Settled,
            minutes: 15.0,
            tool: Some(Tool::Gauges),
            hazards: vec![Hazard::Pressure],
            ..base(
                format!("gauge {word} {settled}"),
                format!("Gauge on the {word} side, {}, settled", m.commands[c.0].name),
                "Only when thermometers have not told: each hose takes 5 to 30 g of the charge. Shortest hoses, cores with \
                 valves, after fifteen minutes of running."
                    .into(),
                Measure::Gauge(side),
                Answer::Number(Dimension::PressureGauge),
            )
        });
    }
}

fn thermometers(m: &Machine, out: &mut Vec<Test>) {
    if m.sheet.refrigerant_loop.is_none() {
        return;
    }
    let panel = m.find(|r| matches!(r, Role::Evaporator { .. })).map_or(PlaceIx(0), |p| m.parts[p.0].place);
    let two_units = m.find(|r| matches!(r, Role::Coil { .. })).is_some();
    let outdoors = m.find(|r| matches!(r, Role::Coil { outdoor: true, .. })).map_or(panel, |p| m.parts[p.0].place);
    let tank = m.find(|r| matches!(r, Role::Tank { .. })).is_some();
    for spot in Spot::ALL {
        let water = matches!(spot, Spot::WaterTop | Spot::WaterBottom);
        if water && !tank {
            continue;
        }
        let apart = matches!(
            spot,
            Spot::RoomAir | Spot::SupplyAir | Spot::OutdoorAir | Spot::IndoorCoil | Spot::OutdoorCoil | Spot::HeatSink
        );
        let inside_one = matches!(spot, Spot::Air | Spot::LeavingAir | Spot::EvaporatorCoil) || water;
        // Nobody puts a thermometer to a heat sink on the bus, nor to a coil behind its fan.
        if two_units && (inside_one || matches!(spot, Spot::HeatSink | Spot::IndoorCoil)) || !two_units && apart {
            continue;
        }
        let at = match spot {
            Spot::Air | Spot::LeavingAir | Spot::RoomAir | Spot::SupplyAir | Spot::OutdoorAir => PlaceIx(0),
            _ if two_units => outdoors,
            _ => panel,
        };
        let at_rest = (None, Moment::AtRest, "at rest".to_owned());
        let running = settled(m).map(|(c, settled)| (Some(c), Moment::Settled, settled));
        for (command, moment, when) in std::iter::once(at_rest).chain(running) {
            if (moment == Moment::AtRest && matches!(spot, Spot::LeavingAir | Spot::SupplyAir))
                || (water && moment == Moment::Settled)
            {
                continue;
            }
            out.push(Test {
                place: if water { panel } else { at },
                power: if moment == Moment::AtRest { PowerState::Any } else { PowerState::Live },
                command, moment, minutes: 2.0, tool: Some(Tool::Thermometer),
                hazards: if matches!(spot, Spot::DischargeLine | Spot::WaterTop) { vec![Hazard::Heat] } else { Vec::new() },
                ..base(format!("thermometer {} {when}", spot.key()), format!("Thermometer: {}, {when}", spot.key()),
                    "Clamp or contact thermometer on clean bare metal, insulated from the air, beside the machine's own sensor where there is one.".into(),
                    Measure::Thermometer(spot), Answer::Number(Dimension::Temperature))
            });
        }
    }
}

/// How the water warms, where there is a tank: half an hour for each way of heating, whether it is spent waiting or with other
/// readings.
fn warming(m: &Machine, out: &mut Vec<Test>) {
    let one_speed = m.find(|r| matches!(r, Role::Compressor(_))).is_some();
    if m.find(|r| matches!(r, Role::Tank { .. })).is_none() || !one_speed {
        return;
    }
    let panel = m.find(|r| matches!(r, Role::Evaporator { .. })).map_or(PlaceIx(0), |p| m.parts[p.0].place);
    let minutes = WARMING / 60.0 + 1.0;
    let upper = m.find(|r| matches!(r, Role::Element { upper: true, .. })).is_some();
    for (i, c) in m.commands.iter().enumerate() {
        let spots: &[Spot] = match c.calls_for {
            Some(CallsFor::HeatPump) => &[Spot::WaterBottom],
            Some(CallsFor::Elements) if upper => &[Spot::WaterTop, Spot::WaterBottom],
            Some(CallsFor::Elements) => &[Spot::WaterBottom],
            _ => continue,
        };
        let told = |t: Test| Test {
            power: PowerState::Live,
            command: Some(CommandIx(i)),
            moment: Moment::AtStart,
            minutes,
            ..t
        };
        for &spot in spots {
            let sensor = (0..m.parts.len()).map(PartIx).find(|p| sits_at(m, *p, spot));
            let half = if spot == Spot::WaterTop { "upper" } else { "lower" };
            let (place, tool, read) = match sensor {
                Some(s) => (PlaceIx(0), None, format!("the sensor list: {} {}", m.parts[s.0].name, m.parts[s.0].id)),
                None => {
                    (panel, Some(Tool::Thermometer), "a contact thermometer on the bare wall of the tank".to_owned())
                }
            };
            out.push(told(Test {
                place,
                tool,
                hazards: vec![Hazard::Heat],
                ..base(
                    format!("rise {} while {}", spot.key(), c.id),
                    format!("How far the {half} water rises in half an hour, {}", c.name),
                    format!(
                        "Best on a cold tank: draw some hot water first, and shut the tap. Note {read}, when it begins and half an hour \
                         later; set the setpoint so high that it does not stop before. Other readings can be taken meanwhile."
                    ),
                    Measure::WaterRise(spot, sensor),
                    Answer::Number(Dimension::TemperatureDifference),
                )
            }));
        }
        if c.calls_for == Some(CallsFor::HeatPump) {
            out.push(told(Test {
                place: supply_place(m),
                tool: Some(Tool::Clamp),
                hazards: vec![Hazard::Shock],
                ..base(
                    format!("energy while {}", c.id),
                    format!("Electricity taken in half an hour, {}", c.name),
                    "Clamp meter that counts kWh round one supply conductor, its volts on the same supply; or the house's meter with all \
                     else off. Note it when the machine begins and half an hour later. The rise of the water over the same half hour times \
                     its litres times 1.163 Wh is the heat; heat by electricity is the COP."
                        .into(),
                    Measure::EnergyMeanwhile,
                    Answer::Number(Dimension::Energy),
                )
            }));
        }
    }
}

/// Looking how the machine is built, where the sheet says that it can be seen.
fn how_built(m: &Machine, out: &mut Vec<Test>) {
    const CUTS: [f64; 3] = [0.5, 1.5, 2.5];
    for (part, ways) in m.unsure() {
        let p = &m.parts[part.0];
        let Role::HowBuilt { way, .. } = p.role else { continue };
        let Some(entry) = m.sheet.unsure.iter().find(|u| u.id == p.id && u.place.is_some()) else { continue };
        let says: Vec<&str> = ways.iter().map(|w| w.says.as_str()).collect();
        out.push(Test {
            place: p.place,
            power: if p.place.0 > 0 { PowerState::Dead } else { PowerState::Any },
            minutes: entry.minutes,
            hazards: if p.place.0 > 0 { vec![Hazard::Shock] } else { Vec::new() },
            ..base(
                format!("look {}", p.id),
                format!("See how it is built: {}", entry.question),
                "Machine dead. Follow the wires themselves; a diagram inside the cover may be of another version."
                    .into(),
                Measure::Look {
                    part,
                    param: way,
                    cuts: &CUTS[..ways.len() - 1],
                    blur: crate::library::how_built::BLUR,
                },
                words(&says),
            )
        });
    }
}

/// Volts and ohms worked out from the wiring.
fn from_wiring(m: &Machine, out: &mut Vec<Test>) {
    let mains = m.mains_nets();
    let low = m.transformed_nets();
    let sides = m.supply_sides();
    for (place_ix, place) in m.places.iter().enumerate() {
        let place_ix = PlaceIx(place_ix);
        let here: Vec<Net> = (0..m.nets.len())
            .map(Net)
            .filter(|n| {
                m.parts
                    .iter()
                    .any(|p| p.terminals.iter().any(|t| t.net == Some(*n) && t.place == place_ix && t.live_allowed))
            })
            .collect();
        if !place.live_allowed {
            continue;
        }
        for (i, &a) in here.iter().enumerate() {
            for &b in &here[i + 1..] {
                let (wa, wb) = (&m.nets[a.0], &m.nets[b.0]);
                if mains[a.0] && mains[b.0] && low[a.0] == low[b.0] {
                    let across = share_a_part(m, a, b);
                    let to_side = sides.iter().any(|s| s.contains(&a) || s.contains(&b));
                    if !(across || to_side) {
                        continue;
                    }
                    let rest = Test {
                        place: place_ix,
                        power: PowerState::Live,
                        minutes: 1.5,
                        tool: Some(Tool::Meter),
                        hazards: vec![Hazard::Shock],
                        from_wiring: true,
                        ..base(
                            format!("volts {wa}-{wb} at rest"),
                            format!("Volts {wa} to {wb}, nothing commanded"),
                            format!(
                                "Meter on AC volts, one probe on {}, the other on {}.",
                                say(m, a, place_ix),
                                say(m, b, place_ix)
                            ),
                            Measure::Volts(a, b),
                            Answer::Number(Dimension::Voltage),
                        )
                    };
                    out.push(rest.clone());
                    for (c, command) in m.commands.iter().enumerate() {
                        out.push(Test {
                            id: format!("volts {wa}-{wb} while {}", command.id),
                            title: format!("Volts {wa} to {wb}, {}", command.name),
                            command: Some(CommandIx(c)),
                            moment: Moment::AtStart,
                            ..rest.clone()
                        });
                        // A safety chain may open only when the pressures have moved.
                        if low[a.0] && command.calls_for.is_some() {
                            out.push(Test {
                                id: format!("volts {wa}-{wb} while {} settled", command.id),
                                title: format!("Volts {wa} to {wb}, {}, settled", command.name),
                                command: Some(CommandIx(c)),
                                moment: Moment::Settled,
                                ..rest.clone()
                            });
                        }
                    }
                } else if !mains[a.0] && !mains[b.0] && is_ground(m, a) != is_ground(m, b) && !power_stage(m, a, b) {
                    let (plus, ground) = if is_ground(m, a) { (b, a) } else { (a, b) };
                    out.push(Test {
                        place: place_ix,
                        power: PowerState::Live,
                        minutes: 1.5,
                        tool: Some(Tool::Meter),
                        hazards: if on_the_bus(m, ground) {
                            vec![Hazard::Shock, Hazard::BusCharge]
                        } else {
                            vec![Hazard::Shock]
                        },
                        from_wiring: true,
                        ..base(
                            format!("control volts {}-{}", m.nets[plus.0], m.nets[ground.0]),
                            format!("DC volts {} to {}", m.nets[plus.0], m.nets[ground.0]),
                            format!(
                                "Meter on DC volts, black on {}, red on {}. Mains is close by.",
                                say(m, ground, place_ix),
                                say(m, plus, place_ix)
                            ),
                            Measure::ControlVolts(plus, ground),
                            Answer::Number(Dimension::Voltage),
                        )
                    });
                }
            }
        }
    }
    // Ohms in circuit across each protective contact: cheap, since no lead has to come off.
    for (part, branch) in &m.branches {
        let Branch::Contact { a, b, drive: Drive::Protective, .. } = *branch else { continue };
        let p = &m.parts[part.0];
        let (Some(na), Some(nb)) = (p.terminals[a].net, p.terminals[b].net) else { continue };
        if !mains[na.0] {
            continue;
        }
        out.push(Test {
            place: p.terminals[a].place,
            power: PowerState::Dead,
            minutes: 1.5,
            tool: Some(Tool::Meter),
            hazards: vec![Hazard::Shock],
            from_wiring: true,
            ..base(
                format!("ohms {}-{} in circuit", m.nets[na.0], m.nets[nb.0]),
                format!(
                    "Ohms across {} {} from {} to {}, in circuit",
                    p.name, p.id, p.terminals[a].name, p.terminals[b].name
                ),
                "Machine dead and discharged, meter on ohms. A parallel path can only make it read lower.".into(),
                Measure::WireOhms(na, nb),
                Answer::Number(Dimension::Resistance),
            )
        });
    }
}

/// Whether a thermistor sits at a spot.
fn sits_at(m: &Machine, part: PartIx, spot: Spot) -> bool {
    matches!(&m.parts[part.0].role, Role::Thermistor(s) if m.params[s.spot.0].nominal as usize == spot.index())
}

/// Whether a pair of wires of the power stage is meant: the bus and the phases have tests of their own.
fn power_stage(m: &Machine, a: Net, b: Net) -> bool {
    let of = |n: Net| {
        m.branches.iter().any(|(p, branch)| {
            let at = |t: usize| m.parts[p.0].terminals[t].net == Some(n);
            match *branch {
                Branch::Diode { anode, cathode, .. } => at(anode) || at(cathode),
                Branch::Star { ends, .. } => ends.into_iter().any(at),
                _ => false,
            }
        }) && !is_ground(m, n)
    };
    of(a) || of(b)
}

/// Whether a wire is a side of the direct-current bus: then it is live, ground of a board or not.
fn on_the_bus(m: &Machine, n: Net) -> bool {
    m.parts.iter().any(|p| matches!(p.role, Role::BusCapacitor { .. }) && p.terminals.iter().any(|t| t.net == Some(n)))
}

/// Behind the covers that the bus is behind.
fn beside_the_bus(m: &Machine, place: PlaceIx) -> bool {
    let bus = m.find(|r| matches!(r, Role::BusCapacitor { .. }));
    bus.is_some_and(|bus| m.way_to(place).contains(&m.parts[bus.0].place))
}

/// On a machine with a bus no hand and no ohmmeter goes in before the bus is shown to be empty.
fn bus_must_be_empty(m: &Machine, tests: &mut [Test]) {
    let Some(bus) = m.find(|r| matches!(r, Role::BusCapacitor { .. })) else { return };
    let outermost = |p: PlaceIx| m.way_to(p).into_iter().find(|x| x.0 > 0);
    let outdoor = outermost(m.parts[bus.0].place);
    for t in tests.iter_mut().filter(|t| outermost(t.place) == outdoor) {
        // Whoever turns a wheel or bends down to a heat sink has his hands in there.
        if matches!(t.measure, Measure::Look { .. }) && m.places[t.place.0].level >= 2 {
            t.power = PowerState::Dead;
        }
        let beside = beside_the_bus(m, t.place);
        if (t.power == PowerState::Dead || beside) && !t.hazards.contains(&Hazard::BusCharge) {
            t.hazards.push(Hazard::BusCharge);
        }
        if t.power == PowerState::Dead {
            t.how.push_str(" Wait for the label's time, then measure the bus below 10 V first.");
        } else if beside && t.tool == Some(Tool::Thermometer) {
            t.how.push_str(
                " Put it on with the power off and the bus measured below 10 V, lead it out and close the cover before the machine \
                 runs: nobody reaches in there live.",
            );
        }
    }
}

fn is_ground(m: &Machine, n: Net) -> bool {
    m.branches
        .iter()
        .any(|(p, b)| matches!(*b, Branch::Rail { ground, .. } if m.parts[p.0].terminals[ground].net == Some(n)))
}

fn share_a_part(m: &Machine, a: Net, b: Net) -> bool {
    m.parts.iter().any(|p| {
        p.terminals.iter().any(|t| t.net == Some(a))
            && p.terminals.iter().any(|t| t.net == Some(b))
            && !matches!(p.role, Role::Board { .. })
    })
}

/// Names a probe place: a terminal at this place that is on the wire.
fn say(m: &Machine, n: Net, place: PlaceIx) -> String {
    m.probe_of(n, place).map_or_else(
        || format!("wire {}", m.nets[n.0]),
        |r| {
            let part = &m.parts[r.part.0];
            format!("{} terminal {}", part.id, part.terminals[r.terminal].name)
        },
    )
}

fn capital(s: &str) -> String {
    let mut c = s.chars();
    c.next().map(|f| f.to_uppercase().collect::<String>() + c.as_str()).unwrap_or_default()
}

fn sentence(s: &str) -> String {
    format!("Healthy: {s}.")
}
