//! Invented machines that exist only for the checks.
#![allow(dead_code, reason = "each test binary uses some of them")]

use halfsplit_fluids::refrigerant::Refrigerant;
use halfsplit_refrigeration::compressor::CompressorClass;
use halfsplit_refrigeration::operating_point;
use halfsplit_refrigeration::{
    Duty, LoopFaults, LoopPoint, Machine, Metering, MeteringKind, Nameplate, Rating, Surroundings, design,
};

pub fn plate(duty: Duty, refrigerant: Refrigerant, metering: MeteringKind) -> Nameplate {
    let tank = duty == Duty::HeatsTank;
    Nameplate {
        duty,
        refrigerant,
        capacity: if tank { 1450.0 } else { 10_500.0 },
        charge: Some(match refrigerant {
            Refrigerant::R134a => 0.8,
            Refrigerant::R290 => 0.3,
            _ => 3.2,
        }),
        compressor: if tank { CompressorClass::Rotary } else { CompressorClass::Scroll },
        metering,
        superheat: 6.0,
        subcooling: 5.0,
        rated_opening: if tank {
            0.5
        } else if duty == Duty::HeatsAir {
            0.93
        } else {
            0.85
        },
        rating: None,
    }
}

pub struct Bench {
    pub name: &'static str,
    pub machine: Machine,
    pub around: Surroundings,
    pub duty: Duty,
    /// Power of the outdoor fan, W. Common practice, no source: some 20 W for each kilowatt of capacity.
    pub fan: f64,
}

fn bench(name: &'static str, duty: Duty, refrigerant: Refrigerant, metering: MeteringKind) -> Bench {
    let rating = duty.rating();
    Bench {
        name,
        machine: design(&plate(duty, refrigerant, metering)).unwrap(),
        around: Surroundings {
            air: rating.air,
            humidity: rating.humidity,
            sink: rating.sink,
            air_flow: 1.0,
            speed: 1.0,
            metering: Metering::Holds { superheat: 6.0, least: 0.02, most: 1.0 },
        },
        duty,
        fan: if duty == Duty::HeatsTank { 0.0 } else { 210.0 },
    }
}

pub fn fixed_orifice() -> Bench {
    bench("tube, R410A, cooling", Duty::CoolsAir, Refrigerant::R410A, MeteringKind::Tube)
}

pub fn fixed_orifice_r22() -> Bench {
    bench("tube, R22, cooling", Duty::CoolsAir, Refrigerant::R22, MeteringKind::Tube)
}

/// After the machine of Breuker and Braun 1998, from memory: R22, a piston compressor, a fixed orifice.
pub fn fixed_orifice_piston() -> Bench {
    let plate = Nameplate {
        compressor: CompressorClass::Reciprocating,
        ..plate(Duty::CoolsAir, Refrigerant::R22, MeteringKind::Tube)
    };
    Bench { name: "tube, R22, piston, cooling", machine: design(&plate).unwrap(), ..fixed_orifice_r22() }
}

pub fn thermostatic() -> Bench {
    bench("thermostatic valve, R410A, cooling", Duty::CoolsAir, Refrigerant::R410A, MeteringKind::Thermostatic)
}

pub fn thermostatic_heating() -> Bench {
    bench("thermostatic valve, R410A, heating", Duty::HeatsAir, Refrigerant::R410A, MeteringKind::Thermostatic)
}

/// The same with a generous coil inside, which condenses 4 K nearer to the room with a sixth more air, a valve that stands a little
/// wider, and twenty metres of liquid line instead of eight, filled up for it: 0.05 L a metre in a line of 3/8 in. Chosen among
/// plausible sizes because it agrees with what was published; see the README.
pub fn thermostatic_heating_generous() -> Bench {
    let usual = thermostatic_heating();
    let condensing = 36.0 + 273.15;
    let plate = Nameplate {
        rated_opening: 0.95,
        rating: Some(Rating { condensing, sink_rise: 12.0, ..Duty::HeatsAir.rating() }),
        ..plate(Duty::HeatsAir, Refrigerant::R410A, MeteringKind::Thermostatic)
    };
    let mut machine = design(&plate).unwrap();
    let longer = 12.0 * 0.05e-3;
    machine.volumes.liquid += longer;
    machine.charge += longer * machine.working.liquid(condensing - plate.subcooling).rho;
    Bench { name: "thermostatic valve, R410A, heating, generous coil", machine, ..usual }
}

