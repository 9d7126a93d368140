//! A nameplate gives a machine.
//!
//! The rating point fixes everything: the cycle gives the flow, the flow the compressor's displacement and the valve's
//! area; the distances to air and sink give the exchangers' conductances; the charge scales the internal volumes. What
//! a nameplate does not say is taken from the duty's common practice.

use crate::charge::Volumes;
use crate::compressor::{Compressor, CompressorClass, Running};
use crate::condenser::{Condenser, Sink};
use crate::evaporator::{Air, Evaporator};
use crate::machine::{Machine, Usual};
use crate::metering::{Inlet, Meter, MeteringKind, Supply};
use crate::working::Working;
use halfsplit_fluids::refrigerant::Refrigerant;
use std::fmt;

/// What the machine is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Duty {
    /// Heats a tank of water through its wall or a coil in it, from the air of a room.
    HeatsTank,
    /// Heats water that flows past, from outdoor air.
    HeatsWater,
    /// Cools a room, gives its heat to outdoor air.
    CoolsAir,
    /// Heats a room from outdoor air.
    HeatsAir,
}

/// Temperatures at the rating point, K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rating {
    /// Air entering the evaporator.
    pub air: f64,
    /// Its relative humidity, 0 to 1.
    pub humidity: f64,
    /// What the condenser heats, entering.
    pub sink: f64,
    /// Evaporating.
    pub evaporating: f64,
    /// Condensing.
    pub condensing: f64,
    /// Fall of the air's dry bulb through the evaporator if it were dry, K; sizes the fan.
    pub air_drop: f64,
    /// Rise of a flowing sink, K; sizes its fan or pump.
    pub sink_rise: f64,
}

/// What a nameplate says, with what it may leave out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nameplate {
    /// What the machine is for.
    pub duty: Duty,
    /// Refrigerant.
    pub refrigerant: Refrigerant,
    /// Rated capacity at the rating point, W: heat given to water or room, or taken from the room when cooling.
    pub capacity: f64,
    /// Charge, kg.
    pub charge: Option<f64>,
    /// Compressor's class.
    pub compressor: CompressorClass,
    /// Metering device.
    pub metering: MeteringKind,
    /// Superheat at the rating point, K.
    pub superheat: f64,
    /// Subcooling at the rating point, K.
    pub subcooling: f64,
    /// Opening at the rating point, 0 to 1.
    pub rated_opening: f64,
    /// Rating point, where it is known.
    pub rating: Option<Rating>,
}

impl Duty {
    /// The usual rating point. Source: common practice, no source, but for the entering temperatures of cooling and heating,
    /// which are those of AHRI 210/240.
    pub fn rating(self) -> Rating {
        let c = |t: f64| t + 273.15;
        match self {
            Duty::HeatsTank => Rating {
                air: c(20.0),
                humidity: 0.5,
                sink: c(50.0),
                evaporating: c(7.0),
                condensing: c(56.0),
                air_drop: 7.5,
                sink_rise: 0.0,
            },
            Duty::HeatsWater => Rating {
                air: c(7.0),
                humidity: 0.87,
                sink: c(30.0),
                evaporating: c(-1.5),
                condensing: c(38.0),
                air_drop: 5.5,
                sink_rise: 5.0,
            },
            Duty::CoolsAir => Rating {
                air: c(26.7),
                humidity: 0.51,
                sink: c(35.0),
                evaporating: c(4.5),
                condensing: c(46.5),
                air_drop: 14.5,
                sink_rise: 7.5,
            },
            Duty::HeatsAir => Rating {
                air: c(8.33),
                humidity: 0.73,
                sink: c(21.1),
                evaporating: c(0.0),
                condensing: c(40.0),
                air_drop: 4.5,
                sink_rise: 14.0,
            },
        }
    }

    /// Usual charge per watt of condenser heat, kg/W. Judgement.
    fn charge_per_watt(self) -> f64 {
        match self {
            Duty::HeatsTank => 5.5e-4,
            Duty::HeatsWater => 3.0e-4,
            Duty::CoolsAir | Duty::HeatsAir => 2.8e-4,
        }
    }

