//! Time per operating point: `cargo bench -p halfsplit-refrigeration`.

#![allow(missing_docs, reason = "criterion's macro makes a public function without a comment")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use halfsplit_fluids::refrigerant::Refrigerant;
use halfsplit_refrigeration::compressor::CompressorClass;
use halfsplit_refrigeration::operating_point;
use halfsplit_refrigeration::{Duty, LoopFaults, Metering, MeteringKind, Nameplate, Surroundings, design};

fn points(c: &mut Criterion) {
    for (name, duty, refrigerant, metering, capacity) in [
        ("R134a tank, electronic", Duty::HeatsTank, Refrigerant::R134a, MeteringKind::Electronic, 1450.0),
        ("R410A cooling, thermostatic", Duty::CoolsAir, Refrigerant::R410A, MeteringKind::Thermostatic, 10_500.0),
        ("R410A cooling, tube", Duty::CoolsAir, Refrigerant::R410A, MeteringKind::Tube, 10_500.0),
    ] {
        let plate = Nameplate {
            duty,
            refrigerant,
            capacity,
            charge: None,
            compressor: CompressorClass::Rotary,
            metering,
            superheat: 6.0,
            subcooling: 5.0,
            rated_opening: 0.5,
            rating: None,
        };
        let machine = design(&plate).expect("a plausible nameplate");
        let rating = duty.rating();
        let around = Surroundings {
            air: rating.air - 3.0,
            humidity: rating.humidity,
            sink: rating.sink - 5.0,
            air_flow: 0.9,
            speed: 1.0,
            metering: Metering::Holds { superheat: 6.0, least: 0.02, most: 1.0 },
        };
        c.bench_function(&format!("{name}, design"), |b| b.iter(|| design(black_box(&plate))));
        for (fault, faults) in [
            ("sound", LoopFaults::default()),
            ("half the charge", LoopFaults { charge: 0.5, ..LoopFaults::default() }),
            ("restriction 0.6", LoopFaults { restriction: 0.6, ..LoopFaults::default() }),
            ("pumping 0.5", LoopFaults { pumping: 0.5, ..LoopFaults::default() }),
        ] {
            c.bench_function(&format!("{name}, {fault}"), |b| {
                b.iter(|| operating_point(black_box(&machine), black_box(&around), black_box(&faults)));
            });
        }
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20).warm_up_time(std::time::Duration::from_millis(200)).measurement_time(std::time::Duration::from_millis(500));
    targets = points
}
criterion_main!(benches);
