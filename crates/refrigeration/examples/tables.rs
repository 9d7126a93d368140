//! Tables of the model for the README.

use halfsplit_refrigeration::compressor::CompressorClass;
use halfsplit_refrigeration::solve::operating_point;
use halfsplit_refrigeration::*;
use halfsplit_fluids::refrigerant::Refrigerant;

fn main() {
    let plate = Nameplate {
        duty: Duty::HeatsTank, refrigerant: Refrigerant::R134a, capacity: 1450.0, charge: Some(0.8),
        compressor: CompressorClass::Rotary, metering: MeteringKind::Electronic, superheat: 6.0, subcooling: 5.0, rated_opening: 0.5, rating: None,
    };
    let m = design(&plate).unwrap();
    println!("{:?} {:?} {:?} {:?}", m.volumes, m.evaporator, m.condenser, m.compressor);
    for water in [15.0, 20.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0] {
        let p = operating_point(&m, &Surroundings { air: 293.15, humidity: 0.5, sink: 273.15 + water, air_flow: 1.0, speed: 1.0, metering: Metering::Holds { superheat: 6.0, least: 0.02, most: 1.0 } }, &LoopFaults::default());
        println!("{water} ET {:.2} CT {:.2} DT {:.1} W {:.0} heat {:.0} COP {:.2} COPfan {:.2} SC {:.1} open {:.2} {}", p.evaporating - 273.15, p.condensing - 273.15, p.discharge + 3.0 - 273.15, p.compressor_power, p.heat, p.heat / p.compressor_power, p.heat / (p.compressor_power + 35.0), p.subcooling, p.opening, p.converged);
    }
}