    /// Relative internal volumes of condenser, liquid line, evaporator and suction side. Judgement, within what inventories of
    /// small machines show.
    fn volumes(self) -> Volumes {
        match self {
            Duty::HeatsTank | Duty::HeatsWater | Duty::CoolsAir => {
                Volumes { condenser: 1.0, liquid: 0.05, evaporator: 1.2, suction: 0.6 }
            }
            // Two units some 8 m apart: about 2.4 L in the coil inside, 4 L outside, half a litre in the liquid line and its drier, and
            // in the wide line, the shell and the accumulator as much gas as in both coils' outlets together.
            Duty::HeatsAir => Volumes { condenser: 1.0, liquid: 0.2, evaporator: 1.7, suction: 1.5 },
        }
    }

    /// How unevenly the evaporator's circuits are fed. Judgement; small coils of one circuit cannot be uneven.
    fn uneven_feed(self) -> f64 {
        match self {
            Duty::HeatsTank => 0.0,
            Duty::HeatsWater | Duty::CoolsAir | Duty::HeatsAir => 0.05,
        }
    }
}

/// Why a nameplate gives no machine.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignError {
    /// What is wrong and what to do.
    pub message: String,
}

impl fmt::Display for DesignError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for DesignError {}

fn refuse<T>(message: String) -> Result<T, DesignError> {
    Err(DesignError { message })
}

/// Sizes a machine from its nameplate.
///
/// # Errors
/// If capacity, charge or the rating point make no machine, saying which value and what to do.
pub fn design(plate: &Nameplate) -> Result<Machine, DesignError> {
    let rating = plate.rating.unwrap_or_else(|| plate.duty.rating());
    check(plate, &rating)?;
    let w = Working::new(plate.refrigerant)
        .map_err(|e| DesignError { message: format!("{}: not usable in this loop: {e}", plate.refrigerant) })?;
    if rating.condensing + 3.0 > w.t_high {
        return refuse(format!(
            "{} cannot condense at {:.1} °C, so near its critical point; give another refrigerant or rating point",
            plate.refrigerant,
            rating.condensing - 273.15
        ));
    }
    let low = w.at_dew(rating.evaporating);
    let high = w.at_dew(rating.condensing);
    let outlet = w.superheated(&low, plate.superheat);
    let t_liquid = high.bubble.t - plate.subcooling;

    let mut compressor = Compressor::of_class(plate.compressor);
    let run = Running { speed: 1.0, pumping: 1.0, bypass: 0.0 };
    let unit = compressor.compress(&w, &low, &high, outlet, &run);
    let below = w.liquid(high.bubble.t - 4.0);
    let liquid_capacity = (high.bubble.h - below.h) / (high.bubble.t - below.t);
    let liquid = high.bubble.h - liquid_capacity * plate.subcooling;
    let per_kg = match plate.duty {
        Duty::CoolsAir => outlet - liquid,
        _ => unit.discharge - liquid,
    };
    let flow = plate.capacity / per_kg;
    compressor.displacement = flow / unit.flow;
    let heat = flow * (unit.discharge - liquid);

    let air = Air::new(rating.air, rating.humidity);
    let mut evaporator = Evaporator {
        air_flow: flow * (outlet - liquid) / (air.capacity * rating.air_drop),
        air_side: 1.0,
        boiling: 1.0,
        vapour: 1.0,
        rated_flow: flow,
        uneven: plate.duty.uneven_feed(),
    };
    let sized = |scale: f64| Evaporator { air_side: scale, boiling: 4.0 * scale, vapour: 0.7 * scale, ..evaporator };
    let scale = rising_root(1e-3 * heat, 10.0 * heat, |scale| {
        let e = sized(scale);
        e.evaporate(&w, &e.coil(1.0, 0.0), &air, &low, flow, liquid).outlet - outlet
    })
    .ok_or_else(|| DesignError {
        message: format!(
            "no coil evaporates at {:.1} °C with {:.1} K superheat in air of {:.1} °C that falls by {:.1} K; \
             lower the evaporating temperature or the air's fall",
            rating.evaporating - 273.15,
            plate.superheat,
            rating.air - 273.15,
            rating.air_drop
        ),
    })?;
    evaporator = sized(scale);

    let sink = match plate.duty {
        Duty::HeatsTank => Sink::Tank,
        Duty::HeatsWater => Sink::WaterFlow(heat / (4186.0 * rating.sink_rise)),
        Duty::CoolsAir | Duty::HeatsAir => Sink::Air(heat / (1006.0 * rating.sink_rise)),
    };
    let sized = |scale: f64| {
        let (vapour, condensing, liquid) = match sink {
            Sink::Air(_) => (0.8, 4.0, 0.6),
            Sink::WaterFlow(_) => (0.25, 1.5, 0.4),
            Sink::Tank => (0.5, 2.5, 0.8),
        };
        Condenser {
            sink,
            outside: scale,
            vapour: vapour * scale,
            condensing: condensing * scale,
            liquid: liquid * scale,
            rated_flow: flow,
        }
    };
    let condense = |scale: f64| {
        let c = sized(scale);
        c.condense(&w, &c.outside(rating.sink, 1.0, 0.0), &high, flow, unit.discharge)
    };
    let scale =
        rising_root(1e-3 * heat, 10.0 * heat, |scale| liquid - condense(scale).outlet).ok_or_else(|| DesignError {
            message: format!(
                "no condenser reaches {:.1} K subcooling at {:.1} °C against {:.1} °C that rises by {:.1} K; raise the \
                 condensing temperature or lower the subcooling",
                plate.subcooling,
                rating.condensing - 273.15,
                rating.sink - 273.15,
                rating.sink_rise
            ),
        })?;
    let condenser = sized(scale);
    let condensation = condense(scale);

    let mut meter =
        Meter { kind: plate.metering, area: 1.0, rated_opening: plate.rated_opening, superheat: plate.superheat };
    let inlet = Inlet {
        pressure: high.p,
        volume: 1.0 / condensation.outlet_density,
        liquid_volume: 1.0 / condensation.outlet_density,
        boiling: w.bubble_pressure(t_liquid),
    };
    let supply = Supply { working: &w, inlet, enthalpy: liquid };
    meter.area = flow / meter.flow(plate.rated_opening, 0.0, &supply, low.p);

    let charge = plate.charge.unwrap_or_else(|| plate.duty.charge_per_watt() * heat);
    let coil = evaporator.coil(1.0, 0.0);
    let evaporation = evaporator.evaporate(&w, &coil, &air, &low, flow, liquid);
    let volumes = plate.duty.volumes();
    let relative = volumes.condenser * condensation.density
        + volumes.liquid * condensation.outlet_density
        + volumes.evaporator * evaporation.density
        + volumes.suction / w.gas(&low, outlet).v;
    Ok(Machine {
        volumes: volumes.scaled(charge / relative),
        working: w,
        compressor,
        evaporator,
        condenser,
        meter,
        charge,
        usual: Usual {
            below_air: rating.air - rating.evaporating,
            above_sink: rating.condensing - rating.sink,
            flow,
            heat,
        },
    })
}

