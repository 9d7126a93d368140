//! The modes that every part can have whatever its class: wrong part fitted, loose connection, and
//! sensor plugs exchanged. All of them are workmanship or vibration, rates are judgement.

use super::{Ageing, Edit, Op, Repair, set};
use crate::model::{Machine, Mode, Nature, ParamIx, Part, PartIx, ResolvedEdit, Role};

/// Rate of "wrong part fitted" per 1000 unit-years on a machine that somebody has worked on lately.
const WRONG_PART: f64 = 3.0;
/// Rate of a loose joint per terminal worth suspecting.
const LOOSE: f64 = 1.2;
/// Rate of a pair of plugs exchanged.
const EXCHANGED: f64 = 1.0;
/// Rate of two leads on the wrong terminals.
const MISWIRED: f64 = 0.6;

const PUSH_ON: Repair =
    Repair { what: "clean and tighten the connection, tug it", group: "connection", minutes: 12.0, price: 2.0 };

fn resolve(params: &[crate::model::Param], part: PartIx, e: &Edit) -> Option<ResolvedEdit> {
    params
        .iter()
        .position(|p| p.part == part && p.name == e.param)
        .map(|i| ResolvedEdit { param: ParamIx(i), op: e.op })
}

/// Adds the generic modes of a machine. Library modes must be there already.
pub(crate) fn generic_modes(m: &mut Machine) {
    let mut out = Vec::new();
    for (ix, part) in m.parts.iter().enumerate() {
        let ix = PartIx(ix);
        if !part.class.wrong_part.is_empty() {
            let edits = part.class.wrong_part.iter().filter_map(|e| resolve(&m.params, ix, e)).collect();
            out.push(mode(
                part,
                ix,
                "wrong-part",
                "wrong part fitted",
                "a part with other ratings put in at an earlier repair",
                edits,
                WRONG_PART,
                true,
                false,
                Repair {
                    what: "fit the part that the nameplate asks for",
                    group: "replace",
                    minutes: 20.0,
                    price: 40.0,
                },
            ));
        }
        for name in part.class.loose {
            if let Some(t) = part.terminals.iter().find(|t| t.name == *name && t.net.is_some()) {
                // Open: beyond what any meter or board takes for a number.
                let edits = vec![ResolvedEdit { param: t.joint, op: Op::Set(1.0e9) }];
                out.push(mode(
                    part,
                    ix,
                    &format!("loose-{name}"),
                    &format!("loose connection at {name}"),
                    "vibration, heat, a connector not pushed home",
                    edits,
                    LOOSE,
                    false,
                    true,
                    PUSH_ON,
                ));
            }
        }
        if let Role::Compressor(c) = &part.role {
            // So connected a motor has little starting torque, and that the wrong way round. Whether it starts hangs on how
            // stiff its pump happens to be, which nobody knows: one degree where it turns easily, one where it does not. Judgement.
            // A piston would pump either way round; here nothing does.
            for (level, ease) in [("turns the wrong way", 2.0), ("does not start", 0.8)] {
                let edits = vec![
                    ResolvedEdit { param: c.leads_exchanged, op: Op::Set(1.0) },
                    ResolvedEdit { param: c.free, op: Op::Scale(ease) },
                ];
                let one = mode(
                    part,
                    ix,
                    "miswired",
                    "run and start leads exchanged",
                    "leads put back on the wrong pins",
                    edits,
                    0.5 * MISWIRED,
                    true,
                    false,
                    Repair {
                        what: "put the leads back as the diagram shows",
                        group: "connection",
                        minutes: 15.0,
                        price: 0.0,
                    },
                );
                out.push(Mode { id: format!("{}:{}", one.id, level.replace(' ', "-")), level, ..one });
            }
        }
    }
    let sensors: Vec<(PartIx, &crate::model::Thermistor)> = m
        .parts
        .iter()
        .enumerate()
        .filter_map(|(i, p)| match &p.role {
            Role::Thermistor(t) => Some((PartIx(i), t)),
            _ => None,
        })
        .collect();
    for (i, (a, ta)) in sensors.iter().enumerate() {
        for (b, tb) in &sensors[i + 1..] {
            // Plugs can only be taken for each other where both end at the same place and fit.
            let (pa, pb) = (&m.parts[a.0], &m.parts[b.0]);
            if pa.place != pb.place || ta.law != tb.law {
                continue;
            }
            let spots = [(ta.spot, tb.spot), (tb.spot, ta.spot)];
            let edits = spots
                .iter()
                .map(|(to, from)| ResolvedEdit { param: *to, op: Op::Set(m.params[from.0].nominal) })
                .collect();
            let mut x = mode(
                pa,
                *a,
                &format!("exchanged-{}", pb.id),
                &format!("plug exchanged with {}", pb.id),
                "plugs put back the wrong way round",
                edits,
                EXCHANGED,
                true,
                false,
                Repair { what: "exchange the two plugs", group: "exchange", minutes: 8.0, price: 0.0 },
            );
            x.repair_group = format!("{}+{}/exchange", pa.id, pb.id);
            out.push(x);
        }
    }
    m.modes.extend(out);
}

#[allow(clippy::too_many_arguments)] // one private constructor, every argument a different thing
fn mode(
    part: &Part,
    ix: PartIx,
    key: &str,
    name: &str,
    cause: &'static str,
    edits: Vec<ResolvedEdit>,
    rate: f64,
    workmanship: bool,
    intermittent: bool,
    repair: Repair,
) -> Mode {
    Mode {
        id: format!("{}:{key}", part.id),
        name_id: format!("{}:{key}", part.id),
        part: ix,
        name: format!("{} {}: {name}", part.name, part.id),
        level: "",
        cause,
        upstream: "",
        proof: "run it through a whole cycle and a restart",
        nature: Nature::Fault,
        edits,
        rate: rate / 1000.0,
        ageing: if workmanship { Ageing::Infant } else { Ageing::WearOut },
        intermittent,
        workmanship,
        repair,
        repair_group: format!("{}/{}", part.id, repair.group),
        promotes: Vec::new(),
    }
}

/// Edits of a "loose contact" level that several classes share.
pub(super) const OPEN_CONTACT: &[Edit] = &[set("contact", -1.0)];
