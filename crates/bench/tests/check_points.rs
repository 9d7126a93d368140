//! Walks every point of `check_points.toml`, through the same door that a technician uses: named inputs as text.

use std::collections::BTreeMap;

use halfsplit_bench::{Inputs, Kind, figure_named, find, work_out};
use halfsplit_units::{Unit, UnitLookup};
use serde::Deserialize;

#[derive(Deserialize)]
struct Points {
    point: Vec<Point>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Point {
    id: String,
    value: Option<String>,
    figure: Option<OneOrMore<String>>,
    #[serde(default)]
    given: BTreeMap<String, String>,
    result: Option<OneOrMore<String>>,
    expected: Expected,
    unit: Option<OneOrMore<String>>,
    relative: Option<f64>,
    absolute: Option<f64>,
    source: String,
    #[serde(default)]
    from_memory: bool,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum OneOrMore<T> {
    One(T),
    More(Vec<T>),
}

impl<T> OneOrMore<T> {
    fn all(&self) -> &[T] {
        match self {
            Self::One(one) => std::slice::from_ref(one),
            Self::More(more) => more,
        }
    }
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Expected {
    Numbers(OneOrMore<f64>),
    Word(String),
}

fn points() -> Vec<Point> {
    let points: Points = toml::from_str(include_str!("check_points.toml")).expect("check_points.toml reads");
    points.point
}

/// What a result is in a unit of its dimension.
fn in_unit(value: &str, result: &str, si: f64, unit: &str) -> Result<f64, String> {
    let output = find(value)
        .map_err(|error| error.to_string())?
        .outputs
        .iter()
        .find(|output| output.name == result)
        .ok_or_else(|| format!("{value} has no result {result}"))?;
    match output.kind {
        Kind::Quantity(dimension) => match Unit::lookup(unit, Some(dimension)) {
            UnitLookup::Found(unit) => Ok(unit.from_si(si)),
            other => Err(format!("{unit} is no unit of {dimension}: {other:?}")),
        },
        _ if output.unit == unit => Ok(si),
        _ => Err(format!("{value} gives {result} in {}, not in {unit}", output.unit)),
    }
}

fn check_value(point: &Point, value: &str) -> Result<(), String> {
    let inputs: Inputs = point.given.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let worked = work_out(value, &inputs).map_err(|error| error.to_string())?;
    let results = point.result.as_ref().ok_or("no result is named")?.all();
    let numbers = match &point.expected {
        Expected::Word(word) => {
            let found = worked.word(&results[0]).ok_or("no such word")?;
            return if found == word { Ok(()) } else { Err(format!("{found} instead of {word}")) };
        }
        Expected::Numbers(numbers) => numbers.all(),
    };
    if numbers.len() != results.len() {
        return Err("as many results as expected figures are needed".to_owned());
    }
    let unit = &point.unit.as_ref().ok_or("no unit is named")?.all()[0];
    for (result, expected) in results.iter().zip(numbers) {
        let found = in_unit(value, result, worked.number(result).ok_or("no such number")?.si, unit)?;
        let tolerance = match (point.relative, point.absolute) {
            (Some(relative), None) => relative * expected.abs(),
            (None, Some(absolute)) => absolute,
            _ => return Err("exactly one of relative and absolute is needed".to_owned()),
        };
        if (found - expected).abs() > tolerance || found.is_nan() {
            return Err(format!("{result} is {found} {unit}, expected {expected} ± {tolerance}"));
        }
    }
    Ok(())
}

fn check_figure(point: &Point, ids: &[String]) -> Result<(), String> {
    let Expected::Numbers(expected) = &point.expected else {
        return Err("a number is expected".to_owned());
    };
    let units = point.unit.as_ref().ok_or("no unit is named")?.all();
    let mut found = Vec::new();
    for (index, id) in ids.iter().enumerate() {
        let figure = figure_named(id).ok_or_else(|| format!("there is no figure {id}"))?;
        let unit = units.get(index).unwrap_or(&units[0]);
        if figure.unit != unit {
            return Err(format!("{id} is in {}, not in {unit}", figure.unit));
        }
        found.push(figure.value);
        found.extend(figure.to.filter(|_| expected.all().len() > ids.len()));
    }
    if found == expected.all() { Ok(()) } else { Err(format!("{found:?} instead of {:?}", expected.all())) }
}

#[test]
fn every_point_is_met() {
    let mut failures = Vec::new();
    for point in points() {
        let outcome = match (&point.value, &point.figure) {
            (Some(value), None) => check_value(&point, value),
            (None, Some(figures)) => check_figure(&point, figures.all()),
            _ => Err("exactly one of value and figure is needed".to_owned()),
        };
        if let Err(reason) = outcome {
            failures.push(format!("{}: {reason}\n    source: {} {}", point.id, point.source, point.note));
        }
    }
    assert!(failures.is_empty(), "{} points failed:\n{}", failures.len(), failures.join("\n"));
}

/// A point that is there twice, or has no source, would make the count mean less than it says.
#[test]
fn every_point_is_named_once_and_has_a_source() {
    let points = points();
    let mut ids: Vec<&str> = points.iter().map(|point| point.id.as_str()).collect();
    ids.sort_unstable();
    let count = ids.len();
    ids.dedup();
    assert_eq!(ids.len(), count, "a point is there twice");
    assert!(points.iter().all(|point| !point.source.trim().is_empty()));
    let recalled = points.iter().filter(|point| point.from_memory).count();
    let readme = include_str!("../README.md");
    let states = |text: String| assert!(readme.contains(&text), "README.md does not state \"{text}\"");
    states(format!("{count} points"));
    states(format!("{recalled} of them from memory"));
    let mut by_subject: BTreeMap<&str, usize> = BTreeMap::new();
    for id in ids {
        *by_subject.entry(id.split('.').next().unwrap_or(id)).or_default() += 1;
    }
    for (subject, used) in by_subject {
        let row = readme.lines().find(|line| line.starts_with(&format!("| `{subject}` |")));
        assert!(
            row.is_some_and(|row| row.contains(&format!("| {used} of "))),
            "README.md: row of {subject}, {used} used"
        );
    }
}