fn check(plate: &Nameplate, rating: &Rating) -> Result<(), DesignError> {
    let positive = |what: &str, value: f64, low: f64, high: f64, unit: &str| {
        if value >= low && value <= high {
            Ok(())
        } else {
            refuse(format!(
                "{what} of {value} {unit} is outside {low} to {high} {unit}; check the nameplate and the unit"
            ))
        }
    };
    positive("capacity", plate.capacity, 30.0, 200e3, "W")?;
    positive("charge", plate.charge.unwrap_or(1.0), 0.01, 100.0, "kg")?;
    positive("superheat", plate.superheat, 1.0, 20.0, "K")?;
    positive("subcooling", plate.subcooling, 0.5, 20.0, "K")?;
    positive("rated opening", plate.rated_opening, 0.05, 1.0, "")?;
    positive("evaporating below entering air by", rating.air - rating.evaporating, 2.0, 40.0, "K")?;
    positive("condensing above the sink by", rating.condensing - rating.sink, 2.0, 40.0, "K")?;
    Ok(())
}

/// Root of a function that rises through zero between two positive limits, by halving the ratio.
fn rising_root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    if f(high) < 0.0 || f(low) > 0.0 {
        return None;
    }
    for _ in 0..60 {
        let mid = (low * high).sqrt();
        if f(mid) < 0.0 {
            low = mid;
        } else {
            high = mid;
        }
    }
    Some((low * high).sqrt())
}
