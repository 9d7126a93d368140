//! Tables of the model for the README: `cargo run -p halfsplit-refrigeration --example tables`.

use halfsplit_fluids::refrigerant::Refrigerant;
use halfsplit_refrigeration::compressor::CompressorClass;
use halfsplit_refrigeration::solve::operating_point;
use halfsplit_refrigeration::*;

fn plate(duty: Duty, refrigerant: Refrigerant, capacity: f64, charge: f64, metering: MeteringKind) -> Nameplate {
    Nameplate {
        duty,
        refrigerant,
        capacity,
        charge: Some(charge),
        compressor: if duty == Duty::HeatsTank { CompressorClass::Rotary } else { CompressorClass::Scroll },
        metering,
        superheat: 6.0,
        subcooling: 5.0,
        rated_opening: if metering == MeteringKind::Electronic { 0.5 } else { 0.8 },
        rating: None,
    }
}

fn around(duty: Duty) -> Surroundings {
    let r = duty.rating();
    Surroundings {
        air: r.air,
        humidity: r.humidity,
        sink: r.sink,
        air_flow: 1.0,
        speed: 1.0,
        metering: Metering::Holds { superheat: 6.0, least: 0.05, most: 1.0 },
    }
}

fn main() {
    let none = LoopFaults::default();
    let machines = [
        ("tube R22", plate(Duty::CoolsAir, Refrigerant::R22, 10500.0, 3.2, MeteringKind::Tube)),
        ("tube R410A", plate(Duty::CoolsAir, Refrigerant::R410A, 10500.0, 3.2, MeteringKind::Tube)),
        ("TXV R410A cooling", plate(Duty::CoolsAir, Refrigerant::R410A, 10500.0, 3.2, MeteringKind::Thermostatic)),
        ("TXV R410A heating", plate(Duty::HeatsAir, Refrigerant::R410A, 10500.0, 3.2, MeteringKind::Thermostatic)),
        ("EEV R134a tank", plate(Duty::HeatsTank, Refrigerant::R134a, 1450.0, 0.8, MeteringKind::Electronic)),
        ("EEV R290 tank", plate(Duty::HeatsTank, Refrigerant::R290, 1450.0, 0.3, MeteringKind::Electronic)),
    ];
    for (name, plate) in machines {
        let m = design(&plate).unwrap();
        let s = around(plate.duty);
        let base = operating_point(&m, &s, &none);
        let fan = if plate.duty == Duty::HeatsTank { 35.0 } else { 0.0 };
        println!(
            "\n{name}: {} L",
            1e3 * (m.volumes.condenser + m.volumes.evaporator + m.volumes.liquid + m.volumes.suction)
        );
        println!(
            "{:26} {:>6} {:>6} {:>6} {:>6} {:>6} {:>6} {:>6} {:>6} {:>6} {:>6} {:>6}",
            "fault", "cap", "power", "COP", "dET", "dCT", "dSH", "dSC", "dDT", "dTair", "dTsink", "open"
        );
        let f = |charge: f64| LoopFaults { charge, ..none };
        let row = |name: &str, s: &Surroundings, f: &LoopFaults| {
            let p = operating_point(&m, s, f);
            let cooling = plate.duty == Duty::CoolsAir;
            let cap = if cooling { p.cooling / base.cooling } else { p.heat / base.heat };
            let power = (p.compressor_power + fan) / (base.compressor_power + fan);
            let seen = m.working.at_pressure(p.discharge_pressure);
            let was = m.working.at_pressure(base.discharge_pressure);
            println!(
                "{name:26} {cap:6.3} {power:6.3} {:6.3} {:6.2} {:6.2} {:6.2} {:6.2} {:6.2} {:6.2} {:6.2} {:6.2} {}",
                cap / power,
                p.evaporating - base.evaporating,
                seen.dew.t - was.dew.t,
                p.superheat - base.superheat,
                (seen.bubble.t - p.liquid) - (was.bubble.t - base.liquid),
                p.discharge - base.discharge,
                (s.air - p.leaving_air) - (s.air - base.leaving_air),
                p.heat / f.sink_flow - base.heat,
                p.opening,
                if p.converged { "" } else { "NOT CONVERGED" }
            );
        };
        println!(
            "{:26} ET {:.1} CT {:.1} DT {:.1} W {:.0} cooling {:.0} COP {:.2}",
            "healthy",
            base.evaporating - 273.15,
            base.condensing - 273.15,
            base.discharge - 273.15,
            base.compressor_power,
            base.cooling,
            base.cooling / base.compressor_power
        );
        for c in [0.9, 0.86, 0.8, 0.7, 0.6, 0.5, 0.15, 1.1, 1.3] {
            row(&format!("charge {c}"), &s, &f(c));
        }
        for r in [0.05, 0.13, 0.2, 0.4, 0.6] {
            row(&format!("restriction {r}"), &s, &LoopFaults { restriction: r, ..none });
        }
        for pumping in [0.8, 0.65] {
            row(&format!("pumping {pumping}"), &s, &LoopFaults { pumping, ..none });
        }
        for reversing_leak in [0.05, 0.1, 0.2] {
            row(&format!("reversing leak {reversing_leak}"), &s, &LoopFaults { reversing_leak, ..none });
        }
        for air_in_circuit in [0.03, 0.06, 0.1] {
            row(&format!("air {air_in_circuit}"), &s, &LoopFaults { air_in_circuit, ..none });
        }
        for sink_flow in [0.7, 0.5, 0.44] {
            row(&format!("sink flow {sink_flow}"), &s, &LoopFaults { sink_flow, ..none });
        }
        row("condenser fouling 0.3", &s, &LoopFaults { condenser_fouling: 0.3, ..none });
        for flow in [0.7, 0.64] {
            row(&format!("air flow {flow}"), &Surroundings { air_flow: flow, ..s }, &none);
        }
        row("evaporator fouling 0.3", &s, &LoopFaults { evaporator_fouling: 0.3, ..none });
        for o in [0.1, 0.3, 1.0] {
            row(&format!("stuck at {o}"), &Surroundings { metering: Metering::Fixed(o), ..s }, &none);
        }
    }
    let mut by_fault = [0; 13];
    let mut failed = 0;
    let mut all = 0;
    for (name, plate) in machines {
        let m = design(&plate).unwrap();
        let (airs, sinks) = match plate.duty {
            Duty::CoolsAir => ([16.0, 22.0, 27.0, 35.0], [15.0, 25.0, 35.0, 46.0]),
            Duty::HeatsAir => ([-15.0, -5.0, 8.0, 20.0], [10.0, 16.0, 21.0, 27.0]),
            _ => ([-10.0, 5.0, 20.0, 40.0], [5.0, 30.0, 50.0, 65.0]),
        };
        for air in airs {
            for sink in sinks {
                for flow in [0.0, 0.3, 1.0] {
                    for metering in [
                        Metering::Holds { superheat: 6.0, least: 0.02, most: 1.0 },
                        Metering::Fixed(1.0),
                        Metering::Fixed(0.12),
                        Metering::Fixed(0.02),
                    ] {
                        for (k, f) in [
                            none,
                            LoopFaults { charge: 0.15, ..none },
                            LoopFaults { charge: 0.4, ..none },
                            LoopFaults { charge: 0.7, ..none },
                            LoopFaults { charge: 1.3, ..none },
                            LoopFaults { restriction: 0.95, ..none },
                            LoopFaults { restriction: 0.5, ..none },
                            LoopFaults { pumping: 0.2, ..none },
                            LoopFaults { pumping: 0.6, ..none },
                            LoopFaults { reversing_leak: 0.3, ..none },
                            LoopFaults { air_in_circuit: 0.2, ..none },
                            LoopFaults { sink_flow: 0.3, ..none },
                            LoopFaults { evaporator_fouling: 0.9, condenser_fouling: 0.9, air_in_circuit: 0.3, ..none },
                        ]
                        .iter()
                        .enumerate()
                        {
                            let s = Surroundings {
                                air: 273.15 + air,
                                humidity: 0.5,
                                sink: 273.15 + sink,
                                air_flow: flow,
                                speed: 1.0,
                                metering,
                            };
                            let p = operating_point(&m, &s, f);
                            all += 1;
                            if !p.converged {
                                failed += 1;
                                by_fault[k] += 1;
                                if k < 12 && failed % 13 == 1 {
                                    println!(
                                        "{name} air {air} sink {sink} flow {flow} {metering:?} fault {k} ET {:.1} CT {:.1} SH {:.1} SC {:.1} flow {:.5}",
                                        p.evaporating - 273.15,
                                        p.condensing - 273.15,
                                        p.superheat,
                                        p.subcooling,
                                        p.flow
                                    );
                                }
                            }
                        }
                    }
                }
            }
        }
    }
    println!("{by_fault:?}: {failed} of {all} not converged");
}
