//! Which missing facts about a machine would help most, and which test tells two ways of building it apart.

use halfsplit_machine::sheet::Sheet;
use halfsplit_machine::test::{Measure, Test};
use halfsplit_machine::{Machine, ModeIx, PartIx};
use halfsplit_plant::{Plant, Prediction, Visit};

/// A rating that nobody has read.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// The part.
    pub part: String,
    /// The rating's key.
    pub key: String,
    /// What it is.
    pub meaning: String,
    /// Faults per unit-year that could be told from a sound part by measuring, if it were known, and cannot now.
    pub gain: f64,
}

/// The assumed ratings of a sheet whose knowledge would tell most, the best first; those that tell nothing are left out.
///
/// # Errors
/// If the sheet cannot be computed.
pub fn most_wanted(text: &str) -> Result<Vec<Wanted>, String> {
    let sheet = Sheet::parse(text).map_err(|e| e.to_string())?;
    let plant = plant(text)?;
    let visit = Visit::default();
    let sound = plant.machine.sound();
    let at_rest = plant.operate(&sound, &visit);
    let mut found = Vec::new();
    for (entry, part) in sheet.parts.iter().enumerate() {
        let Some(ix) = plant.machine.part(&part.id) else { continue };
        let tests: Vec<&Test> = plant.machine.tests.iter().filter(|t| measures(t, ix)).collect();
        let modes: Vec<usize> = (0..plant.machine.modes.len()).filter(|i| plant.machine.modes[*i].part == ix).collect();
        if tests.is_empty() || modes.is_empty() {
            continue;
        }
        for key in &part.assumed {
            let mut known = sheet.clone();
            known.parts[entry].assumed.retain(|k| k != key);
            let text = toml_text(&known)?;
            let better = self::plant(&text)?;
            if better.machine.params == plant.machine.params {
                continue;
            }
            let better_rest = better.operate(&sound, &visit);
            let mut gain = 0.0;
            for &mode in &modes {
                let mut p = sound.clone();
                plant.machine.apply(ModeIx(mode), &mut p);
                let (o, better_o) = (plant.operate(&p, &visit), better.operate(&p, &visit));
                let told = |plant: &Plant, rest, o| {
                    let of = |t: &&Test| apart(&plant.predict(&sound, rest, t), &plant.predict(&p, o, t));
                    tests.iter().map(of).fold(0.0, f64::max)
                };
                let now = told(&plant, &at_rest, &o);
                let then = told(&better, &better_rest, &better_o);
                gain += plant.machine.modes[mode].rate * (then - now).max(0.0);
            }
            if gain > 1e-6 {
                let meaning = plant.machine.parts[ix.0]
                    .class
                    .ratings
                    .iter()
                    .find(|r| r.key == key)
                    .map_or_else(String::new, |r| r.meaning.to_owned());
                found.push(Wanted { part: part.id.clone(), key: key.clone(), meaning, gain });
            }
        }
    }
    found.sort_by(|a, b| b.gain.total_cmp(&a.gain).then_with(|| (&a.part, &a.key).cmp(&(&b.part, &b.key))));
    Ok(found)
}

/// The test that costs the fewest minutes among those that tell two sheets apart on a sound machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Telling {
    /// The test's id.
    pub test: String,
    /// What to do.
    pub title: String,
    /// Minutes, what has to be opened included.
    pub minutes: f64,
    /// What it reads on the first, and on the second.
    pub reads: (Prediction, Prediction),
}

/// Finds it; `None` if no test tells them apart, and then the difference does not matter to anything measured.
///
/// # Errors
/// If a sheet cannot be computed.
pub fn telling(one: &str, other: &str) -> Result<Option<Telling>, String> {
    let (a, b) = (plant(one)?, plant(other)?);
    let (sound_a, sound_b) = (a.machine.sound(), b.machine.sound());
    Ok(apart_by((&a, &sound_a), (&b, &sound_b)))
}

/// The same for one sheet that leaves a question open: between the way as drawn and another, by its place among the ways.
///
/// # Errors
/// If the sheet cannot be computed, or leaves no such question or way open.
pub fn telling_ways(text: &str, question: &str, way: usize) -> Result<Option<Telling>, String> {
    let plant = plant(text)?;
    let m = &plant.machine;
    let mode = m
        .unsure()
        .find(|(part, _)| m.parts[part.0].id == question)
        .and_then(|(_, ways)| ways.get(way)?.mode)
        .ok_or_else(|| format!("the sheet leaves no question {question} open that has a way {}", way + 1))?;
    let sound = m.sound();
    let mut otherwise = sound.clone();
    m.apply(mode, &mut otherwise);
    Ok(apart_by((&plant, &sound), (&plant, &otherwise)))
}

/// The cheapest test that tells two sound machines apart.
fn apart_by((a, sound_a): (&Plant, &[f64]), (b, sound_b): (&Plant, &[f64])) -> Option<Telling> {
    let visit = Visit::default();
    let (oa, ob) = (a.operate(sound_a, &visit), b.operate(sound_b, &visit));
    let mut best: Option<Telling> = None;
    for t in &a.machine.tests {
        if matches!(t.measure, Measure::Complaint | Measure::ShownCode) {
            continue;
        }
        let Some(u) = b.machine.tests.iter().find(|u| u.id == t.id && u.answer == t.answer) else { continue };
        let reads = (a.predict(sound_a, &oa, t), b.predict(sound_b, &ob, u));
        if apart(&reads.0, &reads.1) < 0.9 {
            continue;
        }
        let minutes = t.minutes + a.machine.way_to(t.place).iter().map(|p| a.machine.places[p.0].minutes).sum::<f64>();
        if best.as_ref().is_none_or(|x| minutes < x.minutes) {
            best = Some(Telling { test: t.id.clone(), title: t.title.clone(), minutes, reads });
        }
    }
    best
}

fn plant(text: &str) -> Result<Plant, String> {
    let machine = Machine::build(text).map_err(|e| e.to_string())?;
    Plant::new(machine).map_err(|e| e.to_string())
}

fn toml_text(sheet: &Sheet) -> Result<String, String> {
    sheet.to_text().map_err(|e| e.to_string())
}

/// Whether a test measures this part alone.
fn measures(t: &Test, part: PartIx) -> bool {
    matches!(
        t.measure,
        Measure::PartOhms(p, ..) | Measure::PlugOhms(p, ..) | Measure::PartFarads(p, ..) | Measure::LeadAmps(p, _)
            if p == part
    )
}

/// How far two predictions are apart, 0 the same to 1 never to be mistaken (one less the Bhattacharyya coefficient).
fn apart(a: &Prediction, b: &Prediction) -> f64 {
    match (a, b) {
        (Prediction::Words(x), Prediction::Words(y)) => {
            1.0 - x.iter().zip(y).map(|(p, q)| libm::sqrt(p * q)).sum::<f64>()
        }
        (
            Prediction::Number { centre: c1, noise: n1, common: m1, over: o1 },
            Prediction::Number { centre: c2, noise: n2, common: m2, over: o2 },
        ) => {
            let (v1, v2) = (n1 * n1 + m1 * m1, n2 * n2 + m2 * m2);
            let v = (v1 + v2).max(1e-12);
            let d = c1 - c2;
            let shape = libm::sqrt(2.0 * libm::sqrt(v1 * v2) / v) * libm::exp(-d * d / (4.0 * v));
            let values = libm::sqrt((1.0 - o1) * (1.0 - o2)) * shape;
            1.0 - values - libm::sqrt(o1 * o2)
        }
        _ => 1.0,
    }
}
