//! From the sheet's `[[unsure]]` to the conductors in question and the ways of building the machine.

use super::build::Build;
use super::{
    Branch, Drive, Machine, Mode, ModeIx, Nature, Net, Param, ParamIx, Part, PartIx, PlaceIx, ResolvedEdit, Role,
    Spread, Terminal, Way,
};
use crate::library::{Ageing, Op, how_built};
use crate::sheet::UnsureEntry;

/// Machines that may come of all questions together: every set of faults is thought of under each of them.
const MOST_MACHINES: usize = 4;

/// Ohms of a link: a piece of wire, in the physics the least that a contact has.
const LINK_OHMS: f64 = 1e-4;

/// Makes a part of each question. Its terminals are no places for probes: those of the parts that it joins are.
pub(super) fn questions(b: &mut Build<'_>, m: &mut Machine) {
    let asked = m.sheet.unsure.clone();
    let mut machines = 1;
    for (i, u) in asked.iter().enumerate() {
        let ix = i.to_string();
        if !sound_entry(b, m, u, &ix) {
            continue;
        }
        machines *= u.ways.len();
        if machines > MOST_MACHINES {
            b.error(
                &["unsure", &ix, "id"],
                format!("{}: with this question there are {machines} ways of building the machine", u.id),
                format!(
                    "leave open what matters most, so that there are {MOST_MACHINES} at most; take the usual way for the rest"
                ),
            );
            return;
        }
        let place = match &u.place {
            Some(p) => b.place(m, &["unsure", &ix, "place"], p),
            None => PlaceIx(0),
        };
        let this = PartIx(m.parts.len());
        let mut param = |name: String, nominal: f64| {
            m.params.push(Param { part: this, name, nominal, spread: Spread::None });
            ParamIx(m.params.len() - 1)
        };
        let way = param("way".to_owned(), 0.0);
        let mut terminals = Vec::new();
        let mut links: Vec<[Net; 2]> = Vec::new();
        for (w, entry) in u.ways.iter().enumerate() {
            for pair in &entry.joins {
                // Known, or the entry would not be sound.
                let net = |name: &String| m.nets.iter().position(|n| n == name).map(Net);
                let [Some(x), Some(y)] = [net(&pair[0]), net(&pair[1])] else { continue };
                if links.iter().any(|l| *l == [x, y] || *l == [y, x]) {
                    continue;
                }
                links.push([x, y]);
                let there = param(link_name(pair), f64::from(u8::from(w == 0)));
                let ohms = param(format!("{} ohms", link_name(pair)), LINK_OHMS);
                for net in [x, y] {
                    let name = format!("{}", terminals.len() + 1);
                    let joint = param(format!("joint {name}"), 0.0);
                    terminals.push(Terminal { name, net: Some(net), place, live_allowed: false, joint });
                }
                let last = terminals.len();
                m.branches
                    .push((this, Branch::Contact { a: last - 2, b: last - 1, drive: Drive::Link, stuck: there, ohms }));
            }
        }
        let ways = u.ways.iter().map(|w| Way { says: w.says.clone(), share: w.share, mode: None }).collect();
        m.parts.push(Part {
            id: u.id.clone(),
            name: u.question.clone(),
            class: &how_built::CLASS,
            place,
            terminals,
            role: Role::HowBuilt { ways, way },
            entry: m.sheet.parts.len(),
        });
    }
}

fn link_name(pair: &[String; 2]) -> String {
    format!("link {}-{}", pair[0], pair[1])
}

