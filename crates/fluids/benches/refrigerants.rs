//! Time per property call: `cargo bench -p halfsplit-fluids --bench refrigerants`.

#![allow(missing_docs, reason = "criterion's macros make undocumented items")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use halfsplit_fluids::refrigerant::Refrigerant;

fn calls(c: &mut Criterion) {
    for r in [Refrigerant::R134a, Refrigerant::R410A, Refrigerant::R32, Refrigerant::R290, Refrigerant::R454B] {
        let dew = r.dew_pressure(273.15).expect("0 degC is tabulated");
        let high = r.bubble_pressure(313.15).expect("40 degC is tabulated");
        let gas = r.state_pt(dew, 283.15).expect("10 K superheat");
        c.bench_function(&format!("{r} dew temperature"), |b| {
            b.iter(|| black_box(r).dew_temperature(black_box(dew)));
        });
        c.bench_function(&format!("{r} both ends of saturation"), |b| {
            b.iter(|| black_box(r).saturation(black_box(dew)));
        });
        c.bench_function(&format!("{r} vapour p,T"), |b| {
            b.iter(|| black_box(r).state_pt(black_box(dew), black_box(283.15)));
        });
        c.bench_function(&format!("{r} liquid p,T"), |b| {
            b.iter(|| black_box(r).state_pt(black_box(high), black_box(308.15)));
        });
        c.bench_function(&format!("{r} vapour p,h"), |b| {
            b.iter(|| black_box(r).state_ph(black_box(dew), black_box(gas.h)));
        });
        c.bench_function(&format!("{r} compression p,s"), |b| {
            b.iter(|| black_box(r).state_ps(black_box(high), black_box(gas.s)));
        });
    }
    let r = Refrigerant::R744;
    c.bench_function("R744 gas cooler p,T (90 bar, 37 degC)", |b| {
        b.iter(|| black_box(r).state_pt(black_box(9e6), black_box(310.0)));
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(30).warm_up_time(std::time::Duration::from_millis(200)).measurement_time(std::time::Duration::from_millis(500));
    targets = calls
}
criterion_main!(benches);
