//! From a sheet to the first recommendation, and from a reading to the next one, on one core.

#![allow(missing_docs, reason = "criterion's macros make undocumented items")]

use std::hint::black_box;
use std::rc::Rc;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use halfsplit_diagnosis::{Case, Judgement, Observed, Opening};
use halfsplit_machine::test::Tool;
use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::Plant;

const SHEET: &str = include_str!("../../../machines/garage-water-heater.toml");

fn opened() -> Case {
    let machine = Machine::build(SHEET).unwrap_or_else(|e| panic!("{e}"));
    let plant = Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")));
    let opening =
        Opening { conditions: Conditions::default(), tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
    Case::open(plant, opening)
}

fn read(case: &mut Case, id: &str, observed: Observed) {
    let test = case.test(id).unwrap_or_else(|e| panic!("{e}"));
    case.read(test, observed).unwrap_or_else(|e| panic!("{e}"));
}

/// The customer says that a message shows; it is "compressor does not run".
fn with_complaint() -> Case {
    let mut case = opened();
    read(&mut case, "display message", Observed::Category(0));
    read(&mut case, "complaint", Observed::Category(5));
    case
}

fn benches(c: &mut Criterion) {
    let mut group = c.benchmark_group("visit");
    group.sample_size(10);
    group.bench_function("sheet to first recommendation, nothing said", |b| {
        b.iter(|| black_box(opened().advice()));
    });
    group.bench_function("sheet to first recommendation, complaint and message", |b| {
        b.iter(|| black_box(with_complaint().advice()));
    });
    group.bench_function("reading to recommendation, the compressor hums", |b| {
        b.iter_batched_ref(
            || {
                let mut case = with_complaint();
                black_box(case.advice());
                case
            },
            |case| {
                read(case, "watch COMP while heat-pump", Observed::Category(1));
                black_box(case.advice())
            },
            BatchSize::PerIteration,
        );
    });
    group.bench_function("reading to recommendation, filter clean", |b| {
        b.iter_batched_ref(
            || {
                let mut case = with_complaint();
                read(&mut case, "watch COMP while heat-pump", Observed::Category(1));
                black_box(case.advice());
                case
            },
            |case| {
                read(case, "look FILTER blockage", Observed::Category(0));
                black_box(case.advice())
            },
            BatchSize::PerIteration,
        );
    });
    group.finish();
}

criterion_group!(visit, benches);
criterion_main!(visit);
