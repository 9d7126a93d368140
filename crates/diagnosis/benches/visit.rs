//! From a sheet to the first recommendation, and from a reading to the next one, on one core.

#![allow(missing_docs, reason = "criterion's macros make undocumented items")]

use std::hint::black_box;
use std::rc::Rc;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use halfsplit_diagnosis::{Case, Do, Errand, Judgement, Observed, Opening};
use halfsplit_machine::test::{Answer, Tool};
use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::Plant;

/// As the program itself allocates.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The machine with the most ways to go wrong, and one with the 60 to 80 of a smaller machine.
const SHEETS: [(&str, &str); 2] = [
    ("water heater", include_str!("../../../machines/garage-water-heater.toml")),
    ("dehumidifier", include_str!("../../../machines/basement-dehumidifier.toml")),
];

fn opened(sheet: &str) -> Case {
    let machine = Machine::build(sheet).unwrap_or_else(|e| panic!("{e}"));
    let plant = Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")));
    let opening = Opening {
        errand: Errand::Call,
        conditions: Conditions::default(),
        tools: Tool::ALL.to_vec(),
        judgement: Judgement::default(),
    };
    Case::open(plant, opening)
}

/// The customer has said what is wrong; where the board stores something, its message shows.
fn with_complaint(sheet: &str) -> Case {
    let mut case = opened(sheet);
    for (id, word) in [("display message", 0), ("complaint", usize::from(sheet == SHEETS[0].1) * 4 + 1)] {
        let test = case.test(id).unwrap_or_else(|e| panic!("{e}"));
        case.read(test, Observed::Category(word)).unwrap_or_else(|e| panic!("{e}"));
    }
    case
}

/// Takes the advised test with its first word (or out of range), as often as this; then what it would read next is known.
fn some_readings(case: &mut Case, how_many: usize) -> Option<(usize, Observed)> {
    for left in (0..=how_many).rev() {
        let Do::Test(advised) = case.advice().next else { return None };
        let words = matches!(case.tests()[advised.test].answer, Answer::Words(_));
        let observed = if words { Observed::Category(0) } else { Observed::Over };
        if left == 0 {
            return Some((advised.test, observed));
        }
        case.read(advised.test, observed).unwrap_or_else(|e| panic!("{e}"));
    }
    None
}

fn benches(c: &mut Criterion) {
    let mut group = c.benchmark_group("visit");
    group.sample_size(10);
    for (name, sheet) in SHEETS {
        let machine = Machine::build(sheet).unwrap_or_else(|e| panic!("{e}"));
        println!("{name}: {} modes, {} tests", machine.modes.len(), machine.tests.len());
        group.bench_function(format!("{name}: sheet to first recommendation, nothing said"), |b| {
            b.iter(|| black_box(opened(sheet).advice()));
        });
        group.bench_function(format!("{name}: sheet to first recommendation, complaint and message"), |b| {
            b.iter(|| black_box(with_complaint(sheet).advice()));
        });
        // Whoever takes a reading is busy for a minute: what the reading needs is worked out meanwhile (`think_ahead`).
        for already in [0, 2, 4] {
            group.bench_function(format!("{name}: reading {} to recommendation", already + 1), |b| {
                b.iter_batched_ref(
                    || {
                        let mut case = with_complaint(sheet);
                        let next = some_readings(&mut case, already);
                        if let Some((test, _)) = next {
                            case.think_ahead(test);
                        }
                        (case, next)
                    },
                    |(case, next)| {
                        if let Some((test, observed)) = *next {
                            case.read(test, observed).unwrap_or_else(|e| panic!("{e}"));
                        }
                        black_box(case.advice())
                    },
                    BatchSize::PerIteration,
                );
            });
        }
    }
    group.finish();
}

criterion_group!(visit, benches);
criterion_main!(visit);
