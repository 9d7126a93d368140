//! From a sheet to the first recommendation, and from a reading to the next one, on one core.

#![allow(missing_docs, reason = "criterion's macros make undocumented items")]

use std::hint::black_box;
use std::rc::Rc;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use halfsplit_diagnosis::{Case, Do, Errand, Judgement, Observed, Opening};
use halfsplit_machine::test::{Test, Tool};
use halfsplit_machine::{Conditions, Machine, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};

/// As the program itself allocates.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The machine with the most ways to go wrong, and a smaller one; with a fault that takes more than five readings to find.
const SHEETS: [(&str, &str, &str); 2] = [
    ("water heater", include_str!("../../../machines/garage-water-heater.toml"), "EEV:stuck"),
    ("dehumidifier", include_str!("../../../machines/basement-dehumidifier.toml"), "CHARGE:low"),
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

/// What a machine with this fault, as the library has it, shows: the likeliest word, or the number that is expected.
fn shows(plant: &Plant, fault: &str, test: &Test) -> Observed {
    let m = &plant.machine;
    let mode = m.modes.iter().position(|x| x.name_id == fault).unwrap_or_else(|| panic!("no fault {fault}"));
    let mut params = m.sound();
    m.apply(ModeIx(mode), &mut params);
    let operation = plant.operate(&params, &Visit { conditions: Conditions::default(), reset: false });
    match plant.predict(&params, &operation, test) {
        Prediction::Words(p) => {
            let likelier = |best: usize, i: usize| if p[i] > p[best] { i } else { best };
            Observed::Category((0..p.len()).fold(0, likelier))
        }
        Prediction::Number { over, .. } if over > 0.5 => Observed::Over,
        Prediction::Number { centre, .. } => Observed::Value(centre),
    }
}

/// The customer has said what is wrong; where the board stores something, its message shows.
fn with_complaint(sheet: &str, fault: &str) -> Case {
    let mut case = opened(sheet);
    for id in ["display message", "complaint"] {
        let test = case.test(id).unwrap_or_else(|e| panic!("{e}"));
        read(&mut case, fault, test);
    }
    case
}

fn read(case: &mut Case, fault: &str, test: usize) {
    let plant = Rc::clone(case.plant());
    let observed = shows(&plant, fault, &plant.machine.tests[test]);
    case.read(test, observed).unwrap_or_else(|e| panic!("{e}"));
}

/// Takes the advised test as often as this; then what it would read next is known.
fn some_readings(case: &mut Case, fault: &str, how_many: usize) -> usize {
    for left in (0..=how_many).rev() {
        let Do::Test(advised) = case.advice().next else { panic!("done after {} readings", how_many - left) };
        if left == 0 {
            return advised.test;
        }
        read(case, fault, advised.test);
    }
    unreachable!("the last of them returns")
}

fn benches(c: &mut Criterion) {
    let mut group = c.benchmark_group("visit");
    group.sample_size(10);
    for (name, sheet, fault) in SHEETS {
        let machine = Machine::build(sheet).unwrap_or_else(|e| panic!("{e}"));
        println!("{name}: {} modes, {} tests", machine.modes.len(), machine.tests.len());
        group.bench_function(format!("{name}: sheet to first recommendation, nothing said"), |b| {
            b.iter(|| black_box(opened(sheet).advice()));
        });
        group.bench_function(format!("{name}: sheet to first recommendation, complaint and message"), |b| {
            b.iter(|| black_box(with_complaint(sheet, fault).advice()));
        });
        // Whoever takes a reading is busy for a minute: what the reading needs is worked out meanwhile (`think_ahead`).
        for already in [0, 2, 4] {
            group.bench_function(format!("{name}: reading {} to recommendation", already + 1), |b| {
                b.iter_batched_ref(
                    || {
                        let mut case = with_complaint(sheet, fault);
                        let test = some_readings(&mut case, fault, already);
                        case.think_ahead(test);
                        let observed = shows(case.plant(), fault, &case.tests()[test]);
                        (case, test, observed)
                    },
                    |(case, test, observed)| {
                        case.read(*test, *observed).unwrap_or_else(|e| panic!("{e}"));
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