pub fn water_heater() -> Bench {
    bench("electronic valve, R134a, tank", Duty::HeatsTank, Refrigerant::R134a, MeteringKind::Electronic)
}

pub fn water_heater_r290() -> Bench {
    bench("electronic valve, R290, tank", Duty::HeatsTank, Refrigerant::R290, MeteringKind::Electronic)
}

pub const SOUND: LoopFaults = LoopFaults {
    charge: 1.0,
    air_in_circuit: 0.0,
    restriction: 0.0,
    pumping: 1.0,
    evaporator_fouling: 0.0,
    condenser_fouling: 0.0,
    sink_flow: 1.0,
    reversing_leak: 0.0,
};

/// Differences from the healthy machine, with the high side as gauges see it.
#[derive(Debug, Clone, Copy)]
pub struct Residual {
    pub evaporating: f64,
    pub condensing: f64,
    pub superheat: f64,
    pub subcooling: f64,
    pub discharge: f64,
    pub sink_rise: f64,
    pub air_fall: f64,
    /// Ratios.
    pub power: f64,
    /// Of compressor and outdoor fan together.
    pub unit_power: f64,
    pub capacity: f64,
}

impl Bench {
    pub fn at(&self, around: &Surroundings, faults: &LoopFaults) -> LoopPoint {
        let p = operating_point(&self.machine, around, faults);
        assert!(p.converged, "{}: {around:?} {faults:?}", self.name);
        p
    }

    pub fn healthy(&self) -> LoopPoint {
        self.at(&self.around, &SOUND)
    }

    /// Useful heat: taken from the room when cooling, else given to the sink.
    pub fn useful(&self, p: &LoopPoint) -> f64 {
        if self.duty == Duty::CoolsAir { p.cooling } else { p.heat }
    }

    pub fn residual(&self, around: &Surroundings, faults: &LoopFaults) -> Residual {
        let (was, is) = (self.healthy(), self.at(around, faults));
        let r = self.machine.working.refrigerant;
        let dew = |p: &LoopPoint| r.dew_temperature(p.discharge_pressure).unwrap();
        let below = |p: &LoopPoint| r.bubble_temperature(p.discharge_pressure).unwrap() - p.liquid;
        Residual {
            evaporating: is.evaporating - was.evaporating,
            condensing: dew(&is) - dew(&was),
            superheat: is.superheat - was.superheat,
            subcooling: below(&is) - below(&was),
            discharge: is.discharge - was.discharge,
            sink_rise: (is.heat / faults.sink_flow - was.heat) / was.heat,
            air_fall: was.leaving_air - is.leaving_air,
            power: is.compressor_power / was.compressor_power,
            unit_power: (is.compressor_power + self.fan) / (was.compressor_power + self.fan),
            capacity: self.useful(&is) / self.useful(&was),
        }
    }
}

/// A machine's sizes as text, a name and a value a line, in SI units.
pub fn sizes(m: &Machine) -> String {
    [
        ("displacement", m.compressor.displacement),
        ("fill", m.compressor.fill),
        ("fill_loss", m.compressor.fill_loss),
        ("best_efficiency", m.compressor.best_efficiency),
        ("best_ratio", m.compressor.best_ratio),
        ("shell_loss", m.compressor.shell_loss),
        ("rated_flow", m.evaporator.rated_flow),
        ("air_flow", m.evaporator.air_flow),
        ("air_side", m.evaporator.air_side),
        ("boiling", m.evaporator.boiling),
        ("evaporator_vapour", m.evaporator.vapour),
        ("outside", m.condenser.outside),
        ("condenser_vapour", m.condenser.vapour),
        ("condensing", m.condenser.condensing),
        ("liquid", m.condenser.liquid),
        ("volume_condenser", m.volumes.condenser),
        ("volume_liquid", m.volumes.liquid),
        ("volume_evaporator", m.volumes.evaporator),
        ("volume_suction", m.volumes.suction),
        ("charge", m.charge),
    ]
    .iter()
    .map(|(name, value)| format!("{name} {value:.9e}\n"))
    .collect()
}