/// Whether a question can be asked at all; what is wrong with it is told.
fn sound_entry(b: &mut Build<'_>, m: &Machine, u: &UnsureEntry, ix: &str) -> bool {
    let before = b.errors.len();
    if u.id.trim().is_empty() || u.id.contains([':', ' ']) {
        b.error(
            &["unsure", ix, "id"],
            format!("\"{}\" cannot be a question's id", u.id),
            "use letters and figures without spaces or colons, for example \"CUT-OFF-FEED\"",
        );
    }
    if m.parts.iter().any(|p| p.id == u.id) {
        b.error(
            &["unsure", ix, "id"],
            format!("{} is the id of a part, or of a question before this one", u.id),
            "give the question an id of its own",
        );
    }
    if !(2..=MOST_MACHINES).contains(&u.ways.len()) {
        b.error(
            &["unsure", ix],
            format!("{}: a question has two to four ways, this one has {}", u.id, u.ways.len()),
            "add a `[[unsure.way]]` for each way in which the machine may be built, or leave the question out",
        );
    }
    if !(u.minutes.is_finite() && (0.0..=600.0).contains(&u.minutes)) {
        b.error(
            &["unsure", ix, "minutes"],
            format!("{}: {} minutes to look makes no sense", u.id, u.minutes),
            "give minutes between 0 and 600",
        );
    }
    let all: f64 = u.ways.iter().map(|w| w.share).sum();
    let sensible = |share: f64| (0.001..1.0).contains(&share);
    for (w, way) in u.ways.iter().enumerate() {
        let w = w.to_string();
        if way.says.trim().is_empty() || u.ways.iter().filter(|o| o.says == way.says).count() > 1 {
            b.error(
                &["unsure", ix, "way", &w, "says"],
                format!("{}: \"{}\" tells this way from no other", u.id, way.says),
                "say in trade words how the machine is built in this way",
            );
        }
        if !sensible(way.share) {
            b.error(
                &["unsure", ix, "way", &w, "share"],
                format!("{}: {} is no share of a way", u.id, way.share),
                "give how likely the way is, from 0.001 to 0.999; a way that cannot be is left out",
            );
        }
        let known = |name: &String| m.nets.iter().any(|n| n == name);
        for pair in &way.joins {
            if let Some(name) = pair.iter().find(|n| !known(n)) {
                let near: Vec<&str> = m.nets.iter().map(String::as_str).collect();
                b.error(
                    &["unsure", ix, "way", &w, "joins"],
                    format!("{}: way \"{}\" joins wire \"{name}\", on which no part has a terminal", u.id, way.says),
                    format!("use the name of a wire, one of: {}", near.join(", ")),
                );
            } else if pair[0] == pair[1] {
                b.error(
                    &["unsure", ix, "way", &w, "joins"],
                    format!("{}: way \"{}\" joins wire \"{}\" to itself", u.id, way.says, pair[0]),
                    "name two different wires",
                );
            }
        }
        if let Some(same) = u.ways[..w.parse().unwrap_or(0)].iter().find(|o| pairs_of(&o.joins) == pairs_of(&way.joins))
        {
            b.error(
                &["unsure", ix, "way", &w],
                format!("{}: ways \"{}\" and \"{}\" join the same wires", u.id, same.says, way.says),
                "say in `joins` which wires are joined in one way and not in the other",
            );
        }
    }
    if u.ways.iter().all(|w| sensible(w.share)) && u.ways.len() > 1 && !(0.99..=1.01).contains(&all) {
        b.error(
            &["unsure", ix, "way", "0", "share"],
            format!("{}: the shares of its ways add up to {all:.3}", u.id),
            "give shares that add up to 1",
        );
    }
    b.errors.len() == before
}

/// Pairs of joined wires in a fixed order, whichever way round they are written.
fn pairs_of(joins: &[[String; 2]]) -> Vec<[&String; 2]> {
    let mut all: Vec<[&String; 2]> =
        joins.iter().map(|p| if p[0] <= p[1] { [&p[0], &p[1]] } else { [&p[1], &p[0]] }).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// Wires that stay live with every breaker and disconnect out, whatever is in question.
fn before_the_isolator(m: &Machine) -> Vec<bool> {
    let net = |part: PartIx, t: usize| m.parts[part.0].terminals[t].net.map(|n| n.0);
    let mut before = vec![false; m.nets.len()];
    for (part, branch) in &m.branches {
        if let Branch::Mains { a, b, .. } = *branch {
            [a, b].into_iter().filter_map(|t| net(*part, t)).for_each(|n| before[n] = true);
        }
    }
    let mut grew = true;
    while grew {
        grew = false;
        for (part, branch) in &m.branches {
            let Branch::Contact { a, b, drive, .. } = *branch else { continue };
            if drive == Drive::Link || matches!(m.parts[part.0].role, Role::OverCurrent { resettable: true, .. }) {
                continue;
            }
            let (Some(x), Some(y)) = (net(*part, a), net(*part, b)) else { continue };
            if before[x] != before[y] {
                (before[x], before[y], grew) = (true, true, true);
            }
        }
    }
    before
}

/// Only where alternating current flows is the circuit worked out branch by branch; elsewhere a link would do nothing. And
/// none may lead round the isolator: who has switched off must not find the machine live.
pub(super) fn in_the_mains(b: &mut Build<'_>, m: &Machine) {
    let mains = m.mains_nets();
    let before = before_the_isolator(m);
    let isolated = m.parts.iter().any(|p| matches!(p.role, Role::OverCurrent { resettable: true, .. }));
    let mut told = Vec::new();
    for (part, branch) in &m.branches {
        let Branch::Contact { a, b: other, drive: Drive::Link, .. } = *branch else { continue };
        let p = &m.parts[part.0];
        let Some(i) = m.sheet.unsure.iter().position(|u| u.id == p.id) else { continue };
        let ends = [a, other].map(|t| p.terminals[t].net);
        if let [Some(x), Some(y)] = ends
            && isolated
            && before[x.0] != before[y.0]
            && !told.contains(&i)
        {
            told.push(i);
            let pair = [&m.nets[x.0], &m.nets[y.0]];
            let names = |w: &crate::sheet::WayEntry| w.joins.iter().any(|j| [&j[0], &j[1]] == pair);
            let way = m.sheet.unsure[i].ways.iter().position(names).unwrap_or(0);
            b.error(
                &["unsure", &i.to_string(), "way", &way.to_string(), "joins"],
                format!(
                    "{}: joining \"{}\" and \"{}\" leads round the breaker: the machine would be live with it out",
                    p.id, pair[0], pair[1]
                ),
                "join wires on the machine's side of the breaker; if it really is fed past it, draw that feed as it is",
            );
        }
        let outside = [a, other].into_iter().filter_map(|t| p.terminals[t].net).find(|n| !mains[n.0]);
        if let Some(net) = outside.filter(|_| !told.contains(&i)) {
            told.push(i);
            let names = |w: &crate::sheet::WayEntry| w.joins.iter().flatten().any(|n| *n == m.nets[net.0]);
            let way = m.sheet.unsure[i].ways.iter().position(names).unwrap_or(0);
            b.error(
                &["unsure", &i.to_string(), "way", &way.to_string(), "joins"],
                format!(
                    "{}: wire \"{}\" is neither in the mains circuit nor fed by a transformer",
                    p.id, m.nets[net.0]
                ),
                "only there can wires be joined in one way or another; write a sheet for each way instead",
            );
        }
    }
}

/// The other ways of each question, as modes that no repair puts right.
pub(super) fn modes(m: &mut Machine) {
    for part in (0..m.parts.len()).map(PartIx) {
        let Role::HowBuilt { ways, way } = m.parts[part.0].role.clone() else { continue };
        let Some(entry) = m.sheet.unsure.iter().find(|u| u.id == m.parts[part.0].id).cloned() else { continue };
        let mut ways = ways;
        for (w, says) in entry.ways.iter().enumerate().skip(1) {
            let mut edits = vec![ResolvedEdit { param: way, op: Op::Set(w as f64) }];
            let joined = pairs_of(&says.joins);
            for pair in entry.ways.iter().flat_map(|o| &o.joins) {
                let named = |i: &usize| m.params[*i].part == part && m.params[*i].name == link_name(pair);
                let Some(link) = (0..m.params.len()).find(named) else { continue };
                let there = joined.contains(&pairs_of(std::slice::from_ref(pair))[0]);
                let to = f64::from(u8::from(there));
                if m.params[link].nominal != to {
                    edits.push(ResolvedEdit { param: ParamIx(link), op: Op::Set(to) });
                }
            }
            edits.dedup();
            ways[w].mode = Some(ModeIx(m.modes.len()));
            let p = &m.parts[part.0];
            let id = format!("{}:way-{}", p.id, w + 1);
            m.modes.push(Mode {
                name_id: id.clone(),
                id,
                part,
                name: format!("{} {}", entry.question, says.says),
                level: "",
                cause: "built so",
                upstream: "",
                proof: "",
                nature: Nature::AsBuilt { odds: says.share / entry.ways[0].share },
                edits,
                rate: 0.0,
                ageing: Ageing::Random,
                intermittent: false,
                workmanship: false,
                repair: how_built::NOTHING,
                repair_group: format!("{}/{}", p.id, how_built::NOTHING.group),
                promotes: Vec::new(),
            });
        }
        m.parts[part.0].role = Role::HowBuilt { ways, way };
    }
}
